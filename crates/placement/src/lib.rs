//! Cheapest and shortest: where switches stand, how trunks branch, what to cut from stock, in which order to walk.
//!
//! Problems come without names, as plain indexes and whole-number costs, and every answer comes with a lower bound that
//! no other answer can beat, so that one may say "within 0.8 % of the cheapest possible" and mean it. Bounds are worked
//! out in whole numbers: rounding never makes them too good. Everything is bit for bit the same on every run: seeds and
//! numbers of moves are arguments, there is no clock, and no floating-point function beyond the four operations and the
//! square root.
//!
//! | question | module |
//! |---|---|
//! | which switch models where, and what is wired to which place | [`problem`], [`solve`] |
//! | the same for few places, exactly, with the trees that join them | [`joined`] |
//! | which depots serve which customers, demand may be split | [`facility`] |
//! | which `p` centres serve all with the least walking | [`median`] |
//! | the shortest tree that joins given places | [`steiner`] |
//! | which cable from which stock length or reel | [`stock`], [`reels`] |
//! | the shortest round through given stops | [`tour`] |
//!
//! What is deliberately absent: names, texts for people, files, threads, time limits. A caller that must stop early says
//! so from the progress call and gets the best answer so far with the bound so far.

mod annealing;
mod bound;
mod close;
pub mod facility;
mod flow;
mod instance;
pub mod joined;
pub mod median;
mod polish;
pub mod price;
pub mod problem;
mod random;
pub mod reels;
pub mod solve;
mod state;
pub mod steiner;
pub mod stock;
mod stocked;
pub mod tour;

pub use problem::{Cost, Demand, Item, Layer, MOST, Model, Problem, Reach};
pub use solve::{Effort, Placement, Progress, Step, solve};
