//! Edits against what the parser says of the text before and after.

use super::*;
use crate::log::Log;
use crate::print::write_wiring;
use crate::read::wiring::read as read_wiring;
use loomwright_model::wiring::{ClockChoice, Setting};
use loomwright_model::{Cable, Interface, Length, Medium, Pairing, PortRef, Switch, Wiring};
use proptest::prelude::*;

const PLAN: &str = include_str!("../../tests/fixtures/harbour.toml");
const WIRING: &str = include_str!("../../tests/fixtures/harbour.wiring.toml");

fn source(text: &str) -> Source<'_> {
    Source { name: "text.toml", text }
}

fn lone(text: &str) -> Wiring {
    let (tree, errors) = DeTable::parse_recoverable(text);
    assert!(errors.is_empty(), "{errors:?}\n{text}");
    let mut log = Log::new(File::Wiring);
    let wiring = read_wiring(tree.get_ref(), &mut log);
    assert!(log.problems.is_empty(), "{:?}\n{text}", log.problems);
    wiring
}

fn name() -> impl Strategy<Value = Id> {
    prop_oneof!["[a-c]{1,2}-[0-9]{1,2}", "[A-Z][0-9]\\.[0-9]", "[äß舞]{1,3}"]
        .prop_map(|text| Id::new(&text).expect("letters, digits and points make a name"))
}

fn names() -> impl Strategy<Value = Vec<Id>> {
    prop::collection::btree_set(name(), 0..3).prop_map(|set| set.into_iter().collect())
}

fn port() -> impl Strategy<Value = PortRef> {
    (name(), name()).prop_map(|(item, port)| PortRef::new(item, port))
}

fn switch() -> impl Strategy<Value = Switch> {
    let address = prop::option::of((1_u8..250).prop_map(|n| format!("10.30.0.{n}/22").parse().expect("an address")));
    let priority = prop::option::of((0_u16..=15).prop_map(|n| n * 4_096));
    let costs = prop::collection::btree_map(1_u32..60, 1_u32..200_000_001, 0..3).prop_map(|map| map.into_iter().collect());
    (name(), name(), names(), names(), address, priority, costs, any::<bool>()).prop_map(
        |(gear, place, networks, feeds, address, bridge_priority, path_cost, hold)| Switch {
            gear,
            place,
            networks,
            feeds,
            address,
            bridge_priority,
            path_cost,
            hold,
        },
    )
}

fn cable() -> impl Strategy<Value = Cable> {
    let networks = prop::collection::btree_set(name(), 1..3).prop_map(|set| set.into_iter().collect());
    let medium = prop_oneof![Just(Medium::Copper), Just(Medium::Fibre)];
    (port(), port(), networks, medium, any::<u32>(), names(), any::<bool>()).prop_map(|(a, b, networks, medium, length, routes, hold)| {
        Cable { ends: [a, b], networks, medium, length: Length::from_millimetres(u64::from(length)), routes, hold }
    })
}

fn setting() -> impl Strategy<Value = Setting> {
    let pairing = prop::option::of(prop_oneof![Just(Pairing::Chained), Just(Pairing::Independent)]);
    (pairing, prop::option::of(any::<u8>()), any::<bool>()).prop_map(|(pairing, clock_priority, hold)| Setting {
        pairing,
        clock_priority,
        hold,
    })
}

fn interface() -> impl Strategy<Value = Interface> {
    (any::<[u8; 2]>(), any::<bool>()).prop_map(|([a, b], hold)| {
        let address = format!("10.10.{a}.{b}/16").parse().expect("an address");
        Interface { address, hold }
    })
}

fn groups() -> impl Strategy<Value = indexmap::IndexMap<(Id, u32), indexmap::IndexMap<Id, std::net::Ipv4Addr>>> {
    let networks = prop::collection::btree_map(name(), any::<[u8; 2]>().prop_map(|[a, b]| std::net::Ipv4Addr::new(239, 192, a, b)), 0..3);
    prop::collection::btree_map((name(), 1_u32..12), networks.prop_map(|map| map.into_iter().collect()), 0..4)
        .prop_map(|map| map.into_iter().collect())
}

fn wiring() -> impl Strategy<Value = Wiring> {
    let map = |size| 0..size;
    (
        prop::collection::btree_map(name(), switch(), map(4)),
        prop::collection::btree_map(name(), cable(), map(6)),
        prop::collection::btree_map(name(), setting(), map(4)),
        prop::collection::btree_map(port(), interface(), map(4)),
        groups(),
        (prop::option::of(name()), prop::option::of(name())),
        prop::collection::btree_map(name(), name(), map(3)),
    )
        .prop_map(|(switches, cables, settings, interfaces, groups, (leader, backup), querier)| Wiring {
            switches: switches.into_iter().collect(),
            cables: cables.into_iter().collect(),
            settings: settings.into_iter().collect(),
            interfaces: interfaces.into_iter().collect(),
            groups,
            clock: ClockChoice { leader, backup },
            querier: querier.into_iter().collect(),
        })
}

/// Puts a remark behind every line and above every header.
fn remarked(text: &str) -> String {
    let line = |(n, line): (usize, &str)| match line {
        "" => "\n".to_owned(),
        header if header.starts_with('[') => format!("# above {n}\n{header} # at {n}\n"),
        other => format!("{other} # line {n}\n"),
    };
    text.lines().enumerate().map(line).collect()
}

proptest! {
    #[test]
    fn what_is_written_reads_the_same(wiring in wiring()) {
        let text = write_wiring(&wiring);
        prop_assert_eq!(&lone(&text), &wiring);
        prop_assert_eq!(write_wiring(&lone(&text)), text);
    }

    #[test]
    fn an_update_says_the_new_and_only_the_new(old in wiring(), new in wiring()) {
        let text = remarked(&write_wiring(&old));
        let updated = update_wiring(source(&text), &new).expect("a good text");
        prop_assert_eq!(lone(&updated), new);
        prop_assert_eq!(update_wiring(source(&text), &old).expect("a good text"), text);
    }

    #[test]
    fn an_update_keeps_what_stays(old in wiring(), new in wiring()) {
        let mut new = new;
        new.cables = old.cables.clone();
        let text = remarked(&write_wiring(&old));
        let updated = update_wiring(source(&text), &new).expect("a good text");
        let cable_lines = text.split("\n\n").filter(|block| block.contains("[cable."));
        for block in cable_lines {
            prop_assert!(updated.contains(block.trim_end()), "lost:\n{}\nin:\n{}", block, updated);
        }
    }
}

/// The text as plain values, with no regard to how it is written.
fn values(text: &str) -> toml::Table {
    toml::from_str(text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// Paths of all tables two deep, and some that are not there.
fn paths(text: &str) -> Vec<Vec<String>> {
    let mut all = vec![vec!["device".to_owned(), "new-one".to_owned()], vec!["targets".to_owned()], vec!["clock".to_owned()]];
    for (section, value) in values(text) {
        for (name, inner) in value.as_table().into_iter().flatten() {
            if inner.is_table() {
                all.push(vec![section.clone(), name.clone()]);
            }
        }
    }
    all
}

fn set_in(table: &mut toml::Table, path: &[String], key: &str, value: Option<toml::Value>) {
    let mut here = table;
    for name in path {
        if value.is_none() && !here.contains_key(name) {
            return;
        }
        let entry = here.entry(name.clone()).or_insert_with(|| toml::Value::Table(toml::Table::new()));
        here = entry.as_table_mut().expect("a table");
    }
    match value {
        Some(value) => drop(here.insert(key.to_owned(), value)),
        None => drop(here.remove(key)),
    }
}

proptest! {
    #[test]
    fn a_set_changes_one_value_and_nothing_else(at in any::<prop::sample::Index>(), key in "[a-z]{1,2}|gear|feeds|title|length", mark in any::<bool>(), crlf in any::<bool>()) {
        let text = if mark { remarked(PLAN) } else { PLAN.to_owned() };
        let text = if crlf { text.replace('\n', "\r\n") } else { text };
        let path = at.get(&paths(&text)).clone();
        let table = TableAt { file: File::Plan, path: path.clone() };
        let edit = Edit::Set { table: table.clone(), key: key.clone(), value: Value::texts(["x", "y"]) };
        let after = draft(Texts { plan: text.clone(), wiring: None }, std::slice::from_ref(&edit)).plan;
        let mut wanted = values(&text);
        set_in(&mut wanted, &path, &key, Some(vec!["x", "y"].into()));
        prop_assert_eq!(values(&after), wanted.clone());
        prop_assert!(!crlf || !after.replace("\r\n", "").contains('\n'), "line ends are kept");
        let again = draft(Texts { plan: after.clone(), wiring: None }, &[edit]).plan;
        prop_assert_eq!(&again, &after, "setting the same again changes nothing");
        let unset = draft(Texts { plan: after, wiring: None }, &[Edit::Unset { table, key: key.clone() }]).plan;
        set_in(&mut wanted, &path, &key, None);
        prop_assert_eq!(values(&unset), wanted);
    }

    #[test]
    fn a_removed_table_is_gone_and_nothing_else(at in any::<prop::sample::Index>(), mark in any::<bool>()) {
        let text = if mark { remarked(PLAN) } else { PLAN.to_owned() };
        let path = at.get(&paths(&text)).clone();
        let after = draft(Texts { plan: text.clone(), wiring: None }, &[Edit::Remove { table: TableAt { file: File::Plan, path: path.clone() } }]).plan;
        let mut wanted = values(&text);
        let (name, above) = path.split_last().expect("a path");
        set_in(&mut wanted, above, name, None);
        wanted.retain(|_, value| value.as_table().is_none_or(|table| !table.is_empty()));
        let mut found = values(&after);
        found.retain(|_, value| value.as_table().is_none_or(|table| !table.is_empty()));
        prop_assert_eq!(found, wanted);
    }
}

#[test]
fn comments_order_and_spacing_stay() {
    let text = "# The show.\n[plan]\nname = 'Old'   # for the poster\n\n# Stage\n[device.b]   # left\n  gear   = \"laptop\" # slow\n  place = \"x\"\n\n# Hall\n\n# desk\n[device.a]\ngear = \"laptop\"\n\n[place.x]\n";
    let device = |name: &str| TableAt::plan(&["device", name]);
    let cases: [(Edit, &str, &str); 7] = [
        (Edit::Set { table: TableAt::plan(&["plan"]), key: "name".into(), value: "New".into() }, "'Old'   #", "\"New\"   #"),
        (Edit::Set { table: TableAt::plan(&["plan"]), key: "name".into(), value: "Old".into() }, "", ""),
        (
            Edit::Set { table: device("b"), key: "title".into(), value: "Box".into() },
            "  place = \"x\"\n",
            "  place = \"x\"\n  title = \"Box\"\n",
        ),
        (Edit::Unset { table: device("b"), key: "gear".into() }, "  gear   = \"laptop\" # slow\n", ""),
        (Edit::Remove { table: device("a") }, "# desk\n[device.a]\ngear = \"laptop\"\n\n", ""),
        (Edit::Remove { table: device("b") }, "# Stage\n[device.b]   # left\n  gear   = \"laptop\" # slow\n  place = \"x\"\n\n", ""),
        (
            Edit::Add { table: device("c"), keys: vec![("gear".into(), "laptop".into())] },
            "[device.a]\ngear = \"laptop\"\n",
            "[device.a]\ngear = \"laptop\"\n\n[device.c]\ngear = \"laptop\"\n",
        ),
    ];
    for (edit, old, new) in cases {
        let after = draft(Texts { plan: text.to_owned(), wiring: None }, std::slice::from_ref(&edit)).plan;
        assert_eq!(after, text.replacen(old, new, 1), "{edit:?}");
    }
}

#[test]
fn long_lists_keep_their_remarks() {
    let text = "[stream.s]\nto = [\n  \"a\", # first\n  \"b\",\n  \"c\", # last\n]\n";
    let cases = [
        (vec!["a", "c"], "[stream.s]\nto = [\n  \"a\", # first\n  \"c\", # last\n]\n"),
        (vec!["a", "b", "c", "d"], "[stream.s]\nto = [\n  \"a\", # first\n  \"b\",\n  \"c\",\n  \"d\", # last\n]\n"),
        (vec!["b"], "[stream.s]\nto = [\n  \"b\",\n]\n"),
        (vec!["c", "a"], "[stream.s]\nto = [\"c\", \"a\"]\n"),
        (vec![], "[stream.s]\nto = [\n]\n"),
    ];
    for (items, expected) in cases {
        let edit = Edit::Set { table: TableAt::plan(&["stream", "s"]), key: "to".into(), value: Value::texts(&items) };
        assert_eq!(draft(Texts { plan: text.to_owned(), wiring: None }, &[edit]).plan, expected, "{items:?}");
    }
}

#[test]
fn tables_in_braces_can_be_edited() {
    let text = "[device]\na = { gear = \"x\", place = \"p\" } # kept\nb = {}\n";
    let table = TableAt::plan(&["device", "a"]);
    let cases = [
        (
            Edit::Set { table: table.clone(), key: "title".into(), value: "T".into() },
            "a = { gear = \"x\", place = \"p\", title = \"T\" } # kept",
        ),
        (Edit::Unset { table: table.clone(), key: "gear".into() }, "a = { place = \"p\" } # kept"),
        (Edit::Unset { table: table.clone(), key: "place".into() }, "a = { gear = \"x\" } # kept"),
        (Edit::Set { table: TableAt::plan(&["device", "b"]), key: "gear".into(), value: "y".into() }, "b = { gear = \"y\" }"),
    ];
    for (edit, expected) in cases {
        let after = draft(Texts { plan: text.to_owned(), wiring: None }, std::slice::from_ref(&edit)).plan;
        assert!(after.contains(expected), "{edit:?}: {after}");
    }
    assert_eq!(draft(Texts { plan: text.to_owned(), wiring: None }, &[Edit::Remove { table }]).plan, "[device]\nb = {}\n");
}

#[test]
fn tables_of_dotted_keys_can_be_edited() {
    let text = "targets.survive = \"nothing\"\nplan.name = \"x\"\n\n[place]\nhall.name = \"Hall\" # big\nfoyer.name = \"Foyer\"\n";
    let set = |path: &[&str]| Edit::Set { table: TableAt::plan(path), key: "note".into(), value: "n".into() };
    let remove = |path: &[&str]| Edit::Remove { table: TableAt::plan(path) };
    let cases = [
        (set(&["plan"]), "plan.name = \"x\"\n", "plan.name = \"x\"\nplan.note = \"n\"\n"),
        (set(&["place", "hall"]), "hall.name = \"Hall\" # big\n", "hall.name = \"Hall\" # big\nhall.note = \"n\"\n"),
        (remove(&["targets"]), "targets.survive = \"nothing\"\n", ""),
        (remove(&["place", "hall"]), "hall.name = \"Hall\" # big\n", ""),
    ];
    for (edit, old, new) in cases {
        let after = draft(Texts { plan: text.to_owned(), wiring: None }, std::slice::from_ref(&edit)).plan;
        assert_eq!(after, text.replacen(old, new, 1), "{edit:?}");
        values(&after);
    }
}

fn id(text: &str) -> Id {
    Id::new(text).expect("a name")
}

#[test]
fn a_new_name_reaches_every_mention() {
    let cases = [
        (Kind::Device, "box-quay", 2, 5),
        (Kind::Switch, "sw-a-quay", 0, 4),
        (Kind::Place, "quay", 5, 1),
        (Kind::Place, "Bühne", 3, 0),
        (Kind::Network, "a", 3, 7),
        (Kind::Network, "control", 1, 4),
        (Kind::Route, "under-floor", 1, 1),
        (Kind::Gear, "hub-24", 2, 2),
        (Kind::Stream, "quay-mics", 3, 1),
        (Kind::Device, "舞台-amp", 3, 0),
        (Kind::Cable, "A-002", 0, 1),
        (Kind::Feed, "ups-1", 2, 1),
        (Kind::Hazard, "roof-void", 1, 0),
    ];
    for (kind, from, in_plan, in_wiring) in cases {
        let rename = |from: &str, to: &str| Edit::Rename { kind, from: id(from), to: id(to) };
        let edited = apply(source(PLAN), Some(source(WIRING)), &[rename(from, "fresh-name")])
            .unwrap_or_else(|refused| panic!("{from}: {}", refused.problems));
        let wiring = edited.texts.wiring.clone().unwrap_or_default();
        let count = |text: &str| text.matches("fresh-name").count();
        assert_eq!((count(&edited.texts.plan), count(&wiring)), (in_plan, in_wiring), "{kind:?} {from}");
        let back = draft(edited.texts, &[rename("fresh-name", from)]);
        assert_eq!((back.plan.as_str(), back.wiring.as_deref()), (PLAN, Some(WIRING)), "{kind:?} {from}: there and back");
    }
}

#[test]
fn a_new_name_reaches_headers_below_headers() {
    let text = "[group.s.1]\na = \"239.1.1.1\"\n[group . \"s\" . 2]\na = \"239.1.1.2\"\n[group.t.1]\n";
    let edit = Edit::Rename { kind: Kind::Stream, from: id("s"), to: id("a.b") };
    let after = draft(Texts { plan: String::new(), wiring: Some(text.to_owned()) }, &[edit]).wiring.unwrap_or_default();
    assert_eq!(lone(&after).groups.keys().map(|key| key.0.as_str()).collect::<Vec<_>>(), ["a.b", "a.b", "t"], "{after}");
}

#[test]
fn a_change_that_breaks_the_plan_is_refused() {
    let cases = [
        (Edit::Remove { table: TableAt::plan(&["device", "desk"]) }, "plan/no-such-device"),
        (Edit::Rename { kind: Kind::Device, from: id("desk"), to: id("tape") }, "plan/duplicate-key"),
        (Edit::Set { table: TableAt::plan(&["route", "roof"]), key: "length".into(), value: Value::Whole(3) }, "plan/missing-unit"),
        (Edit::Add { table: TableAt::plan(&["place", "quay"]), keys: vec![] }, "plan/duplicate-key"),
    ];
    for (edit, code) in cases {
        let refused = apply(source(PLAN), Some(source(WIRING)), std::slice::from_ref(&edit)).expect_err("a broken plan");
        assert!(refused.problems.iter().any(|problem| problem.code == code), "{edit:?}: {}", refused.problems);
    }
}

#[test]
fn an_empty_header_is_filled() {
    let bare = WIRING.replace("[querier]\na = \"sw-a-quay\"", "[querier] # to do");
    let updated = update_wiring(source(&bare), &lone(WIRING));
    assert_eq!(updated, Ok(WIRING.replace("[querier]", "[querier] # to do")));
}

#[test]
fn no_change_is_no_change() {
    let texts = Texts { plan: format!("\u{feff}{}", PLAN.replace('\n', "\r\n")), wiring: Some(WIRING.to_owned()) };
    assert_eq!(draft(texts.clone(), &[]), texts);
    assert_eq!(update_wiring(source(WIRING), &lone(WIRING)).as_deref(), Ok(WIRING));
}

#[test]
fn many_tables_are_added_in_order() {
    let add = |n: usize| Edit::Add { table: TableAt::plan(&["place", &format!("p-{n}")]), keys: vec![("name".into(), "x".into())] };
    let edits: Vec<Edit> = (0..50).map(add).collect();
    let edited = apply(source("[plan]\nname = \"x\""), None, &edits).unwrap_or_else(|refused| panic!("{}", refused.problems));
    let names: Vec<String> = edited.loaded.plan.places.keys().map(|id| id.to_string()).collect();
    assert_eq!(names, (0..50).map(|n| format!("p-{n}")).collect::<Vec<_>>());
}
