//! Slow, obvious ways to the same answers.

mod availability;
mod failures;
mod fleet;
mod golden;
mod plain;
