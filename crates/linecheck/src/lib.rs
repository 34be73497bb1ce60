//! Line check: finding what is wrong on the day.
//!
//! [`compare()`] holds what was seen against the plan. [`Trouble`] takes what the crew hears, sees and has tried, and says which
//! faults explain it, how likely each is, and which test to do next.
//!
//! Deliberately absent: sockets and files. What was seen comes in as values.

pub mod differences;
pub mod suspects;

pub use differences::{Certainty, Comparison, Difference, NotSeen, Sighting, Unread, compare};
pub use suspects::{Answer, Ask, Inquiry, InquiryLines, NoSuchAsk, Suspect, SuspectLine, Test, TestLine, Trouble};
