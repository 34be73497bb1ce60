//! Who leads the clock, who follows, through which boxes, and with what guaranteed error.
//!
//! [`datasets`] says what each device announces, [`leaders`] who wins in each part that hears itself (the
//! same call serves after a failure), [`follow`] how far from its leader each follower can be.
//!
//! Deliberately absent: servo behaviour. A bound here holds for every single exchange of messages; a good
//! servo does far better on average, which no one can guarantee. [`expect`] says what the planned load lets one
//! expect, apart from the bound.

mod dataset;
mod error;
mod expected;
mod follow;
mod leaders;
pub mod message;
mod split;

pub use dataset::{BACKUP_PRIORITY, Dataset, LEADER_PRIORITY, datasets};
pub use error::{Terms, boundary_chain, chain_error, one_lower_frame};
pub use expected::{Expected, WINDOW, expect};
pub use follow::{Follower, Role, follow};
pub use leaders::{ClockDomain, GONE, leaders};
pub use split::{Gone, Splits};
