//! The line check for pages: how far the crew is, and what the network says of each cable.

use super::Proved;
use crate::seen::{Seen, Source};
use loomwright_crewlog::{Book, Progress};
use loomwright_linecheck::Comparison;
use loomwright_model::{Cable, Id, Item, Length, PortRef};
use loomwright_sheets::cautions;
use loomwright_sheets::tables::walking_order;
use std::collections::BTreeSet;
use std::sync::Arc;

/// How far the crew is, places in walking order.
pub fn progress(proved: &Proved, book: &Book) -> Progress {
    let Some(plan) = &proved.plan else { return Progress::default() };
    loomwright_crewlog::progress(book, (plan, &proved.wiring), &walking_order(plan))
}

/// The evidence held against the plan; `None` where there is no plan or nothing was seen.
pub fn line_check(proved: &Proved, seen: &Seen) -> Option<Arc<Comparison>> {
    let plan = proved.plan.as_ref().filter(|_| !seen.sources.is_empty())?;
    Some(seen.against(&proved.digest, (plan, &proved.wiring)))
}

/// Planned against heard, for something that listens; `None` where there is no plan.
pub fn heard_of(proved: &Proved, source: &Source) -> Option<loomwright_linecheck::Heard> {
    let plan = proved.plan.as_ref()?;
    Some(loomwright_linecheck::heard((plan, &proved.wiring), &source.evidence, &source.networks))
}

/// What the evidence says of single cables.
#[derive(Debug, Default)]
pub struct Heard {
    differs: BTreeSet<String>,
    unseen: BTreeSet<String>,
    is_there: bool,
}

/// What the evidence says of one cable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Word {
    /// Nothing: no evidence, or none that covers it. That is not wrong.
    Nothing,
    /// Seen as planned.
    AsPlanned,
    /// Something differs.
    Differs,
}

impl Heard {
    /// From the comparison.
    pub fn of(comparison: Option<&Comparison>) -> Self {
        let Some(comparison) = comparison else { return Self::default() };
        let cable = |item: &Item| match item {
            Item::Cable(id) => Some(id.to_string()),
            _ => None,
        };
        let differs = comparison.differences.iter().flat_map(|one| &one.items).filter_map(cable).collect();
        let unseen = comparison.not_seen.iter().filter_map(|one| cable(&one.item)).collect();
        Self { differs, unseen, is_there: true }
    }

    /// What it says of `cable`.
    pub fn says(&self, cable: &str) -> Word {
        match self.is_there {
            true if self.differs.contains(cable) => Word::Differs,
            true if !self.unseen.contains(cable) => Word::AsPlanned,
            _ => Word::Nothing,
        }
    }
}

/// A place's name as people say it.
pub fn place_name(proved: &Proved, id: &Id) -> String {
    let place = proved.plan.as_ref().and_then(|plan| plan.places.get(id));
    place.map(|place| place.name.clone()).filter(|name| !name.is_empty()).unwrap_or_else(|| id.to_string())
}

/// Where a port is.
pub fn place_of<'p>(proved: &'p Proved, port: &PortRef) -> Option<&'p Id> {
    proved.wiring.place_of(proved.plan.as_ref()?, &port.item)
}

/// The cable of that name.
pub fn cable<'p>(proved: &'p Proved, id: &str) -> Option<&'p Cable> {
    proved.wiring.cables.get(id)
}

/// The ways that a cable lies in, in order: name and length.
pub fn ways(proved: &Proved, cable: &Cable) -> Vec<(String, Option<Length>)> {
    let plan = proved.plan.as_ref();
    cable.routes.iter().map(|id| (id.to_string(), plan.and_then(|plan| plan.routes.get(id)).map(|route| route.length))).collect()
}

/// What can hurt while working on `cable`: the usual cautions that fit it.
pub fn cable_cautions(proved: &Proved, cable: &Cable) -> Vec<&'static str> {
    let mut all = vec![cautions::SOUND];
    if cable.medium == loomwright_model::Medium::Fibre {
        all.push(cautions::FIBRE);
    } else {
        all.push(cautions::POE);
    }
    if !cable.routes.is_empty() {
        all.extend([cautions::HEIGHT, cautions::TRIP]);
    }
    if carries_life_safety(proved, cable) {
        all.push(cautions::LIFE_SAFETY);
    }
    all
}

fn carries_life_safety(proved: &Proved, cable: &Cable) -> bool {
    let Some(plan) = &proved.plan else { return false };
    plan.streams.values().filter(|stream| stream.life_safety).any(|stream| {
        let ends = std::iter::once(&stream.from).chain(&stream.to);
        ends.into_iter().any(|id| cable.ends.iter().any(|end| end.item == *id))
    })
}

/// What can hurt at any line check.
pub const CAUTIONS: [&str; 6] = [cautions::SOUND, cautions::MAINS, cautions::POE, cautions::FIBRE, cautions::HEIGHT, cautions::TRIP];

/// The drawing with the line check on it: what differs, and cables that are not plugged at both ends yet, are marked for the style.
pub fn checked(svg: &str, proved: &Proved, (book, comparison): (&Book, Option<&Comparison>)) -> String {
    const ITEM: &str = "data-item=\"";
    let differs: BTreeSet<String> =
        comparison.iter().flat_map(|comparison| &comparison.differences).flat_map(|one| &one.items).map(ToString::to_string).collect();
    let mut out = String::with_capacity(svg.len());
    for (n, piece) in svg.split(ITEM).enumerate() {
        if n > 0 {
            let item = piece.split('"').next().unwrap_or_default();
            match item {
                _ if differs.contains(item) => out += "data-check=\"differs\" ",
                _ if is_open(proved, book, item) => out += "data-check=\"open\" ",
                _ => {}
            }
            out += ITEM;
        }
        out += piece;
    }
    out
}

fn is_open(proved: &Proved, book: &Book, item: &str) -> bool {
    let found = item.strip_prefix("cable:").and_then(|id| Some((id, cable(proved, id)?)));
    found.is_some_and(|(id, cable)| !cable.ends.iter().all(|end| book.plugged(id, &end.to_string()).is_done()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Texts;
    use loomwright_crewlog::{Deed, Entry};

    #[test]
    fn open_cables_are_marked_until_both_ends_are_plugged() {
        let texts = Texts {
            plan: include_str!("../../tests/bench/demo.toml").to_owned(),
            wiring: Some(include_str!("../../tests/bench/demo.wiring.toml").to_owned()),
        };
        let proved = Proved::of(&texts, ["demo.toml", "demo.wiring.toml"]);
        let svg = "<g data-item=\"cable:A-001\"><path/></g><g data-item=\"device:desk\"/>";
        let mut book = Book::default();
        let open = svg.replacen("data-item", "data-check=\"open\" data-item", 1);
        assert_eq!(checked(svg, &proved, (&book, None)), open);
        for port in ["stage-box/1", "sw-a-1/1"] {
            let deed = Deed::Plug { cable: "A-001".into(), port: port.into(), is: true };
            book.add(Entry { id: port.into(), time: String::new(), made: None, who: String::new(), hand: String::new(), knew: 0, deed });
        }
        assert_eq!(checked(svg, &proved, (&book, None)), svg);
        let seen = loomwright_evidence::read("n.csv", b"device,port,neighbour,neighbour port\nstage-box,1,sw-a-1,3\n");
        let comparison = loomwright_linecheck::compare(proved.plan.as_ref().expect("a plan"), &proved.wiring, &seen);
        assert!(checked(svg, &proved, (&book, Some(&comparison))).contains("data-check=\"differs\" data-item=\"cable:A-001\""));
    }
}
