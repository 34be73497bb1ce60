//! Every demo is as it should be, and every planted fault is named.

use loomwright_demo::{Campus, Planted, WRITTEN, campus, faulty, read};
use loomwright_model::{Nowhere, Plan, Wiring};
use loomwright_proof::{Report, prove};

/// The demos with their wirings: two written, one from a seed (smaller here, to keep the test quick).
fn demos() -> Vec<(Plan, Wiring)> {
    let written = WRITTEN.iter().map(|files| {
        let loaded = read(files).expect("the written plans are read without a problem");
        (loaded.plan, loaded.wiring)
    });
    let plan = campus(Campus { devices: 200, ..Campus::default() });
    let wiring = loomwright_design::design(&plan, &Wiring::default()).wiring;
    written.chain([(plan, wiring)]).collect()
}

fn names(report: &Report, fault: &Planted) -> bool {
    report.findings.iter().any(|finding| finding.code == fault.code && finding.items.contains(&fault.item.to_string()))
}

#[test]
fn the_demos_are_ready() {
    for (plan, wiring) in demos() {
        let report = prove(&plan, &wiring, &Nowhere);
        let stops: Vec<_> = report.findings.iter().filter(|finding| finding.severity == "stop").collect();
        assert!(report.ready && stops.is_empty(), "{}: {} {stops:?}", plan.about.name, report.verdict);
    }
}

#[test]
fn the_proof_names_every_planted_fault() {
    for (plan, wiring) in demos() {
        let good = prove(&plan, &wiring, &Nowhere);
        let (bad_plan, bad_wiring, planted) = faulty(&plan, &wiring);
        let report = prove(&bad_plan, &bad_wiring, &Nowhere);
        assert!(planted.len() >= 10, "{}: only {} faults", plan.about.name, planted.len());
        assert!(!report.ready, "{}", plan.about.name);
        for fault in &planted {
            assert!(names(&report, fault), "{}: {fault:?} is not named", plan.about.name);
            assert!(!names(&good, fault), "{}: {fault:?} was there before", plan.about.name);
        }
    }
}
