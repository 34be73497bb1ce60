//! What to take along, by case and by place: cables by length, switches, optics, devices, labels.

use super::Source;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_model::{Id, Medium};
use std::collections::{BTreeMap, BTreeSet};

/// More names than this are not listed beside their type. Own choice.
const MOST_NAMES: usize = 24;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Packing,
        columns([
            ("Case", Role::Text),
            ("Sort", Role::Text),
            ("Item", Role::Name),
            ("Count", Role::Figure),
            ("Remark", Role::Text),
            ("Packed", Role::Tick),
            ("Back", Role::Tick),
        ]),
    );
    table.note = "By case, then by the place where things go. Counts are what the wiring uses; carry spares on top.".to_owned();
    table.grouped_by = Some(0);
    let mut list = List { source, lines: BTreeMap::new() };
    list.cables();
    list.modules();
    list.gear();
    let labels = 2 * source.scene.wiring.cables.len() as u64;
    let racks: BTreeSet<&Id> = source.scene.wiring.switches.values().map(|switch| &switch.place).collect();
    table.rows = list.rows();
    table.rows.push(row([EVERYWHERE, "Labels", "Cable labels"], (labels, "one for each end".to_owned())));
    if !racks.is_empty() {
        let remark = "one for the door of each rack with switches".to_owned();
        table.rows.push(row([EVERYWHERE, "Papers", "Rack cards"], (racks.len() as u64, remark)));
    }
    table
}

/// What stands over things that belong to no place.
const EVERYWHERE: &str = "For all places";

fn row([case, sort, item]: [&str; 3], (count, remark): (u64, String)) -> Row {
    Row::new(vec![case.into(), sort.into(), item.into(), Cell::count(count), remark.into(), Cell::default(), Cell::default()])
}

/// Sorts of things, in the order they are packed.
const SORTS: [&str; 4] = ["Cables", "Pluggable modules", "Switches", "Devices"];

/// Where a line stands: case or place, sort, then a key that keeps like things in order.
type Key = ((bool, usize), usize, (u64, String));

/// One line while it grows.
#[derive(Default)]
struct Line<'a> {
    item: String,
    count: u64,
    remark: String,
    names: Vec<&'a str>,
}

/// The list while it grows.
struct List<'s, 'a> {
    source: &'s Source<'a>,
    lines: BTreeMap<Key, Line<'a>>,
}

impl<'a> List<'_, 'a> {
    /// The case that one of these names is packed in, the first name counting most; else the place in walking order.
    fn case(&self, names: &[&Id], place: Option<&Id>) -> (bool, usize) {
        let cases = &self.source.scene.plan.stock.cases;
        let mut names = names.iter().copied().chain(place);
        let case = names.find_map(|name| cases.values().position(|own| own.contains(name)));
        let order = &self.source.walk().order;
        let at = || place.and_then(|place| order.iter().position(|other| *other == place)).unwrap_or(order.len());
        case.map_or_else(|| (true, at()), |case| (false, case))
    }

    fn line(&mut self, key: Key, item: impl FnOnce() -> String) -> &mut Line<'a> {
        self.lines.entry(key).or_insert_with(|| Line { item: item(), ..Line::default() })
    }

    fn cables(&mut self) {
        let scene = self.source.scene;
        for cable in scene.wiring.cables.values() {
            let ends = cable.ends.each_ref().map(|end| self.case(&[], scene.place_of(&end.item)));
            let from = ends[0].min(ends[1]);
            let (medium, length) = (cable.medium, cable.length);
            let key = (from, 0, (length.millimetres(), medium.to_string()));
            let line = self.line(key, || format!("{medium}, {length}"));
            line.count += 1;
            line.remark = format!("{} together", length.times(line.count));
        }
    }

    /// Modules for pluggable ports, by what plugs into them and how fast the port is.
    fn modules(&mut self) {
        let (scene, source) = (self.source.scene, self.source);
        for cable in scene.wiring.cables.values() {
            for end in &cable.ends {
                let Some(spec) = source.spec(end).filter(|spec| matches!(spec.medium, Medium::Sfp | Medium::SfpPlus)) else { continue };
                let case = self.case(&[&end.item], scene.place_of(&end.item));
                let item = format!("{} for {}, {}", spec.medium, cable.medium, spec.speed);
                let line = self.line((case, 1, (0, item.clone())), || item);
                line.count += 1;
                if cable.medium == Medium::Fibre {
                    line.remark = "both ends of a cable of the same kind; caps on".to_owned();
                }
            }
        }
    }

    fn gear(&mut self) {
        let scene = self.source.scene;
        let switches = scene.wiring.switches.iter().map(|(id, switch)| (2, id, &switch.gear));
        let devices = scene.plan.devices.iter().map(|(id, device)| (3, id, &device.gear));
        for (sort, id, gear) in switches.chain(devices) {
            let case = self.case(&[id, gear], scene.place_of(id));
            let title = scene.plan.gear.get(gear).map_or("", |known| known.title.as_str());
            let item = if title.is_empty() { gear.to_string() } else { title.to_owned() };
            let line = self.line((case, sort, (0, gear.to_string())), || item);
            line.count += 1;
            line.names.push(id.as_str());
        }
    }

    fn rows(self) -> Vec<Row> {
        let (plan, order) = (self.source.scene.plan, &self.source.walk().order);
        let heading = |(is_place, at): (bool, usize)| match is_place {
            false => plan.stock.cases.get_index(at).map_or(String::new(), |(id, _)| format!("Case {id}")),
            true => order.get(at).copied().map_or(EVERYWHERE.to_owned(), |id| self.source.scene.place_name(id).to_owned()),
        };
        let made = |((case, sort, _), line): (&Key, &Line)| {
            let remark = if line.names.is_empty() { line.remark.clone() } else { listed(&line.names) };
            row([&heading(*case), SORTS[*sort], &line.item], (line.count, remark))
        };
        self.lines.iter().map(made).collect()
    }
}

fn listed(names: &[&str]) -> String {
    if names.len() <= MOST_NAMES {
        return names.join(", ");
    }
    format!("{} to {}; names on the sheet Addresses", names[0], names[names.len() - 1])
}
