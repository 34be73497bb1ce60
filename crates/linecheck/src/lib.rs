//! Line check: finding what is wrong on the day.
//!
//! [`Trouble`] takes what the crew hears, sees and has tried, and says which faults explain it, how likely
//! each is, and which test to do next.
//!
//! Deliberately absent: sockets and files. What was seen comes in as values.

pub mod suspects;

pub use suspects::{Answer, Ask, Inquiry, InquiryLines, NoSuchAsk, Suspect, SuspectLine, Test, TestLine, Trouble};
