//! A second opinion on worst-case delay, packets, queues and time; and on what falls silent when something fails
//! ([`survive`]).
//!
//! Shares no arithmetic with the calculus it judges. [`Player`] plays given releases or periodic trains through a
//! net of queues, queue by queue; [`play_events`] does the same the obvious way, one event after the other, for any net;
//! [`random_phases`] plays an ordinary day; [`worst_trace`] builds the schedule that makes one packet as late as it can,
//! so that a bound can be printed beside what is really reached.
//!
//! Time is in whole picoseconds, with preamble and gap in every packet's time on a cable.

mod climb;
mod compiled;
mod events;
mod net;
mod outcome;
mod phases;
mod player;
pub mod survive;
mod worst;

pub use climb::{Search, climb};
pub use events::play_events;
pub use net::{Hop, Net, Queue, Train};
pub use outcome::{Blocker, Outcome, Passage, Release};
pub use phases::{Trial, random_phases};
pub use player::Player;
pub use worst::{Reached, worst_spell, worst_trace, worst_trace_on};
