//! Quantities: one integer type per physical quantity, each with one parser and one printer.
//!
//! All hold whole numbers of a small base unit (picoseconds, bits per second, millimetres,
//! milliwatts ...), so they order, hash and compare exactly and the same plan gives the same bytes.
//! Written form: a number, a space, a unit (`"24 m"`, `"0.6 ms"`, `"1 Gb/s"`).

mod decimal;
mod quantity;
mod share;
mod time;

pub use decimal::UnitError;
pub use quantity::{BitRate, ByteCount, Frequency, Hours, Length, Money, Power};
pub use share::Share;
pub use time::Time;
