//! The pages: a local server for one plan and any number of browsers.
//!
//! The plan on disk is the truth ([`store`]); every page is a function of what was read from it
//! ([`pages`]), served by [`server`] behind [`guard`] and kept current by [`live`]. Deliberately
//! absent: every rule about audio networks. Those live in the crates behind [`engine`].
#![allow(clippy::disallowed_methods, reason = "this crate is the one that meets files, sockets and the clock")]

mod access;
mod crew;
mod engine;
mod forms;
mod guard;
mod live;
mod pages;
mod seen;
mod server;
mod store;

pub use access::{Access, Guest, Invitation, Role};
pub use server::{Failure, Options, Workbench, crew_router, router, serve};
