//! What every row of a list would become.

use super::columns::Mapping;
use super::row::Reading;
use super::sheet::Sheet;
use crate::edit::{Edit, TableAt, Value};
use indexmap::IndexMap;
use loomwright_model::{Id, Pairing, Plan};

/// What an import would do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preview {
    /// Every row of the list, in its order.
    pub rows: Vec<RowOutcome>,
    /// What concerns the list as a whole.
    pub notes: Vec<String>,
    /// Switches in the truck after the import, if the list has any: added to what the plan says.
    pub switches: IndexMap<Id, u32>,
}

/// What becomes of one row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowOutcome {
    /// Its number as a spreadsheet shows it, from 1.
    pub number: u32,
    /// What it becomes.
    pub outcome: Outcome,
    /// What was decided for it, for the person to check.
    pub notes: Vec<String>,
}

/// What a row becomes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// Devices of the plan.
    Devices(Vec<NewDevice>),
    /// Switches in the truck; the design decides where they go.
    Switches {
        /// Their type.
        gear: Id,
        /// How many.
        count: u32,
    },
    /// Nothing, for this reason.
    Unread(String),
}

/// A device to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewDevice {
    /// Its name.
    pub id: Id,
    /// Its gear type.
    pub gear: Id,
    /// Where it stands.
    pub place: Id,
    /// The place, if it has to be added first.
    pub new_place: Option<NewPlace>,
    /// What people call it.
    pub title: Option<String>,
    /// How its two ports are set.
    pub pairing: Option<Pairing>,
    /// Power feeds.
    pub feeds: Vec<Id>,
    /// Networks it has to be on.
    pub networks: Vec<Id>,
}

/// A place to be added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPlace {
    /// Its name in the plan.
    pub id: Id,
    /// What the list calls it.
    pub name: String,
}

impl Preview {
    /// How many devices it would add.
    pub fn device_count(&self) -> usize {
        self.rows.iter().map(|row| if let Outcome::Devices(devices) = &row.outcome { devices.len() } else { 0 }).sum()
    }

    /// The rows that cannot be read, with their reasons.
    pub fn unread(&self) -> impl Iterator<Item = (u32, &str)> {
        self.rows
            .iter()
            .filter_map(|row| if let Outcome::Unread(reason) = &row.outcome { Some((row.number, reason.as_str())) } else { None })
    }
}

/// Says for every row what it would become. Nothing is changed.
pub fn preview(sheet: &Sheet, mapping: &Mapping, plan: &Plan) -> Preview {
    let mut reading = Reading::new(mapping, plan);
    let rows: Vec<RowOutcome> = sheet.rows.iter().map(|row| reading.row(row)).collect();
    let mut switches = IndexMap::new();
    for row in &rows {
        if let Outcome::Switches { gear, count } = &row.outcome {
            let held = plan.stock.switches.as_ref().and_then(|held| held.get(gear)).copied().unwrap_or_default();
            let total = switches.entry(gear.clone()).or_insert(held);
            *total = total.saturating_add(*count);
        }
    }
    Preview { rows, notes: sheet.notes.iter().chain(&mapping.notes).cloned().collect(), switches }
}

/// The edits that a preview stands for: places first, then devices, then switches in the truck.
pub fn to_edits(preview: &Preview) -> Vec<Edit> {
    let devices = || {
        preview.rows.iter().flat_map(|row| match &row.outcome {
            Outcome::Devices(devices) => devices.as_slice(),
            _ => &[],
        })
    };
    let mut places: IndexMap<&Id, &NewPlace> = IndexMap::new();
    for place in devices().filter_map(|device| device.new_place.as_ref()) {
        places.entry(&place.id).or_insert(place);
    }
    let place = |place: &NewPlace| Edit::Add {
        table: TableAt::plan(&["place", place.id.as_str()]),
        keys: vec![("name".to_owned(), Value::from(place.name.as_str()))],
    };
    let mut edits: Vec<Edit> = places.values().map(|new| place(new)).collect();
    edits.extend(devices().map(device_edit));
    edits.extend(preview.switches.iter().map(|(gear, count)| Edit::Set {
        table: TableAt::plan(&["stock", "switches"]),
        key: gear.to_string(),
        value: Value::Whole(i64::from(*count)),
    }));
    edits
}

fn device_edit(device: &NewDevice) -> Edit {
    let mut keys = vec![("gear".to_owned(), Value::from(device.gear.as_str())), ("place".to_owned(), Value::from(device.place.as_str()))];
    let mut add = |key: &str, value: Option<Value>| keys.extend(value.map(|value| (key.to_owned(), value)));
    add("title", device.title.as_deref().map(Value::from));
    add("pairing", device.pairing.map(|pairing| Value::from(pairing.word())));
    add("feeds", (!device.feeds.is_empty()).then(|| Value::texts(&device.feeds)));
    add("networks", (!device.networks.is_empty()).then(|| Value::texts(&device.networks)));
    Edit::Add { table: TableAt::plan(&["device", device.id.as_str()]), keys }
}
