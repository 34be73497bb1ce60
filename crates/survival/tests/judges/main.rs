//! Slow, obvious ways to the same answers.

mod availability;
mod failures;
mod fleet;
mod golden;
#[path = "../../benches/growing/mod.rs"]
#[allow(dead_code)]
mod growing;
mod plain;
