//! A second opinion on worst-case delay: packets, queues and time, one event after the other.
//!
//! Shares no arithmetic with the calculus it judges. [`run`] plays given releases through a network of
//! queues; [`random_phases`] plays periodic trains with chosen phases; [`worst_trace`] builds the
//! schedule that makes one packet as late as it can, so that a bound can be printed beside what is
//! really reached.
//!
//! Time is in whole picoseconds, sizes in bits on the wire (with preamble and gap).

mod engine;
mod net;
mod phases;
mod worst;

pub use engine::{Blocker, Outcome, Release, run};
pub use net::{Hop, Net, Queue, Train};
pub use phases::{Trial, random_phases};
pub use worst::{Reached, climb, worst_trace};
