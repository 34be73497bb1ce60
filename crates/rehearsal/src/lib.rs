//! The rehearsal: the plan's wiring built from network namespaces and bridges on this Linux machine, with real streams in it;
//! then every cable, device and switch is taken away once, and who falls silent is compared with the prediction.
//!
//! Pure parts, tested without a kernel: [`blueprint`] (what to build), [`cast`] (who sends and who listens), [`script`]
//! (what is taken away, and for how long to watch), [`verdict`] (what was heard against what was expected), [`message`]
//! (the kernel's words). Everything that touches the kernel lies in [`kernel`].
//!
//! Deliberately absent: any touch of interfaces outside its own namespaces, and any traffic that leaves them.

pub mod blueprint;
pub mod cast;
mod cost;
#[cfg(target_os = "linux")]
pub mod kernel;
pub mod limits;
pub mod message;
pub mod report;
pub mod script;
pub mod verdict;

pub use blueprint::Blueprint;
pub use cast::Cast;
#[cfg(target_os = "linux")]
pub use kernel::{Options, Progress, Trouble, rehearse};
pub use report::Report;
pub use script::Script;
