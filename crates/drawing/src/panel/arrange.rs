//! Who hangs under which switch: blocks of cards in the order of its ports, packed into columns.

use crate::options::Desk;
use crate::scene::{far_end, near_end};
use loomwright_model::{Cable, Gear, Id, Pairing, PortRef};
use std::collections::BTreeSet;

/// A cable from the switch to a card.
#[derive(Debug, Clone)]
pub(super) struct Entry<'a> {
    pub(super) cable: &'a Id,
    pub(super) hub_port: &'a Id,
    pub(super) card_port: &'a Id,
}

/// A device as it will be drawn.
#[derive(Debug, Clone)]
pub(super) struct Card<'a> {
    pub(super) device: &'a Id,
    /// Cables from the switch, in port order.
    pub(super) entries: Vec<Entry<'a>>,
    /// The cable from the card above it in a chain: its name, the port above, the port here.
    pub(super) chained: Option<(&'a Id, &'a Id, &'a Id)>,
    /// Its place, where that is not the one it is drawn in.
    pub(super) away: Option<&'a Id>,
}

/// A device with the chain behind it.
#[derive(Debug, Clone)]
pub(super) struct Block<'a> {
    pub(super) place: Option<&'a Id>,
    pub(super) cards: Vec<Card<'a>>,
}

/// Blocks on top of each other, all of one place.
#[derive(Debug, Clone, Default)]
pub(super) struct Column<'a> {
    pub(super) place: Option<&'a Id>,
    pub(super) cards: Vec<Card<'a>>,
}

impl Column<'_> {
    /// Cables that pass the first card on their way to a lower one.
    pub(super) fn lanes(&self) -> usize {
        self.cards.iter().skip(1).map(|card| card.entries.len()).sum()
    }
}

/// Everything under one switch; without a switch, chains that hang on none.
#[derive(Debug, Clone)]
pub(super) struct Section<'a> {
    pub(super) hub: Option<&'a Id>,
    pub(super) columns: Vec<Column<'a>>,
    /// Trunks, in port order: cable and port here.
    pub(super) trunks: Vec<(&'a Id, &'a Id)>,
}

/// Finds the cards of each section. Devices that were met keep their chain at the first switch that led to them.
pub(super) struct Finder<'d, 'a> {
    desk: &'d Desk<'a>,
    /// Only cables of this network, if given.
    network: Option<&'a Id>,
    met: BTreeSet<&'a Id>,
}

impl<'d, 'a> Finder<'d, 'a> {
    pub(super) fn new(desk: &'d Desk<'a>, network: Option<&'a Id>) -> Self {
        Self { desk, network, met: BTreeSet::new() }
    }

    fn is_shown(&self, cable: &Cable) -> bool {
        self.network.is_none_or(|network| cable.networks.contains(network))
    }

    fn cable(&self, id: &Id) -> Option<&'a Cable> {
        self.desk.scene.wiring.cables.get(id).filter(|cable| self.is_shown(cable))
    }

    /// The section of switch `hub`, with at most `rows` cards in a column unless a chain is longer.
    pub(super) fn section(&mut self, hub: &'a Id, rows: usize) -> Section<'a> {
        let mut plugged: Vec<(&'a Id, &'a Cable)> = self.desk.plugs.of(hub).iter().filter_map(|id| Some((*id, self.cable(id)?))).collect();
        plugged.sort_by_key(|(_, cable)| (near_end(cable, hub).number(), near_end(cable, hub)));
        let mut trunks = Vec::new();
        let mut blocks: Vec<Block<'a>> = Vec::new();
        for (id, cable) in plugged {
            let (near, far) = (near_end(cable, hub), far_end(cable, hub));
            if self.desk.scene.is_trunk(cable) {
                trunks.push((id, &near.port));
                continue;
            }
            let entry = Entry { cable: id, hub_port: &near.port, card_port: &far.port };
            match blocks.iter_mut().find(|block| block.cards[0].device == &far.item) {
                Some(block) => block.cards[0].entries.push(entry),
                None => blocks.push(self.start(far, entry)),
            }
        }
        // All heads are met before any chain is followed: a chain that comes back to this switch has two heads.
        let is_new: Vec<bool> = blocks.iter().map(|block| self.met.insert(block.cards[0].device)).collect();
        for (block, _) in blocks.iter_mut().zip(is_new).filter(|(_, is_new)| *is_new) {
            self.follow_chain(block);
        }
        Section { hub: Some(hub), columns: pack(by_place(blocks), rows), trunks }
    }

    fn start(&mut self, far: &'a PortRef, entry: Entry<'a>) -> Block<'a> {
        let card = Card { device: &far.item, entries: vec![entry], chained: None, away: None };
        Block { place: self.desk.scene.place_of(&far.item), cards: vec![card] }
    }

    /// Chains and devices that no section has shown.
    pub(super) fn loose(&mut self, rows: usize) -> Section<'a> {
        let plan = self.desk.scene.plan;
        let mut blocks = Vec::new();
        // Ends of chains first, so that a chain is followed from one end to the other.
        for most in [1, usize::MAX] {
            for device in plan.devices.keys() {
                let cables = self.desk.plugs.of(device).iter().filter(|id| self.cable(id).is_some()).count();
                if cables == 0 || cables > most || self.met.contains(device) || self.desk.scene.is_switching(device) {
                    continue;
                }
                let card = Card { device, entries: Vec::new(), chained: None, away: None };
                let mut block = Block { place: self.desk.scene.place_of(device), cards: vec![card] };
                self.met.insert(device);
                self.follow_chain(&mut block);
                blocks.push(block);
            }
        }
        Section { hub: None, columns: pack(by_place(blocks), rows), trunks: Vec::new() }
    }

    fn follow_chain(&mut self, block: &mut Block<'a>) {
        let Some(mut at) = block.cards.first().map(|card| card.device) else { return };
        while let Some(next) = self.next_in_chain(at) {
            at = next.device;
            self.met.insert(at);
            let place = self.desk.scene.place_of(at);
            block.cards.push(Card { away: place.filter(|_| place != block.place), ..next });
        }
    }

    /// The device behind a chained one that was not met yet.
    fn next_in_chain(&self, device: &'a Id) -> Option<Card<'a>> {
        if !self.is_chained(device) {
            return None;
        }
        self.desk.plugs.of(device).iter().find_map(|id| {
            let cable = self.cable(id)?;
            let (near, far) = (near_end(cable, device), far_end(cable, device));
            let is_new = !self.met.contains(&far.item) && !self.desk.scene.is_switching(&far.item);
            is_new.then(|| Card { device: &far.item, entries: Vec::new(), chained: Some((id, &near.port, &far.port)), away: None })
        })
    }

    fn is_chained(&self, id: &Id) -> bool {
        let scene = &self.desk.scene;
        let pairing = |device, gear: &Gear| scene.wiring.pairing_of(id, device, gear);
        scene.plan.devices.get(id).zip(scene.gear(id)).and_then(|(device, gear)| pairing(device, gear)) == Some(Pairing::Chained)
    }
}

/// Blocks with those of one place together; places in the order in which they come first.
fn by_place(blocks: Vec<Block<'_>>) -> Vec<Block<'_>> {
    let mut order: Vec<Option<&Id>> = Vec::new();
    for block in &blocks {
        if !order.contains(&block.place) {
            order.push(block.place);
        }
    }
    let mut blocks = blocks;
    blocks.sort_by_key(|block| order.iter().position(|place| *place == block.place));
    blocks
}

/// Fills columns from the left; a new place begins a new column. Columns of a place are about equally long.
fn pack(blocks: Vec<Block<'_>>, rows: usize) -> Vec<Column<'_>> {
    let mut columns: Vec<Column<'_>> = Vec::new();
    let count = |place| blocks.iter().filter(|block| block.place == place).map(|block| block.cards.len()).sum::<usize>();
    let level: Vec<usize> =
        blocks.iter().map(|block| count(block.place)).map(|cards| cards.div_ceil(cards.div_ceil(rows).max(1))).collect();
    for (block, rows) in blocks.into_iter().zip(level) {
        let fits = columns.last().is_some_and(|column| column.place == block.place && column.cards.len() + block.cards.len() <= rows);
        if !fits {
            columns.push(Column { place: block.place, cards: Vec::new() });
        }
        if let Some(column) = columns.last_mut() {
            column.cards.extend(block.cards);
        }
    }
    columns
}
