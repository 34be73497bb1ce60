//! Rehearsals on this machine's kernel. They have no test harness, because only a process with one thread can become root of
//! a user namespace, and because what could not be tried has to be said even where all is well.
//!
//! `cargo test -p loomwright-rehearsal --test kernel -- NAME` runs those whose name holds NAME.

#![allow(clippy::disallowed_methods, reason = "these tests run on a kernel")]

mod plans;
mod rehearsing;

use loomwright_evidence::Evidence;
use loomwright_model::Item;
use loomwright_rehearsal::Options;
use loomwright_rehearsal::kernel::prepare;
use loomwright_rehearsal::script::Expected;
use rehearsing::{faults, interfaces, run, tried};
use std::collections::BTreeSet;
use std::thread;
use std::time::Instant;

const TESTS: &[(&str, fn())] = &[
    ("meeting_room_agrees", meeting_room_agrees),
    ("wrong_predictions_are_told", wrong_predictions_are_told),
    ("small_playhouse_agrees", small_playhouse_agrees),
    ("ring_heals_as_predicted", ring_heals_as_predicted),
    ("a_wrong_tree_is_told", a_wrong_tree_is_told),
    ("captures_are_evidence", captures_are_evidence),
    ("unicast_finds_its_receiver", unicast_finds_its_receiver),
];

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|argument| !argument.starts_with('-')).collect();
    if let Err(trouble) = prepare() {
        println!("REHEARSALS NOT TRIED, this system allows no namespaces: {trouble}. {}", trouble.remedy);
        return;
    }
    let before = interfaces();
    let chosen = TESTS.iter().filter(|(name, _)| wanted.is_empty() || wanted.iter().any(|part| name.contains(part.as_str())));
    // A rehearsal is mostly waiting: all at once take hardly longer than the longest.
    let running: Vec<_> = chosen.map(|(name, test)| (name, thread::spawn(move || timed(*test)))).collect();
    let mut failed = Vec::new();
    for (name, test) in running {
        match test.join() {
            Ok(seconds) => println!("rehearsal {name} ... ok, {seconds:.1} s"),
            Err(_) => failed.push(name),
        }
    }
    assert_eq!(interfaces(), before, "an interface of this machine was touched");
    assert!(failed.is_empty(), "failed: {failed:?}");
}

fn timed(test: fn()) -> f64 {
    let start = Instant::now();
    test();
    start.elapsed().as_secs_f64()
}

/// A chain without a switch: cables and devices, everything behind the break falls silent.
fn meeting_room_agrees() {
    let (plan, wiring) = plans::meeting_room();
    let report = run((&plan, &wiring), |_| {});
    assert!(report.agrees, "{}", faults(&report));
    assert_eq!(tried(&report, "cable:"), 3);
    assert_eq!(tried(&report, "device:"), 4);
    assert!(report.steps.iter().all(|step| !step.silent.is_empty()), "in a chain everything is needed");
}

/// A planted wrong prediction must not pass, of whatever kind.
fn wrong_predictions_are_told() {
    let (plan, wiring) = plans::meeting_room();
    let report = run((&plan, &wiring), |script| {
        script.steps.retain(|step| matches!(step.loss.item(), Item::Cable(_)));
        let flip = |expected: &mut Expected, leg: usize| expected.heard[leg] = !expected.heard[leg];
        // Says that a stream which falls silent is heard, and that one which is heard falls silent.
        let silent = script.steps[0].expected.heard.iter().position(|heard| !heard).expect("a cable silences something");
        let heard = script.steps[1].expected.heard.iter().position(|heard| *heard).expect("something goes on");
        flip(&mut script.steps[0].expected, silent);
        flip(&mut script.steps[1].expected, heard);
    });
    assert!(!report.agrees && report.intact.agrees);
    let told: Vec<bool> = report.steps.iter().map(|step| step.agrees).collect();
    assert_eq!(told, [false, false, true], "{}", faults(&report));
    assert_eq!((report.steps[0].differences.len(), report.steps[1].differences.len()), (1, 1));
    assert_eq!(report.steps[0].differences[0].seen, "silent");
    assert_eq!(report.steps[1].differences[0].seen, "heard");
    let whole = run((&plan, &wiring), |script| script.intact.heard[0] = false);
    assert!(!whole.agrees && !whole.intact.agrees && whole.steps.is_empty() && whole.not_tried.len() == 7, "{whole:?}");
}

/// Two networks, each a tree of switches: one leg always carries on.
fn small_playhouse_agrees() {
    let (plan, wiring) = plans::small_playhouse();
    let report = run((&plan, &wiring), |_| {});
    assert!(report.agrees, "{}", faults(&report));
    assert_eq!(tried(&report, "cable:"), wiring.cables.len());
    assert_eq!(tried(&report, "switch:"), 2 * wiring.switches.len());
    assert_eq!(tried(&report, "device:"), plan.devices.len());
    let on = |network: &str| report.steps.iter().any(|step| step.silent.iter().any(|line| line.network == network));
    assert!(on("a") && on("b"));
}

/// A ring of switches with spanning tree: streams come back, after a time that stays within the bound.
fn ring_heals_as_predicted() {
    let (plan, wiring) = plans::ring();
    let report = run((&plan, &wiring), |_| {});
    assert!(report.agrees, "{}", faults(&report));
    let healed = |step: &&loomwright_rehearsal::report::StepLine| step.outages.iter().any(|outage| outage.silent_ms > 1_000);
    assert!(report.steps.iter().filter(healed).count() >= 2, "pulling a trunk in use must take time to heal: {:#?}", report.steps);
}

/// The kernel's own word on which port is shut is held against the plan's.
fn a_wrong_tree_is_told() {
    let (plan, wiring) = plans::ring();
    let report = run((&plan, &wiring), |script| {
        script.steps.truncate(1);
        script.blocked.clear();
    });
    assert!(!report.agrees && report.tree_differences.len() == 1, "{:?}", report.tree_differences);
}

/// Unicast goes to the receiver's planned address, after the hardware address was asked for.
fn unicast_finds_its_receiver() {
    let (mut plan, wiring) = plans::meeting_room();
    plan.streams.values_mut().for_each(|stream| stream.mode = loomwright_model::plan::Mode::Unicast);
    let report = run((&plan, &wiring), |script| script.steps.truncate(2));
    assert!(report.agrees, "{}", faults(&report));
}

/// What is kept reads as evidence of the plan: every stream that crosses a cable, from its planned sender to its planned group.
fn captures_are_evidence() {
    let (plan, wiring) = plans::meeting_room();
    let folder = tempfile::tempdir().expect("a folder");
    let options = Options { keep: Some(folder.path().to_owned()), ..Options::default() };
    let report = rehearsing::run_with(&options, (&plan, &wiring), |script| script.steps.truncate(2));
    assert!(report.agrees, "{}", faults(&report));
    let all: Vec<_> = wiring.cables.keys().collect();
    let seen = captured(&folder.path().join("whole"), &all);
    let flows: BTreeSet<_> =
        seen.flows.iter().map(|flow| (flow.sender.to_string(), flow.destination.to_string(), flow.code_points.clone())).collect();
    let planned = [("10.40.0.20", "239.192.1.1"), ("10.40.0.21", "239.192.1.2"), ("10.40.0.23", "239.192.1.3")];
    for (from, to) in planned {
        assert!(flows.contains(&(from.to_owned(), to.to_owned(), vec![plan.stream_format.media_dscp.get()])), "{flows:?}");
    }
    let comparison = loomwright_linecheck::compare(&plan, &wiring, &seen);
    // Rates are lowered on purpose, a busy machine sends unevenly, and the line check sees both; nothing else may differ.
    assert!(comparison.unread.is_empty(), "{:?}", comparison.unread);
    let differs = comparison.differences.iter().filter(|one| !["seen/packet-rate", "seen/jitter"].contains(&one.code)).count();
    assert_eq!(differs, 0, "{:#?}", comparison.differences);
    results_are_kept(folder.path(), &report);
    for step in &report.steps {
        let cable = step.without.strip_prefix("cable:").expect("the first steps take cables away");
        let after = captured(&folder.path().join(format!("without-cable-{cable}")), &all);
        let through: Vec<&str> =
            after.flows.iter().filter_map(|flow| Some(after.source_of(&flow.seen)?.name.trim_end_matches(".pcap"))).collect();
        assert!(!through.contains(&cable), "nothing comes through the cable that was pulled: {through:?}");
        assert!(!through.is_empty(), "something still comes through the others");
    }
}

/// Captures of these cables in a folder.
fn captured(folder: &std::path::Path, cables: &[&loomwright_model::Id]) -> Evidence {
    Evidence::merged(cables.iter().map(|cable| {
        let octets = std::fs::read(folder.join(format!("{cable}.pcap"))).expect("a capture of every cable between boxes");
        loomwright_evidence::read(&format!("{cable}.pcap"), &octets)
    }))
}

/// One file for the whole and one for each step, saying what the report says.
fn results_are_kept(folder: &std::path::Path, report: &loomwright_rehearsal::Report) {
    let read = |name: &str| -> serde_json::Value {
        let text = std::fs::read(folder.join("results").join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        serde_json::from_slice(&text).unwrap_or_else(|error| panic!("{name}: {error}"))
    };
    assert_eq!(read("whole.json"), serde_json::to_value(&report.intact).expect("it is data"));
    for step in &report.steps {
        let name = format!("without-{}.json", step.without.replace(':', "-"));
        assert_eq!(read(&name), serde_json::to_value(step).expect("it is data"));
    }
}
