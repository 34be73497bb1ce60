//! The built-in plans. Everything in them is invented.
//!
//! Two are written by hand (`plans/`), one is generated from a seed, and each has a twin with planted
//! faults, every one of which the proof must name.

pub mod campus;
pub mod faults;
mod generated;

pub use campus::{Campus, campus};
pub use faults::{Planted, plant};
pub use generated::{NAMES, faulty, generated, read, texts};

/// A plan as files: its text and its wiring's text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Files {
    /// Short name, used for the file names.
    pub name: &'static str,
    /// One line about it.
    pub about: &'static str,
    /// The plan.
    pub plan: &'static str,
    /// Its wiring.
    pub wiring: &'static str,
}

/// The plan that opens by default: a playhouse with two networks.
pub const PLAYHOUSE: Files = Files {
    name: "playhouse",
    about: "a playhouse with two networks, 40 devices and 62 streams",
    plan: include_str!("../../../plans/playhouse/playhouse.toml"),
    wiring: include_str!("../../../plans/playhouse/playhouse.wiring.toml"),
};

/// A four-device chain without a switch.
pub const MEETING_ROOM: Files = Files {
    name: "meeting-room",
    about: "a meeting room: four devices in a chain, no switch",
    plan: include_str!("../../../plans/meeting-room/meeting-room.toml"),
    wiring: include_str!("../../../plans/meeting-room/meeting-room.wiring.toml"),
};

/// The written plans.
pub const WRITTEN: [Files; 2] = [PLAYHOUSE, MEETING_ROOM];
