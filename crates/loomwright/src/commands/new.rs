//! `loomwright new PATH`: a small commented plan that reads without error.

use crate::arguments;
use crate::files::{self, with_extension};
use crate::outcome::{Failure, Outcome};
use crate::output;
use std::path::Path;

const STARTER: &str = include_str!("starter.toml");

/// Writes it, unless something of that name is there.
pub fn run(arguments: &arguments::New) -> Result<Outcome, Failure> {
    let path = with_extension(&arguments.path);
    if let Some(demo) = &arguments.demo {
        return copy_demo(demo, &path);
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let name = arguments.name.as_deref().unwrap_or(&stem);
    let file = path.file_name().unwrap_or_default().to_string_lossy();
    files::create_new(&path, starter(name, &file).as_bytes())?;
    let path = path.display();
    output::talk(&format!("Wrote {path}. Change it to what you have, then: loomwright design {path}"));
    Ok(Outcome::Ready)
}

/// Writes a demo's plan and wiring; neither replaces a file that is there.
fn copy_demo(demo: &str, path: &Path) -> Result<Outcome, Failure> {
    let Some([plan, wiring]) = loomwright_demo::texts(demo) else {
        let known = loomwright_demo::NAMES.join(", ");
        return Err(Failure::new(format!("there is no demo `{demo}`"), format!("Take one of: {known}.")));
    };
    files::create_new(path, plan.as_bytes())?;
    files::create_new(&path.with_extension("wiring.toml"), wiring.as_bytes())?;
    output::talk(&format!("Wrote {0} and its wiring. Next: loomwright check {0}", path.display()));
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
