//! When, where and how well something was seen.

use std::fmt;

/// A moment of a capture's clock. **Unit**: nanosecond since 1970-01-01 00:00 UTC. **Range**: up to the year 2554.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(transparent)]
pub struct Moment(pub u64);

impl Moment {
    /// How long after `earlier`; nothing if it was not later. **Unit**: nanosecond.
    #[inline]
    pub const fn since(self, earlier: Self) -> u64 {
        self.0.saturating_sub(earlier.0)
    }
}

impl fmt::Display for Moment {
    /// Seconds since 1970 with nine decimals: a pure crate knows no time zone.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{:09}", self.0 / 1_000_000_000, self.0 % 1_000_000_000)
    }
}

/// Where in its source something stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Spot {
    /// A frame of a capture, from 1.
    Frame(u64),
    /// A line of a text, from 1.
    Line(u64),
    /// An entry of a table or list, from 1.
    Entry(u64),
    /// An octet of a file, from 0.
    Offset(u64),
    /// The source as a whole.
    Whole,
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Frame(n) => write!(f, "frame {n}"),
            Self::Line(n) => write!(f, "line {n}"),
            Self::Entry(n) => write!(f, "entry {n}"),
            Self::Offset(n) => write!(f, "octet {n}"),
            Self::Whole => f.write_str("whole file"),
        }
    }
}

/// How far an observation can be believed, best first. **Source**: own choice; the reasons stand with each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Trust {
    /// Counted from frames at the place of the capture: packets, gaps, who sent what.
    Measured,
    /// What a box's own management says about itself: port state, counters.
    Reported,
    /// A table that a box keeps about others. It can be stale: forwarding entries for 300 s (RFC 4188), neighbours for 120 s
    /// (LLDP-MIB defaults).
    Remembered,
    /// What a box claims in a frame: its name, its stream, its clock's quality.
    Announced,
    /// Typed by a person.
    Noted,
    /// Concluded by the reader from something else.
    Inferred,
}

/// When, where and how often an observation was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct Seen {
    /// Which of [`Evidence::sources`](crate::Evidence::sources), by index.
    pub source: usize,
    /// Where in it, the first time.
    pub spot: Spot,
    /// When first; `None` if the source has no clock.
    pub first: Option<Moment>,
    /// When last.
    pub last: Option<Moment>,
    /// How many times: frames, or rows that say the same.
    pub times: u64,
    /// How far it can be believed.
    pub trust: Trust,
}

impl Seen {
    /// Seen once at `spot` in the first source, at no known time. Merging moves the source's number.
    pub const fn at(spot: Spot, trust: Trust) -> Self {
        Self { source: 0, spot, first: None, last: None, times: 1, trust }
    }

    /// Seen once in a frame.
    pub const fn in_frame(number: u64, time: Option<Moment>, trust: Trust) -> Self {
        Self { source: 0, spot: Spot::Frame(number), first: time, last: time, times: 1, trust }
    }

    /// Seen once more.
    #[inline]
    pub fn again(&mut self, time: Option<Moment>) {
        self.times = self.times.saturating_add(1);
        if let Some(time) = time {
            self.first = Some(self.first.map_or(time, |first| first.min(time)));
            self.last = Some(self.last.map_or(time, |last| last.max(time)));
        }
    }

    /// From the first time to the last. **Unit**: nanosecond.
    pub fn lasted(&self) -> u64 {
        self.last.zip(self.first).map_or(0, |(last, first)| last.since(first))
    }
}

/// Something in a source that could not be read, or was read only in part.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Complaint {
    /// Which of [`Evidence::sources`](crate::Evidence::sources), by index.
    pub source: usize,
    /// Where in it, the first time.
    pub spot: Spot,
    /// What is wrong, in a plain sentence without full stop.
    pub says: String,
    /// How many times in this source.
    pub times: u64,
}
