//! What to do when something fails, what silences a stream, and how likely it all stays up.

use super::Proved;
use loomwright_model::{Hours, Id, Item};
use loomwright_proof::{Cuts, Emergency, cuts_of};
use loomwright_survival::{Availability, Mission};

/// Advice as the pages show it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Orders {
    /// What to do, in order.
    pub steps: Vec<String>,
    /// How many deliveries come back with the moves, as proved.
    pub back: usize,
    /// How many wait for the spare.
    pub waiting: usize,
}

/// The lengths that chances are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// Hours of one show.
    pub show: u64,
    /// Hours until something is repaired, for gear that does not say its own.
    pub repair: u64,
}

/// How likely everything stays up, through one show without repair and over years with it.
pub struct Chances {
    /// One show.
    pub show: Availability,
    /// Years.
    pub repaired: Availability,
}

impl Proved {
    /// What to do in the minute `item` fails; `None` for what is no cable, switch or device of this wiring.
    pub fn orders(&self, item: &Item) -> Option<Orders> {
        let analysis = self.analysis.as_ref()?;
        let advice = Emergency::new(analysis).advice(item)?;
        Some(Orders { steps: advice.steps(analysis), back: advice.back.len(), waiting: advice.waiting.len() })
    }

    /// What silences a stream, receiver by receiver.
    pub fn cuts(&self, stream: &str) -> Vec<Cuts> {
        let id = Id::new(stream).ok();
        self.analysis.as_ref().zip(id).map(|(analysis, id)| cuts_of(analysis, &id)).unwrap_or_default()
    }

    /// The chances for what was asked; `None` without a plan.
    pub fn chances(&self, asked: Asked) -> Option<Chances> {
        let analysis = self.analysis.as_ref()?;
        let hours = |hours: u64| Hours::from_seconds(hours.saturating_mul(3_600));
        let of = |mission| analysis.survival.availability((&analysis.plan, &analysis.wiring), &analysis.singles, mission);
        Some(Chances { show: of(Mission::Show(hours(asked.show))), repaired: of(Mission::Repaired(hours(asked.repair))) })
    }

    /// Stream and receiver of each entry of [`Availability::demands`].
    pub fn deliveries(&self) -> Vec<(String, String)> {
        let demands = self.analysis.iter().flat_map(|analysis| analysis.survival.demands());
        demands.map(|demand| (demand.stream.to_string(), demand.to.to_string())).collect()
    }
}
