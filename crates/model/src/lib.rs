//! The nouns of an audio network: what is asked for ([`Plan`]), what is decided ([`Wiring`]),
//! units as types, identifiers, and what an analysis has to say ([`Finding`]).
//!
//! Deliberately absent: files, sockets, clocks, and every algorithm. Reading lives in `planfile`,
//! forwarding in `forwarding`, and so on; they meet only here.

pub mod finding;
pub mod gear;
pub mod id;
pub mod item;
pub mod multicast;
pub mod net;
pub mod plan;
pub mod source;
pub mod supply;
pub mod units;
pub mod wiring;

pub use finding::{Finding, Severity};
pub use gear::{
    ClockAbility, ClockSupport, Control, Gear, GearKind, LatencyRange, Medium, Pairing, PoeClass, PortRole, PortSpec, SpanningTree,
};
pub use id::{Id, PortRef};
pub use item::Item;
pub use net::{Dscp, InterfaceAddress, Subnet, VlanId};
pub use plan::{Device, Network, Place, Plan, Route, Stream, StreamFormat, Survive, Targets};
pub use source::{Locate, Location, Nowhere};
pub use supply::{PoeLink, Supply, supplies};
pub use units::{BitRate, ByteCount, Frequency, Hours, Length, Money, Power, Share, Time};
pub use wiring::{Cable, Interface, Switch, Wiring};
