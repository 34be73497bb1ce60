//! One packet's worst moment, packet by packet: who stands in front of it, where and when.
//!
//! Takes the same [`Network`](loomwright_delay::Network) that the worst-case calculation works on, has the simulator build
//! the schedule that makes one packet of one stream as late as it can, and returns what happens in each queue on its path
//! as plain data, for a page to draw or for a report to print beside the bound. The delay is one that a packet really
//! has in this schedule, so it is at or below the bound; where the two are equal the bound cannot be improved.
//!
//! What is assumed: streams keep their periods but nothing ties their phases; every box takes the longest of its times; one
//! clock message comes from each device that sends any; no release jitter. So it is a delay that can be reached, not always
//! the latest that can.

mod excerpt;
mod net;
mod replays;
mod timeline;

pub use net::net_of;
pub use replays::Replays;
pub use timeline::{Fullest, Passing, QueueTimeline, Replay, Whose};
