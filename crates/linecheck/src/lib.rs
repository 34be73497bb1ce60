//! Line check: finding what is wrong on the day.
//!
//! [`compare()`] holds what was seen against the plan; [`heard()`] says how much of it was heard so far. [`Trouble`] takes what the crew hears, sees and has tried, and says which
//! faults explain it, how likely each is, and which test to do next.
//!
//! Deliberately absent: sockets and files. What was seen comes in as values.

pub mod differences;
mod explain;
mod heard;
pub mod suspects;

pub use differences::{Certainty, Comparison, Difference, NotSeen, Proved, Sighting, Unread, compare, compare_proved};
pub use explain::{Explanation, explanations};
pub use heard::{Heard, LeaderHeard, QuerierHeard, StreamHeard, heard};
pub use suspects::{Answer, Ask, Inquiry, InquiryLines, NoSuchAsk, Suspect, SuspectLine, Test, TestLine, Trouble};
