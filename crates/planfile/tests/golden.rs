//! Reads one full, invented show and looks at what came out.

use loomwright_model::plan::{Carries, Legs, Mode, Position, RouterMode};
use loomwright_model::{Item, Length, Locate, Medium, Pairing, Time};
use loomwright_planfile::{Loaded, Source, read, write_plan, write_wiring};

const PLAN: &str = include_str!("fixtures/harbour.toml");
const WIRING: &str = include_str!("fixtures/harbour.wiring.toml");

fn loaded(plan: &str, wiring: &str) -> Loaded {
    let plan = Source { name: "harbour.toml", text: plan };
    let wiring = Source { name: "harbour.wiring.toml", text: wiring };
    read(plan, Some(wiring)).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn reads_the_plan() {
    let plan = loaded(PLAN, WIRING).plan;
    assert_eq!((plan.about.name.as_str(), plan.about.date.as_deref()), ("Harbour Hall, summer revue", Some("2026-06-20")));
    assert_eq!(plan.targets.link_load.parts_per_million(), 700_000);
    assert_eq!(plan.networks["control"].carries, Carries::Control);
    assert_eq!(plan.networks["foyer"].subnet, None);
    assert_eq!(plan.places["balcony"].at, Some(Position { x: 0, y: 24_500, z: 3_000 }));
    assert_eq!(plan.places["Bühne"].name, "Bühne");
    assert_eq!(plan.routes["stairs"].takes, [Medium::Copper]);
    assert_eq!(plan.routes["roof"].takes, [Medium::Copper, Medium::Fibre]);
    let names: Vec<&str> = plan.devices.keys().map(|id| id.as_str()).collect();
    assert_eq!(names, ["box-quay", "desk", "tape", "router", "舞台-amp"], "the order of the file");
    assert_eq!(plan.devices["box-quay"].pairing, Some(Pairing::Independent));
    assert_eq!(plan.devices["router"].mode, Some(RouterMode::AccessPoint));
}

#[test]
fn reads_gear_and_streams() {
    let plan = loaded(PLAN, WIRING).plan;
    let own = &plan.gear["stage-box-32"];
    assert_eq!((own.title.as_str(), own.shipped), ("Own stage box, 32 in 16 out", false), "the plan's own gear wins");
    assert_eq!((own.latency.least, own.latency.most), (Time::from_microseconds(2), Time::from_microseconds(2)));
    assert_eq!(own.mttr.map(|time| time.seconds()), Some(1_800));
    assert_eq!(plan.gear["hub-24"].latency.most, Time::from_nanoseconds(4_500));
    assert_eq!(plan.gear["hub-24"].switch_port_count(), 28);
    let mains = &plan.streams["mains"];
    assert_eq!((mains.mode, mains.life_safety, mains.format.packet_time), (Mode::Unicast, true, Time::from_microseconds(125)));
    assert!(matches!(&mains.legs, Legs::Only(networks) if networks.len() == 1));
    assert_eq!(plan.streams["quay-mics"].format, plan.stream_format);
    assert_eq!(plan.stock.copper.len(), 3);
    assert_eq!(plan.labour.per_metre.map(|money| money.hundredths()), Some(125));
}

#[test]
fn reads_what_is_asked_of_the_sound_as_a_whole() {
    let plan = loaded(PLAN, WIRING).plan;
    let own = &plan.gear["stage-box-32"];
    assert_eq!(own.receive_delays, [250, 1_000, 5_000].map(Time::from_microseconds), "shortest first");
    assert_eq!(own.release_jitter, Some(Time::from_microseconds(50)));
    assert_eq!(plan.targets.mouth_to_ear, Some(Time::from_milliseconds(12)));
    let group = &plan.listening.in_phase["listeners"];
    assert_eq!((group.streams.len(), group.to.len()), (1, 1));
    let journey = &plan.listening.journeys["voice"];
    assert_eq!((journey.through.len(), journey.limit), (2, Some(Time::from_milliseconds(10))));
    assert_eq!(journey.to.as_ref().map(|to| to.as_str()), Some("舞台-amp"));
}

#[test]
fn reads_the_wiring() {
    let wiring = loaded(PLAN, WIRING).wiring;
    let switch = &wiring.switches["sw-a-quay"];
    assert_eq!((switch.bridge_priority, switch.path_cost.get(&25), switch.hold), (Some(4_096), Some(&2_000), true));
    assert_eq!(wiring.cables["A-002"].networks.len(), 2);
    assert_eq!(wiring.cables["A-003"].length, Length::from_millimetres(2_500));
    assert_eq!(wiring.settings["box-quay"].clock_priority, Some(120));
    assert_eq!((wiring.interfaces.len(), wiring.groups.len(), wiring.querier.len()), (2, 1, 1));
    assert_eq!(wiring.clock.backup.as_ref().map(|id| id.as_str()), Some("box-quay"));
}

#[test]
fn knows_where_things_stand() {
    let map = loaded(PLAN, WIRING).source_map;
    let cases = [
        ("device:desk", None, "harbour.toml", "[device.desk]", 9),
        ("device:desk", Some("title"), "harbour.toml", "title = \"Main desk\"", 1),
        ("device:box-quay", Some("clock-priority"), "harbour.wiring.toml", "clock-priority = 120", 1),
        ("cable:A-002", Some("length"), "harbour.wiring.toml", "length = \"50 m\"", 1),
        ("port:desk/1", None, "harbour.wiring.toml", "ends = [\"desk/1\"", 9),
        ("feed:ups-1", None, "harbour.toml", "feeds = [\"mains-quay\", \"ups-1\"]", 24),
        ("hazard:roof-void", None, "harbour.toml", "shares = [\"roof-void\"]", 11),
        ("plan", Some("link-load"), "harbour.toml", "link-load = 0.7", 1),
    ];
    for (item, key, file, line, column) in cases {
        let item: Item = item.parse().expect("an item");
        let at = map.locate(&item, key).unwrap_or_else(|| panic!("{item} is nowhere"));
        let text = if file == "harbour.toml" { PLAN } else { WIRING };
        let found = text.lines().nth(at.line as usize - 1).unwrap_or_default();
        assert!(found.starts_with(line), "{item}: {found}");
        assert_eq!((at.file.as_str(), at.column), (file, column), "{item}");
    }
    assert_eq!(map.locate(&Item::Feed("nowhere".parse().expect("a name")), None), None);
}

#[test]
fn written_and_read_again_it_is_the_same() {
    let first = loaded(PLAN, WIRING);
    let (plan, wiring) = (write_plan(&first.plan), write_wiring(&first.wiring));
    let second = loaded(&plan, &wiring);
    assert_eq!(second.plan, first.plan);
    assert_eq!(second.wiring, first.wiring);
    assert_eq!((write_plan(&second.plan), write_wiring(&second.wiring)), (plan, wiring), "same value, same bytes");
}

#[test]
fn the_digest_follows_the_text() {
    let one = loaded(PLAN, WIRING).digest;
    assert_eq!((one.len(), &one), (64, &loaded(PLAN, WIRING).digest));
    assert_ne!(one, loaded(&format!("{PLAN}\n"), WIRING).digest);
    assert_ne!(one, loaded(PLAN, &format!("{WIRING}\n")).digest);
}
