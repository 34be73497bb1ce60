//! The project's own recordings of a small network: every planted fault is named, and nothing where nothing was planted.

use loomwright_evidence::{Evidence, read};
use loomwright_linecheck::{Certainty, Comparison, compare};
use loomwright_planfile::Loaded;
use proptest::prelude::*;

fn rig() -> Loaded {
    let (plan, wiring) = (include_bytes!("fixtures/rig.toml"), include_bytes!("fixtures/rig.wiring.toml"));
    loomwright_planfile::read_bytes(("rig.toml", plan), Some(("rig.wiring.toml", wiring))).expect("the plan of the rig reads")
}

macro_rules! files {
    ($($folder:literal: $($name:literal)+;)+) => {
        [$(($folder, &[$(($name, include_bytes!(concat!("fixtures/recorded/", $folder, "/", $name)).as_slice()),)+])),+]
    };
}

/// A set: files by name.
type Set = &'static [(&'static str, &'static [u8])];

const SETS: [(&str, Set); 6] = files! {
    "base": "addresses.json" "bridge_sw2.json" "bridge_swb.json" "lldp_sw2.json" "lldp_d1.json" "lldp_d2.json" "ptp_e2.txt" "receivers.jsonl";
    "swapped": "addresses.json" "bridge_sw2.json" "lldp_sw2.json";
    "missing": "addresses.json" "bridge_sw1.json" "lldp_d2.json" "receivers.jsonl";
    "dhcp": "dhcp_probe_lt.json";
    "loss": "receivers.jsonl";
    "clash": "receivers.jsonl";
};

/// The capture of a laptop at the first switch, with everything as planned; it serves the readers' tests too.
const EDGE: &[u8] = include_bytes!("../../evidence/tests/fixtures/edge.pcap");

fn check(files: &[(&str, &[u8])]) -> Comparison {
    let loaded = rig();
    compare(&loaded.plan, &loaded.wiring, &Evidence::merged(files.iter().map(|(name, octets)| read(name, octets))))
}

fn set(name: &str) -> Comparison {
    let (_, files) = SETS.iter().find(|(folder, _)| *folder == name).expect("a set of that name");
    check(files)
}

/// Code, first item, and what is said.
fn told(one: &Comparison) -> Vec<(&str, Certainty, String)> {
    one.differences.iter().map(|one| (one.code, one.certainty, one.items.first().map(ToString::to_string).unwrap_or_default())).collect()
}

#[test]
fn nothing_is_named_where_all_is_as_planned() {
    let mut files = SETS[0].1.to_vec();
    files.push(("edge_lt.pcap", EDGE));
    let comparison = check(&files);
    assert_eq!(told(&comparison), []);
    assert!(comparison.is_as_planned() && comparison.unread.is_empty());
    // Two switches, two devices of the chain and a laptop were looked at; not every cable.
    assert!(comparison.cables_confirmed.0 >= 8, "{:?}", comparison.cables_confirmed);
    assert!(comparison.not_seen.iter().any(|one| one.item.to_string() == "cable:A-010"), "{:?}", comparison.not_seen);
}

#[test]
fn no_evidence_is_no_difference() {
    let comparison = check(&[]);
    assert_eq!(told(&comparison), []);
    assert_eq!(comparison.not_seen.len(), 18 + 13 + 3 + 2 + 1, "every cable, device, stream, querier and the leader");
}

#[test]
fn swapped_plugs() {
    let comparison = set("swapped");
    assert_eq!(told(&comparison), [("seen/swapped", Certainty::Certain, "port:sw2/1".to_owned())]);
    assert!(comparison.differences[0].caution.is_some());
    assert!(comparison.differences[0].seen.iter().any(|one| one.at.starts_with("lldp_sw2.json, entry ")));
}

#[test]
fn a_missing_cable_between_devices_that_send_no_neighbour_messages() {
    let comparison = set("missing");
    let told = told(&comparison);
    assert!(told.contains(&("seen/missing-cable", Certainty::Likely, "cable:A-006".to_owned())), "{told:?}");
    assert_eq!(told.iter().filter(|(code, ..)| *code == "seen/stream-missing").count(), 3, "{told:?}");
    assert_eq!(told.len(), 4, "{told:?}");
}

#[test]
fn other_faults() {
    let certain = Certainty::Certain;
    assert_eq!(told(&set("dhcp")), [("seen/dhcp-server", certain, "device:e3".to_owned())]);
    let loss = set("loss");
    let who: Vec<&str> = loss.differences.iter().filter(|one| one.code == "seen/loss").map(|one| one.says.as_str()).collect();
    assert_eq!(who, ["e2 loses 0.89 % of stream s1", "d3 loses 0.89 % of stream s1", "e3 loses 5.24 % of stream s2"]);
    assert_eq!(loss.differences.iter().filter(|one| one.code == "seen/jitter").count(), 2, "e2 and d3, both hear e1");
    assert_eq!(loss.differences.len(), 5);
    assert_eq!(told(&set("clash")), [("seen/group-twice", Certainty::Likely, "stream:s1".to_owned())]);
}

/// Notes of a person are evidence too; each shows one more kind of difference.
#[test]
fn small_texts() {
    for (name, text, code) in [
        ("notes.csv", "device,port,neighbour,neighbour port\nsw1,2,e2,1\n", Some("seen/wrong-port")),
        ("notes.csv", "device,port,neighbour,neighbour port\nsw1,2,e1,1\n", None),
        ("notes.csv", "device,port,neighbour,neighbour port\nsw1,9,visitor,1\n", Some("seen/unplanned-neighbour")),
        (
            "arping_lt.txt",
            "ARPING 10.78.0.22 from 10.78.0.99 p1\nUnicast reply from 10.78.0.22 [02:A6:DE:3F:DB:87]  2.031ms\nUnicast reply from 10.78.0.22 [02:A6:DE:3F:DB:88]  2.031ms\n",
            Some("seen/duplicate-address"),
        ),
    ] {
        let comparison = check(&[(name, text.as_bytes())]);
        let codes: Vec<&str> = comparison.differences.iter().map(|one| one.code).collect();
        assert_eq!(codes, code.into_iter().collect::<Vec<_>>(), "{text}\n{comparison:#?}");
    }
}

/// Plugs are named by what is exchanged, or by where one belongs; never by a list of all cables of a switch.
#[test]
fn plugs_are_named_by_what_to_do() {
    for (text, says, planned, remedy) in [
        (
            "sw1,3,m1,2\nswb,1,m1,1\n",
            "the two plugs of `m1` are swapped: m1/1 is on swb/1, m1/2 on sw1/3",
            "sw1/3 on m1/1, swb/1 on m1/2",
            "Swap the two plugs at m1/1 and m1/2.",
        ),
        (
            "sw1,2,m1,1\nsw1,3,e1,1\n",
            "`e1` and `m1` are swapped: e1 is on sw1/3, m1 on sw1/2",
            "e1/1 on sw1/2, m1/1 on sw1/3",
            "Swap the two plugs at sw1/2 and sw1/3.",
        ),
        (
            "sw1,22,sw2,24\n",
            "sw2/24 is on sw1/22",
            "nothing on sw1/22; sw2/24 on sw1/24 (cable A-001)",
            "Move the plug from sw1/22 to sw1/24, or change the wiring.",
        ),
        (
            "sw1,22,sw2,\n",
            "sw2 is on sw1/22",
            "nothing on sw1/22; sw2 has 5 planned cables, none of them there",
            "See which of sw2's plugs is on sw1/22, and move it to its planned port, or change the wiring.",
        ),
    ] {
        let notes = format!("device,port,neighbour,neighbour port\n{text}");
        let comparison = check(&[("notes.csv", notes.as_bytes())]);
        let told: Vec<[&str; 3]> = comparison.differences.iter().map(|one| [&*one.says, &*one.planned, &*one.remedy]).collect();
        assert_eq!(told, [[says, planned, remedy]], "{text}");
    }
}

/// One address that moved is a plug that was moved; several are a loop.
#[test]
fn several_moving_addresses_are_more_than_one() {
    let table = |port: &str, count: usize| {
        let row = |n: usize| {
            format!("{{\"mac\": \"02:00:00:00:00:{n:02x}\", \"ifname\": \"{port}\", \"flags\": [], \"master\": \"br0\", \"state\": \"\"}}")
        };
        let rows: Vec<String> = (0..count).map(row).collect();
        format!("{{\"link\": [{{\"ifindex\": 2, \"ifname\": \"{port}\"}}], \"fdb\": [{}]}}\n", rows.join(", "))
    };
    for (count, certainty) in [(1, Certainty::Hint), (2, Certainty::Hint), (3, Certainty::Likely), (9, Certainty::Likely)] {
        let tables = [("bridge_sw1.json", table("p23", count)), ("bridge_sw1_later.json", table("p24", count))];
        let comparison = check(&tables.each_ref().map(|(name, text)| (*name, text.as_bytes())));
        assert_eq!(told(&comparison), [("seen/moving-address", certainty, "port:sw1/23".to_owned())], "{count}");
    }
}

/// Whole recordings, if a folder of them is at hand: each difference that the truth of a set asks for must be among those named.
#[test]
#[allow(clippy::disallowed_methods, reason = "the recordings are too large to be kept here; whoever has them names their folder")]
fn whole_recordings() {
    let Some(root) = std::env::var_os("LOOMWRIGHT_RECORDINGS") else { return };
    for (set, expected) in [
        ("base", &[][..]),
        ("f01_swapped_ports", &["seen/swapped"]),
        ("f02_missing_cable", &["seen/missing-cable", "seen/stream-missing"]),
        ("f03_second_dhcp", &["seen/dhcp-server"]),
        ("f05_no_querier", &["seen/no-querier"]),
        ("f07_two_ptp", &["seen/two-domains", "seen/jitter"]),
        ("f08_wrong_dscp", &["seen/wrong-dscp"]),
        ("f10_loss_jitter", &["seen/loss", "seen/jitter", "seen/packet-rate"]),
        ("f11_group_clash", &["seen/group-twice"]),
    ] {
        let folder = std::path::Path::new(&root).join(set);
        let mut paths: Vec<_> = std::fs::read_dir(&folder).expect("the set").flatten().map(|entry| entry.path()).collect();
        paths.sort();
        let all = paths.iter().map(|path| read(&path.to_string_lossy(), &std::fs::read(path).expect("a file of the set")));
        let loaded = rig();
        let comparison = compare(&loaded.plan, &loaded.wiring, &Evidence::merged(all));
        let mut codes: Vec<&str> = comparison.differences.iter().map(|one| one.code).collect();
        codes.sort_unstable();
        codes.dedup();
        let mut expected = expected.to_vec();
        expected.sort_unstable();
        assert_eq!(codes, expected, "{set}: {:#?}", comparison.differences);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any lines of any files, shuffled between sets, give an answer and no panic.
    #[test]
    fn any_lines_of_evidence(picks in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), any::<u64>()), 1..6)) {
        let files: Vec<(&str, &[u8])> = SETS.iter().flat_map(|(_, files)| files.iter().copied()).collect();
        let mut some = Vec::new();
        for (content, name, mask) in picks {
            let (own, octets) = files[content.index(files.len())];
            let lines = String::from_utf8_lossy(octets).lines().enumerate().filter(|(n, _)| mask >> (n % 64) & 1 == 1).map(|(_, line)| format!("{line}\n")).collect::<String>();
            let name = if mask % 3 == 0 { files[name.index(files.len())].0 } else { own };
            some.push((name, lines.into_bytes()));
        }
        let comparison = check(&some.iter().map(|(name, octets)| (*name, octets.as_slice())).collect::<Vec<_>>());
        prop_assert_eq!(comparison.files, some.len());
    }
}
