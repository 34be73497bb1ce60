//! Data on standard output, talk on standard error.

use crate::outcome::{Failure, plain_words};
use crate::paint::{self, paint};
use std::io::{self, Write};

/// Prints data. Colour is dropped where standard output is no terminal or `NO_COLOR` is set.
///
/// **Errors**: standard output cannot be written. A reader that has gone away is no error: it has seen enough.
pub fn data(text: &str) -> Result<(), Failure> {
    let mut stdout = anstream::stdout().lock();
    match stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            let (why, remedy) = plain_words(&error);
            Err(Failure::new(format!("cannot write to standard output: {why}"), remedy))
        }
        _ => Ok(()),
    }
}

/// Prints a value as JSON, with a line break at the end.
pub fn json(value: &impl serde::Serialize) -> Result<(), Failure> {
    let text = serde_json::to_string_pretty(value).map_err(|error| Failure::new(format!("cannot print as JSON: {error}"), ""))?;
    data(&format!("{text}\n"))
}

/// Says a line to the person at the terminal. Nobody listening is no error.
pub fn talk(line: &str) {
    let _ = writeln!(anstream::stderr().lock(), "{line}");
}

/// Says why it could not be done, and what to do; as JSON on standard output too where that was asked for.
pub fn failure(failure: &Failure, as_json: bool) {
    if !failure.snippet.is_empty() {
        talk(&failure.snippet);
    }
    talk(&format!("{}: {}", paint(paint::STOP, "error"), failure.says));
    if !failure.remedy.is_empty() {
        talk(&format!("  {}: {}", paint(paint::STRONG, "do"), failure.remedy));
    }
    if as_json {
        let told = serde_json::json!({ "error": failure.says, "do": failure.remedy, "problems": failure.problems });
        let _ = json(&told);
    }
}
