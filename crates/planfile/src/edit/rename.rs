//! Changes a name wherever it is mentioned.

use super::splice::Splices;
use super::{Kind, Texts};
use crate::log::File;
use crate::print::{key as key_text, quoted};
use crate::readable::Value;
use loomwright_model::{Id, PortRef};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A spot where names of some kind stand.
#[derive(Clone, Copy)]
enum Spot {
    /// The name in `[section.NAME]`.
    Name(&'static str),
    /// A text, or texts in a list: `key = "NAME"` in every table of a section.
    Field(&'static str, &'static str),
    /// Texts in a list only: `key = ["NAME"]`.
    List(&'static str, &'static str),
    /// The item part of ports in a list: `key = ["NAME/1"]`.
    Ports(&'static str, &'static str),
    /// The item part of a port in `[section."NAME/1"]`.
    PortName(&'static str),
    /// `key = "NAME"` in a table that stands once.
    Single(&'static str, &'static str),
    /// Any value of a table that stands once.
    Values(&'static str),
    /// Keys two tables down: `[group.STREAM.1]` and there `NAME = ..`.
    DeepKeys(&'static str),
    /// Keys of an inline table: `[section]` and there `key = { NAME = .. }`.
    InlineKeys(&'static str, &'static str),
    /// Values of an inline table: `[section]` and there `key = { .. = ["NAME"] }`.
    InlineValues(&'static str, &'static str),
}

use Kind::{Cable, Device, Feed, Gear, Hazard, Network, Place, Route, Stream, Switch};
use Spot::{DeepKeys, Field, InlineKeys, InlineValues, List, Name, PortName, Ports, Single, Values};

/// Every spot of both files at which a name stands.
const SPOTS: &[(Kind, File, Spot)] = &[
    (Device, File::Plan, Name("device")),
    (Device, File::Plan, Field("stream", "from")),
    (Device, File::Plan, Field("stream", "to")),
    (Device, File::Plan, Field("network", "dhcp-server")),
    (Device, File::Plan, List("in-phase", "to")),
    (Device, File::Plan, Field("journey", "to")),
    (Device, File::Plan, InlineValues("stock", "cases")),
    (Device, File::Wiring, Name("setting")),
    (Device, File::Wiring, Ports("cable", "ends")),
    (Device, File::Wiring, PortName("interface")),
    (Device, File::Wiring, Single("clock", "leader")),
    (Device, File::Wiring, Single("clock", "backup")),
    (Switch, File::Wiring, Name("switch")),
    (Switch, File::Wiring, Ports("cable", "ends")),
    (Switch, File::Wiring, Values("querier")),
    (Switch, File::Wiring, Single("clock", "leader")),
    (Switch, File::Wiring, Single("clock", "backup")),
    (Switch, File::Plan, Field("network", "dhcp-server")),
    (Switch, File::Plan, InlineValues("stock", "cases")),
    (Place, File::Plan, Name("place")),
    (Place, File::Plan, List("route", "between")),
    (Place, File::Plan, Field("device", "place")),
    (Place, File::Plan, InlineValues("stock", "cases")),
    (Place, File::Wiring, Field("switch", "place")),
    (Network, File::Plan, Name("network")),
    (Network, File::Plan, List("device", "networks")),
    (Network, File::Plan, List("stream", "legs")),
    (Network, File::Wiring, List("switch", "networks")),
    (Network, File::Wiring, Field("cable", "network")),
    (Network, File::Wiring, DeepKeys("group")),
    (Network, File::Wiring, Name("querier")),
    (Route, File::Plan, Name("route")),
    (Route, File::Wiring, List("cable", "routes")),
    (Gear, File::Plan, Name("gear")),
    (Gear, File::Plan, Field("device", "gear")),
    (Gear, File::Plan, InlineKeys("stock", "switches")),
    (Gear, File::Plan, InlineValues("stock", "cases")),
    (Gear, File::Wiring, Field("switch", "gear")),
    (Stream, File::Plan, Name("stream")),
    (Stream, File::Plan, List("in-phase", "streams")),
    (Stream, File::Plan, List("journey", "through")),
    (Stream, File::Wiring, Name("group")),
    (Cable, File::Wiring, Name("cable")),
    (Feed, File::Plan, List("place", "feeds")),
    (Feed, File::Plan, List("device", "feeds")),
    (Feed, File::Wiring, List("switch", "feeds")),
    (Hazard, File::Plan, List("route", "shares")),
];

/// Changes a name in both texts.
pub(super) fn everywhere(texts: Texts, kind: Kind, from: &Id, to: &Id) -> Texts {
    let rename = |file: File, text: &str| {
        let (tree, _) = DeTable::parse_recoverable(text);
        let mut change = Change { text, root: tree.get_ref(), from: from.as_str(), to: to.as_str(), splices: Splices::default() };
        for (_, _, spot) in SPOTS.iter().filter(|(of, in_file, _)| *of == kind && *in_file == file) {
            change.at(*spot);
        }
        change.splices.apply(text)
    };
    Texts { plan: rename(File::Plan, &texts.plan), wiring: texts.wiring.map(|text| rename(File::Wiring, &text)) }
}

struct Change<'a, 'i> {
    text: &'a str,
    root: &'a DeTable<'i>,
    from: &'a str,
    to: &'a str,
    splices: Splices,
}

impl<'a, 'i> Change<'a, 'i> {
    fn at(&mut self, spot: Spot) {
        match spot {
            Name(section) => self.name(section),
            Field(section, key) | List(section, key) => {
                let alone = matches!(spot, Field(..));
                for table in self.tables(section) {
                    table.get(key).into_iter().for_each(|value| self.texts(value, alone));
                }
            }
            Ports(section, key) => {
                for table in self.tables(section) {
                    let items = table.get(key).and_then(|value| value.get_ref().as_array());
                    items.into_iter().flat_map(|items| items.iter()).for_each(|item| self.port(item.get_ref().as_str(), item.span()));
                }
            }
            PortName(section) => {
                let table = self.section(section);
                table.into_iter().flat_map(|table| table.keys()).for_each(|name| self.port(Some(name.get_ref()), name.span()));
            }
            Single(section, key) => {
                let value = self.section(section).and_then(|table| table.get(key));
                value.into_iter().for_each(|value| self.texts(value, true));
            }
            Values(section) => {
                self.section(section).into_iter().flat_map(|table| table.values()).for_each(|value| self.texts(value, true));
            }
            DeepKeys(section) => {
                for table in self.tables(section) {
                    table.values().filter_map(|value| value.get_ref().as_table()).for_each(|inner| self.key(inner));
                }
            }
            InlineKeys(section, key) => {
                let table = self.section(section).and_then(|table| table.get(key)).and_then(|value| value.get_ref().as_table());
                table.into_iter().for_each(|table| self.key(table));
            }
            InlineValues(section, key) => {
                let table = self.section(section).and_then(|table| table.get(key)).and_then(|value| value.get_ref().as_table());
                table.into_iter().flat_map(|table| table.values()).for_each(|value| self.texts(value, true));
            }
        }
    }

    fn section(&self, section: &str) -> Option<&'a DeTable<'i>> {
        self.root.get(section).and_then(|value| value.get_ref().as_table())
    }

    fn tables(&self, section: &str) -> Vec<&'a DeTable<'i>> {
        self.section(section).into_iter().flat_map(|table| table.values()).filter_map(|value| value.get_ref().as_table()).collect()
    }

    fn texts(&mut self, value: &Value<'_>, alone: bool) {
        match value.get_ref() {
            DeValue::String(text) if alone && *text == self.from => self.splices.replace(value.span(), quoted(self.to)),
            DeValue::Array(items) => items.iter().for_each(|item| self.texts(item, true)),
            _ => {}
        }
    }

    fn port(&mut self, text: Option<&str>, span: Range<usize>) {
        let port = text.and_then(|text| text.parse::<PortRef>().ok());
        if let Some(port) = port.filter(|port| port.item.as_str() == self.from) {
            self.rewrite(span, &quoted(&format!("{}/{}", self.to, port.port)));
        }
    }

    /// A key of this name in one table.
    fn key(&mut self, table: &DeTable<'_>) {
        if let Some((name, _)) = table.get_key_value(self.from) {
            self.rewrite(name.span(), &key_text(self.to));
        }
    }

    fn rewrite(&mut self, span: Range<usize>, text: &str) {
        self.splices.replace(span, text);
    }

    /// The name in its header, and in the headers of tables below it, which repeat it.
    fn name(&mut self, section: &str) {
        let Some((name, value)) = self.section(section).and_then(|table| table.get_key_value(self.from)) else { return };
        self.rewrite(name.span(), &key_text(self.to));
        let Some(table) = value.get_ref().as_table() else { return };
        let first = name.span().start;
        for inner in table.values().filter(|value| value.get_ref().is_table()) {
            let header = inner.span();
            if self.text[header.clone()].starts_with('[') && !header.contains(&first) {
                self.second_name(header);
            }
        }
    }

    /// The second name of a header such as `[group.NAME.2]`.
    fn second_name(&mut self, header: Range<usize>) {
        let Some(inside) = self.text[header.clone()].strip_prefix('[').and_then(|text| text.strip_suffix(']')) else { return };
        let mut dots = outside_quotes(inside).into_iter();
        if let (Some(first), Some(second)) = (dots.next(), dots.next()) {
            let start = header.start + 1;
            self.rewrite(start + first + 1..start + second, &key_text(self.to));
        }
    }
}

/// Where the dots of a header stand that part its names.
fn outside_quotes(header: &str) -> Vec<usize> {
    let (mut quote, mut escaped) = (None, false);
    let mut dots = Vec::new();
    for (n, c) in header.char_indices() {
        match (quote, c) {
            (Some('"'), '\\') if !escaped => {
                escaped = true;
                continue;
            }
            (Some(open), c) if c == open && !escaped => quote = None,
            (None, '"' | '\'') => quote = Some(c),
            (None, '.') => dots.push(n),
            _ => {}
        }
        escaped = false;
    }
    dots
}
