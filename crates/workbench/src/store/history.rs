//! Undo and redo: the texts before each edit, and after each edit that was taken back.

use super::text::Texts;

/// How many steps back are kept. Own choice: a long day's edits; a plan of 2 MB then holds 400 MB at most.
const STEPS: usize = 200;

/// One step: what an edit was called, and the texts on its other side.
#[derive(Debug, Clone)]
struct Step {
    label: String,
    texts: Texts,
}

/// The edits of this sitting.
#[derive(Debug, Default)]
pub struct History {
    back: Vec<Step>,
    ahead: Vec<Step>,
}

impl History {
    /// Notes that `before` was edited. What had been taken back is then no longer ahead.
    pub fn note(&mut self, label: impl Into<String>, before: Texts) {
        self.back.push(Step { label: label.into(), texts: before });
        if self.back.len() > STEPS {
            self.back.remove(0);
        }
        self.ahead.clear();
    }

    /// What `undo` would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.back.last().map(|step| step.label.as_str())
    }

    /// What `redo` would bring back.
    pub fn redo_label(&self) -> Option<&str> {
        self.ahead.last().map(|step| step.label.as_str())
    }

    /// The latest edits, newest first.
    pub fn labels(&self) -> impl Iterator<Item = &str> {
        self.back.iter().rev().map(|step| step.label.as_str())
    }

    /// Takes the last edit back; gives the texts to show now.
    pub fn undo(&mut self, now: Texts) -> Option<Texts> {
        let step = self.back.pop()?;
        self.ahead.push(Step { label: step.label, texts: now });
        Some(step.texts)
    }

    /// Brings back the edit that was taken back last.
    pub fn redo(&mut self, now: Texts) -> Option<Texts> {
        let step = self.ahead.pop()?;
        self.back.push(Step { label: step.label, texts: now });
        Some(step.texts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(plan: &str) -> Texts {
        Texts { plan: plan.into(), wiring: None }
    }

    #[test]
    fn undo_and_redo_walk_the_same_way() {
        let mut history = History::default();
        history.note("first", texts("0"));
        history.note("second", texts("1"));
        assert_eq!(history.undo_label(), Some("second"));
        assert_eq!(history.undo(texts("2")), Some(texts("1")));
        assert_eq!(history.undo(texts("1")), Some(texts("0")));
        assert_eq!(history.undo(texts("0")), None);
        assert_eq!(history.redo(texts("0")), Some(texts("1")));
        assert_eq!(history.redo_label(), Some("second"));
        history.note("third", texts("1"));
        assert_eq!(history.redo(texts("x")), None);
        assert_eq!(history.labels().collect::<Vec<_>>(), ["third", "first"]);
    }

    #[test]
    fn the_oldest_step_goes_first() {
        let mut history = History::default();
        for n in 0..STEPS + 5 {
            history.note(n.to_string(), texts(&n.to_string()));
        }
        assert_eq!(history.labels().count(), STEPS);
        assert_eq!(history.labels().last(), Some("5"));
    }
}
