//! Bounds against the worked cases of `checks/delay`; see the README there for where they come from.

mod cases;

use cases::{CASES, Case, load, picoseconds};
use loomwright_delay::analyse;
use loomwright_delay::bucket::{BucketFlow, Server, token_bucket_delays};

fn worst(case: &Case) -> Vec<(String, u64)> {
    let analysis = analyse(case.network.clone());
    let bound = |stream, hop| analysis.bound(stream, hop).expect("every case has bounds").worst.picoseconds();
    case.ends.iter().map(|(name, stream, hop)| (name.clone(), bound(*stream, *hop))).collect()
}

/// Values worked by hand, to one picosecond.
#[test]
fn meets_the_values_worked_by_hand() {
    let mut compared = 0;
    for case in CASES.map(load) {
        let Some(hand) = case.json.get("hand_us").and_then(|hand| hand.as_object()) else { continue };
        for (name, found) in worst(&case) {
            let stream = name.split("->").next().expect("a stream");
            let key = [stream, &stream[..1], "all"].into_iter().find(|key| hand.contains_key(*key)).expect("a value for every stream");
            let expected = picoseconds(&hand[key]);
            assert!(found.abs_diff(expected) <= 1, "{} {name}: {found} ps, by hand {expected} ps", case.id);
            compared += 1;
        }
    }
    assert_eq!(compared, 61);
}

/// Never below what a simulated trace achieved; never above what the reference methods give.
#[test]
fn lies_between_what_was_achieved_and_what_the_references_give() {
    let mut compared = 0;
    for case in CASES.map(load) {
        for (name, found) in worst(&case) {
            let row = &case.json["expected_us"][&name];
            // Values are kept to 0.1 ns.
            for achieved in ["constructive_lower_bound", "climbed_lower_bound"].iter().filter_map(|key| row.get(key)) {
                assert!(found + 100 >= picoseconds(achieved), "{} {name}: {found} ps is below the achieved {achieved} us", case.id);
                compared += 1;
            }
            for key in ["tfa_stair_line_shaping", "tfa_stair_nested_shaping", "combined_bound", "stair_sp_bound"] {
                let Some(reference) = row.get(key) else { continue };
                assert!(found <= picoseconds(reference) + 100, "{} {name}: {found} ps is above {key} {reference} us", case.id);
                compared += 1;
            }
        }
        if let Some(envelope) = case.json.get("envelope_us") {
            assert!(worst(&case).iter().all(|(_, found)| *found <= picoseconds(envelope)), "{}", case.id);
        }
    }
    assert!(compared > 400, "{compared}");
}

#[test]
fn parts_add_up_to_the_whole() {
    for case in CASES.map(load) {
        let analysis = analyse(case.network.clone());
        for (name, stream, hop) in &case.ends {
            let whole = analysis.bound(*stream, *hop).expect("every case has bounds").worst;
            let parts = analysis.parts(*stream, *hop);
            let sum = parts.iter().map(|part| part.forward + part.wait + part.serialise + part.propagate).sum();
            assert_eq!(whole, sum, "{} {name}", case.id);
            assert!(parts.iter().all(|part| part.blocked <= part.wait));
        }
    }
}

/// The delay that is said to be reached is one that a simulated trace had, or less; by it the bound is
/// known to be tight for every stream of the star, the chains and the two class examples.
#[test]
fn what_is_said_to_be_reached_was_reached() {
    for case in CASES.map(load) {
        let analysis = analyse(case.network.clone());
        for (name, stream, hop) in &case.ends {
            let bound = analysis.bound(*stream, *hop).expect("every case has bounds");
            let row = &case.json["expected_us"][name];
            let achieved = ["constructive_lower_bound", "climbed_lower_bound"].iter().filter_map(|key| row.get(key)).map(picoseconds).max();
            let reached = bound.reached.picoseconds();
            assert!(achieved.is_none_or(|achieved| reached <= achieved + 100), "{} {name}: {reached} ps, {achieved:?}", case.id);
            let is_easy = ["c01", "c02", "c03", "c06", "c07", "c09"].iter().any(|easy| case.id.starts_with(easy));
            assert_eq!(bound.is_known_tight(), is_easy, "{} {name}", case.id);
        }
    }
}

/// Token buckets through rate-latency servers: the library's own expected results, exactly.
#[test]
fn token_bucket_mode_gives_the_published_results() {
    for text in [
        include_str!("../../../checks/delay/x01_token_bucket.json"),
        include_str!("../../../checks/delay/x02_token_bucket.json"),
        include_str!("../../../checks/delay/x03_token_bucket.json"),
        include_str!("../../../checks/delay/x04_token_bucket.json"),
    ] {
        let json: serde_json::Value = serde_json::from_str(text).expect("a case is valid JSON");
        let number = |value: &serde_json::Value| value.as_u64().expect("a whole number");
        let servers: Vec<(&String, &serde_json::Value)> = json["servers"].as_object().expect("servers").iter().collect();
        let seconds = |value: u64| loomwright_model::Time::from_milliseconds(value * 1_000);
        let given: Vec<Server> = servers.iter().map(|(_, s)| Server { rate: number(&s[0]), latency: seconds(number(&s[1])) }).collect();
        let flows = json["flows"].as_object().expect("flows");
        let flow = |flow: &serde_json::Value| {
            let path = flow[2].as_array().expect("a path").iter();
            let path = path.map(|name| servers.iter().position(|(known, _)| name == *known).expect("a server")).collect();
            BucketFlow { rate: number(&flow[0]), burst: number(&flow[1]), path }
        };
        let found = token_bucket_delays(&given, &flows.values().map(flow).collect::<Vec<_>>());
        for ((name, _), found) in flows.iter().zip(found) {
            let expected = (json["total_flow_delay"][name].as_f64().expect("a figure") * 1e12) as u64;
            assert_eq!(found.map(|found| found.picoseconds()), Some(expected), "{} {name}", json["id"]);
        }
    }
}
