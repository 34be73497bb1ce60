//! Cables: what hangs on which port, by neighbour messages and by forwarding tables.
//!
//! A forwarding table also shows boxes that send no neighbour messages.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use super::plugs::{self, Stray};
use loomwright_evidence::facts::LearnedKind;
use loomwright_evidence::{Seen, Trust};
use loomwright_model::{Id, Item, PortRef};
use std::collections::{BTreeMap, BTreeSet};

/// What the evidence says of cables.
#[derive(Default)]
pub struct Cables {
    strays: Vec<Stray>,
    strangers: Vec<Difference>,
    /// Cables of which an end was seen as planned.
    pub confirmed: BTreeSet<Id>,
    /// Boxes that were seen alive.
    pub alive: BTreeSet<Id>,
    /// What each port heard, whoever it was.
    heard: BTreeMap<PortRef, usize>,
}

impl Cables {
    /// Reads every neighbour and every row of forwarding tables.
    pub fn new(names: &Names<'_>) -> Self {
        let mut this = Self::default();
        for row in &names.evidence.neighbours {
            this.neighbour(names, row);
        }
        for row in names.evidence.learned.iter().filter(|row| row.kind == LearnedKind::Learned) {
            let Some(who) = names.by_mac(row.mac) else { continue };
            this.alive.insert(who.clone());
            let system = row.system.as_deref().and_then(|name| names.named(name)).or_else(|| names.source(&row.seen));
            let at = system.zip(row.port.as_deref()).and_then(|(system, port)| names.port(system, port));
            if let Some(at) = at {
                let says = format!("{at} learned {} of `{who}`", row.mac);
                this.learned(names, (at, who.clone()), Sighting::new(names.evidence, &row.seen, says));
            }
        }
        this
    }

    fn neighbour(&mut self, names: &Names<'_>, row: &loomwright_evidence::facts::Neighbour) {
        let Some(here) = names.listener(row) else { return };
        let in_capture = row.seen.trust == Trust::Announced || row.seen.trust == Trust::Measured;
        let at = row
            .local_port
            .as_deref()
            .and_then(|port| names.port(here, port))
            .or_else(|| in_capture.then(|| captured_at(names, &row.seen))?);
        let Some(at) = at else { return };
        let Some(who) = names.speaker(&row.says) else {
            self.stranger(names, at, row);
            return;
        };
        self.alive.insert(who.clone());
        if who == here {
            return;
        }
        *self.heard.entry(at.clone()).or_default() += 1;
        let port = row.says.port.as_ref().and_then(|port| names.port(who, &port.text));
        let said = port.as_ref().map_or_else(|| who.to_string(), ToString::to_string);
        let sighting = Sighting::new(names.evidence, &row.seen, format!("{at} hears {said}"));
        if self.is_as_planned(names, &at, (who, port.as_ref())) {
            return;
        }
        self.stray(Stray { at, who: who.clone(), port, is_table: false, sightings: vec![sighting] });
    }

    fn is_as_planned(&mut self, names: &Names<'_>, at: &PortRef, (who, port): (&Id, Option<&PortRef>)) -> bool {
        let Some((cable, far)) = names.cable(at) else { return false };
        // A chained device works the same by either port; one whose port is not known is taken at its word.
        if far.item == *who && (port.is_none_or(|port| port == far) || names.is_chained(who)) {
            self.confirmed.insert(cable.clone());
            return true;
        }
        // A device that sends no messages of its own may pass on those of the next one.
        far.item != *who
            && names.behind(at).is_none_or(|all| all.iter().any(|one| one.item == *who))
            && !names.wiring.switches.contains_key(&far.item)
    }

    fn learned(&mut self, names: &Names<'_>, (at, who): (PortRef, Id), sighting: Sighting) {
        let is_switch = |item: &Id| names.wiring.switches.contains_key(item);
        let behind = names.behind(&at);
        if let Some((cable, _)) = names.cable(&at).filter(|(_, far)| behind.is_some() && far.item == who) {
            self.confirmed.insert(cable.clone());
        }
        // Behind a trunk there can be anything but what hangs on this very switch.
        let is_expected = behind.is_none_or(|all| all.iter().any(|one| one.item == who));
        if !is_expected && !is_switch(&who) {
            self.stray(Stray { at, who, port: None, is_table: true, sightings: vec![sighting] });
        }
    }

    fn stray(&mut self, stray: Stray) {
        match self.strays.iter_mut().find(|one| one.at == stray.at && one.who == stray.who) {
            Some(one) => {
                one.is_table &= stray.is_table;
                one.port = one.port.take().or(stray.port);
                one.sightings.extend(stray.sightings);
            }
            None => self.strays.push(stray),
        }
    }

    fn stranger(&mut self, names: &Names<'_>, at: PortRef, row: &loomwright_evidence::facts::Neighbour) {
        let called = row.says.called().unwrap_or("a box without a name").to_owned();
        if self.strangers.iter().any(|one| one.items.first() == Some(&Item::Port(at.clone())) && one.says.contains(&called)) {
            return;
        }
        let planned = names.cable(&at).map_or_else(|| "nothing at this port".to_owned(), |(cable, far)| format!("{far} by cable {cable}"));
        let sighting = Sighting::new(names.evidence, &row.seen, format!("{at} hears `{called}`"));
        let says = format!("`{called}` hangs on {at}, and no box of the plan is called so");
        let what = Difference::new("seen/unplanned-neighbour", Certainty::Likely, vec![Item::Port(at)], says);
        let remedy = "Find out what it is: name it in the plan as it names itself, or unplug it.";
        self.strangers.push(what.told(planned, remedy).seen([sighting]));
    }

    /// Swapped pairs first, then what hangs on a wrong port, then what is not in the plan.
    pub fn differences(&self, names: &Names<'_>) -> Vec<Difference> {
        let mut found = plugs::differences(names, &self.strays);
        found.extend(self.strangers.iter().cloned());
        found
    }
}

fn captured_at(names: &Names<'_>, seen: &Seen) -> Option<PortRef> {
    let here = names.source(seen)?;
    let source = names.evidence.source_of(seen)?;
    let ends = || names.ends_of(here).map(|(port, _)| port.clone());
    source
        .name_words()
        .filter(|word| names.named(word).is_none())
        .find_map(|word| names.port(here, word))
        .filter(|port| names.cable(port).is_some())
        .or_else(|| {
            let all: Vec<PortRef> = ends().collect();
            <[PortRef; 1]>::try_from(all).ok().map(|[one]| one)
        })
}
