//! Designs tried on plans made by hand and by seed.

mod conflict;
mod demos;
mod edges;
mod judge;
mod options;
#[path = "../../../survival/tests/judges/plain.rs"]
#[allow(dead_code, reason = "shared with the tests of survival")]
mod plain;
mod plans;
mod playhouse;
mod properties;
mod redesign;
mod rules;
mod seeded;
