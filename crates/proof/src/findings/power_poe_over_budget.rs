//! `power/poe-over-budget`.

use super::*;
use loomwright_physical::SwitchPoe;

rule! {
    /// Devices ask a switch for more power over Ethernet than it can give.
    ///
    /// The switch switches some of them off, the last ones or those of low priority, and it does so when the
    /// last one starts, not when the first one is plugged in. What the cables take on the way is counted.
    ///
    /// **Example:** thirty loudspeakers of 13 W on a switch with 370 W.
    ///
    /// **Source**: the gear type's `poe-budget` in the plan; cable loss after IEEE 802.3 (Ohm's law, conductor resistance from memory).
    "power/poe-over-budget", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.physical.poe.iter().filter_map(over).collect()
}

fn over(found: &SwitchPoe) -> Option<Finding> {
    let budget = found.budget?;
    let (severity, asked, says) = if found.is_over() {
        let says = format!("{} is asked for {} over Ethernet and can give {budget}.", found.switch, found.draw);
        (Severity::Stop, found.draw, says)
    } else if found.reserved > budget {
        let says = format!("{} can give {budget}; if it sets power aside by class, it needs {} for {}.", found.switch, found.reserved, count(found.ports.len(), "device"));
        (Severity::Warn, found.reserved, says)
    } else {
        return None;
    };
    let last = &found.ports.last()?.link.to.item;
    let remedy = format!("Move {last} and others to another switch, or feed them from a supply of their own.");
    let items = std::iter::once(switch(&found.switch)).chain(found.ports.iter().map(|port| device(&port.link.to.item))).collect();
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures(asked, budget).with_source("poe-budget of the gear type in the plan"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["speaker"].draws = Some(loomwright_model::Power::from_milliwatts(12_000));
        trial.switch("sw-p", ("weak-poe-switch", "stage"), &["a"]);
        for n in 1..=2 {
            let name = format!("speaker-{n}");
            trial.device(&name, "speaker", "stage").cable(&format!("P-{n}"), [&format!("{name}/1"), &format!("sw-p/{n}")], "a");
        }
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn setting_aside_by_class_is_a_warning() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.gear["speaker"].draws = Some(loomwright_model::Power::from_milliwatts(5_000));
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring))[0].severity, Severity::Warn);
    }
}
