//! Whole commands, as a person or a script runs them: few, to prove that everything is hooked up.

#![allow(clippy::disallowed_methods, reason = "these tests run programs and read files")]

mod bad_input;
mod listening;
mod plain_use;
mod rehearsing;
mod running;
mod saving;
mod serving;
mod transcripts;
