//! What the log means together: for each cable end who says what, and where two people disagree.

use crate::entry::{Deed, Entry, Record};
use crate::line::Log;
use std::collections::{BTreeMap, BTreeSet};

/// What a claim is about: a cable's end by its port, or the cable's test.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Subject {
    cable: String,
    port: Option<String>,
}

/// How it stands with one end, or with one test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing<'b> {
    /// Nobody said anything.
    Unsaid,
    /// It is so, as the newest entry says.
    Done(&'b Entry),
    /// It was taken back.
    TakenBack(&'b Entry),
    /// People said different things without knowing of each other; oldest first.
    Disputed(Vec<&'b Entry>),
}

impl Standing<'_> {
    /// Whether it counts as done: not while people disagree.
    pub fn is_done(&self) -> bool {
        matches!(self, Self::Done(_))
    }

    /// Whether people disagree.
    pub fn is_disputed(&self) -> bool {
        matches!(self, Self::Disputed(_))
    }
}

/// All entries and what they say together.
///
/// **Shape**: a claim replaces those that its maker knew (they stood on the page) and the maker's own. What is left are claims made without
/// knowledge of each other; if they say different things, the end is disputed until somebody who sees both decides.
#[derive(Debug, Clone, Default)]
pub struct Book {
    entries: Vec<Entry>,
    ids: BTreeSet<String>,
    claims: BTreeMap<Subject, Vec<usize>>,
    of_cable: BTreeMap<String, Vec<usize>>,
}

impl Book {
    /// From a log; entries that stand in it twice count once.
    pub fn of(log: &Log) -> Self {
        let mut book = Self::default();
        for entry in &log.entries {
            book.add(entry.clone());
        }
        book
    }

    /// Adds an entry; false if it is there already.
    pub fn add(&mut self, entry: Entry) -> bool {
        if !self.ids.insert(entry.id.clone()) {
            return false;
        }
        let at = self.entries.len();
        if let Some((subject, _)) = claim(&entry.deed) {
            let entries = &self.entries;
            let is_known = |n: usize| n < entry.knew || entries.get(n).is_some_and(|other| other.person() == entry.person());
            let claims = self.claims.entry(subject).or_default();
            claims.retain(|n| !is_known(*n));
            claims.push(at);
        }
        if let Some(cable) = entry.deed.cable() {
            self.of_cable.entry(cable.to_owned()).or_default().push(at);
        }
        self.entries.push(entry);
        true
    }

    /// Whether an entry of that name is there.
    pub fn has(&self, id: &str) -> bool {
        self.ids.contains(id)
    }

    /// How many entries there are: what a page shows that is drawn now.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether nobody said anything yet.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Every entry, oldest first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// How it stands with the end of `cable` at `port`.
    pub fn plugged(&self, cable: &str, port: &str) -> Standing<'_> {
        self.standing(&Subject { cable: cable.to_owned(), port: Some(port.to_owned()) })
    }

    /// How it stands with the test of `cable`.
    pub fn tested(&self, cable: &str) -> Standing<'_> {
        self.standing(&Subject { cable: cable.to_owned(), port: None })
    }

    fn standing(&self, subject: &Subject) -> Standing<'_> {
        let numbers = self.claims.get(subject).map_or(&[][..], Vec::as_slice);
        let claims: Vec<&Entry> = numbers.iter().filter_map(|n| self.entries.get(*n)).collect();
        let says = |entry: &Entry| claim(&entry.deed).is_some_and(|(_, is)| is);
        match claims.last() {
            None => Standing::Unsaid,
            Some(last) if claims.iter().any(|one| says(one) != says(last)) => Standing::Disputed(claims),
            Some(last) if says(last) => Standing::Done(last),
            Some(last) => Standing::TakenBack(last),
        }
    }

    /// Ticks of `cable` at ports that are not among its `ends`: the plan changed after they were made.
    pub fn elsewhere<'b>(&'b self, cable: &str, ends: &[String]) -> Vec<(&'b str, &'b Entry)> {
        let of_cable = self.claims.iter().filter(|(subject, _)| subject.cable == cable);
        let left = of_cable
            .filter_map(|(subject, _)| Some((subject.port.as_deref().filter(|port| !ends.iter().any(|end| end == port))?, subject)));
        left.filter_map(|(port, subject)| match self.standing(subject) {
            Standing::Done(entry) => Some((port, entry)),
            _ => None,
        })
        .collect()
    }

    /// Everything said about `cable`, oldest first.
    pub fn about<'b>(&'b self, cable: &str) -> impl DoubleEndedIterator<Item = &'b Entry> {
        self.of_cable.get(cable).into_iter().flatten().filter_map(|n| self.entries.get(*n))
    }

    /// What a page knows that shows everything about `cable`: the number of the newest entry about it, from 1.
    pub fn shown(&self, cable: &str) -> usize {
        self.of_cable.get(cable).and_then(|all| all.last()).map_or(0, |last| last + 1)
    }

    /// Who signed what, oldest first.
    pub fn signed(&self) -> impl DoubleEndedIterator<Item = (&Entry, &Record)> {
        self.entries.iter().filter_map(|entry| match &entry.deed {
            Deed::Sign(record) => Some((entry, record.as_ref())),
            _ => None,
        })
    }
}

/// What an entry claims, if it is a claim.
fn claim(deed: &Deed) -> Option<(Subject, bool)> {
    match deed {
        Deed::Plug { cable, port, is } => Some((Subject { cable: cable.clone(), port: Some(port.clone()) }, *is)),
        Deed::Test { cable, is } => Some((Subject { cable: cable.clone(), port: None }, *is)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Plays `who knew says`: `+` plugged, `-` not.
    fn after(steps: &[(&str, usize, char)]) -> Book {
        let mut book = Book::default();
        for (n, (who, knew, says)) in steps.iter().enumerate() {
            let deed = Deed::Plug { cable: "A".into(), port: "box/1".into(), is: *says == '+' };
            let (id, time) = (n.to_string(), crate::utc(0));
            assert!(book.add(Entry { id, time, made: None, who: (*who).into(), hand: String::new(), knew: *knew, deed }));
        }
        book
    }

    fn word(book: &Book) -> &'static str {
        match book.plugged("A", "box/1") {
            Standing::Unsaid => "unsaid",
            Standing::Done(_) => "done",
            Standing::TakenBack(_) => "back",
            Standing::Disputed(_) => "disputed",
        }
    }

    #[test]
    fn a_claim_replaces_what_its_maker_knew() {
        for (steps, expected, why) in [
            (&[][..], "unsaid", "nothing said"),
            (&[("ana", 0, '+')], "done", "one tick"),
            (&[("ana", 0, '+'), ("ana", 1, '-')], "back", "taken back"),
            (&[("ana", 0, '+'), ("bob", 1, '-')], "back", "Bob saw the tick and corrects it"),
            (&[("ana", 0, '+'), ("bob", 0, '+')], "done", "both say the same"),
            (&[("ana", 0, '+'), ("bob", 0, '-')], "disputed", "Bob did not see the tick"),
            (&[("ana", 0, '+'), ("bob", 0, '-'), ("ana", 2, '+')], "done", "Ana saw both and decides"),
            (&[("ana", 0, '+'), ("bob", 0, '-'), ("ana", 0, '-')], "back", "Ana came to the same in her dead spot"),
            (&[("bob", 0, '-'), ("ana", 0, '+'), ("ana", 0, '+')], "disputed", "saying it twice decides nothing"),
            (&[("ana", 0, '+'), ("bob", 0, '+'), ("ana", 1, '-')], "disputed", "Ana takes hers back, Bob's was not seen"),
        ] {
            assert_eq!(word(&after(steps)), expected, "{why}");
        }
    }

    #[test]
    fn the_same_thing_sent_again_counts_once() {
        let mut book = after(&[("ana", 0, '+')]);
        let again = book.entries()[0].clone();
        assert!(book.has("0") && !book.add(again));
        assert_eq!(book.len(), 1);
    }

    #[test]
    fn ticks_at_ports_that_the_plan_no_longer_has_are_told() {
        let book = after(&[("ana", 0, '+')]);
        assert!(book.elsewhere("A", &["box/1".to_owned()]).is_empty());
        let left = book.elsewhere("A", &["box/2".to_owned()]);
        assert_eq!(left.len(), 1);
        assert_eq!((left[0].0, left[0].1.who.as_str()), ("box/1", "ana"));
        assert!(after(&[("ana", 0, '+'), ("ana", 1, '-')]).elsewhere("A", &[]).is_empty(), "unplugged again: nothing is left there");
    }
}
