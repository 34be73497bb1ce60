//! What the crew said while cabling: who ticked which cable end when, notes, photos and sign-offs.
//!
//! A log is plain text beside the plan, `NAME.crewlog`: one line for each [`Entry`], only ever added to ([`line`]). What it means
//! together is a [`Book`]: the state of each cable end, what two people said differently, how far each place is ([`progress`]).
//! Deliberately absent: files, the clock and the network. Whoever keeps the file gives the time as an argument.

pub mod book;
pub mod entry;
pub mod explain;
pub mod line;
pub mod moment;
pub mod photo;
pub mod progress;

pub use book::{Book, Standing};
pub use entry::{Deed, Entry, Open, Record, SeenFile};
pub use explain::{Explanation, explanations};
pub use line::{Log, Unreadable, read, written};
pub use moment::utc;
pub use progress::{Count, Progress, progress};
