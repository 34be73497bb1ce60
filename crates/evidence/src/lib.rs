//! What was seen on a real network: captures, neighbour tables, walks, bridge tables and notes become one [`Evidence`] value in
//! which every observation says when, where and how well it was seen.
//!
//! [`read`] takes a whole file; [`Reader`] takes a capture of any size piece by piece and keeps only sums and latest words, so that
//! its memory does not grow with the capture; [`Wire`] takes frames as they come. Nothing here fails: what cannot be read becomes a [`Complaint`] with its place.
//!
//! Deliberately absent: files, sockets, clocks, and every comparison with a plan.

mod bytes;
mod container;
pub mod evidence;
pub mod facts;
mod frame;
mod gather;
pub mod mac;
pub mod protocol;
mod reader;
pub mod seen;
pub mod sniff;
mod text;
pub mod wire;
pub mod write;

pub use evidence::{Capture, CaptureInterface, Evidence, Source};
pub use mac::Mac;
pub use reader::{Reader, read};
pub use seen::{Complaint, Moment, Seen, Spot, Trust};
pub use sniff::Format;
pub use wire::{Wire, WireFrame};
