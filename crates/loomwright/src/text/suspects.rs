//! Suspects and the next test.

use super::{count, wrapped};
use crate::paint::{self, paint};
use loomwright_linecheck::{InquiryLines, SuspectLine, TestLine};
use std::fmt::Write;

/// Suspects shown. Own choice: more is no help in the dark; JSON has all.
const SHOWN: usize = 12;

/// The inquiry in full.
pub fn inquiry(lines: &InquiryLines) -> String {
    let mut text = wrapped("", &lines.says);
    if !lines.suspects.is_empty() {
        let _ = writeln!(text, "\n{}", paint(paint::STRONG, "suspects"));
        lines.suspects.iter().take(SHOWN).for_each(|suspect| text.push_str(&of_suspect(suspect)));
        if let Some(more) = lines.suspects.len().checked_sub(SHOWN).filter(|more| *more > 0) {
            let _ = writeln!(text, "        and {} less likely", count(more, "other", "others"));
        }
    }
    if !lines.tests.is_empty() {
        let _ = writeln!(text, "\n{}", paint(paint::STRONG, "next test, best first"));
        lines.tests.iter().enumerate().for_each(|(at, test)| text.push_str(&of_test(at, test)));
    }
    text
}

fn of_suspect(suspect: &SuspectLine) -> String {
    let misfit = match suspect.misfits {
        0 => String::new(),
        n => format!(" (does not explain {})", count(n as usize, "answer", "answers")),
    };
    wrapped(&format!("  {:>4}  ", percent(suspect.chance_ppm)), &format!("{}{misfit}", suspect.says))
}

fn of_test(at: usize, test: &TestLine) -> String {
    let minutes = test.seconds.div_ceil(60);
    let place = if test.places.is_empty() { String::new() } else { format!(" At {}.", test.places.join(" or ")) };
    let mut text = wrapped(&format!("  {}. ", at + 1), &format!("{}{place} {minutes} min.", test.says));
    text.push_str(&wrapped("     if yes: ", &test.if_good));
    text.push_str(&wrapped("     if no:  ", &test.if_bad));
    text
}

/// Parts per million as whole per cent; what is not nothing is not shown as nothing.
fn percent(ppm: u32) -> String {
    match ppm {
        0 => "0 %".to_owned(),
        1..10_000 => "<1 %".to_owned(),
        _ => format!("{} %", (ppm + 5_000) / 10_000),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_chances_are_not_nothing() {
        assert_eq!([0, 1, 9_999, 10_000, 995_000, 1_000_000].map(percent), ["0 %", "<1 %", "<1 %", "1 %", "100 %", "100 %"]);
    }
}
