//! Emergency advice on the demo plans, held against a second way of looking: the plan with the advised wiring is
//! read by the forwarding engine alone, and every delivery that was promised must arrive there.

use loomwright_demo::campus::{Campus, campus};
use loomwright_model::{Id, Item, Medium, Plan, Wiring};
use loomwright_physical::extra::cheapest_extra;
use loomwright_physical::{Apart, ways::Ways};
use loomwright_planfile::{Source, read};
use loomwright_proof::{Analysis, Emergency, findings_of, report_of};
use std::collections::BTreeSet;

/// A demo and how many of its failures move a plug at least: a test that moves nothing proves nothing. And which of its
/// failures are tried: every one, or each so many of a large one.
const DEMOS: [(&str, usize, usize); 5] =
    [("playhouse", 0, 1), ("meeting-room", 1, 1), ("playhouse-faults", 0, 1), ("meeting-room-faults", 0, 1), ("campus", 1, 7)];

/// The campus is made smaller: every advice is a proof of it all.
fn read_demo(name: &str) -> (Plan, Wiring) {
    if name == "campus" {
        let plan = campus(Campus { devices: 120, halls: 6, ..Campus::default() });
        let wiring = loomwright_design::design(&plan, &Wiring::default()).wiring;
        return (plan, wiring);
    }
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
    for (name, least, step) in DEMOS {
        let (plan, wiring) = read_demo(name);
        let analysis = Analysis::new(&plan, &wiring);
        let emergency = Emergency::new(&analysis);
        let mut moved = 0;
        for item in everything(&plan, &wiring).into_iter().step_by(step) {
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
    for (name, _, step) in DEMOS {
        let (plan, wiring) = read_demo(name);
        let analysis = Analysis::new(&plan, &wiring);
        let emergency = Emergency::new(&analysis);
        for (item, failure) in analysis.singles.losses().iter().enumerate().map(|(n, loss)| (loss.item(), n)).step_by(step) {
            let Some(advice) = emergency.advice(&item) else { continue };
            assert_eq!(advice.silent, analysis.singles.silent(failure), "{name} {item}");
            let together: BTreeSet<u32> = advice.back.iter().chain(&advice.waiting).copied().collect();
            assert_eq!(together, advice.silent.iter().copied().collect(), "{name} {item}");
        }
    }
}

/// Whether two places are joined by the routes of the plan but one, and a new one.
fn are_joined(plan: &Plan, [from, to]: [usize; 2], (without, new): (usize, Option<[usize; 2]>)) -> bool {
    let place = |id: &Id| plan.places.get_index_of(id).expect("a place of the plan");
    let routes = plan.routes.values().enumerate().filter(|(at, _)| *at != without);
    let routes: Vec<[usize; 2]> = routes.map(|(_, route)| route.between.each_ref().map(place)).chain(new).collect();
    let mut reached = BTreeSet::from([from]);
    loop {
        let before = reached.len();
        for [one, two] in &routes {
            if reached.contains(one) || reached.contains(two) {
                reached.extend([*one, *two]);
            }
        }
        if reached.len() == before {
            return reached.contains(&to);
        }
    }
}

/// One way leads from hall to hall: over the ducts to the plant room. The shortest line that would close it is named, as
/// trying every line between two places finds it.
#[test]
fn the_campus_is_told_the_shortest_route_that_it_lacks() {
    let plan = campus(Campus { devices: 180, halls: 6, ..Campus::default() });
    let ways = Ways::new(&plan);
    let halls: Vec<usize> = plan.places.keys().enumerate().filter(|(_, id)| id.as_str().starts_with("hall")).map(|(at, _)| at).collect();
    let mut lengths = BTreeSet::new();
    for ends in halls.iter().flat_map(|&one| halls.iter().step_by(5).map(move |&two| [one, two])).filter(|[one, two]| one < two) {
        let extra = cheapest_extra(&ways, Medium::Fibre, ends, Apart::Routes).expect("one way, so far");
        let needed: Vec<usize> = (0..plan.routes.len()).filter(|&route| !are_joined(&plan, ends, (route, None))).collect();
        assert!(needed.len() >= 2, "{ends:?}: only {needed:?}");
        let places = plan.places.len();
        let lines = (0..places).flat_map(|one| (one + 1..places).map(move |two| [one, two]));
        let parting = lines.filter(|line| needed.iter().all(|&route| are_joined(&plan, ends, (route, Some(*line)))));
        let shortest = parting.filter_map(|line| ways.straight(line)).min();
        assert_eq!(extra.at_least, shortest, "{ends:?}: {extra:?}");
        assert!(extra.is_cheapest && extra.pair.shared.is_empty(), "{ends:?}: {extra:?}");
        lengths.insert(extra.at_least);
    }
    assert!(lengths.len() > 5, "only {lengths:?}");
}
