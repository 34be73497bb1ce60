//! Emergency advice on the demo plans, held against a second way of looking: the plan with the advised wiring is
//! read by the forwarding engine alone, and every delivery that was promised must arrive there.

use loomwright_model::{Id, Item, Plan, Wiring};
use loomwright_planfile::{Source, read};
use loomwright_proof::{Analysis, Emergency, findings_of, report_of};
use std::collections::BTreeSet;

/// A demo and how many of its failures move a plug at least: a test that moves nothing proves nothing.
const DEMOS: [(&str, usize); 4] = [("playhouse", 0), ("meeting-room", 1), ("playhouse-faults", 0), ("meeting-room-faults", 0)];

fn read_demo(name: &str) -> (Plan, Wiring) {
    let [plan, wiring] = loomwright_demo::texts(name).expect("a built-in demo");
    let loaded = read(Source { name, text: &plan }, Some(Source { name, text: &wiring })).expect("the demos are read without a problem");
    (loaded.plan, loaded.wiring)
}

fn everything(plan: &Plan, wiring: &Wiring) -> Vec<Item> {
    let cables = wiring.cables.keys().cloned().map(Item::Cable);
    let switches = wiring.switches.keys().cloned().map(Item::Switch);
    cables.chain(switches).chain(plan.devices.keys().cloned().map(Item::Device)).collect()
}

/// Does by hand what the moves say: out of one port, into the other; what hung on the failed box is unplugged.
fn patched(wiring: &Wiring, item: &Item, moves: &[loomwright_proof::advice::Move]) -> Wiring {
    let mut wiring = wiring.clone();
    for one in moves {
        if let Some(pulled) = &one.pull {
            wiring.cables.shift_remove(pulled);
        }
        let cable = wiring.cables.get_mut(&one.cable).expect("a cable that is there");
        assert!(cable.ends.contains(&one.from) && cable.ends.contains(&one.other));
        let end = cable.ends.iter_mut().find(|end| **end == one.from).expect("checked above");
        *end = one.to.clone();
        if one.is_lead {
            cable.routes.clear();
        }
    }
    let name = item.name();
    wiring.switches.shift_remove(name.as_str());
    let is_moved = |id: &Id| moves.iter().any(|one| one.cable == *id);
    wiring.cables.retain(|id, cable| is_moved(id) || (id.as_str() != name && cable.ends.iter().all(|end| end.item.as_str() != name)));
    wiring
}

fn codes(analysis: &Analysis) -> BTreeSet<(&'static str, Vec<Item>)> {
    findings_of(analysis).into_iter().map(|finding| (finding.code, finding.items)).collect()
}

#[test]
fn what_is_promised_arrives_and_nothing_is_broken() {
    for (name, least) in DEMOS {
        let (plan, wiring) = read_demo(name);
        let analysis = Analysis::new(&plan, &wiring);
        let emergency = Emergency::new(&analysis);
        let mut moved = 0;
        for item in everything(&plan, &wiring) {
            let advice = emergency.advice(&item).expect("everything can fail");
            if advice.moves.is_empty() {
                assert!(advice.back.is_empty() && advice.waiting == advice.silent, "{name} {item}");
                continue;
            }
            moved += 1;
            let after = Analysis::new(&plan, &patched(&wiring, &item, &advice.moves));
            let report = report_of(&after, &loomwright_model::Nowhere);
            for &demand in &advice.back {
                let demand = &analysis.survival.demands()[demand as usize];
                let line = report.streams.iter().find(|line| line.id == demand.stream.as_str() && line.to == demand.to.as_str());
                assert!(line.is_some(), "{name} {item}: {} at {} was promised", demand.stream, demand.to);
            }
            for (code, items) in codes(&after).difference(&codes(&analysis)) {
                let is_harm = ["wiring/loop", "joined", "-over", "over-", "twice", "wiring/wrong", "physical/"]
                    .iter()
                    .any(|word| code.contains(word));
                assert!(!is_harm, "{name} {item}: {code} {items:?} after {:?}", advice.moves);
            }
        }
        assert!(moved >= least, "{name}: {moved} failures with moves");
        println!("{name}: {moved} failures with moves");
    }
}

#[test]
fn nothing_but_the_promised_is_counted() {
    for (name, _) in DEMOS {
        let (plan, wiring) = read_demo(name);
        let analysis = Analysis::new(&plan, &wiring);
        let emergency = Emergency::new(&analysis);
        for (item, failure) in analysis.singles.losses().iter().enumerate().map(|(n, loss)| (loss.item(), n)) {
            let Some(advice) = emergency.advice(&item) else { continue };
            assert_eq!(advice.silent, analysis.singles.silent(failure), "{name} {item}");
            let together: BTreeSet<u32> = advice.back.iter().chain(&advice.waiting).copied().collect();
            assert_eq!(together, advice.silent.iter().copied().collect(), "{name} {item}");
        }
    }
}
