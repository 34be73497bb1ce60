//! `wiring/loop`.

use super::*;

rule! {
    /// Cables form a loop that nothing breaks.
    ///
    /// A frame at this level carries no hop count. In a loop it circles for ever, each broadcast is copied
    /// again and again, and the network is full within a second. Most small switches inside devices run no
    /// spanning tree, and one switch without it is enough.
    ///
    /// **Example:** two plain switches joined by two cables "for safety".
    ///
    /// **Source**: follows from Ethernet frames having no hop limit; 1 488 095 frames/s at 1 Gb/s by the method of RFC 2544.
    "wiring/loop", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let told = wiring_chained_twice::cables_told(all);
    let storms = all.forwarding.storms.iter().map(|storm| storm.cables.iter().map(|at| &all.fabric.cables[at.0 as usize].id).collect::<Vec<_>>());
    storms.filter(|cables| !told.iter().any(|pair| pair.iter().all(|id| cables.contains(&id)))).filter_map(|cables| circling(all, &cables)).collect()
}

fn circling(all: &Analysis, cables: &[&Id]) -> Option<Finding> {
    let boxes: IndexSet<&Id> = cables.iter().flat_map(|id| all.wiring.cables[*id].ends.iter().map(|end| &end.item)).collect();
    let last = cables.last()?;
    let without = boxes.iter().find(|id| all.wiring.gear_at(&all.plan, id).is_some_and(|gear| gear.spanning_tree == SpanningTree::None));
    let why = without.map_or_else(String::new, |id| format!("; {id} runs no spanning tree"));
    let says = format!("{} form a loop through {} that nothing breaks{why}.", list(cables), list(&boxes));
    let remedy = format!("Unplug {last} now; plug it in again only when every switch of the loop runs spanning tree.");
    let items = cables.iter().copied().map(cable).chain(boxes.iter().map(|id| item(all, id))).collect();
    let source = "Ethernet frames have no hop limit";
    Some(Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures("1 loop", "0 loops").with_source(source))
}

fn item(all: &Analysis, id: &Id) -> Item {
    if all.wiring.switches.contains_key(id) { switch(id) } else { device(id) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("p1", ("plain-switch", "stage"), &["a"]).switch("p2", ("plain-switch", "stage"), &["a"]);
        trial.cable("L-1", ["p1/7", "p2/7"], "a").cable("L-2", ["p1/8", "p2/8"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn spanning_tree_breaks_it() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.wiring.switches["p1"].gear = crate::trial::id("switch");
        trial.wiring.switches["p2"].gear = crate::trial::id("switch");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }

    #[test]
    fn a_chained_device_with_both_ports_in_one_switch_is_told_once() {
        let mut trial = Trial::good();
        trial.wiring.switches["sw-a"].gear = crate::trial::id("plain-switch");
        trial.device("c1", "box", "stage").cable("X-1", ["c1/1", "sw-a/3"], "a").cable("X-2", ["c1/2", "sw-a/4"], "a");
        let analysis = Analysis::new(&trial.plan, &trial.wiring);
        assert_eq!(check(&analysis), vec![]);
        assert_eq!(crate::findings_of(&analysis)[0].code, "wiring/chained-twice");
    }
}
