//! Bounds against the worked cases of `checks/delay`; see the README there for where they come from.

mod cases;

use cases::{CASES, Case, load, picoseconds};
use loomwright_delay::analyse;

fn worst(case: &Case) -> Vec<(String, u64)> {
    let analysis = analyse(&case.network);
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
    assert_eq!(compared, 24);
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
        let analysis = analyse(&case.network);
        for (name, stream, hop) in &case.ends {
            let whole = analysis.bound(*stream, *hop).expect("every case has bounds").worst;
            let parts = analysis.parts(*stream, *hop);
            let sum = parts.iter().map(|part| part.forward + part.wait + part.serialise + part.propagate).sum();
            assert_eq!(whole, sum, "{} {name}", case.id);
            assert!(parts.iter().all(|part| part.blocked <= part.wait));
        }
    }
}
