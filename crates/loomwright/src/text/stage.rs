//! How far a design is, in a few words.

use loomwright_design::{Progress, Stage, Step};
use loomwright_model::Money;

/// What a design is at; how much of it is done; the cost so far of the part that is searched, and what it cannot fall below.
pub fn says(stage: Stage) -> String {
    match stage {
        Stage::Places(progress) => places(progress),
        Stage::Wirings { done, of } => format!("wiring in full, {done} of {of} tried"),
        Stage::Moves { done, of } => format!("which plugs must move, {done} of {of} tried"),
    }
}

fn places(progress: Progress) -> String {
    let [best, bound] = [progress.best, progress.bound].map(|cost| Money::from_hundredths(u64::try_from(cost).unwrap_or(0)));
    let (done, of) = (progress.done, progress.of);
    match progress.step {
        Step::Searching => format!("places for switches, {done} of {of}; best so far {best}"),
        Step::Bounding => format!("how cheap it can be, {done} of {of}; at least {bound}"),
        Step::Closing => format!("closing the gap, {done} of {of}; from {bound} to {best}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_stage_says_what_and_how_far() {
        let progress = |step| Stage::Places(Progress { step, done: 3, of: 8, best: 12_345, bound: 12_000 });
        for (stage, expected) in [
            (progress(Step::Searching), "places for switches, 3 of 8; best so far 123.45"),
            (progress(Step::Bounding), "how cheap it can be, 3 of 8; at least 120"),
            (progress(Step::Closing), "closing the gap, 3 of 8; from 120 to 123.45"),
            (Stage::Wirings { done: 1, of: 4 }, "wiring in full, 1 of 4 tried"),
            (Stage::Moves { done: 7, of: 400 }, "which plugs must move, 7 of 400 tried"),
        ] {
            assert_eq!(says(stage), expected);
        }
    }
}
