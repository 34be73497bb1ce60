//! Wire cost, load, worst-case delay and buffers, in exact integer time (picoseconds).
//!
//! The method is network calculus queue by queue: what can arrive at a queue is bounded by staircases of
//! packets and by the links they come through; the worst delay of a queue widens the staircases of the next.
//! [`network`] holds the model without names, [`analyse`] works it out; [`Delays`] does it for a plan, its
//! fabric and its paths.
//!
//! Deliberately absent: pre-emption, time-aware gates and shapers of audio-video bridging; mid-path
//! loss; traffic that is not planned, except one largest frame of it in front of everything.

mod align;
mod alike;
mod analysis;
pub mod bucket;
pub mod class;
mod clockwork;
mod curve;
mod delays;
pub mod expected;
mod hold;
mod inputs;
mod layout;
mod lists;
mod nesting;
pub mod network;
mod outflow;
mod overtaken;
mod patch;
mod port;
mod ratios;
mod shape;
mod stairs;
mod stretch;
mod sweep;
mod system;
mod tandem;
mod visit;

pub use analysis::{Analysis, Bound, HopParts, NoBound, analyse};
pub use delays::{Delays, DirectionLoad, HopDelay};
pub use expected::{Occupied, occupied};
pub use hold::{Hold, next_setting};
pub use network::{Bundle, HopSpec, Network, PortSpec, StreamSpec};
pub use sweep::{Cause, ClassDelay};
pub use system::{Assumptions, System};
