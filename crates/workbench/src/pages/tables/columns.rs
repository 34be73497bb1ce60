//! The editable tables: which columns each has, and what stands in each cell as text.

use crate::engine::Written;
use loomwright_model::plan::{Legs, Mode, Position};
use loomwright_model::{Cable, Device, Id, Length, Pairing, Place, Plan, Route, Stream, Switch, Wiring};

/// One of the editable tables of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    /// What is there.
    Devices,
    /// Where it stands.
    Places,
    /// Ways a cable can lie.
    Routes,
    /// Audio that has to flow.
    Streams,
    /// Switches of the wiring.
    Switches,
    /// Cables of the wiring.
    Cables,
}

/// What a cell holds, and so how it is edited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Holds {
    /// A word or a quantity with its unit.
    Word,
    /// Free text.
    Text,
    /// A whole number.
    Number,
    /// Names with commas between.
    Names,
    /// Two or three coordinates in metres, with commas between.
    Position,
    /// Yes or no.
    Yes,
    /// One of these: value and label.
    OneOf(Vec<(String, String)>),
}

/// One column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// As the plan file names it.
    pub key: &'static str,
    /// As people read it.
    pub title: &'static str,
    /// What its cells hold.
    pub holds: Holds,
}

/// One row: the item's name and its cells in the order of the columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The item.
    pub id: String,
    /// Its cells.
    pub cells: Vec<String>,
}

impl Column {
    /// How its cells are written into the file.
    pub fn written(&self) -> (&'static str, Written) {
        let written = match &self.holds {
            Holds::Number => Written::Number,
            Holds::Position => Written::Position,
            Holds::Yes => Written::Flag,
            Holds::Names if self.key == "network" => Written::NameOrNames,
            Holds::Names => Written::Names,
            Holds::Word | Holds::Text | Holds::OneOf(_) => Written::Text,
        };
        (self.key, written)
    }
}

impl Table {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Devices, Self::Places, Self::Routes, Self::Streams, Self::Switches, Self::Cables];

    /// The word of the plan file, and of the address.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Devices => "device",
            Self::Places => "place",
            Self::Routes => "route",
            Self::Streams => "stream",
            Self::Switches => "switch",
            Self::Cables => "cable",
        }
    }

    /// The table named by `word`.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|table| table.word() == word)
    }

    /// Its columns after the name.
    pub fn columns(self, plan: &Plan) -> Vec<Column> {
        let column = |key, title, holds| Column { key, title, holds };
        match self {
            Self::Devices => vec![
                column("title", "Title", Holds::Text),
                column("gear", "Gear type", one_of(plan.gear.keys())),
                column("place", "Place", one_of(plan.places.keys())),
                column("pairing", "Two ports as", with_none("left to the design", Pairing::ALL.iter().map(|word| word.word()))),
                column("feeds", "Feeds", Holds::Names),
                column("networks", "Must be on", Holds::Names),
            ],
            Self::Places => vec![
                column("name", "Name", Holds::Text),
                column("at", "At (m): across, along, up", Holds::Position),
                column("feeds", "Feeds, first is the default", Holds::Names),
            ],
            Self::Routes => vec![
                column("between", "Between", Holds::Names),
                column("length", "Length", Holds::Word),
                column("takes", "Takes", Holds::Names),
                column("shares", "Hazards", Holds::Names),
            ],
            Self::Streams => vec![
                column("from", "From", one_of(plan.devices.keys())),
                column("to", "To", Holds::Names),
                column("channels", "Channels", Holds::Number),
                column("essential", "Essential", Holds::Yes),
                column("legs", "Only on", Holds::Names),
                column("mode", "Sent as", with_none("multicast", [Mode::Unicast.word()])),
                column("network-delay", "Own delay limit", Holds::Word),
            ],
            Self::Switches => vec![
                column("hold", "Held", Holds::Yes),
                column("gear", "Gear type", one_of(plan.gear.iter().filter(|(_, gear)| gear.is_switching()).map(|(id, _)| id))),
                column("place", "Place", one_of(plan.places.keys())),
                column("networks", "Networks", Holds::Names),
                column("feeds", "Feeds", Holds::Names),
            ],
            Self::Cables => vec![
                column("hold", "Held", Holds::Yes),
                column("ends", "Ends", Holds::Names),
                column("network", "Networks", Holds::Names),
                column("medium", "Medium", Holds::OneOf(["copper", "fibre"].map(|word| (word.to_owned(), word.to_owned())).into())),
                column("length", "Length", Holds::Word),
                column("routes", "Lies in, in order", Holds::Names),
            ],
        }
    }

    /// Its rows in the order of the file.
    pub fn rows(self, plan: &Plan, wiring: &Wiring) -> Vec<Row> {
        match self {
            Self::Devices => plan.devices.iter().map(|(id, device)| row(id, device_cells(device))).collect(),
            Self::Places => plan.places.iter().map(|(id, place)| row(id, place_cells(place))).collect(),
            Self::Routes => plan.routes.iter().map(|(id, route)| row(id, route_cells(route))).collect(),
            Self::Streams => plan.streams.iter().map(|(id, stream)| row(id, stream_cells(stream))).collect(),
            Self::Switches => wiring.switches.iter().map(|(id, switch)| row(id, switch_cells(switch))).collect(),
            Self::Cables => wiring.cables.iter().map(|(id, cable)| row(id, cable_cells(cable))).collect(),
        }
    }
}

fn one_of<'a>(ids: impl Iterator<Item = &'a Id>) -> Holds {
    Holds::OneOf(ids.map(|id| (id.to_string(), id.to_string())).collect())
}

fn with_none<'a>(none: &str, words: impl IntoIterator<Item = &'a str>) -> Holds {
    let nothing = [(String::new(), none.to_owned())];
    Holds::OneOf(nothing.into_iter().chain(words.into_iter().map(|word| (word.to_owned(), word.to_owned()))).collect())
}

fn row(id: &Id, cells: Vec<String>) -> Row {
    Row { id: id.to_string(), cells }
}

fn joined(ids: &[Id]) -> String {
    ids.iter().map(Id::as_str).collect::<Vec<_>>().join(", ")
}

fn device_cells(device: &Device) -> Vec<String> {
    vec![
        device.title.clone().unwrap_or_default(),
        device.gear.to_string(),
        device.place.to_string(),
        device.pairing.map(|pairing| pairing.to_string()).unwrap_or_default(),
        joined(&device.feeds),
        joined(&device.networks),
    ]
}

fn place_cells(place: &Place) -> Vec<String> {
    vec![place.name.clone(), place.at.map(position).unwrap_or_default(), joined(&place.feeds)]
}

fn position(at: Position) -> String {
    let metres = |millimetres: i64| {
        let sign = if millimetres < 0 { "-" } else { "" };
        format!("{sign}{}", Length::from_millimetres(millimetres.unsigned_abs()).metres())
    };
    let parts = if at.z == 0 { vec![at.x, at.y] } else { vec![at.x, at.y, at.z] };
    parts.into_iter().map(metres).collect::<Vec<_>>().join(", ")
}

fn route_cells(route: &Route) -> Vec<String> {
    let takes: Vec<&str> = route.takes.iter().map(|medium| medium.word()).collect();
    vec![joined(&route.between), route.length.to_string(), takes.join(", "), joined(&route.shares)]
}

fn stream_cells(stream: &Stream) -> Vec<String> {
    let legs = match &stream.legs {
        Legs::Both => String::new(),
        Legs::Only(networks) => joined(networks),
    };
    let mode = if stream.mode == Mode::Unicast { stream.mode.to_string() } else { String::new() };
    vec![
        stream.from.to_string(),
        joined(&stream.to),
        stream.channels.to_string(),
        stream.essential.to_string(),
        legs,
        mode,
        stream.network_delay.map(|delay| delay.to_string()).unwrap_or_default(),
    ]
}

fn switch_cells(switch: &Switch) -> Vec<String> {
    vec![switch.hold.to_string(), switch.gear.to_string(), switch.place.to_string(), joined(&switch.networks), joined(&switch.feeds)]
}

fn cable_cells(cable: &Cable) -> Vec<String> {
    let [from, to] = &cable.ends;
    vec![
        cable.hold.to_string(),
        format!("{from}, {to}"),
        joined(&cable.networks),
        cable.medium.to_string(),
        cable.length.to_string(),
        joined(&cable.routes),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn positions_are_written_in_metres() {
        assert_eq!(position(Position { x: -9_000, y: 2_500, z: 0 }), "-9, 2.5");
        assert_eq!(position(Position { x: 0, y: -250, z: 14_000 }), "0, -0.25, 14");
    }

    #[test]
    fn tables_are_found_by_the_word_of_the_file() {
        assert!(Table::ALL.into_iter().all(|table| Table::named(table.word()) == Some(table)));
        assert_eq!(Table::named("gear"), None);
    }
}
