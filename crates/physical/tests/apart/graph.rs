//! Plans that hold nothing but places and routes.

use indexmap::IndexMap;
use loomwright_model::plan::{Place, Position, Route, Stock, StreamFormat, Targets};
use loomwright_model::{Id, Length, Plan};
use loomwright_physical::ways::Ways;

pub fn id(text: &str) -> Id {
    Id::new(text).expect("a test's name is valid")
}

/// A route: two places, millimetres, hazards.
pub struct Line {
    pub ends: [usize; 2],
    pub length: u64,
    pub hazards: Vec<String>,
}

pub fn line(from: usize, to: usize, length: u64) -> Line {
    Line { ends: [from, to], length, hazards: Vec::new() }
}

/// The route graph of `lines`; places are numbered, and stand where `at` says, on one line across.
pub fn ways(places: usize, lines: &[Line], at: impl Fn(usize) -> Option<i64>) -> Ways {
    let name = |place: usize| id(&format!("p{place}"));
    let stand = |place: usize| Place { at: at(place).map(|x| Position { x, y: 0, z: 0 }), ..Place::default() };
    let route = |line: &Line| Route {
        between: line.ends.map(name),
        length: Length::from_millimetres(line.length),
        takes: Vec::new(),
        shares: line.hazards.iter().map(|hazard| id(hazard)).collect(),
    };
    Ways::new(&Plan {
        about: Default::default(),
        targets: Targets::default(),
        stream_format: StreamFormat::default(),
        networks: IndexMap::new(),
        places: (0..places).map(|place| (name(place), stand(place))).collect(),
        routes: lines.iter().enumerate().map(|(number, line)| (id(&format!("r{number}")), route(line))).collect(),
        gear: IndexMap::new(),
        devices: IndexMap::new(),
        streams: IndexMap::new(),
        stock: Stock::default(),
        labour: Default::default(),
        listening: Default::default(),
    })
}
