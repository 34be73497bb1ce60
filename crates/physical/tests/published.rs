//! Runs every row of `checks/physical.csv` against the crate. A topic that no one knows fails.

use loomwright_model::{Length, PoeClass};
use loomwright_physical::optics::{Decibels, OPTICS, OpticalVerdict, Plant, margin, verdict};
use loomwright_physical::{copper, poe};
use std::collections::BTreeMap;

const ROWS: &str = include_str!("../../../checks/physical.csv");

/// The `key=value` and bare parts of an input, in order.
struct Input {
    named: BTreeMap<String, String>,
    bare: Vec<String>,
}

impl Input {
    fn new(text: &str) -> Self {
        let (mut named, mut bare) = (BTreeMap::new(), Vec::new());
        for part in text.split(';') {
            match part.split_once('=') {
                Some((key, value)) => drop(named.insert(key.to_owned(), value.to_owned())),
                None => bare.push(part.trim().to_owned()),
            }
        }
        Self { named, bare }
    }

    fn number(&self, key: &str) -> f64 {
        self.named.get(key).and_then(|text| text.parse().ok()).unwrap_or(0.0)
    }

    /// `count@loss`.
    fn lossy(&self, key: &str) -> (u32, Decibels) {
        let Some((count, loss)) = self.named.get(key).and_then(|text| text.split_once('@')) else { return (0, Decibels::default()) };
        (count.parse().expect("a count"), decibels(loss.parse().expect("a loss")))
    }
}

fn decibels(value: f64) -> Decibels {
    Decibels::from_thousandths((value * 1_000.0).round() as i64)
}

fn optic(input: &Input) -> &'static loomwright_physical::optics::Optic {
    OPTICS.iter().find(|optic| optic.phy == input.bare[0] && optic.fibre == input.bare[1]).expect("an optic of the table")
}

fn fibre(topic: &str, input: &Input) -> String {
    match topic {
        "fibre.reach" => optic(input).reach.metres().to_string(),
        "fibre.budget" => {
            let optic = OPTICS.iter().find(|optic| {
                let powers = optic.powers.map(|powers| powers.map(|power| power as f64 / 1_000.0));
                optic.phy == input.bare[0] && powers == Some([input.number("tx"), input.number("rx")])
            });
            let budget = optic.and_then(|optic| optic.budget()).expect("an optic of the table with these powers");
            (budget.thousandths() as f64 / 1_000.0).to_string()
        }
        "fibre.margin" => {
            let plant = Plant {
                length: Length::from_millimetres((input.number("km") * 1e6) as u64),
                loss_per_kilometre: decibels(input.number("db_km")),
                connectors: input.lossy("conn"),
                splices: input.lossy("splice"),
                other: decibels(input.number("hom")),
            };
            (margin(decibels(input.number("budget")), &plant).thousandths() as f64 / 1_000.0).to_string()
        }
        "fibre.verdict" => {
            let length: Length = input.bare[2].parse().expect("a length");
            match verdict(optic(input), &Plant::multimode(length, 2)) {
                OpticalVerdict::BeyondReach(reach) => format!("fail reach {reach}"),
                OpticalVerdict::TooMuchLoss(most) => format!("fail loss {most}"),
                OpticalVerdict::Works => "pass".to_owned(),
            }
        }
        _ => panic!("no one knows the topic {topic}"),
    }
}

fn computed(topic: &str, text: &str) -> String {
    let input = Input::new(text);
    let n = |key| input.number(key);
    let value = match topic {
        "poe.class" => {
            let class: PoeClass = format!("class-{}", n("class")).parse().expect("a class");
            let power = poe::class_power(class);
            let watts = |power: loomwright_model::Power| power.milliwatts() as f64 / 1_000.0;
            return format!("{};{}", watts(power.source), watts(power.device));
        }
        "poe.pd_power" => poe::device_watts(n("V"), n("I"), n("R")),
        "poe.pd_voltage" => poe::device_volts(n("V"), n("P"), n("R")).expect("no collapse"),
        "poe.cable_loss" => poe::cable_loss(n("V"), n("P"), n("R")).expect("no collapse"),
        "cable.cords" => copper::cords(n("H"), n("D")),
        "cable.workarea" => copper::work_end_cord(n("H"), n("D"), n("T")),
        "cable.heat" => copper::fixed_at_temperature(n("T")).expect("within the table"),
        "cable.delay" => copper::delay_of_100_metres(n("MHz")),
        _ => return fibre(topic, &input),
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
    let mut reader = csv::Reader::from_reader(ROWS.as_bytes());
    let mut seen = 0;
    for row in reader.records() {
        let row = row.expect("a row");
        assert_eq!(row.len(), 7, "{row:?}");
        assert!(!row[5].is_empty() && !row[6].is_empty(), "{}: source and confidence", &row[0]);
        let found = computed(&row[1], &row[2]);
        assert!(agrees(&found, &row[3]), "{}: {} {}: found {found}, expected {}", &row[0], &row[1], &row[2], &row[3]);
        seen += 1;
    }
    assert!(seen > 25, "only {seen} rows");
}
