//! Slow, obvious judges of the crate's answers, on seeded random plans.

mod availability;
mod failures;
mod fleet;
