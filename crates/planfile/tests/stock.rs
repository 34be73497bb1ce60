//! Stock with counts, reels, slack and cases: read, written, renamed, and got wrong.

use loomwright_model::Length;
use loomwright_model::plan::Counted;
use loomwright_planfile::{Source, read, write_plan};

const PLAN: &str = r#"
[plan]
name = "Stock"
[network.a]
subnet = "10.0.0.0/24"
[place.stage]
name = "Stage"
[device.box-1]
gear = "stage-box-32"
place = "stage"
[stock]
copper = ["5 m"]
copper-count = { "50 m" = 4, "10 m" = 12 }
fibre-count = { "100 m" = 1 }
copper-reels = { "305 m" = 2 }
fibre-reels = { "500 m" = 1 }
slack = { along = 0.1, per-end = "1 m", service-loop = "3 m" }
cases = { box-case = ["box-1"], stage-trunk = ["stage", "stage-box-32"] }
"#;

fn problem(from: &str, to: &str) -> (String, String) {
    let text = PLAN.replacen(from, to, 1);
    assert_ne!(text, PLAN, "{from} is in the plan");
    // With a wiring: without one, a name in a case may be that of a switch.
    let wiring = Source { name: "p.wiring.toml", text: "" };
    let Err(problems) = read(Source { name: "p.toml", text: &text }, Some(wiring)) else { panic!("{to}: it reads") };
    let first = problems.iter().next().expect("at least one problem");
    (first.code.to_owned(), format!("{} {}", first.message, first.help))
}

#[test]
fn everything_is_read_and_comes_back_as_it_was_written() {
    let plan = read(Source { name: "p.toml", text: PLAN }, None).expect("it reads").plan;
    let metres = |metres: u64| Length::from_millimetres(metres * 1_000);
    let stock = &plan.stock;
    assert_eq!(stock.copper_count, [Counted { length: metres(10), count: 12 }, Counted { length: metres(50), count: 4 }]);
    assert_eq!((stock.copper_reels[0].count, stock.fibre_reels[0].length, stock.fibre_count[0].count), (2, metres(500), 1));
    assert_eq!((stock.slack.per_end, stock.slack.service_loop), (metres(1), metres(3)));
    assert_eq!(stock.cases.values().map(Vec::len).collect::<Vec<_>>(), [1, 2]);
    let again = read(Source { name: "again.toml", text: &write_plan(&plan) }, None).expect("what is written reads");
    assert_eq!(again.plan.stock, plan.stock);
}

#[test]
fn what_is_wrong_is_named_with_what_is_near() {
    for (from, to, code, says) in [
        ("copper-count", "copper-counts", "plan/unknown-key", "copper-count"),
        ("copper-reels", "copper-reel", "plan/unknown-key", "copper-reels"),
        ("service-loop", "servise-loop", "plan/unknown-key", "service-loop"),
        ("\"50 m\" = 4", "\"50\" = 4", "plan/missing-unit", "50 m"),
        ("\"50 m\" = 4", "\"0 m\" = 4", "plan/out-of-range", "above zero"),
        ("\"50 m\" = 4", "\"50 m\" = -4", "plan/negative", "-4"),
        ("\"50 m\" = 4", "\"1000 cm\" = 4", "plan/out-of-range", "twice"),
        ("[\"box-1\"]", "[\"bux-1\"]", "plan/no-such-device", "box-1"),
        ("{ \"500 m\" = 1 }", "[\"500 m\"]", "plan/wrong-type", "fibre-reels"),
    ] {
        let (found, text) = problem(from, to);
        assert_eq!(found, code, "{to}: {text}");
        assert!(text.contains(says), "{to}: {text}");
    }
}
