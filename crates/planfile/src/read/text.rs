//! Bytes before they are a plan: text or not, empty, too large; and their digest.

use super::{Beside, Loaded, Source, in_turn, read_beside};
use crate::log::{File, Raw};
use crate::problem::{Problem, Problems};
use sha2::{Digest, Sha256};

/// Largest file that is read, bytes. Own choice: some hundred times the largest plan we know of.
pub const LARGEST: usize = 50 * 1_000_000;

/// Reads a plan and its wiring from bytes as they lie on a disk.
///
/// **Errors**: as [`super::read()`], and for files that are empty, not text, or larger than [`LARGEST`].
pub fn read_bytes(plan: (&str, &[u8]), wiring: Option<(&str, &[u8])>) -> Result<Loaded, Problems> {
    read_bytes_beside(plan, wiring, in_turn)
}

/// The same, with both files read as `beside` does it.
///
/// **Errors**: as [`read_bytes`].
pub fn read_bytes_beside(plan: (&str, &[u8]), wiring: Option<(&str, &[u8])>, beside: Beside) -> Result<Loaded, Problems> {
    let plan = text_of(plan.0, plan.1);
    let wiring = wiring.map(|(name, bytes)| text_of(name, bytes)).transpose();
    match (plan, wiring) {
        (Ok(plan), Ok(wiring)) => read_beside(plan, wiring, beside),
        (plan, wiring) => {
            let problems: Vec<Problem> = plan.err().into_iter().chain(wiring.err()).map(|problem| *problem).collect();
            Err(Problems::new(problems).expect("one of the two failed"))
        }
    }
}

fn text_of<'a>(name: &'a str, bytes: &'a [u8]) -> Result<Source<'a>, Box<Problem>> {
    let problem = |code, offset: usize, message: String, help: &str| {
        let before = &bytes[..offset];
        let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
        let column = String::from_utf8_lossy(before.rsplit(|byte| *byte == b'\n').next().unwrap_or_default()).chars().count() + 1;
        let (line, column) = (u32::try_from(line).unwrap_or(u32::MAX), u32::try_from(column).unwrap_or(u32::MAX));
        Box::new(Problem { code, file: name.to_owned(), span: offset..offset, line, column, message, help: help.to_owned() })
    };
    if bytes.len() > LARGEST {
        let message = format!("the file has {} bytes, more than the {LARGEST} that are read", bytes.len());
        return Err(problem("plan/too-large", 0, message, TOO_LARGE_HELP));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Source { name, text }),
        Err(error) if bytes.contains(&0) => {
            Err(problem("plan/not-text", error.valid_up_to(), "this is not a text file".to_owned(), BINARY_HELP))
        }
        Err(error) => {
            let offset = error.valid_up_to();
            let message = format!("byte {:#04x} at offset {offset} is not UTF-8", bytes.get(offset).copied().unwrap_or_default());
            Err(problem("plan/not-text", offset, message, "save the file as UTF-8 in your editor"))
        }
    }
}

const TOO_LARGE_HELP: &str = "check that this is the right file; split a plan of this size by building";
const BINARY_HELP: &str = "give a plan file; use `import` for a spreadsheet";

/// What can be said about a text before it is parsed.
pub(super) fn judge(file: File, text: &str) -> Vec<Raw> {
    let raw = |code, at: usize, message: &str, help: &str| {
        vec![Raw { file, span: at..at, code, message: message.to_owned(), help: help.to_owned() }]
    };
    if text.len() > LARGEST {
        return raw("plan/too-large", 0, "the file is larger than what is read", TOO_LARGE_HELP);
    }
    if let Some(at) = text.find('\0') {
        return raw("plan/not-text", at, "this is not a text file", BINARY_HELP);
    }
    let blank = text.trim_start_matches('\u{feff}').lines().all(|line| line.trim().is_empty() || line.trim_start().starts_with('#'));
    if file == File::Plan && blank {
        return raw("plan/empty", 0, "there is nothing in this plan", "start one with `new`, or write at least `[plan]` and a `name`");
    }
    Vec::new()
}

/// SHA-256 over both texts, each with its length before it, so that no two pairs run together.
pub(super) fn digest(plan: &str, wiring: Option<&str>) -> String {
    let mut hash = Sha256::new();
    for text in [Some(plan), wiring].into_iter().flatten() {
        hash.update((text.len() as u64).to_be_bytes());
        hash.update(text.as_bytes());
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}
