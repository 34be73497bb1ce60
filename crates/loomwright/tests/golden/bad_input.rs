//! Whatever lies where a plan should be: a clear sentence and the right exit code, never a crash.

use crate::running::{run, with_starter};
use std::fs;
use std::path::Path;

/// One bad input: what is done to the good plan, and what the program must say.
struct Case {
    name: &'static str,
    spoil: fn(&Path),
    code: i32,
    says: &'static [&'static str],
}

/// Replaces a part of `hall.toml` that must be there.
fn change(folder: &Path, from: &str, to: &str) {
    let path = folder.join("hall.toml");
    let text = fs::read_to_string(&path).expect("the starter was written");
    assert!(text.contains(from), "the starter has `{from}`");
    fs::write(path, text.replacen(from, to, 1)).expect("it can be written");
}

fn write(folder: &Path, bytes: &[u8]) {
    fs::write(folder.join("hall.toml"), bytes).expect("it can be written");
}

fn write_wiring(folder: &Path, text: &str) {
    fs::write(folder.join("hall.wiring.toml"), text).expect("it can be written");
}

/// A cable that the starter's plan has room for.
const CABLE_TO_DESK: &str =
    "[cable.A-1]\nends = [\"stage-box/1\", \"desk/1\"]\nnetwork = \"a\"\nmedium = \"copper\"\nlength = \"45 m\"\nroutes = [\"floor\"]\n";

const CASES: &[Case] = &[
    Case {
        name: "not there",
        spoil: |f| fs::remove_file(f.join("hall.toml")).expect("it is there"),
        code: 2,
        says: &["hall.toml", "not there", "loomwright new"],
    },
    Case { name: "empty", spoil: |f| write(f, b""), code: 2, says: &["hall.toml", "nothing in this plan"] },
    Case { name: "comments only", spoil: |f| write(f, b"# soon\n\n"), code: 2, says: &["nothing in this plan"] },
    Case { name: "binary", spoil: |f| write(f, b"\x7fELF\0\0\xff\xfe"), code: 2, says: &["not a text file"] },
    Case { name: "not UTF-8", spoil: |f| write(f, b"[plan]\nname = \"B\xfchne\"\n"), code: 2, says: &["hall.toml", "UTF-8"] },
    Case {
        name: "half-written",
        spoil: |f| write(f, b"[plan]\nname = \"Hall\"\n[device.desk]\ngear = \"cons"),
        code: 2,
        says: &["hall.toml:4"],
    },
    Case { name: "50 MB", spoil: |f| write(f, &vec![b'#'; 50 * 1024 * 1024]), code: 2, says: &["hall.toml", "larger than 16 MB"] },
    Case { name: "wrong unit", spoil: |f| change(f, "\"40 m\"", "\"40 ft\""), code: 2, says: &["plan/wrong-unit", "40 ft", "m"] },
    Case { name: "no unit", spoil: |f| change(f, "\"40 m\"", "40"), code: 2, says: &["plan/missing-unit", "length"] },
    Case { name: "negative", spoil: |f| change(f, "\"40 m\"", "\"-40 m\""), code: 2, says: &["plan/negative", "-40 m"] },
    Case { name: "NaN as a quantity", spoil: |f| change(f, "\"40 m\"", "nan"), code: 2, says: &["plan/not-a-number"] },
    Case { name: "NaN as a share", spoil: |f| change(f, "link-load = 0.75", "link-load = nan"), code: 2, says: &["plan/not-a-number"] },
    Case { name: "negative channels", spoil: |f| change(f, "channels = 32", "channels = -3"), code: 2, says: &["plan/negative"] },
    Case { name: "infinite place", spoil: |f| change(f, "[0.0, 30.0]", "[inf, 30.0]"), code: 2, says: &["plan/not-a-number"] },
    Case { name: "unknown key", spoil: |f| change(f, "revision =", "revison ="), code: 2, says: &["revison", "revision"] },
    Case { name: "duplicate", spoil: |f| change(f, "[device.amplifier]", "[device.desk]"), code: 2, says: &["hall.toml", "desk"] },
    Case {
        name: "device without place",
        spoil: |f| change(f, "gear = \"console-rack\"\nplace = \"foh\"", "gear = \"console-rack\""),
        code: 2,
        says: &["place", "desk"],
    },
    Case {
        name: "place unknown",
        spoil: |f| change(f, "place = \"foh\"", "place = \"fho\""),
        code: 2,
        says: &["plan/no-such-place", "fho", "foh"],
    },
    Case { name: "gear unknown", spoil: |f| change(f, "\"stage-box-32\"", "\"stage-box-23\""), code: 2, says: &["plan/no-such-gear"] },
    Case {
        name: "a stream to its own sender",
        spoil: |f| change(f, "to = [\"desk\"]", "to = [\"stage-box\"]"),
        code: 2,
        says: &["stage-box"],
    },
    Case { name: "a name with a space", spoil: |f| change(f, "[place.foh]", "[place.\"f o h\"]"), code: 2, says: &["f o h"] },
    Case {
        name: "cable to nowhere",
        spoil: |f| {
            write_wiring(
                f,
                "[cable.A-1]\nends = [\"desk/1\", \"ghost/1\"]\nnetwork = \"a\"\nmedium = \"copper\"\nlength = \"2 m\"\nroutes = []\n",
            )
        },
        code: 2,
        says: &["hall.wiring.toml", "ghost"],
    },
    Case {
        name: "port taken twice",
        spoil: |f| write_wiring(f, &[CABLE_TO_DESK, &CABLE_TO_DESK.replace("A-1", "A-2")].concat()),
        code: 2,
        says: &["plan/port-taken", "hall.wiring.toml", "stage-box/1"],
    },
    Case { name: "broken wiring", spoil: |f| write_wiring(f, "[cable.A-1\n"), code: 2, says: &["hall.wiring.toml:1"] },
    Case {
        name: "wiring is a folder",
        spoil: |f| fs::create_dir(f.join("hall.wiring.toml")).expect("it can be made"),
        code: 2,
        says: &["hall.wiring.toml", "folder"],
    },
    Case {
        name: "plan is a folder without a plan",
        spoil: |f| {
            fs::remove_file(f.join("hall.toml")).expect("it is there");
            fs::create_dir(f.join("hall.toml")).expect("it can be made");
        },
        code: 2,
        says: &["there is no plan in the folder"],
    },
];

#[test]
fn bad_input_gets_a_sentence_and_exit_code_2() {
    let mut wrong = String::new();
    for case in CASES {
        let folder = with_starter();
        (case.spoil)(folder.path());
        let checked = run(folder.path(), &["check", "hall.toml"]);
        let missing: Vec<_> = case.says.iter().filter(|part| !checked.err.contains(**part)).collect();
        if checked.code != case.code || !missing.is_empty() || checked.err.contains("panicked") {
            wrong.push_str(&format!("== {}: exit code {}, missing {missing:?} in\n{}\n", case.name, checked.code, checked.err));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn trouble_in_the_network_is_a_finding_and_exit_code_1() {
    let cable = |id: &str, [from, to]: [&str; 2], routes: &str| {
        let lies = format!("medium = \"copper\"\nlength = \"45 m\"\nroutes = [{routes}]\n");
        format!("[cable.{id}]\nends = [\"{from}\", \"{to}\"]\nnetwork = \"a\"\n{lies}")
    };
    let floor = "\"floor\"";
    let ring = [
        cable("A-1", ["stage-box/1", "desk/1"], floor),
        cable("A-2", ["desk/2", "amplifier/1"], floor),
        cable("A-3", ["amplifier/2", "stage-box/2"], ""),
    ];
    let folder = with_starter();
    write_wiring(folder.path(), &ring.concat());
    let checked = run(folder.path(), &["check", "hall.toml"]);
    assert_eq!(checked.code, 1, "{}{}", checked.out, checked.err);
    assert!(checked.out.starts_with("Not ready") && checked.out.contains("wiring/loop"), "{}", checked.out);
}

#[test]
fn no_devices_is_an_answer_not_a_crash() {
    let folder = with_starter();
    write(folder.path(), b"[plan]\nname = \"Nothing yet\"\n");
    for arguments in [&["check", "hall.toml"][..], &["design", "hall.toml", "--dry-run"], &["check", "hall.toml", "--json"]] {
        let answer = run(folder.path(), arguments);
        assert!((0..=1).contains(&answer.code) && !answer.err.contains("panicked"), "{arguments:?}: {} {}", answer.code, answer.err);
    }
}

#[test]
fn names_of_any_script_go_all_the_way() {
    let folder = with_starter();
    let path = folder.path().join("hall.toml");
    let text = fs::read_to_string(&path).expect("the starter was written");
    fs::write(&path, text.replace("stage-box\"", "舞台箱\"").replace("[device.stage-box]", "[device.\"舞台箱\"]"))
        .expect("it can be written");
    assert_eq!(run(folder.path(), &["design", "hall.toml"]).code, 0);
    let checked = run(folder.path(), &["check", "hall.toml", "--stream", "microphones"]);
    assert!(checked.out.contains("舞台箱/"), "{}{}", checked.out, checked.err);
}

#[test]
fn a_problem_is_also_told_as_json() {
    let folder = with_starter();
    change(folder.path(), "\"40 m\"", "\"40 ft\"");
    let checked = run(folder.path(), &["check", "hall.toml", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&checked.out).expect("standard output holds JSON");
    assert_eq!(checked.code, 2);
    assert_eq!(told["problems"][0]["code"], "plan/wrong-unit");
}
