//! Stretches of a text that are replaced, all worked out on the same text.

use std::ops::Range;

/// Replacements in any order. **Invariant** (kept by callers): they do not overlap.
#[derive(Debug, Default)]
pub(super) struct Splices {
    list: Vec<(Range<usize>, String)>,
}

impl Splices {
    /// Replaces a stretch; an empty stretch is an insertion. Insertions at one spot keep their order.
    pub(super) fn replace(&mut self, range: Range<usize>, text: impl Into<String>) {
        self.list.push((range, text.into()));
    }

    /// The text with everything replaced. A stretch inside one that is already replaced goes with it.
    pub(super) fn apply(mut self, text: &str) -> String {
        self.list.sort_by_key(|(range, _)| range.start);
        let mut out = String::with_capacity(text.len() + 64);
        let mut done = 0;
        for (range, new) in self.list {
            if range.start < done {
                // An insertion at a spot that went away comes right after it; anything else went with it.
                out.push_str(if range.is_empty() { &new } else { "" });
                continue;
            }
            out.push_str(&text[done..range.start]);
            out.push_str(&new);
            done = range.end;
        }
        out.push_str(&text[done..]);
        out
    }
}
