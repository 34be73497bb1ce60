//! `physical/fibre-too-long`.

use super::*;
use loomwright_model::Medium;
use loomwright_physical::CableCheck;

rule! {
    /// A fibre is longer than the usual optics reach on it.
    ///
    /// The plan names neither fibre nor optics, so a common pair is assumed and said. With single mode and
    /// long-wave optics the same length may be well within reach: check what is really there.
    ///
    /// **Example:** 700 m of multimode at 1 Gb/s, where short-wave optics reach 550 m.
    ///
    /// **Source**: IEEE 802.3 clauses 38 and 52: reach by fibre type (read second-hand).
    "physical/fibre-too-long", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    physical_copper_too_long::too_long(all, Medium::Fibre).into_iter().filter_map(finding).collect()
}

fn finding(found: &CableCheck) -> Option<Finding> {
    let limit = found.limit?;
    let says = format!("{} is {} of fibre, and {} is the most at {} with {}.", found.cable, found.length, limit.most, found.speed?, limit.assumes);
    let remedy = format!("Use single mode with long-wave optics at both ends of {}, or check the reach of what is there.", found.cable);
    Some(Finding::new((RULE.code, Severity::Warn), vec![cable(&found.cable)], says, remedy).with_figures(found.length, limit.most).with_source(limit.source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("sw-a2", ("switch", "stage"), &["a"]).cable("T-1", ["sw-a/10", "sw-a2/10"], "a").long("T-1", 700);
        trial.wiring.cables["T-1"].medium = Medium::Fibre;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
