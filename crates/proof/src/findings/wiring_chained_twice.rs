//! `wiring/chained-twice`.

use super::*;

rule! {
    /// Both ports of a chained device go into the same network.
    ///
    /// A device with chained ports holds a small switch inside. Two cables from it into one network make
    /// a ring, and most of these small switches run no spanning tree: frames circle for ever and the
    /// network drowns within a second. Where the switches outside happen to break the ring, one of the
    /// two cables carries nothing, and every change of cabling makes the network think again.
    ///
    /// **Example:** a stage box, as it leaves the factory, with port 1 and port 2 both in the stage switch.
    ///
    /// **Source**: common practice, no source; what a loop does follows from Ethernet frames having no hop limit.
    "wiring/chained-twice", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.geared().filter(|(id, _, _)| all.pairing(id) == Some(Pairing::Chained)).filter_map(|(id, _, _)| twice(all, id)).collect()
}

fn twice(all: &Analysis, id: &Id) -> Option<Finding> {
    let plugs: Vec<&Plug> = all.layout.audio_plugs(id).filter(|plug| all.joins(&plug.far.item)).collect();
    let [first, second] = plugs.as_slice() else { return None };
    if !is_switching(all, &first.far.item) || !is_switching(all, &second.far.item) {
        return None;
    }
    let both = all.networks_of(second);
    let shared = all.networks_of(first).into_iter().find(|network| both.contains(network))?;
    if !all.reaches((&first.far.item, &second.far.item), id, shared) {
        return None;
    }
    let storm = all.forwarding.storms.iter().any(|storm| storm.cables.iter().any(|at| all.fabric.cables[at.0 as usize].id == first.cable));
    let (severity, effect) = match storm {
        true => (Severity::Stop, "nothing breaks the loop, so frames circle until the network drowns"),
        false => (Severity::Warn, "spanning tree blocks one of the two, so the second cable only looks like a spare"),
    };
    let says = format!("{id} is set to chained ports and has both of them in network {shared} ({} and {}): {effect}.", first.far, second.far);
    let remedy = format!("Unplug {} from {}, or set {id} to independent ports and put its second port on another network.", second.cable, second.own);
    let items = vec![device(id), cable(&first.cable), cable(&second.cable)];
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures("2 cables", "1 cable into one network").with_source(PRACTICE))
}

/// The two cables of every device that this finding reports.
pub(super) fn cables_told(all: &Analysis) -> Vec<[Id; 2]> {
    let told = check(all).into_iter().filter_map(|finding| match &finding.items[1..] {
        [Item::Cable(first), Item::Cable(second)] => Some([first.clone(), second.clone()]),
        _ => None,
    });
    told.collect()
}

/// A switch or router, as against another chained device: rings through several are judged as loops.
fn is_switching(all: &Analysis, item: &Id) -> bool {
    all.wiring.gear_at(&all.plan, item).is_some_and(Gear::is_switching)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("c1", "box", "stage").cable("X-1", ["c1/1", "sw-a/3"], "a").cable("X-2", ["c1/2", "sw-a/4"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_chained_device_between_two_islands_is_no_loop() {
        let mut trial = Trial::good();
        trial.switch("sw-c", ("switch", "stage"), &["a"]);
        trial.device("c1", "box", "stage").cable("X-1", ["c1/1", "sw-a/3"], "a").cable("X-2", ["c1/2", "sw-c/1"], "a");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }

    #[test]
    fn onward_to_the_next_device_is_how_it_is_meant() {
        let mut trial = Trial::good();
        trial.chain("sw-a/3", 3);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
