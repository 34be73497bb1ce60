//! Runs every row of `checks/clock.csv` against the crate. A topic that no one knows fails.

use loomwright_clock::{Dataset, chain_error, message};
use loomwright_model::{Id, Time};
use std::collections::BTreeMap;

const ROWS: &str = include_str!("../../../checks/clock.csv");

type Input<'a> = BTreeMap<&'a str, &'a str>;

fn number(input: &Input<'_>, key: &str) -> f64 {
    input.get(key).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("a number `{key}` in {input:?}"))
}

fn bytes(text: &str) -> Vec<u8> {
    text.split('-').map(|byte| u8::from_str_radix(byte, 16).expect("a byte")).collect()
}

fn code(text: &str) -> u16 {
    let digits = text.strip_prefix("0x").map(|hex| u16::from_str_radix(hex, 16));
    digits.unwrap_or_else(|| text.parse()).expect("a code")
}

fn byte(code: u16) -> u8 {
    u8::try_from(code).expect("a byte")
}

/// Of clocks `name=priority1,class,accuracy,variance,priority2`, the one that leads; the last three may be left out.
fn best(input: &Input<'_>) -> String {
    let clocks = input.iter().map(|(name, values)| {
        let values: Vec<u16> = values.split(',').filter(|value| *value != "..").map(code).collect();
        let mut dataset = Dataset::new(Id::new(name).expect("a name"), byte(values[0]), byte(values[1]));
        dataset.accuracy = values.get(2).map_or(dataset.accuracy, |value| byte(*value));
        dataset.variance = *values.get(3).unwrap_or(&dataset.variance);
        dataset.priority2 = values.get(4).map_or(dataset.priority2, |value| byte(*value));
        dataset
    });
    clocks.min().expect("a clock").identity.to_string()
}

fn asymmetry(input: &Input<'_>) -> f64 {
    let (there, back) = match input.get("fibre_len_diff_m") {
        Some(_) => (number(input, "fibre_len_diff_m") * number(input, "ns_per_m"), 0.0),
        None => (number(input, "fwd_ns"), number(input, "rev_ns")),
    };
    let time = |nanoseconds: f64| Time::from_picoseconds((nanoseconds * 1_000.0).round() as u64);
    message::asymmetry_error(time(there), time(back)).picoseconds() as f64 / 1_000.0
}

fn computed(topic: &str, text: &str) -> String {
    let input: Input<'_> = text.split(';').filter_map(|part| part.split_once('=')).collect();
    let n = |key| number(&input, key);
    let value = match topic {
        "ptp.port" if text == "general" => f64::from(message::GENERAL_PORT),
        "ptp.port" if text == "event" => f64::from(message::EVENT_PORT),
        "ptp.eui64" => {
            let mac: [u8; 6] = bytes(input["mac"]).try_into().expect("six bytes");
            return message::identity_from_mac(mac).map(|byte| format!("{byte:02X}")).join("-");
        }
        "ptp.delay" => message::Exchange(["t1", "t2", "t3", "t4"].map(|t| n(t) as i64)).twice_mean_delay() as f64 / 2.0,
        "ptp.offset" => message::Exchange(["t1", "t2", "t3", "t4"].map(|t| n(t) as i64)).twice_offset() as f64 / 2.0,
        "ptp.asymmetry" => asymmetry(&input),
        "ptp.master_timeout" => {
            let announcing = message::Announcing { log_interval: n("log_announce") as i8, timeout: n("timeout") as u8 };
            announcing.leader_timeout().picoseconds() as f64 / 1e12
        }
        "ptp.bmca" | "ptp.bmc" => return best(&input),
        "ptp.never_follows" => {
            let dataset = Dataset::new(Id::new("x").expect("a name"), 128, byte(code(input["class"])));
            return if dataset.never_follows() { "yes" } else { "no" }.to_owned();
        }
        "ptp.accuracy" => message::accuracy(byte(code(input["code"]))).expect("a promise").nanoseconds_up() as f64,
        "ptp.frame" if input["message"] == "Sync;udp_ipv4" || input["message"] == "Sync" => message::EVENT_FRAME_BYTES as f64,
        "ptp.chain" => {
            let (constant, sigmas) =
                (if input.contains_key("const_ns") { n("const_ns") } else { 0.0 }, if input.contains_key("k") { n("k") } else { 1.0 });
            chain_error(n("hops") as u32, constant, n("random_ns"), sigmas)
        }
        _ => panic!("no one knows {topic} {text}"),
    };
    value.to_string()
}

/// Equal as text, or as numbers to the last digit that the row gives.
fn agrees(found: &str, expected: &str) -> bool {
    match (found.parse::<f64>(), expected.parse::<f64>()) {
        (Ok(value), Ok(wanted)) => {
            let digits = expected.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
            (value - wanted).abs() <= 0.5000001 * 10f64.powi(-digits)
        }
        _ => found == expected,
    }
}

#[test]
fn every_row_agrees() {
    let mut seen = 0;
    for row in csv::Reader::from_reader(ROWS.as_bytes()).records() {
        let row = row.expect("a row");
        assert!(row.len() == 7 && !row[5].is_empty() && !row[6].is_empty(), "{row:?}: source and confidence");
        let found = computed(&row[1], &row[2]);
        assert!(agrees(&found, &row[3]), "{}: {} {}: found {found}, expected {}", &row[0], &row[1], &row[2], &row[3]);
        seen += 1;
    }
    assert!(seen >= 25, "only {seen} rows");
}
