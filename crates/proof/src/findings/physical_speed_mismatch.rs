//! `physical/speed-mismatch`.

use super::*;
use loomwright_model::{BitRate, Medium};
use loomwright_physical::{CableCheck, CableTrouble};

rule! {
    /// The two ends of a cable differ in speed.
    ///
    /// Copper ports agree on the slower speed, and a trunk that was meant to be fast is not. Optics do not agree
    /// on anything: with a module of each speed the link stays dark. Most 10 Gb/s pluggable ports take a 1 Gb/s
    /// module (common practice, no source), and then the link runs at 1 Gb/s; some ports do not.
    ///
    /// **Example:** a 10 Gb/s module at one end of a fibre and a 1 Gb/s module at the other.
    ///
    /// **Source**: IEEE 802.3: copper negotiates, 1000BASE-X and 10GBASE-R do not speak to each other (from memory).
    "physical/speed-mismatch", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let fits = |found: &&CableCheck| !found.troubles.iter().any(|trouble| matches!(trouble, CableTrouble::PortTakesAnother { .. }));
    let cables = all.physical.cables.iter().filter(fits);
    cables
        .flat_map(|found| found.troubles.iter().map(move |trouble| (&found.cable, trouble)))
        .filter_map(|(id, trouble)| match trouble {
            CableTrouble::SpeedsDiffer { speeds, negotiates } => mismatch(all, id, *speeds, *negotiates),
            _ => None,
        })
        .collect()
}

/// A cable that does not even fit is told elsewhere. A device slower than its switch is nothing to say; a trunk slower than one of its ends is.
fn mismatch(all: &Analysis, id: &Id, speeds: [BitRate; 2], negotiates: bool) -> Option<Finding> {
    let found = &all.wiring.cables[id];
    if negotiates && !all.is_trunk(found) {
        return None;
    }
    let [near, far] = &found.ends;
    let slower = speeds[0].min(speeds[1]);
    // A slower module can only go where the faster end is pluggable.
    let pluggable = is_pluggable(all, if speeds[0] > speeds[1] { near } else { far });
    let move_it = format!("Move {id} to two ports of the same speed.");
    let (severity, effect, remedy) = match (negotiates, pluggable) {
        (true, _) => (Severity::Note, format!("it runs at {slower}"), move_it),
        (false, true) => {
            let remedy = format!("Order a {slower} module for the faster port, and check that it takes one.");
            (Severity::Note, format!("it runs at {slower} with a {slower} module in the faster port, if that takes one"), remedy)
        }
        (false, false) => (Severity::Stop, "optics of different speed stay dark".to_owned(), move_it),
    };
    let says = format!("{id} joins {near} at {} to {far} at {}: {effect}.", speeds[0], speeds[1]);
    let items = vec![cable(id), port(near), port(far)];
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures(speeds[0], speeds[1]).with_source("IEEE 802.3 (from memory)"))
}

fn is_pluggable(all: &Analysis, end: &PortRef) -> bool {
    let specs = all.wiring.gear_at(&all.plan, &end.item).map(Gear::port_specs).unwrap_or_default();
    specs.iter().any(|spec| spec.name == end.port && matches!(spec.medium, Medium::Sfp | Medium::SfpPlus))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        let mut fast = trial.plan.gear["switch"].clone();
        fast.ports[1].speed = BitRate::from_bits_per_second(10_000_000_000);
        trial.plan.gear.insert(crate::trial::id("fast-switch"), fast);
        trial.switch("sw-a2", ("fast-switch", "stage"), &["a"]).cable("T-1", ["sw-a/10", "sw-a2/10"], "a");
        trial.wiring.cables["T-1"].medium = Medium::Fibre;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn fixed_optics_stop_the_show_and_pluggable_ones_want_a_look() {
        for (medium, severity) in [(Medium::Fibre, Severity::Stop), (Medium::SfpPlus, Severity::Note)] {
            let mut trial = Trial::good();
            firing(&mut trial);
            for gear in ["switch", "fast-switch"] {
                trial.plan.gear[gear].ports[1].medium = medium;
            }
            let found = check(&Analysis::new(&trial.plan, &trial.wiring));
            assert_eq!(found.iter().map(|one| one.severity).collect::<Vec<_>>(), [severity], "{medium}");
        }
    }
}
