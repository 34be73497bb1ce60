//! What can be asked of the crew, and what a fault would answer.

use super::Trouble;
use loomwright_model::{Id, Item};
use loomwright_survival::{LegOf, Signs};

/// A question with a good and a bad answer.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ask {
    /// Is this demand heard at its receiver, by whatever leg? Index into the demands of the failure model.
    Heard(u32),
    /// Does this leg arrive? Many receivers show it for each network. Index into [`Trouble::legs`].
    Leg(u32),
    /// Are the link lights lit at both ends of this cable?
    Lights(Id),
    /// Is this device or switch on?
    Power(Item),
    /// Is this cable sound? Bad: with another cable in its place it plays.
    Sound(Id),
}

/// A question answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The question.
    pub ask: Ask,
    /// Heard, arrives, lit, on, sound.
    pub is_good: bool,
}

/// Signs with what is heard by whatever leg.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Signed {
    pub(crate) signs: Signs,
    heard: Vec<bool>,
}

impl Signed {
    pub(crate) fn new(signs: Signs, legs: &[LegOf], demands: usize) -> Self {
        let mut heard = vec![false; demands];
        for (leg, stands) in legs.iter().zip(&signs.heard) {
            heard[leg.demand as usize] |= *stands;
        }
        Self { signs, heard }
    }

    /// Whether a demand arrives by any leg; unknown ones do not.
    pub(crate) fn is_heard(&self, demand: u32) -> bool {
        self.heard.get(demand as usize).copied().unwrap_or(false)
    }

    /// Whether a leg arrives.
    pub(crate) fn has_leg(&self, leg: u32) -> bool {
        self.signs.heard.get(leg as usize).copied().unwrap_or(false)
    }
}

impl Trouble<'_> {
    /// Whether the answer to `ask` is good when there are these signs.
    pub(super) fn predict(&self, ask: &Ask, signed: &Signed) -> bool {
        match ask {
            Ask::Heard(demand) => signed.is_heard(*demand),
            Ask::Leg(leg) => signed.has_leg(*leg),
            Ask::Power(item) => !signed.signs.taken.dark.contains(item),
            Ask::Sound(cable) => !signed.signs.taken.broken.contains(cable),
            Ask::Lights(cable) => {
                let is_dark = |item: &Item| signed.signs.taken.dark.contains(item);
                !signed.signs.taken.broken.contains(cable) && !self.ends_of(cable).iter().any(is_dark)
            }
        }
    }

    /// The boxes at the ends of a cable.
    pub(super) fn ends_of(&self, cable: &Id) -> Vec<Item> {
        let Some(cable) = self.wiring.cables.get(cable) else { return Vec::new() };
        cable.ends.iter().filter_map(|end| self.box_item(&end.item)).collect()
    }

    /// The device or switch of this name.
    pub(super) fn box_item(&self, id: &Id) -> Option<Item> {
        if self.plan.devices.contains_key(id) {
            return Some(Item::Device(id.clone()));
        }
        self.wiring.switches.contains_key(id).then(|| Item::Switch(id.clone()))
    }
}
