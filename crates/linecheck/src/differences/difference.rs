//! One difference between what was planned and what was seen.

use loomwright_evidence::{Evidence, Seen};
use loomwright_model::{Id, Item};
use serde::Serialize;

/// How far a difference can be believed, surest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Certainty {
    /// Counted, or said by the box itself, and nothing else explains it.
    Certain,
    /// A table says it that can be stale, or several weak signs agree.
    Likely,
    /// Look when there is time.
    Hint,
}

/// Where something was seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sighting {
    /// File, and frame or line in it.
    pub at: String,
    /// When first. **Unit**: second since 1970-01-01 00:00 UTC; `None` if the source has no clock.
    pub time: Option<String>,
    /// What was seen there.
    pub says: String,
}

impl Sighting {
    /// What `seen` says, with its place.
    pub fn new(evidence: &Evidence, seen: &Seen, says: impl Into<String>) -> Self {
        Self { at: evidence.place_of(seen), time: seen.first.map(|time| time.to_string()), says: says.into() }
    }
}

/// One difference.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Its kind, `seen/..`.
    pub code: &'static str,
    /// How sure it is.
    pub certainty: Certainty,
    /// The items concerned, the first one foremost.
    pub items: Vec<Item>,
    /// Where to walk, if it is known.
    pub place: Option<Id>,
    /// What is different.
    pub says: String,
    /// What was planned.
    pub planned: String,
    /// What was seen where.
    pub seen: Vec<Sighting>,
    /// What to do.
    pub remedy: String,
    /// What can hurt while doing it.
    pub caution: Option<&'static str>,
}

/// For everything after which audio may come back.
pub const FULL_LEVEL: &str = "Audio may come back at full level: mute or turn down the outputs first.";

impl Difference {
    /// A difference with nothing seen yet.
    pub fn new(code: &'static str, certainty: Certainty, items: Vec<Item>, says: impl Into<String>) -> Self {
        let (planned, remedy) = (String::new(), String::new());
        Self { code, certainty, items, place: None, says: says.into(), planned, seen: Vec::new(), remedy, caution: None }
    }

    /// Says what was planned and what to do.
    #[must_use]
    pub fn told(mut self, planned: impl Into<String>, remedy: impl Into<String>) -> Self {
        (self.planned, self.remedy) = (planned.into(), remedy.into());
        self
    }

    /// Says where it was seen.
    #[must_use]
    pub fn seen(mut self, sightings: impl IntoIterator<Item = Sighting>) -> Self {
        self.seen.extend(sightings);
        self
    }

    /// Warns of sound that comes back.
    #[must_use]
    pub fn loud(mut self) -> Self {
        self.caution = Some(FULL_LEVEL);
        self
    }
}

/// Something planned that no evidence covers. It is not wrong, only not seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotSeen {
    /// What.
    pub item: Item,
    /// What evidence would show it.
    pub says: String,
}
