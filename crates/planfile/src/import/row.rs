//! Reads one row of a list.

use super::columns::{Field, Mapping};
use super::gear_words;
use super::preview::{NewDevice, NewPlace, Outcome, RowOutcome};
use super::sheet::SheetRow;
use super::slug::{parts, slug, squeezed};
use crate::near::nearest;
use indexmap::IndexMap;
use loomwright_model::{GearKind, Id, Pairing, Plan};

/// Most devices that one row may stand for. Own choice: more is a slip of the hand.
const MOST_IN_A_ROW: u32 = 999;

/// What the rows so far have claimed.
pub(super) struct Reading<'a> {
    mapping: &'a Mapping,
    plan: &'a Plan,
    taken: IndexMap<Id, String>,
    new_places: IndexMap<String, NewPlace>,
}

impl<'a> Reading<'a> {
    pub(super) fn new(mapping: &'a Mapping, plan: &'a Plan) -> Self {
        let devices = plan.devices.keys().map(|id| (id.clone(), "a device of the plan".to_owned()));
        let places = plan.places.keys().map(|id| (id.clone(), "a place of the plan".to_owned()));
        Self { mapping, plan, taken: devices.chain(places).collect(), new_places: IndexMap::new() }
    }

    pub(super) fn row(&mut self, row: &SheetRow) -> RowOutcome {
        let mut notes = Vec::new();
        let outcome = self.outcome(row, &mut notes).unwrap_or_else(Outcome::Unread);
        RowOutcome { number: row.number, outcome, notes }
    }

    fn cell<'r>(&self, row: &'r SheetRow, field: Field) -> Option<&'r str> {
        let cell = row.cells.get(*self.mapping.columns.get(&field)?)?;
        (!cell.is_empty()).then_some(cell.as_str())
    }

    fn outcome(&mut self, row: &SheetRow, notes: &mut Vec<String>) -> Result<Outcome, String> {
        let word = self.cell(row, Field::Gear).ok_or("no gear type is given")?;
        let (gear, note) = gear_words::find(word, &self.plan.gear)?;
        notes.extend(note);
        let count = self.cell(row, Field::Quantity).map_or(Ok(1), quantity)?;
        if self.plan.gear.get(&gear).is_some_and(|gear| gear.kind == GearKind::Switch) {
            notes.push(format!("switches are counted as stock ({count} of `{gear}`); the design decides where they go"));
            return Ok(Outcome::Switches { gear, count });
        }
        let (name, written) = self.name(row, &gear, notes)?;
        let title = self.cell(row, Field::Title).map(str::to_owned).or(written);
        let ids = self.ids(&name, count)?;
        let (place, new_place) = self.place(row, notes)?;
        if let Some(id) = ids.iter().find(|id| **id == place) {
            return Err(format!("`{id}` would be the name of a device and of its place; give the device another name"));
        }
        let device = NewDevice {
            id: name,
            place,
            new_place,
            title,
            pairing: self.pairing(row, &gear, notes)?,
            feeds: self.feeds(row, notes)?,
            networks: self.networks(row)?,
            gear,
        };
        self.claim(row, &ids, device.new_place.as_ref());
        Ok(Outcome::Devices(ids.into_iter().map(|id| NewDevice { id, ..device.clone() }).collect()))
    }

    fn claim(&mut self, row: &SheetRow, ids: &[Id], place: Option<&NewPlace>) {
        let here = format!("row {}", row.number);
        self.taken.extend(ids.iter().map(|id| (id.clone(), here.clone())));
        if let Some(place) = place {
            self.taken.entry(place.id.clone()).or_insert(here);
            self.new_places.insert(squeezed(&place.name), place.clone());
        }
    }

    /// The name in the plan, and the one in the list where the two differ.
    fn name(&self, row: &SheetRow, gear: &Id, notes: &mut Vec<String>) -> Result<(Id, Option<String>), String> {
        let Some(written) = self.cell(row, Field::Name) else {
            notes.push(format!("no name is given; named after its gear type `{gear}`"));
            return Ok((gear.clone(), None));
        };
        let id = slug(written).ok_or_else(|| format!("`{written}` has no letter or digit that a name could be made of"))?;
        if id.as_str() == written {
            return Ok((id, None));
        }
        notes.push(format!("name `{written}` becomes `{id}`"));
        Ok((id, Some(written.to_owned())))
    }

    /// One name, or `name-1` to `name-n`, none of them taken.
    fn ids(&self, name: &Id, count: u32) -> Result<Vec<Id>, String> {
        let numbered = |n: u32| Id::new(&format!("{name}-{n}")).map_err(|error| error.to_string());
        let ids = if count == 1 { vec![name.clone()] } else { (1..=count).map(numbered).collect::<Result<_, _>>()? };
        match ids.iter().find_map(|id| Some((id, self.taken.get(id)?))) {
            Some((id, by)) => Err(format!("the name `{id}` is already taken by {by}; give this row another name")),
            None => Ok(ids),
        }
    }

    fn place(&self, row: &SheetRow, notes: &mut Vec<String>) -> Result<(Id, Option<NewPlace>), String> {
        let word = self.cell(row, Field::Place).ok_or("no place is given")?;
        if let Some((id, _)) = self.plan.places.get_key_value(word) {
            return Ok((id.clone(), None));
        }
        let wanted = squeezed(word);
        let known = self.plan.places.iter().find(|(id, place)| squeezed(id.as_str()) == wanted || squeezed(&place.name) == wanted);
        if let Some((id, _)) = known.filter(|_| !wanted.is_empty()) {
            notes.push(format!("place `{word}` is taken as `{id}`"));
            return Ok((id.clone(), None));
        }
        if let Some(place) = self.new_places.get(&wanted) {
            return Ok((place.id.clone(), Some(place.clone())));
        }
        self.new_place(word, notes)
    }

    fn new_place(&self, word: &str, notes: &mut Vec<String>) -> Result<(Id, Option<NewPlace>), String> {
        if !self.mapping.creates_places {
            let near = nearest(word, self.plan.places.keys().map(|id| id.as_str()));
            let help = near.map_or("add it to the plan, or let the import add places".to_owned(), |near| format!("did you mean `{near}`?"));
            return Err(format!("there is no place `{word}`; {help}"));
        }
        let id = slug(word).ok_or_else(|| format!("`{word}` has no letter or digit that a place's name could be made of"))?;
        if let Some(by) = self.taken.get(&id) {
            return Err(format!("place `{word}` cannot be added as `{id}`: that name is taken by {by}"));
        }
        notes.push(format!("place `{id}` is added"));
        Ok((id.clone(), Some(NewPlace { id, name: word.to_owned() })))
    }

    fn pairing(&self, row: &SheetRow, gear: &Id, notes: &mut Vec<String>) -> Result<Option<Pairing>, String> {
        let Some(cell) = self.cell(row, Field::Pairing) else { return Ok(None) };
        let pairing = pairing(cell, notes)?;
        match self.plan.gear.get(gear).is_some_and(|gear| gear.pairing.contains(&pairing)) {
            true => Ok(Some(pairing)),
            false => Err(format!("gear `{gear}` cannot be set to `{pairing}`")),
        }
    }

    fn feeds(&self, row: &SheetRow, notes: &mut Vec<String>) -> Result<Vec<Id>, String> {
        let mut feeds: Vec<Id> = Vec::new();
        for part in parts(self.cell(row, Field::Feeds).unwrap_or_default()) {
            let id = slug(part).ok_or_else(|| format!("`{part}` is no name for a feed"))?;
            if id.as_str() != part {
                notes.push(format!("feed `{part}` becomes `{id}`"));
            }
            if !feeds.contains(&id) {
                feeds.push(id);
            }
        }
        Ok(feeds)
    }

    fn networks(&self, row: &SheetRow) -> Result<Vec<Id>, String> {
        let mut networks: Vec<Id> = Vec::new();
        for part in parts(self.cell(row, Field::Networks).unwrap_or_default()) {
            let known = self.plan.networks.keys().find(|id| id.as_str().eq_ignore_ascii_case(part));
            let id = known.ok_or_else(|| format!("there is no network `{part}`"))?;
            if !networks.contains(id) {
                networks.push(id.clone());
            }
        }
        Ok(networks)
    }
}

/// A whole number from 1; an `x` or `×` beside it does no harm.
fn quantity(text: &str) -> Result<u32, String> {
    let digits = text.trim_matches(|c: char| c.is_whitespace() || matches!(c, 'x' | 'X' | '×'));
    let digits = digits.strip_suffix(".0").unwrap_or(digits);
    match digits.parse() {
        Ok(count @ 1..=MOST_IN_A_ROW) => Ok(count),
        Ok(0) => Err("the quantity is 0".to_owned()),
        Ok(count) => Err(format!("a quantity of {count} is more than the {MOST_IN_A_ROW} that one row may stand for")),
        Err(_) => Err(format!("`{text}` is not a quantity: write a whole number")),
    }
}

/// Words that lists use for how two ports are set. Common practice, no source.
fn pairing(text: &str, notes: &mut Vec<String>) -> Result<Pairing, String> {
    let (pairing, exact) = match squeezed(text).as_str() {
        "chained" => (Pairing::Chained, true),
        "independent" => (Pairing::Independent, true),
        "daisychain" | "daisychained" | "chain" | "switched" | "switch" => (Pairing::Chained, false),
        "redundant" | "split" | "separate" | "dual" => (Pairing::Independent, false),
        _ => return Err(format!("`{text}` is not a pairing: write `chained` or `independent`")),
    };
    if !exact {
        notes.push(format!("pairing `{text}` is taken as `{pairing}`"));
    }
    Ok(pairing)
}
