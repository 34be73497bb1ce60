//! Every way we know to get a file wrong: the caret, the code, and what is said.
//!
//! Each case changes one spot of a good plan or wiring. `¦` marks where the problem has to be reported;
//! it is taken out before reading.

use loomwright_planfile::{LARGEST, Problem, Problems, Source, read, read_bytes};

const PLAN: &str = include_str!("fixtures/harbour.toml");
const WIRING: &str = include_str!("fixtures/harbour.wiring.toml");

/// What stands in the good file, what stands there instead, and what is said about it.
struct Case(&'static str, &'static str, &'static str, &'static str);

fn problems(plan: &str, wiring: &str) -> Vec<Problem> {
    let plan = Source { name: "p.toml", text: plan };
    let wiring = Source { name: "w.toml", text: wiring };
    read(plan, Some(wiring)).err().map(|problems| problems.as_slice().to_vec()).unwrap_or_default()
}

/// Line and column of the marker, from 1, and the text without it.
fn unmarked(text: &str) -> (u32, u32, String) {
    let at = text.find('¦').expect("a marker");
    let line = text[..at].matches('\n').count() as u32 + 1;
    let column = text[..at].chars().rev().take_while(|c| *c != '\n').count() as u32 + 1;
    (line, column, text.replace('¦', ""))
}

fn check(file: &str, cases: &[Case]) {
    for Case(good, bad, code, says) in cases {
        let source = if file == "p.toml" { PLAN } else { WIRING };
        assert!(source.contains(good), "the fixture lacks {good:?}");
        let (line, column, text) = unmarked(&source.replacen(good, bad, 1));
        let found = if file == "p.toml" { problems(&text, WIRING) } else { problems(PLAN, &text) };
        let shown: Vec<String> = found.iter().map(Problem::to_string).collect();
        let [problem] = &found[..] else { panic!("{bad:?}: expected one problem, found {shown:#?}") };
        assert_eq!((problem.code, problem.file.as_str(), problem.line, problem.column), (*code, file, line, column), "{bad:?}: {shown:?}");
        assert!(problem.message.contains(says), "{bad:?}: {shown:?}");
        assert!(!problem.help.is_empty());
    }
}

#[test]
fn keys_and_types_of_the_plan() {
    check(
        "p.toml",
        &[
            Case("revision = \"B\"", "¦revison = \"B\"", "plan/unknown-key", "`revison` is not a key of plan"),
            Case("[stock]", "[¦stok]", "plan/unknown-key", "`stok` is not a key of the plan file"),
            Case("[stock]", "[¦cable.x]\n[stock]", "plan/unknown-key", "`cable` is not a key of the plan file"),
            Case(
                "[route.roof]\nbetween = [\"quay\", \"balcony\"]\nlength = \"64 m\"\n",
                "[route.¦roof]\nbetween = [\"quay\", \"balcony\"]\n",
                "plan/missing-key",
                "route `roof` has no `length`",
            ),
            Case("name = \"Harbour", "name = ¦7 #\"Harbour", "plan/wrong-type", "a text in quotes is expected here, not a number"),
            Case("essential = true", "essential = ¦\"yes\"", "plan/wrong-type", "true or false is expected here, not a text"),
            Case("feeds = [\"ups-1\"]", "feeds = ¦\"ups-1\"", "plan/wrong-type", "a list is expected here, not a text"),
            Case("channels = 32", "channels = ¦\"32\"", "plan/wrong-type", "a whole number"),
            Case("channels = 32", "channels = ¦2.5", "plan/wrong-type", "a whole number"),
            Case("switches = { hub-24 = 4 }", "switches = ¦4", "plan/wrong-type", "a table of switch types"),
            Case("clock = { can-lead = true, quality = 248 }", "clock = ¦\"boundary\"", "plan/wrong-type", "a table about the clock"),
            Case("clock = \"unaware\"", "clock = ¦{ can-lead = true }", "plan/wrong-type", "a word about the clock"),
            Case("[place.balcony]\n", "[[place.¦balcony]]\n", "plan/wrong-type", "place `balcony` has to be a table of keys, not a list"),
            Case(
                "poe-budget = \"370 W\"",
                "poe-budget = \"370 W\"\n¦pairing = [\"chained\"]",
                "plan/key-not-for-kind",
                "`pairing` has no meaning",
            ),
            Case("title = \"Main desk\"", "mode = ¦\"router\"", "plan/key-not-for-kind", "only a Wi-Fi router has one"),
        ],
    );
}

#[test]
fn quantities_of_the_plan() {
    check(
        "p.toml",
        &[
            Case("length = \"38 m\"", "length = ¦38", "plan/missing-unit", "`38` has no unit; expected a length such as \"24 m\""),
            Case("length = \"38 m\"", "length = ¦\"38\"", "plan/missing-unit", "expected a length"),
            Case("length = \"38 m\"", "length = ¦\"38 ft\"", "plan/wrong-unit", "this unit is not known here"),
            Case("length = \"38 m\"", "length = ¦\"1 ms\"", "plan/wrong-unit", "expected a length"),
            Case(
                "speed = \"1 Gb/s\", medium = \"copper\", poe",
                "speed = ¦\"1 gb/s\", medium = \"copper\", poe",
                "plan/wrong-unit",
                "`1 gb/s`",
            ),
            Case("length = \"38 m\"", "length = ¦\"-38 m\"", "plan/negative", "negative"),
            Case("length = \"38 m\"", "length = ¦-38", "plan/negative", "`-38` is negative"),
            Case("length = \"38 m\"", "length = ¦\"NaN m\"", "plan/not-a-number", "no number at the start"),
            Case("length = \"38 m\"", "length = ¦nan", "plan/not-a-number", "`nan` is not a number"),
            Case("length = \"38 m\"", "length = ¦\"0 m\"", "plan/out-of-range", "`length` is zero"),
            Case("length = \"38 m\"", "length = ¦\"99999999999999999999 m\"", "plan/not-a-number", "fits"),
            Case("link-load = 0.7", "link-load = ¦70", "plan/out-of-range", "`70` is not a share"),
            Case("link-load = 0.7", "link-load = ¦inf", "plan/not-a-number", "not a number"),
            Case("link-load = 0.7", "link-load = ¦-0.1", "plan/negative", "not a share"),
            Case("price = 900", "price = ¦-900", "plan/negative", "not a sum of money"),
            Case("channels = 32", "channels = ¦-1", "plan/negative", "`-1` is negative"),
            Case("channels = 32", "channels = ¦0", "plan/out-of-range", "outside 1 to 65535"),
            Case("bits = 24", "bits = ¦20", "plan/out-of-range", "`20` bits per sample"),
            Case("switches = { hub-24 = 4 }", "switches = { hub-24 = ¦40000 }", "plan/out-of-range", "outside 0 to 10000"),
            Case("count = 4, speed", "count = ¦5000, speed", "plan/out-of-range", "outside 1 to 4096"),
            Case("ports = [ { count = 24", "ports = ¦[ { count = 4093", "plan/out-of-range", "4097 ports are more than one switch has"),
            Case("vlan = 10", "vlan = ¦4095", "plan/out-of-range", "outside 1 to 4094"),
            Case("media-dscp = 34", "media-dscp = ¦64", "plan/out-of-range", "outside 0 to 63"),
            Case("at = [-9.0, 2.0]", "at = ¦[-9.0]", "plan/bad-position", "two or three numbers, not 1"),
            Case("at = [-9.0, 2.0]", "at = [¦nan, 2.0]", "plan/not-a-number", "not a number"),
            Case("latency = { least = \"1 us\"", "latency = ¦{ least = \"9 us\"", "plan/out-of-range", "`least` (9 us)"),
        ],
    );
}

#[test]
fn what_is_asked_of_the_sound_as_a_whole() {
    check(
        "p.toml",
        &[
            Case("mouth-to-ear = \"12 ms\"", "¦mouth-to-year = \"12 ms\"", "plan/unknown-key", "`mouth-to-year` is not a key of targets"),
            Case("mouth-to-ear = \"12 ms\"", "mouth-to-ear = ¦\"12 m\"", "plan/wrong-unit", "expected a time"),
            Case("\"0.25 ms\", \"5 ms\"]", "¦\"0 ms\", \"5 ms\"]", "plan/out-of-range", "no receiver plays before it has a packet"),
            Case(
                "poe-budget = \"370 W\"",
                "poe-budget = \"370 W\"\n¦receive-delays = [\"1 ms\"]",
                "plan/key-not-for-kind",
                "`receive-delays`",
            ),
            Case("[in-phase.listeners]", "[¦inphase.listeners]", "plan/unknown-key", "`inphase` is not a key of the plan file"),
            Case("streams = [\"quay-mics\"]", "streams = [¦\"quay-mic\"]", "plan/no-such-stream", "there is no stream `quay-mic`"),
            Case("streams = [\"quay-mics\"]", "streams = ¦[]", "plan/out-of-range", "`streams` names nothing"),
            Case("to = [\"desk\"]\n[j", "to = ¦[\"box-quay\"]\n[j", "plan/not-a-receiver", "`box-quay` receives none"),
            Case(
                "through = [\"quay-mics\", \"mains\"]\nto = \"舞台-amp\"",
                "through = ¦[\"mains\", \"quay-mics\"]\nto = \"tape\"",
                "plan/journey-breaks",
                "does not reach `box-quay`",
            ),
            Case("to = \"舞台-amp\"", "to = ¦\"tape\"", "plan/not-a-receiver", "ends at `tape`"),
            Case("limit = \"10 ms\"", "limit = ¦\"0 ms\"", "plan/out-of-range", "`limit` is zero"),
        ],
    );
}

#[test]
fn words_names_and_addresses_of_the_plan() {
    check(
        "p.toml",
        &[
            Case(
                "survive = \"any-one\"",
                "survive = ¦\"any-won\"",
                "plan/unknown-word",
                "`any-won` is not one of: nothing, any-one, any-two",
            ),
            Case("poe = \"none\"", "poe = ¦\"class-9\"", "plan/unknown-word", "`class-9` is not a power class"),
            Case("takes = [\"copper\"]", "takes = [¦\"sfp\"]", "plan/not-a-cable", "`sfp` is a kind of port"),
            Case("[place.quay]", "[place.¦\"quay side\"]\n[place.quay]", "plan/bad-name", "`quay side` has a character"),
            Case("subnet = \"10.10.0.0/22\"", "subnet = ¦\"10.10.0.0\"", "plan/bad-address", "expected a subnet such as"),
            Case("subnet = \"10.10.0.0/22\"", "subnet = ¦\"10.10.0.1/22\"", "plan/bad-address", "no host bits"),
            Case("date = 2026-06-20", "date = ¦\"soon\"", "plan/bad-date", "`soon`"),
            Case("date = 2026-06-20", "date = ¦2026-06-20T10:00:00Z", "plan/bad-date", "without a time of day"),
            Case("legs = [\"a\"]", "legs = ¦\"either\"", "plan/unknown-word", "`either` is not one of: both"),
            Case("to = [\"desk\", \"tape\"]", "to = [\"desk\", \"tape\", ¦\"desk\"]", "plan/listed-twice", "`desk` stands twice"),
        ],
    );
}

#[test]
fn references_of_the_plan() {
    check(
        "p.toml",
        &[
            Case("gear = \"recorder\"", "gear = ¦\"recoder\"", "plan/no-such-gear", "there is no gear type `recoder`"),
            Case("between = [\"Bühne\", \"quay\"]", "between = [\"Bühne\", ¦\"kai\"]", "plan/no-such-place", "there is no place `kai`"),
            Case("from = \"box-quay\"", "from = ¦\"box-kai\"", "plan/no-such-device", "there is no device `box-kai`"),
            Case("from = \"box-quay\"", "from = ¦\"quay\"", "plan/no-such-device", "there is no device `quay`"),
            Case("networks = [\"a\", \"b\"]", "networks = [\"a\", ¦\"c\"]", "plan/no-such-network", "there is no network `c`"),
            Case("dhcp-server = \"router\"", "dhcp-server = ¦\"server\"", "plan/no-such-device", "device or switch `server`"),
            Case("to = [\"desk\", \"tape\"]", "to = [\"desk\", ¦\"box-quay\"]", "plan/stream-to-itself", "goes from `box-quay` to itself"),
            Case("to = [\"desk\", \"tape\"]", "to = ¦[]", "plan/no-receiver", "no receiver"),
            Case("between = [\"Bühne\", \"quay\"]", "between = ¦[\"Bühne\", \"Bühne\"]", "plan/same-place", "leads from `Bühne` to itself"),
            Case("between = [\"Bühne\", \"quay\"]", "between = ¦[\"Bühne\"]", "plan/not-two", "but 1 are named here"),
            Case("gear = \"recorder\"", "gear = ¦\"hub-24\"", "plan/wrong-kind", "`hub-24` is a switch, and `tape` stands under [device]"),
            Case("control = { merged-with = \"1\" }", "control = ¦{ merged-with = \"9\" }", "plan/no-such-port", "port `9`"),
            Case(
                "gear = \"recorder\"\n",
                "gear = \"laptop\"\npairing = ¦\"chained\"\n",
                "plan/impossible-pairing",
                "needs two audio ports",
            ),
            Case(
                "gear = \"recorder\"\n",
                "gear = \"recorder\"\npairing = ¦\"chained\"\n",
                "plan/impossible-pairing",
                "only to: independent",
            ),
        ],
    );
}

#[test]
fn the_wiring() {
    check(
        "w.toml",
        &[
            Case("[querier]", "[¦quereer]", "plan/unknown-key", "`quereer` is not a key of the wiring file"),
            Case("hold = true\n[switch", "¦held = true\n[switch", "plan/unknown-key", "`held` is not a key of switch"),
            Case("gear = \"hub-24\"", "gear = ¦\"hub-42\"", "plan/no-such-gear", "`hub-42`"),
            Case("ends = [\"desk/1\"", "ends = [¦\"desk/3\"", "plan/no-such-port", "`desk` has no port `3`"),
            Case("ends = [\"desk/1\"", "ends = [¦\"disk/1\"", "plan/no-such-device", "device or switch `disk`"),
            Case("ends = [\"desk/1\"", "ends = [¦\"desk\"", "plan/bad-port-name", "write `item/port`"),
            Case("\"sw-a-balcony/20\"", "¦\"sw-a-balcony/29\"", "plan/no-such-port", "no port `29`"),
            Case("\"sw-a-balcony/20\"", "¦\"sw-a-balcony/1\"", "plan/port-taken", "already has cable `A-003`"),
            Case("\"sw-a-balcony/20\"", "¦\"desk/control\"", "plan/cable-to-itself", "to itself"),
            Case("ends = [\"desk/control\", \"sw-a-balcony/20\"]", "ends = ¦[\"desk/control\"]", "plan/not-two", "but 1 are named"),
            Case("routes = [\"under-floor\"]", "routes = [¦\"under-flor\"]", "plan/no-such-route", "`under-flor`"),
            Case("routes = [\"under-floor\"]", "routes = ¦[\"stairs\"]", "plan/route-gap", "lead from `quay` to `Bühne`, not to `balcony`"),
            Case("routes = [\"under-floor\"]", "routes = ¦[]", "plan/route-gap", "names no route"),
            Case("network = \"control\"", "network = ¦\"remote\"", "plan/no-such-network", "`remote`"),
            Case("medium = \"fibre\"", "medium = ¦\"sfp+\"", "plan/not-a-cable", "`sfp+` is a kind of port"),
            Case("length = \"50 m\"", "length = ¦50", "plan/missing-unit", "`50` has no unit"),
            Case("bridge-priority = 4096", "bridge-priority = ¦5000", "plan/out-of-range", "not a multiple of 4096"),
            Case("path-cost = { \"25\" = 2000 }", "path-cost = ¦{ \"29\" = 2000 }", "plan/no-such-port", "ports 1 to 28, not 29"),
            Case("pairing = \"independent\"", "pairing = ¦\"independant\"", "plan/unknown-word", "`independant`"),
            Case("clock-priority = 120", "clock-priority = ¦256", "plan/out-of-range", "outside 0 to 255"),
            Case("[setting.box-quay]", "[setting.¦box-kwai]", "plan/no-such-device", "`box-kwai`"),
            Case("[interface.\"box-quay/control\"]", "[interface.¦\"desk/remote\"]", "plan/no-such-port", "no port `remote`"),
            Case("[interface.\"box-quay/control\"]", "[interface.¦\"sw-a-quay/1\"]", "plan/wrong-kind", "`sw-a-quay` is a switch"),
            Case("address = \"10.10.1.11/22\"", "address = ¦\"10.10.1.11\"", "plan/bad-address", "prefix length"),
            Case("a = \"239.192.10.1\"", "a = ¦\"10.0.0.1\"", "plan/bad-address", "not a multicast address"),
            Case("a = \"239.192.10.1\"", "a = ¦\"239.192.10\"", "plan/bad-address", "not an IPv4 address"),
            Case("[group.quay-mics.1]", "[group.quay-mics.¦one]", "plan/bad-name", "not the number of a packet stream"),
            Case("[group.quay-mics.1]", "[group.¦key-mics.1]", "plan/no-such-stream", "`key-mics`"),
            Case("backup = \"box-quay\"", "backup = ¦\"desk\"", "plan/self-reference", "its own backup"),
            Case("a = \"sw-a-quay\"", "a = ¦\"desk\"", "plan/no-such-switch", "no switch `desk`"),
            Case(
                "[switch.sw-a-balcony]",
                "[switch.¦balcony]\ngear = \"hub-24\"\nplace = \"balcony\"\nnetworks = [\"a\"]\n[switch.sw-a-balcony]",
                "plan/duplicate-id",
                "`balcony` is the name of a switch and of a place",
            ),
        ],
    );
}

#[test]
fn grammar() {
    check(
        "p.toml",
        &[
            Case(
                "[device.router]",
                "[device.¦tape]\ngear = \"recorder\"\nplace = \"balcony\"\n[device.router]",
                "plan/duplicate-key",
                "`tape`",
            ),
            Case("bits = 24", "bits = 24\n¦bits = 16", "plan/duplicate-key", "`bits` stands here a second time"),
            Case("[place.\"Bühne\"]", "[place.B¦ühne]", "plan/syntax", "invalid unquoted key"),
            Case("length = \"38 m\"", "length = ¦38 m", "plan/syntax", "must be quoted"),
            Case("[device.desk]", "[device.desk¦", "plan/syntax", "unclosed table"),
            Case("name = \"Harbour Hall, summer revue\"", "name = \"Harbour Hall, summer revue¦", "plan/syntax", "invalid basic string"),
        ],
    );
}

#[test]
fn several_at_once_in_file_order() {
    let plan = PLAN.replace("bits = 24", "bits = 20").replace("\"38 m\"", "38").replace("gear = \"recorder\"", "gear = \"recoder\"");
    let wiring = WIRING.replace("\"sw-a-balcony/20\"", "\"sw-a-balcony/1\"").replace("medium = \"fibre\"", "medium = \"glass\"");
    let codes: Vec<&str> = problems(&plan, &wiring).iter().map(|problem| problem.code).collect();
    assert_eq!(codes, ["plan/out-of-range", "plan/missing-unit", "plan/no-such-gear", "plan/unknown-word", "plan/port-taken"]);
}

#[test]
fn near_misses_are_named() {
    for (good, bad, help) in [
        ("gear = \"recorder\"", "gear = \"recoder\"", "did you mean `recorder`?"),
        ("survive = \"any-one\"", "survive = \"any-won\"", "did you mean \"any-one\"?"),
        ("revision = \"B\"", "revison = \"B\"", "did you mean `revision`?"),
        ("from = \"box-quay\"", "from = \"quay\"", "`quay` is a place; name a device here"),
        (
            "speed = \"1 Gb/s\", medium = \"copper\", poe",
            "speed = \"1 gb/s\", medium = \"copper\", poe",
            "write the unit `Gb/s`: capitals matter",
        ),
        ("[stock]", "[cable.x]\n[stock]", "move `[cable]` to the wiring file"),
    ] {
        let found = problems(&PLAN.replacen(good, bad, 1), WIRING);
        assert_eq!(found.first().map(|problem| problem.help.as_str()), Some(help), "{bad}");
    }
}

fn codes(result: Result<loomwright_planfile::Loaded, Problems>) -> Vec<(&'static str, u32, u32)> {
    result.err().iter().flat_map(|problems| problems.iter()).map(|problem| (problem.code, problem.line, problem.column)).collect()
}

#[test]
fn bytes_that_are_no_plan() {
    let large = vec![b'#'; LARGEST + 1];
    let cases: [(&[u8], &str, u32, u32); 8] = [
        (b"", "plan/empty", 1, 1),
        (b"\n  \n# only a remark\n", "plan/empty", 1, 1),
        (b"PK\x03\x04\x00\x00\xff\xfe", "plan/not-text", 1, 7),
        (b"[plan]\nname = \"a\x00b\"\n", "plan/not-text", 2, 10),
        ("[plan]\nname = \"B\u{fc}hne".as_bytes(), "plan/syntax", 2, 14),
        (b"[plan]\nname = \"B\xfchne\"\n", "plan/not-text", 2, 10),
        (b"[plan]\nname = \"half wri", "plan/syntax", 2, 17),
        (&large, "plan/too-large", 1, 1),
    ];
    for (bytes, code, line, column) in cases {
        let shown = String::from_utf8_lossy(&bytes[..bytes.len().min(40)]);
        assert_eq!(codes(read_bytes(("p.toml", bytes), None)), [(code, line, column)], "{shown}");
    }
    let both = read_bytes(("p.toml", b""), Some(("w.toml", b"\xff")));
    assert_eq!(codes(both).len(), 1, "bytes that are not text are told before anything is read");
}

#[test]
fn odd_but_good_plans() {
    for text in [
        "[plan]\n",
        "\u{feff}[plan]\nname = \"with a byte-order mark\"\r\n",
        "[place.\"räume.1\"]\n[device.\"台-1\"]\ngear = \"laptop\"\nplace = \"räume.1\"\n",
    ] {
        let loaded =
            read_bytes(("p.toml", text.as_bytes()), Some(("w.toml", b""))).unwrap_or_else(|problems| panic!("{text:?}: {problems}"));
        assert!(loaded.plan.streams.is_empty() && loaded.wiring.cables.is_empty());
    }
}

#[test]
fn a_mark_at_the_start_does_not_shift_the_column() {
    assert_eq!(codes(read_bytes(("p.toml", "\u{feff}[plam]\n".as_bytes()), None)), [("plan/unknown-key", 1, 2)]);
}
