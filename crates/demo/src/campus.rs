//! A campus of any size from a seed: buildings round a central plant room, halls in every building.

use indexmap::IndexMap;
use loomwright_model::plan::{About, Addressing, Carries, Labour, Legs, Mode, Position, Stock};
use loomwright_model::{
    Device, Id, Length, Medium, Network, Place, Plan, Route, Share, Stream, StreamFormat, Survive, Targets, Time, VlanId,
};
use oorandom::Rand32;

/// How large a campus to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Campus {
    /// Devices, at least; whole halls are added until they are reached.
    pub devices: usize,
    /// Halls in one building.
    pub halls: usize,
    /// Chooses lengths and which halls get which gear.
    pub seed: u64,
    /// Streams from each hall's processor to its loudspeakers besides the first: 6 make about as many streams as devices.
    pub zones: u32,
}

impl Default for Campus {
    /// 2,000 devices.
    fn default() -> Self {
        Self { devices: 2_000, halls: 10, seed: 7, zones: 0 }
    }
}

/// What stands in one hall: name, gear type, how many.
const HALL: [(&str, &str, u32); 6] = [
    ("box", "stage-box-16", 1),
    ("dsp", "dsp-small", 1),
    ("amp", "amplifier-4", 2),
    ("spk", "ceiling-loudspeaker-poe", 4),
    ("mic", "beam-microphone-poe", 1),
    ("panel", "wall-control-poe", 1),
];

/// Makes the plan. Same input, same plan.
pub fn campus(size: Campus) -> Plan {
    let mut maker = Maker { plan: empty(), chance: Rand32::new(size.seed), zones: size.zones };
    let per_hall: usize = HALL.iter().map(|(_, _, count)| *count as usize).sum();
    let halls = size.devices.div_ceil(per_hall);
    maker.place("plant", "Central plant room", Position::default());
    for hall in 0..halls {
        if hall % size.halls.max(1) == 0 {
            maker.building(hall / size.halls.max(1));
        }
        maker.hall(hall / size.halls.max(1), hall % size.halls.max(1));
    }
    maker.plan
}

struct Maker {
    plan: Plan,
    chance: Rand32,
    zones: u32,
}

impl Maker {
    fn building(&mut self, number: usize) {
        let angle = number as f64 * 0.7;
        let distance = 30_000.0 + f64::from(self.chance.rand_range(0..40_000));
        let at = Position { x: (angle.cos() * distance) as i64, y: (angle.sin() * distance) as i64, z: 0 };
        let name = format!("bldg-{number:02}");
        self.place(&name, &format!("Building {number:02}, comms room"), at);
        let length = distance as u64 * 13 / 10 / 1_000 * 1_000;
        self.route(&format!("duct-{number:02}"), ["plant", &name], Length::from_millimetres(length), &[Medium::Fibre]);
    }

    fn hall(&mut self, building: usize, number: usize) {
        let comms = format!("bldg-{building:02}");
        let place = format!("hall-{building:02}-{number:02}");
        let origin = self.plan.places[comms.as_str()].at.unwrap_or_default();
        let (column, row) = (number as i64 % 5, number as i64 / 5);
        self.place(
            &place,
            &format!("Hall {building:02}.{number:02}"),
            Position { x: origin.x + column * 12_000, y: origin.y + row * 14_000 + 8_000, z: row * 4_000 },
        );
        let length = 18_000 + u64::from(self.chance.rand_range(0..40)) * 1_000;
        self.route(
            &format!("tray-{building:02}-{number:02}"),
            [&comms, &place],
            Length::from_millimetres(length),
            &[Medium::Copper, Medium::Fibre],
        );
        for (kind, gear, count) in HALL {
            for n in 1..=count {
                self.device(&format!("{kind}-{building:02}-{number:02}-{n}"), gear, &place);
            }
        }
        self.streams(building, number);
    }

    fn streams(&mut self, building: usize, number: usize) {
        let name = |kind: &str, n: u32| id(&format!("{kind}-{building:02}-{number:02}-{n}"));
        let label = |what: &str| format!("{what}-{building:02}-{number:02}");
        self.stream(&label("lectern"), name("box", 1), vec![name("dsp", 1)], 8);
        self.stream(&label("ceiling-mic"), name("mic", 1), vec![name("dsp", 1)], 1);
        self.stream(&label("amps"), name("dsp", 1), vec![name("amp", 1), name("amp", 2)], 4);
        self.stream(&label("ceiling"), name("dsp", 1), (1..=4).map(|n| name("spk", n)).collect(), 1);
        for zone in 1..=self.zones {
            let to = name("spk", 1 + (zone - 1) % 4);
            self.stream(&label(&format!("zone{zone}")), name("dsp", 1), vec![to], 1);
        }
        // The first hall of a building takes the overflow of four others: its processor receives no more.
        if (1..=4).contains(&number) {
            self.stream(&label("overflow"), name("dsp", 1), vec![id(&format!("dsp-{building:02}-00-1"))], 2);
        }
    }

    fn place(&mut self, name: &str, title: &str, at: Position) {
        let feeds = vec![id(&format!("mains-{name}"))];
        self.plan.places.insert(id(name), Place { name: title.to_owned(), at: Some(at), feeds });
    }

    fn route(&mut self, name: &str, ends: [&str; 2], length: Length, takes: &[Medium]) {
        let route = Route { between: ends.map(id), length, takes: takes.to_vec(), shares: Vec::new() };
        self.plan.routes.insert(id(name), route);
    }

    fn device(&mut self, name: &str, gear: &str, place: &str) {
        let device =
            Device { gear: id(gear), place: id(place), title: None, pairing: None, feeds: Vec::new(), networks: Vec::new(), mode: None };
        self.plan.devices.insert(id(name), device);
    }

    fn stream(&mut self, name: &str, from: Id, to: Vec<Id>, channels: u32) {
        let stream = Stream {
            from,
            to,
            channels,
            essential: false,
            legs: Legs::Both,
            mode: Mode::Multicast,
            format: StreamFormat::default(),
            network_delay: None,
            life_safety: false,
        };
        self.plan.streams.insert(id(name), stream);
    }
}

fn empty() -> Plan {
    let network = |subnet: &str, vlan, carries| Network {
        subnet: subnet.parse().ok(),
        vlan: VlanId::new(vlan).ok(),
        addresses: Addressing::Fixed,
        carries,
        dhcp_server: None,
    };
    let networks = [(id("a"), network("10.64.0.0/16", 64, Carries::Audio)), (id("control"), network("10.96.0.0/16", 96, Carries::Control))];
    Plan {
        about: About {
            name: "Heronsgate campus".to_owned(),
            revision: "A".to_owned(),
            date: Some("2026-01-12".to_owned()),
            by: None,
            note: None,
        },
        targets: Targets {
            // An installation for speech: what plain switches can promise over six boxes.
            network_delay: Time::from_milliseconds(10),
            clock_error: Time::from_milliseconds(1),
            survive: Survive::Nothing,
            spare_ports: Share::default(),
            ..Targets::default()
        },
        stream_format: StreamFormat::default(),
        networks: IndexMap::from(networks),
        places: IndexMap::new(),
        routes: IndexMap::new(),
        gear: loomwright_planfile::catalogue().clone(),
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Stock::default(),
        labour: Labour::default(),
        listening: Default::default(),
    }
}

fn id(text: &str) -> Id {
    Id::new(text).expect("names of the campus are letters, digits and dashes")
}
