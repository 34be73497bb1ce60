//! The plans in `plans/`: the good ones are ready, and every fault planted in their twins is named.

use loomwright_model::{Plan, Wiring};
use loomwright_planfile::{Source, read};
use loomwright_proof::beside::in_turn;
use loomwright_proof::report::{self, Report};
use loomwright_proof::{Analysis, prove, prove_beside};

struct Case {
    name: &'static str,
    plan: &'static str,
    wiring: &'static str,
    /// `code item` of every fault that was planted.
    planted: &'static str,
}

macro_rules! case {
    ($name:literal, $planted:expr) => {
        Case {
            name: $name,
            plan: include_str!(concat!("../../../plans/", $name, "/", $name, ".toml")),
            wiring: include_str!(concat!("../../../plans/", $name, "/", $name, ".wiring.toml")),
            planted: $planted,
        }
    };
}

const GOOD: [Case; 2] = [case!("playhouse", ""), case!("meeting-room", "")];
const FAULTY: [Case; 2] = [
    case!("playhouse-faults", include_str!("../../../plans/playhouse-faults/planted.txt")),
    case!("meeting-room-faults", include_str!("../../../plans/meeting-room-faults/planted.txt")),
];

impl Case {
    fn read(&self) -> (Plan, Wiring) {
        let source = |text| Source { name: self.name, text };
        let loaded = read(source(self.plan), Some(source(self.wiring))).expect("the plans are read without a problem");
        (loaded.plan, loaded.wiring)
    }

    fn prove(&self) -> Report {
        let (plan, wiring) = self.read();
        prove(&plan, &wiring, &loomwright_model::Nowhere)
    }
}

fn stops(report: &Report) -> Vec<String> {
    report
        .findings
        .iter()
        .filter(|finding| finding.severity == "stop")
        .map(|finding| format!("{}: {}", finding.code, finding.says))
        .collect()
}

#[test]
fn good_plans_are_ready() {
    for case in &GOOD {
        let report = case.prove();
        assert_eq!(stops(&report), Vec::<String>::new(), "{}", case.name);
        assert!(report.ready && report.verdict.starts_with("Ready"), "{}: {}", case.name, report.verdict);
    }
}

#[test]
fn every_planted_fault_is_named() {
    for case in &FAULTY {
        let report = case.prove();
        for line in case.planted.lines() {
            let (code, item) = line.split_once(' ').expect("a code and an item");
            let told = report.findings.iter().any(|finding| finding.code == code && finding.items.iter().any(|known| known == item));
            assert!(told, "{}: {line} is not told", case.name);
        }
    }
}

#[test]
fn reports_keep_to_their_schema_and_print_the_same_twice() {
    let schema = serde_json::from_str(&report::schema()).expect("the schema is JSON");
    let validator = jsonschema::validator_for(&schema).expect("the schema is a schema");
    for case in GOOD.iter().chain(&FAULTY) {
        let (plan, wiring) = case.read();
        let backwards = prove_beside((&plan, &wiring), &loomwright_model::Nowhere, |one, two| in_turn(two, one));
        let [one, two] = [case.prove(), backwards].map(|report| serde_json::to_value(report).expect("reports print"));
        assert_eq!(validator.iter_errors(&one).map(|error| error.to_string()).collect::<Vec<_>>(), Vec::<String>::new(), "{}", case.name);
        assert!(one == two, "{} differs from itself", case.name);
    }
}

#[test]
fn every_single_failure_is_in_the_report() {
    let (plan, wiring) = GOOD[0].read();
    let report = prove(&plan, &wiring, &loomwright_model::Nowhere);
    let told = |item: String, frozen: bool| report.failures.iter().any(|line| line.without == [item.clone()] && line.frozen == frozen);
    assert!(wiring.cables.keys().all(|id| told(format!("cable:{id}"), false)));
    assert!(wiring.switches.keys().all(|id| told(format!("switch:{id}"), false) && told(format!("switch:{id}"), true)));
    assert!(plan.devices.keys().all(|id| told(format!("device:{id}"), false)));
    assert_eq!(report.availability.per_stream.len(), Analysis::new(&plan, &wiring).survival.demands().len());
}
