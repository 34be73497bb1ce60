//! Remembers where everything was written, and works it out only when asked.

use crate::log::File;
use crate::problem::LineIndex;
use crate::read::Source;
use crate::readable::Value;
use loomwright_model::{Id, Item, Locate, Location};
use std::collections::HashMap;
use std::ops::Range;
use std::sync::{Arc, OnceLock};
use toml::de::{DeTable, DeValue};

/// Where items and their keys stand in the two files.
#[derive(Debug, Clone)]
pub struct SourceMap {
    plan: Held,
    wiring: Option<Held>,
    index: OnceLock<Index>,
}

#[derive(Debug, Clone)]
struct Held {
    name: Arc<str>,
    text: Arc<str>,
}

impl Held {
    fn of(source: Source<'_>) -> Self {
        Self { name: source.name.into(), text: source.text.into() }
    }
}

#[derive(Debug, Clone)]
struct Index {
    lines: [LineIndex; 2],
    spans: HashMap<(Item, String), (File, Range<usize>)>,
}

/// Sections whose entries are items.
const ITEMS: &[(File, &str, Make)] = &[
    (File::Plan, "network", Item::Network),
    (File::Plan, "place", Item::Place),
    (File::Plan, "route", Item::Route),
    (File::Plan, "gear", Item::Gear),
    (File::Plan, "device", Item::Device),
    (File::Plan, "stream", Item::Stream),
    (File::Wiring, "switch", Item::Switch),
    (File::Wiring, "cable", Item::Cable),
    (File::Wiring, "setting", Item::Device),
];

/// Keys that list feeds or hazards, and where.
const MENTIONS: &[(File, &str, &str, Make)] = &[
    (File::Plan, "place", "feeds", Item::Feed),
    (File::Plan, "device", "feeds", Item::Feed),
    (File::Wiring, "switch", "feeds", Item::Feed),
    (File::Plan, "route", "shares", Item::Hazard),
];

/// Tables that stand once; their keys belong to the plan as a whole.
const SINGLES: &[(File, &str)] = &[
    (File::Plan, "plan"),
    (File::Plan, "targets"),
    (File::Plan, "stream-format"),
    (File::Plan, "stock"),
    (File::Plan, "labour"),
    (File::Wiring, "clock"),
];

impl SourceMap {
    pub(crate) fn new(plan: Source<'_>, wiring: Option<Source<'_>>) -> Self {
        Self { plan: Held::of(plan), wiring: wiring.map(Held::of), index: OnceLock::new() }
    }

    /// The bytes of a file, plan or wiring, in which an item or its key stands.
    pub fn span(&self, item: &Item, key: Option<&str>) -> Option<Range<usize>> {
        self.find(item, key).map(|(_, span)| span)
    }

    fn find(&self, item: &Item, key: Option<&str>) -> Option<(File, Range<usize>)> {
        let spans = &self.index().spans;
        let get = |item: &Item, key: &str| spans.get(&(item.clone(), key.to_owned())).cloned();
        let exact = key.and_then(|key| get(item, key)).or_else(|| get(item, ""));
        match (exact, item) {
            (None, Item::Port(port)) => get(&Item::Device(port.item.clone()), "").or_else(|| get(&Item::Switch(port.item.clone()), "")),
            (exact, _) => exact,
        }
    }

    fn index(&self) -> &Index {
        self.index.get_or_init(|| {
            let wiring = self.wiring.as_ref().map_or("", |wiring| &wiring.text);
            let mut spans = HashMap::new();
            for (file, text) in [(File::Plan, &*self.plan.text), (File::Wiring, wiring)] {
                collect(file, DeTable::parse_recoverable(text).0.get_ref(), &mut spans);
            }
            Index { lines: [LineIndex::of(&self.plan.text), LineIndex::of(wiring)], spans }
        })
    }
}

impl Locate for SourceMap {
    fn locate(&self, item: &Item, key: Option<&str>) -> Option<Location> {
        let (file, span) = self.find(item, key)?;
        let held = if file == File::Plan { &self.plan } else { self.wiring.as_ref()? };
        let (line, column) = self.index().lines[usize::from(file == File::Wiring)].place(&held.text, span.start);
        Some(Location { file: held.name.to_string(), line, column })
    }
}

/// Makes an item from its name.
type Make = fn(Id) -> Item;
type Spans = HashMap<(Item, String), (File, Range<usize>)>;

/// Keeps the first mention.
fn note(spans: &mut Spans, item: Item, key: &str, at: (File, Range<usize>)) {
    let held = spans.entry((item, key.to_owned())).or_insert_with(|| at.clone());
    if held.0 == at.0 && at.1.start < held.1.start {
        *held = at;
    }
}

fn collect(file: File, root: &DeTable<'_>, spans: &mut Spans) {
    for (_, section) in SINGLES.iter().filter(|(of, _)| *of == file) {
        if let Some((name, DeValue::Table(table))) = root.get_key_value(*section).map(|(name, value)| (name, value.get_ref())) {
            note(spans, Item::Plan, "", (file, name.span()));
            table.keys().for_each(|key| note(spans, Item::Plan, key.get_ref(), (file, key.span())));
        }
    }
    for (_, section, item) in ITEMS.iter().filter(|(of, ..)| *of == file) {
        for (id, head, table) in tables(root, section) {
            note(spans, item(id.clone()), "", (file, head));
            table.keys().for_each(|key| note(spans, item(id.clone()), key.get_ref(), (file, key.span())));
        }
    }
    for (_, section, key, item) in MENTIONS.iter().filter(|(of, ..)| *of == file) {
        for (_, _, table) in tables(root, section) {
            for (text, span) in texts(table.get(*key)) {
                if let Ok(id) = Id::new(text) {
                    note(spans, item(id), "", (file, span));
                }
            }
        }
    }
    ports(file, root, spans);
}

/// A port stands where its interface is written, else where a cable ends at it.
fn ports(file: File, root: &DeTable<'_>, spans: &mut Spans) {
    let interfaces = root.get("interface").and_then(|value| value.get_ref().as_table());
    for name in interfaces.into_iter().flat_map(|table| table.keys()) {
        if let Ok(port) = name.get_ref().parse() {
            note(spans, Item::Port(port), "", (file, name.span()));
        }
    }
    for (_, _, table) in tables(root, "cable") {
        for (text, span) in texts(table.get("ends")) {
            if let Ok(port) = text.parse() {
                spans.entry((Item::Port(port), String::new())).or_insert((file, span));
            }
        }
    }
}

fn tables<'a, 'i>(root: &'a DeTable<'i>, section: &str) -> impl Iterator<Item = (Id, Range<usize>, &'a DeTable<'i>)> + use<'a, 'i> {
    let section = root.get(section).and_then(|value| value.get_ref().as_table());
    section
        .into_iter()
        .flat_map(|table| table.iter())
        .filter_map(|(name, value)| Some((Id::new(name.get_ref()).ok()?, name.span(), value.get_ref().as_table()?)))
}

fn texts<'a>(value: Option<&'a Value<'_>>) -> impl Iterator<Item = (&'a str, Range<usize>)> {
    let items = value.and_then(|value| value.get_ref().as_array());
    items.into_iter().flat_map(|items| items.iter()).filter_map(|item| Some((item.get_ref().as_str()?, item.span())))
}
