//! Which single thing matters most: what to stand a spare beside, and what to guard.

use crate::availability::{Boxes, Down};
use crate::graph::NONE;
use crate::{Loss, Mission, Singles, Survival};
use loomwright_model::{Item, Plan, Wiring};

/// How much one thing matters to the essential streams.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Importance {
    /// Index into [`Singles::losses`].
    pub failure: u32,
    /// Essential streams at receivers that fall silent with it, its own ends included.
    pub silences: u32,
    /// Chance that one box more fails and then silences an essential stream that still played; counted from
    /// what completes a pair with it.
    pub next: f64,
    /// By how much the chance that something essential is down would shrink if it never failed: counted from failures of
    /// one and of two boxes. 0 for what is taken as perfect.
    pub gain: f64,
}

/// What every single failure weighs, and what completes a pair with it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pairing {
    /// Minus the logarithm of its chance of being up: 0 for what never fails, and for all that is no box.
    pub weight: Vec<f64>,
    /// Sum of the weights of all that silence an essential stream together with it, though neither does alone.
    pub completing: Vec<f64>,
}

impl Pairing {
    pub(crate) fn add(&mut self, one: u32, two: u32) {
        for (at, other) in [(one, two), (two, one)] {
            if let Some(sum) = self.completing.get_mut(at as usize) {
                *sum += self.weight[other as usize];
            }
        }
    }
}

impl Survival {
    /// What each single failure weighs. Frozen switches weigh nothing: they count as the switch without power.
    pub fn weights(&self, (plan, wiring): (&Plan, &Wiring), singles: &Singles, mission: Mission) -> Vec<f64> {
        let boxes = Boxes::new((plan, wiring), mission);
        let weigh = |loss: &Loss| match loss {
            Loss::Gone(Item::Device(id) | Item::Switch(id)) => self.things.box_of(id).map_or(0.0, |at| -(-boxes.down[at as usize]).ln_1p()),
            _ => 0.0,
        };
        singles.losses().iter().map(weigh).collect()
    }

    /// How much each single failure but frozen switches matters, in order. `whole` is the chance that something essential
    /// is down. O(lists of the single failures).
    pub fn importance(&self, singles: &Singles, pairing: &Pairing, whole: Down) -> Vec<Importance> {
        let mut own = vec![0u32; self.things.devices.len()];
        for demand in self.demands.all.iter().filter(|demand| demand.essential) {
            demand.ends.iter().for_each(|&end| own[end as usize] += 1);
        }
        let failures = (0..singles.losses().len()).filter(|&failure| !singles.losses()[failure].is_frozen());
        let one = |failure: usize| {
            let silent = singles.silent(failure).iter().filter(|&&demand| self.demands.all[demand as usize].essential);
            let device = singles.device[failure];
            let silences = silent.count() as u32 + if device == NONE { 0 } else { own[device as usize] };
            let completing = pairing.completing.get(failure).copied().unwrap_or(0.0);
            let odds = pairing.weight.get(failure).map_or(0.0, |weight| weight.exp_m1());
            let needed = if silences > 0 { 1.0 } else { completing };
            Importance { failure: failure as u32, silences, next: -(-completing).exp_m1(), gain: (1.0 - whole.most) * odds * needed }
        };
        failures.map(one).collect()
    }
}
