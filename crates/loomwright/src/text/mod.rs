//! Results in words and columns, for a terminal.

pub mod buffers;
pub mod derivation;
pub mod differences;
pub mod failures;
pub mod figures;
pub mod findings;
pub mod heard;
mod quantities;
pub mod rehearsal;
pub mod stage;
pub mod suspects;
mod wrap;

pub use quantities::{bytes, count, length, power, rate, share, time};
pub use wrap::wrapped;
