use super::*;
use crate::report::StepLine;
use loomwright_model::{Id, Time};
use loomwright_survival::Gap;

fn id(name: &str) -> Id {
    Id::new(name).expect("a name")
}

/// One demand over two networks with one packet stream each, and one over the first network with two.
fn cast() -> Cast {
    let leg = |demand, stream: &str, network: &str| Leg { demand, stream: id(stream), to: id("amp"), network: id(network) };
    let listener = |leg, sender| crate::cast::Listener { leg, host: 0, sender };
    Cast {
        legs: vec![leg(0, "main", "a"), leg(0, "main", "b"), leg(1, "fill", "a")],
        listeners: vec![listener(0, 0), listener(1, 1), listener(2, 2), listener(2, 3)],
        ..Cast::default()
    }
}

fn hears(missing: &[(u32, u32)]) -> Hearing {
    Hearing { hears_now: true, missing: missing.iter().map(|&(from, to)| Missing { from, to }).collect() }
}

fn silent(from: u32) -> Hearing {
    Hearing { hears_now: false, missing: vec![Missing { from, to: 100 }] }
}

fn told(heard: [bool; 3], gaps: Vec<(u32, Gap)>, hearing: [Hearing; 4]) -> StepLine {
    compare(&cast(), &Expected { heard: heard.to_vec(), gaps }, &Observation { hearing: hearing.to_vec(), period_ms: 20, noticed_ms: 0 })
}

#[test]
fn what_is_predicted_and_seen_agrees() {
    let line = told([true, false, true], Vec::new(), [hears(&[]), silent(10), hears(&[]), hears(&[])]);
    assert!(line.agrees, "{:?}", line.differences);
    assert_eq!(line.silent.len(), 1);
    assert!(line.outages.is_empty(), "the other leg carried on");
}

#[test]
fn every_kind_of_difference_is_told() {
    for (heard, hearing, expected, seen) in [
        ([true, true, true], [hears(&[]), silent(5), hears(&[]), hears(&[])], "heard", "silent"),
        ([true, false, true], [hears(&[]), hears(&[]), hears(&[]), hears(&[])], "silent", "heard"),
        ([true, true, true], [hears(&[]), hears(&[]), hears(&[]), silent(5)], "heard", "partly heard"),
        ([true, true, false], [hears(&[]), hears(&[]), silent(5), hears(&[])], "silent", "partly heard"),
        ([true, true, true], [hears(&[(10, 30)]), hears(&[(20, 40)]), hears(&[]), hears(&[])], "no silence", "200 ms of silence"),
    ] {
        let line = told(heard, Vec::new(), hearing);
        assert!(!line.agrees);
        assert_eq!((line.differences[0].expected.as_str(), line.differences[0].seen.as_str()), (expected, seen));
    }
}

#[test]
fn a_gap_that_was_predicted_is_held_to_its_bound() {
    let gap = |ms| vec![(1, Gap { tree: Time::from_milliseconds(ms), members: Time::ZERO })];
    let hearing = || [hears(&[]), hears(&[]), hears(&[(10, 60)]), hears(&[(15, 62)])];
    let within = told([true; 3], gap(1_100), hearing());
    assert!(within.agrees, "{:?}", within.differences);
    assert_eq!((within.outages[0].silent_ms, within.outages[0].at_most_ms), (1_040, Some(1_100)));
    let beyond = told([true; 3], gap(1_000), hearing());
    assert_eq!(beyond.differences[0].expected, "at most 1000 ms of silence");
}

#[test]
fn a_packet_or_two_is_no_outage() {
    let line = told([true; 3], Vec::new(), [hears(&[]), hears(&[]), hears(&[(10, 12)]), hears(&[])]);
    assert!(line.agrees && line.outages.is_empty());
}
