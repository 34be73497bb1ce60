//! Hears the wire of one interface: frames come from a [`Tap`], an [`Ear`] hands them to the gathering of evidence as they come.
//!
//! Nothing is sent unless it is asked for: [`Groups`] asks for multicast groups, [`ask`] makes the questions about addresses and
//! servers, [`poll`] reads the tables of switches. None of them changes anything in another box.
//!
//! Deliberately absent: the plan, and every judgement about what was heard.

#![allow(clippy::disallowed_methods, reason = "this crate is the one that meets sockets and the clock")]

pub mod ask;
mod ear;
mod groups;
mod interface;
#[cfg(target_os = "linux")]
mod packets;
pub mod poll;
mod replay;
mod stop;
mod tap;

pub use ear::Ear;
pub use groups::Groups;
pub use interface::{CannotListen, Interface, open};
#[cfg(target_os = "linux")]
pub use packets::PacketTap;
pub use replay::Replay;
pub use stop::Stop;
pub use tap::Tap;
