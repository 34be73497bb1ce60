//! What to do in the minute a cable, a switch or a chained device fails: which plug goes into which port, which
//! spare to fetch, who comes back and who stays silent.
//!
//! Nothing is advised that was not tried: every set of moves is wired up in memory and proved whole. A move is
//! dropped that would close a loop, join two networks, ask too much of a link or of a switch's power, or make a
//! stream late; what is said to come back is what that proof hears. Only cables that are there are moved, and only
//! their end at the failed box, to a port in the same place: there the installed cable reaches.
//!
//! Deliberately absent: new cable runs by a way that is not planned, and anything that mixes networks.

mod moves;
mod ports;
mod prove;
mod spare;
mod words;

pub use spare::Spare;
pub use words::{CAUTIONS, LIFE_SAFETY, settings};

use crate::analysis::Analysis;
use loomwright_model::plan::Carries;
use loomwright_model::{Id, Item, PortRef};
use loomwright_survival::Loss;
use prove::Before;
use std::cell::OnceCell;

/// One plug that is moved, or one lead that is put in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// The cable whose plug is moved; for a lead, the cable that it stands in for.
    pub cable: Id,
    /// The port the plug comes out of; for a lead, the far port of the cable it stands in for.
    pub from: PortRef,
    /// The port it goes into.
    pub to: PortRef,
    /// The port at the other end, which stays as it is.
    pub other: PortRef,
    /// A short lead from the spares is used instead of the cable itself.
    pub is_lead: bool,
    /// A cable that must come out of `to` first; it is dead anyway.
    pub pull: Option<Id>,
    /// The networks that `to` has to be opened and set for before the show, because it is a spare port and shut.
    pub prepare: Option<Vec<Id>>,
}

/// What to do when one thing fails.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// What fails.
    pub item: Item,
    /// Deliveries that fall silent, as indexes into [`loomwright_survival::Survival::demands`].
    pub silent: Vec<u32>,
    /// Deliveries that carry on with a leg less.
    pub one_leg_left: usize,
    /// Plugs to move, most useful first.
    pub moves: Vec<Move>,
    /// Deliveries that are heard again after the moves: proved, not hoped.
    pub back: Vec<u32>,
    /// Deliveries that stay silent until the spare is in.
    pub waiting: Vec<u32>,
    /// What to fetch; with it in the same place and the same ports, everything is as planned.
    pub spare: Spare,
    /// Audio networks whose question for multicast members the failed switch asked.
    pub asked_for: Vec<Id>,
    /// Whether a life-safety stream is among those that fall silent.
    pub touches_life_safety: bool,
}

/// Gives advice about one plan and wiring.
pub struct Emergency<'a> {
    analysis: &'a Analysis,
    /// Which deliveries are heard with nothing lost.
    heard: Vec<bool>,
    before: OnceCell<Before>,
}

impl<'a> Emergency<'a> {
    /// For `analysis`. Cheap; the proof that moves are held against is made when first needed.
    pub fn new(analysis: &'a Analysis) -> Self {
        Self { analysis, heard: analysis.survival.heard_without(&[]), before: OnceCell::new() }
    }

    /// What to do when `item` fails; `None` for anything but a cable, switch or device that is there.
    ///
    /// O(fabric) where nothing can be moved, else one proof of the whole plan for each set of moves that is tried.
    pub fn advice(&self, item: &Item) -> Option<Advice> {
        let spare = spare::spare(self.analysis, item)?;
        let losses = [Loss::from(item.clone())];
        let silent = self.silenced(item, &losses);
        let touches_life_safety = silent.iter().any(|&demand| self.is_life_safety(demand));
        let effect = self.analysis.survival.whatif(&losses);
        let mut advice = Advice {
            item: item.clone(),
            one_leg_left: effect.one_leg_left.len(),
            moves: Vec::new(),
            back: Vec::new(),
            waiting: silent.clone(),
            silent,
            spare,
            asked_for: self.asked_for(item),
            touches_life_safety,
        };
        if !advice.silent.is_empty() {
            self.move_plugs(&mut advice, &losses);
        }
        Some(advice)
    }

    /// Deliveries heard before and not without `losses`; those that end at the lost device itself left out.
    fn silenced(&self, item: &Item, losses: &[Loss]) -> Vec<u32> {
        let after = self.analysis.survival.heard_without(losses);
        let is_own = |demand: usize| match item {
            Item::Device(id) => self.ends(demand as u32).contains(&Some(id)),
            _ => false,
        };
        (0..after.len()).filter(|&demand| self.heard[demand] && !after[demand] && !is_own(demand)).map(|demand| demand as u32).collect()
    }

    /// Sender and receiver of a delivery.
    fn ends(&self, demand: u32) -> [Option<&Id>; 2] {
        let Some(demand) = self.analysis.survival.demands().get(demand as usize) else { return [None; 2] };
        [self.analysis.plan.streams.get(&demand.stream).map(|stream| &stream.from), Some(&demand.to)]
    }

    fn is_life_safety(&self, demand: u32) -> bool {
        let demand = self.analysis.survival.demands().get(demand as usize);
        demand.and_then(|demand| self.analysis.plan.streams.get(&demand.stream)).is_some_and(|stream| stream.life_safety)
    }

    fn is_essential(&self, demand: u32) -> bool {
        self.analysis.survival.demands().get(demand as usize).is_some_and(|demand| demand.essential)
    }

    fn asked_for(&self, item: &Item) -> Vec<Id> {
        let Item::Switch(id) = item else { return Vec::new() };
        let carries_audio = |network: &Id| self.analysis.plan.networks.get(network).is_some_and(|known| known.carries == Carries::Audio);
        let queried = self.analysis.wiring.querier.iter().filter(|(network, switch)| *switch == id && carries_audio(network));
        queried.map(|(network, _)| network.clone()).collect()
    }
}

#[cfg(test)]
mod tests;
