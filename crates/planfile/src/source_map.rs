//! Remembers where everything was written, and works it out only when asked.

use crate::log::File;
use crate::problem::LineIndex;
use crate::read::Source;
use crate::readable::Value;
use crate::tree::Trees;
use loomwright_model::{Id, Item, Locate, Location};
use std::cmp::Ordering;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::{Arc, OnceLock};
use toml::de::{DeTable, DeValue};

/// Where items and their keys stand in the two files.
///
/// **Shape**: a section's names and keys as spans in the order of the alphabet, taken while the file is read; lines and
/// the ports that cables end at are put in order when somebody asks for them.
#[derive(Debug, Clone)]
pub struct SourceMap {
    plan: Held,
    wiring: Option<Held>,
    sections: Vec<Section>,
    /// The wiring's interfaces.
    interfaces: Names,
    /// Where cables end, by port; the first in the order of the cables' names counts.
    ends: Names,
    ends_in_order: OnceLock<Vec<u32>>,
    /// Feeds, hazards, and the keys of tables that stand once.
    feeds: Mentions,
    hazards: Mentions,
    singles: Mentions,
    lines: OnceLock<[LineIndex; 2]>,
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

type Mentions = HashMap<String, (File, Range<usize>)>;

/// Names with their spans; all letters in one text.
#[derive(Debug, Clone, Default)]
struct Names {
    letters: String,
    /// Where each name ends in `letters`.
    ends: Vec<u32>,
    spans: Vec<(u32, u32)>,
}

impl Names {
    fn push(&mut self, name: &str, span: Range<usize>) {
        self.letters.push_str(name);
        self.ends.push(self.letters.len() as u32);
        self.spans.push((span.start as u32, span.end as u32));
    }

    fn len(&self) -> usize {
        self.ends.len()
    }

    fn name(&self, at: usize) -> &str {
        let start = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.letters[start as usize..self.ends[at] as usize]
    }

    fn span(&self, at: usize) -> Range<usize> {
        let (start, end) = self.spans[at];
        start as usize..end as usize
    }

    /// Finds a name of those from `range`, which stand in the order of the alphabet.
    fn find(&self, name: &str, range: Range<usize>) -> Option<usize> {
        let (mut low, mut high) = (range.start, range.end);
        while low < high {
            let middle = low + (high - low) / 2;
            match self.name(middle).cmp(name) {
                Ordering::Less => low = middle + 1,
                Ordering::Equal => return Some(middle),
                Ordering::Greater => high = middle,
            }
        }
        None
    }
}

/// One section whose entries are items.
#[derive(Debug, Clone)]
struct Section {
    file: File,
    kind: Kind,
    names: Names,
    keys: Names,
    /// Where the keys of each name end in `keys`.
    keys_end: Vec<u32>,
}

impl Section {
    /// The span of an item, or of its key.
    fn find(&self, name: &str, key: Option<&str>) -> Option<Range<usize>> {
        let at = self.names.find(name, 0..self.names.len())?;
        let Some(key) = key else { return Some(self.names.span(at)) };
        let start = at.checked_sub(1).map_or(0, |before| self.keys_end[before]);
        let key = self.keys.find(key, start as usize..self.keys_end[at] as usize)?;
        Some(self.keys.span(key))
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Network,
    Place,
    Route,
    Gear,
    Device,
    Stream,
    Switch,
    Cable,
}

/// Sections whose entries are items.
const ITEMS: &[(File, &str, Kind)] = &[
    (File::Plan, "network", Kind::Network),
    (File::Plan, "place", Kind::Place),
    (File::Plan, "route", Kind::Route),
    (File::Plan, "gear", Kind::Gear),
    (File::Plan, "device", Kind::Device),
    (File::Plan, "stream", Kind::Stream),
    (File::Wiring, "switch", Kind::Switch),
    (File::Wiring, "cable", Kind::Cable),
    (File::Wiring, "setting", Kind::Device),
];

/// Keys that list feeds, and where.
const FEEDS: &[(File, &str)] = &[(File::Plan, "place"), (File::Plan, "device"), (File::Wiring, "switch")];

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
    pub(crate) fn new((plan, wiring): (Source<'_>, Option<Source<'_>>), trees: &Trees<'_, '_>) -> Self {
        let mut map = Self {
            plan: Held::of(plan),
            wiring: wiring.map(Held::of),
            sections: Vec::new(),
            interfaces: Names::default(),
            ends: Names::default(),
            ends_in_order: OnceLock::new(),
            feeds: Mentions::new(),
            hazards: Mentions::new(),
            singles: Mentions::new(),
            lines: OnceLock::new(),
        };
        for file in [File::Plan, File::Wiring] {
            if let Some(root) = trees.root(file) {
                map.collect(file, root);
            }
        }
        map
    }

    /// The bytes of a file, plan or wiring, in which an item or its key stands.
    pub fn span(&self, item: &Item, key: Option<&str>) -> Option<Range<usize>> {
        self.find(item, key).map(|(_, span)| span)
    }

    fn find(&self, item: &Item, key: Option<&str>) -> Option<(File, Range<usize>)> {
        match item {
            Item::Plan => self.singles.get(key.unwrap_or_default()).or_else(|| self.singles.get("")).cloned(),
            Item::Feed(id) => self.feeds.get(id.as_str()).cloned(),
            Item::Hazard(id) => self.hazards.get(id.as_str()).cloned(),
            Item::Port(port) => {
                let owner = || self.named(Kind::Device, &port.item, None).or_else(|| self.named(Kind::Switch, &port.item, None));
                self.port(&port.to_string()).or_else(owner)
            }
            Item::Network(id) => self.named(Kind::Network, id, key),
            Item::Place(id) => self.named(Kind::Place, id, key),
            Item::Route(id) => self.named(Kind::Route, id, key),
            Item::Gear(id) => self.named(Kind::Gear, id, key),
            Item::Device(id) => self.named(Kind::Device, id, key),
            Item::Stream(id) => self.named(Kind::Stream, id, key),
            Item::Switch(id) => self.named(Kind::Switch, id, key),
            Item::Cable(id) => self.named(Kind::Cable, id, key),
        }
    }

    /// The key of a thing, else the thing itself; in the first section that has it.
    fn named(&self, kind: Kind, id: &Id, key: Option<&str>) -> Option<(File, Range<usize>)> {
        let sections = || self.sections.iter().filter(|section| section.kind == kind);
        let find = |key| sections().find_map(|section| Some((section.file, section.find(id.as_str(), key)?)));
        key.and_then(|key| find(Some(key))).or_else(|| find(None))
    }

    /// A port stands where its interface is written, else where a cable ends at it.
    fn port(&self, port: &str) -> Option<(File, Range<usize>)> {
        if let Some(at) = self.interfaces.find(port, 0..self.interfaces.len()) {
            return Some((File::Wiring, self.interfaces.span(at)));
        }
        let in_order = self.ends_in_order.get_or_init(|| {
            let mut order: Vec<u32> = (0..self.ends.len() as u32).collect();
            order.sort_by_key(|&at| self.ends.name(at as usize));
            order
        });
        let first = in_order.partition_point(|&at| self.ends.name(at as usize) < port);
        let at = in_order.get(first).map(|&at| at as usize).filter(|&at| self.ends.name(at) == port)?;
        Some((File::Wiring, self.ends.span(at)))
    }

    fn lines(&self) -> &[LineIndex; 2] {
        let wiring = self.wiring.as_ref().map_or("", |wiring| &wiring.text);
        self.lines.get_or_init(|| [LineIndex::of(&self.plan.text), LineIndex::of(wiring)])
    }

    fn collect(&mut self, file: File, root: &DeTable<'_>) {
        for (_, section) in SINGLES.iter().filter(|(of, _)| *of == file) {
            if let Some((name, DeValue::Table(table))) = root.get_key_value(*section).map(|(name, value)| (name, value.get_ref())) {
                note(&mut self.singles, "", (file, name.span()));
                table.keys().for_each(|key| note(&mut self.singles, key.get_ref(), (file, key.span())));
            }
        }
        for (_, section, kind) in ITEMS.iter().filter(|(of, ..)| *of == file) {
            let mut found = Section { file, kind: *kind, names: Names::default(), keys: Names::default(), keys_end: Vec::new() };
            for (name, head, table) in tables(root, section) {
                found.names.push(name, head);
                table.keys().for_each(|key| found.keys.push(key.get_ref(), key.span()));
                found.keys_end.push(found.keys.len() as u32);
            }
            self.sections.push(found);
        }
        for (_, section) in FEEDS.iter().filter(|(of, _)| *of == file) {
            mentions(root, (section, "feeds"), |text, span| note(&mut self.feeds, text, (file, span)));
        }
        match file {
            File::Plan => mentions(root, ("route", "shares"), |text, span| note(&mut self.hazards, text, (file, span))),
            File::Wiring => {
                let interfaces = root.get("interface").and_then(|value| value.get_ref().as_table());
                let names = interfaces.into_iter().flat_map(|table| table.keys());
                names.for_each(|name| self.interfaces.push(name.get_ref(), name.span()));
                mentions(root, ("cable", "ends"), |text, span| self.ends.push(text, span));
            }
        }
    }
}

impl Locate for SourceMap {
    fn locate(&self, item: &Item, key: Option<&str>) -> Option<Location> {
        let (file, span) = self.find(item, key)?;
        let held = if file == File::Plan { &self.plan } else { self.wiring.as_ref()? };
        let (line, column) = self.lines()[usize::from(file == File::Wiring)].place(&held.text, span.start);
        Some(Location { file: held.name.to_string(), line, column })
    }
}

/// Keeps the first mention.
fn note(mentions: &mut Mentions, name: &str, at: (File, Range<usize>)) {
    match mentions.get_mut(name) {
        Some(held) if held.0 == at.0 && at.1.start < held.1.start => *held = at,
        Some(_) => {}
        None => drop(mentions.insert(name.to_owned(), at)),
    }
}

/// Every text of a list that each table of a section has.
fn mentions(root: &DeTable<'_>, (section, key): (&str, &str), mut tell: impl FnMut(&str, Range<usize>)) {
    for (_, _, table) in tables(root, section) {
        texts(table.get(key)).for_each(|(text, span)| tell(text, span));
    }
}

/// The tables of a section; the reader keeps them in the order of the alphabet.
fn tables<'a, 'i>(root: &'a DeTable<'i>, section: &str) -> impl Iterator<Item = (&'a str, Range<usize>, &'a DeTable<'i>)> + use<'a, 'i> {
    let section = root.get(section).and_then(|value| value.get_ref().as_table());
    section
        .into_iter()
        .flat_map(|table| table.iter())
        .filter_map(|(name, value)| Some((name.get_ref().as_ref(), name.span(), value.get_ref().as_table()?)))
}

fn texts<'a>(value: Option<&'a Value<'_>>) -> impl Iterator<Item = (&'a str, Range<usize>)> {
    let items = value.and_then(|value| value.get_ref().as_array());
    items.into_iter().flat_map(|items| items.iter()).filter_map(|item| Some((item.get_ref().as_str()?, item.span())))
}
