//! `plan/no-streams`.

use super::*;

rule! {
    /// The plan names no streams.
    ///
    /// Load, delay and what falls silent are proved for streams. Without any, only the wiring, the addresses and
    /// the power are looked at.
    ///
    /// **Example:** a fresh plan with the gear list filled in and nothing else.
    ///
    /// **Source**: what this proof can know.
    "plan/no-streams", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    if !all.plan.streams.is_empty() {
        return Vec::new();
    }
    let says = "The plan has no streams, so load, delay and silence are not proved.";
    let remedy = "Add a [stream.NAME] with from, to and channels for everything that must be heard.";
    vec![Finding::new((RULE.code, Severity::Note), vec![Item::Plan], says, remedy).with_figures("0 streams", "at least 1").with_source("what this proof can know")]
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams.clear();
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
