//! Designs tried on plans made by hand and by seed.

mod conflict;
mod demos;
mod edges;
mod options;
mod plans;
mod playhouse;
mod properties;
mod redesign;
mod rules;
mod seeded;
