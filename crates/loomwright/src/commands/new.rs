//! `loomwright new PATH`: a small commented plan that reads without error.

use crate::arguments;
use crate::files::{self, with_extension};
use crate::outcome::{Failure, Outcome};
use crate::output;

const STARTER: &str = include_str!("starter.toml");

/// Writes it, unless something of that name is there.
pub fn run(arguments: &arguments::New) -> Result<Outcome, Failure> {
    let path = with_extension(&arguments.path);
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let name = arguments.name.as_deref().unwrap_or(&stem);
    let file = path.file_name().unwrap_or_default().to_string_lossy();
    files::create_new(&path, starter(name, &file).as_bytes())?;
    let path = path.display();
    output::talk(&format!("Wrote {path}. Change it to what you have, then: loomwright design {path}"));
    Ok(Outcome::Ready)
}

fn starter(name: &str, file: &str) -> String {
    STARTER.replace("@FILE@", file).replace("@NAME@", &quoted(name))
}

/// A text as TOML writes it: JSON's escapes, and the one control character that JSON leaves bare.
pub(super) fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string().replace('\u{7f}', "\\u007f")
}

#[cfg(test)]
mod tests {
    use super::*;
    use loomwright_planfile::{Source, read};

    #[test]
    fn reads_without_error_whatever_its_name() {
        for name in ["Hall", "a \"quoted\" \\ name", "舞台", "two\nlines", "bell\u{7f}"] {
            let text = starter(name, "hall.toml");
            let loaded = read(Source { name: "hall.toml", text: &text }, None);
            assert_eq!(loaded.map(|loaded| loaded.plan.about.name).map_err(|problems| problems.to_string()), Ok(name.to_owned()));
        }
    }
}
