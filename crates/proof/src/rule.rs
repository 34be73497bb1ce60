//! What every kind of finding is made of: a code, an explanation and a check.

use crate::analysis::Analysis;
use loomwright_model::Finding;

/// One kind of trouble. Its explanation is the doc comment in its file, word for word.
#[derive(Debug, Clone, Copy)]
pub struct Rule {
    /// `area/trouble`; never reused.
    pub code: &'static str,
    /// The doc comment: title, paragraphs, source.
    pub(crate) doc: &'static str,
    /// Finds every case of it.
    pub(crate) check: fn(&Analysis) -> Vec<Finding>,
    /// Spoils a good plan so that this finding, at least, is made.
    #[cfg(test)]
    pub(crate) firing: fn(&mut crate::trial::Trial),
}

/// A finding explained: what it is, why it matters, an example, and where the rule comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Explanation {
    /// `area/trouble`.
    pub code: &'static str,
    /// What it is, in one sentence.
    pub title: String,
    /// Why it matters and an example, in paragraphs parted by an empty line.
    pub text: String,
    /// Where the rule or its limit comes from.
    pub source: String,
}

impl Rule {
    /// The explanation, taken apart for a terminal or a page.
    pub fn explanation(&self) -> Explanation {
        let paragraphs: Vec<String> = self.doc.split("\n \n").flat_map(|part| part.split("\n\n")).map(on_one_line).collect();
        let (source, text): (Vec<String>, Vec<String>) = paragraphs.iter().skip(1).cloned().partition(|part| part.starts_with(SOURCE));
        Explanation {
            code: self.code,
            title: paragraphs.first().cloned().unwrap_or_default(),
            text: text.join("\n\n").replace("**", ""),
            source: source.first().map(|part| part[SOURCE.len()..].trim().to_owned()).unwrap_or_default(),
        }
    }
}

/// How the paragraph that names the source begins.
const SOURCE: &str = "**Source**:";

fn on_one_line(paragraph: &str) -> String {
    paragraph.lines().map(str::trim).filter(|line| !line.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Declares `RULE` from a doc comment, a code, a check and (for tests) a way to make it fire.
macro_rules! rule {
    ($(#[doc = $line:literal])+ $code:literal, $check:path, $firing:path) => {
        $(#[doc = $line])+
        pub const RULE: crate::rule::Rule = crate::rule::Rule {
            code: $code,
            doc: concat!($($line, "\n"),+),
            check: $check,
            #[cfg(test)]
            firing: $firing,
        };
    };
}
pub(crate) use rule;
