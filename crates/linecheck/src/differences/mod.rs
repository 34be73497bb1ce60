//! Plan against evidence: what is cabled, set or heard otherwise than planned.
//!
//! One file for each kind of difference. What no evidence covers is listed as not seen, never as wrong.

mod addresses;
mod arrivals;
mod cables;
mod clocks;
mod difference;
mod groups;
mod loops;
mod marking;
mod missing;
mod moving;
mod names;
mod pauses;
mod plugs;
mod ports;
mod proofs;
mod queriers;
mod servers;
mod storms;
mod trees;
mod unseen;

pub use difference::{Certainty, Difference, FULL_LEVEL, NotSeen, Sighting};

use cables::Cables;
use loomwright_evidence::Evidence;
use loomwright_model::{Id, Item, Plan, Wiring};
pub(crate) use names::Names;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Something in a file that could not be read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unread {
    /// File, and place in it.
    pub at: String,
    /// What is wrong with it.
    pub says: String,
    /// How many times.
    pub times: u64,
}

/// The line check.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Comparison {
    /// One sentence: how it stands.
    pub says: String,
    /// What is different, surest first within a place.
    pub differences: Vec<Difference>,
    /// What is planned and no evidence covers.
    pub not_seen: Vec<NotSeen>,
    /// Planned cables of which an end was seen as planned, and all of them.
    pub cables_confirmed: (usize, usize),
    /// Files that were read.
    pub files: usize,
    /// What could not be read.
    pub unread: Vec<Unread>,
}

impl Comparison {
    /// Whether all that was given could be read: if not, what differs may be in what was not.
    pub fn is_whole(&self) -> bool {
        self.unread.is_empty()
    }

    /// Whether nothing certain or likely is different.
    pub fn is_as_planned(&self) -> bool {
        self.differences.iter().all(|one| one.certainty == Certainty::Hint)
    }
}

/// Compares what was planned with what was seen.
///
/// ```
/// # let (plan, wiring) = { let loaded = loomwright_planfile::read_bytes(("p.toml", b"[plan]\nname = \"x\"\n"), None).expect("a plan"); (loaded.plan, loaded.wiring) };
/// let seen = loomwright_evidence::read("notes.csv", b"device,port,neighbour,neighbour port\nbox-1,1,sw-1,5\n");
/// assert!(loomwright_linecheck::compare(&plan, &wiring, &seen).differences.is_empty());
/// ```
pub fn compare(plan: &Plan, wiring: &Wiring, evidence: &Evidence) -> Comparison {
    compare_proved((plan, wiring), evidence, &Proved::default())
}

/// What a proof of the plan says that can be measured.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Proved {
    /// Most jitter of each stream at each receiver over each network: what its delay can vary by, and the sender's own.
    /// **Unit**: nanosecond.
    pub jitter: BTreeMap<(Id, Id, Id), u64>,
}

/// Like [`compare()`], and also holds what was measured against what was proved.
pub fn compare_proved((plan, wiring): (&Plan, &Wiring), evidence: &Evidence, proved: &Proved) -> Comparison {
    let names = Names::new(plan, wiring, evidence);
    let cables = Cables::new(&names);
    let differences = differences(&names, &cables, proved);
    let not_seen = unseen::list(&names, &cables, &differences);
    let confirmed = (cables.confirmed.len(), wiring.cables.len());
    let unread: Vec<Unread> = evidence.complaints.iter().map(|one| unread(evidence, one)).collect();
    let says = sentence(&differences, confirmed, unread.len());
    Comparison { says, differences, not_seen, cables_confirmed: confirmed, files: evidence.sources.len(), unread }
}

fn differences(names: &Names<'_>, cables: &Cables, proved: &Proved) -> Vec<Difference> {
    let mut found = cables.differences(names);
    found.extend(missing::differences(names, cables));
    found.extend(ports::differences(names));
    found.extend(addresses::differences(names));
    found.extend(servers::differences(names));
    found.extend(queriers::differences(names));
    found.extend(trees::differences(names));
    found.extend(pauses::differences(names));
    found.extend(clocks::differences(names));
    found.extend(marking::differences(names));
    found.extend(groups::differences(names));
    found.extend(arrivals::differences(names));
    found.extend(proofs::differences(names, proved));
    found.extend(loops::differences(names));
    found.extend(storms::differences(names));
    found.extend(moving::differences(names));
    for one in &mut found {
        one.items = one.items.drain(..).map(|item| as_switch(names, item)).collect();
        one.place = one.items.iter().find_map(|item| place(names, item));
    }
    let order = |place: &Option<Id>| place.as_ref().map_or(usize::MAX, |id| names.plan.places.get_index_of(id).unwrap_or(usize::MAX));
    found.sort_by_cached_key(|one| (order(&one.place), one.certainty));
    found
}

/// A switch among the boxes is named as such.
fn as_switch(names: &Names<'_>, item: Item) -> Item {
    match item {
        Item::Device(id) if names.wiring.switches.contains_key(&id) => Item::Switch(id),
        other => other,
    }
}

fn place(names: &Names<'_>, item: &Item) -> Option<Id> {
    match item {
        Item::Device(id) | Item::Switch(id) => names.place(id),
        Item::Port(port) => names.place(&port.item),
        Item::Cable(id) => names.wiring.cables.get(id).and_then(|cable| names.place(&cable.ends[0].item)),
        Item::Stream(id) => names.plan.streams.get(id).and_then(|stream| names.place(&stream.from)),
        _ => None,
    }
}

fn unread(evidence: &Evidence, one: &loomwright_evidence::Complaint) -> Unread {
    let seen =
        loomwright_evidence::Seen { source: one.source, ..loomwright_evidence::Seen::at(one.spot, loomwright_evidence::Trust::Noted) };
    Unread { at: evidence.place_of(&seen), says: one.says.clone(), times: one.times }
}

fn sentence(differences: &[Difference], (confirmed, all): (usize, usize), unread: usize) -> String {
    let count = |certainty| differences.iter().filter(|one| one.certainty == certainty).count();
    let [certain, likely, hints] = [Certainty::Certain, Certainty::Likely, Certainty::Hint].map(count);
    let mut cables = format!("{confirmed} of {all} cables were seen as planned");
    if unread > 0 {
        let _ = write!(cables, "; {unread} of what was given could not be read");
    }
    if differences.is_empty() {
        return format!("Nothing seen differs from the plan; {cables}.");
    }
    format!("Differences: {certain} certain, {likely} likely, {hints} to look at; {cables}.")
}
