//! Which spare to fetch.

use crate::analysis::Analysis;
use loomwright_model::{Id, Item, Length, Medium, Wiring};

/// What takes the place of what failed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spare {
    /// A cable of this medium, at least this long.
    Cable {
        /// Copper or fibre.
        medium: Medium,
        /// The shortest length of the stock list that is long enough, else that of the cable itself.
        length: Length,
        /// Whether it stays within one place.
        is_short: bool,
    },
    /// A switch or device of the same type.
    Gear {
        /// The type.
        gear: Id,
        /// What people call the type.
        title: String,
        /// How many the stock list leaves beyond those in use; `None` where the plan does not say.
        left: Option<u32>,
    },
}

/// The spare for `item`; `None` for anything but a cable, switch or device that is there.
pub(super) fn spare(analysis: &Analysis, item: &Item) -> Option<Spare> {
    let (plan, wiring) = (&analysis.plan, &analysis.wiring);
    let gear = match item {
        Item::Cable(id) => {
            let cable = wiring.cables.get(id)?;
            let length = stocked(analysis, cable.medium, cable.length).unwrap_or(cable.length);
            return Some(Spare::Cable { medium: cable.medium, length, is_short: cable.routes.is_empty() });
        }
        Item::Switch(id) => &wiring.switches.get(id)?.gear,
        Item::Device(id) => &plan.devices.get(id)?.gear,
        _ => return None,
    };
    let title = plan.gear.get(gear).map_or_else(|| gear.to_string(), |known| known.title.clone());
    let stock = plan.stock.switches.as_ref().filter(|_| matches!(item, Item::Switch(_)));
    let left = stock.map(|stock| stock.get(gear).copied().unwrap_or(0).saturating_sub(in_use(wiring, gear)));
    Some(Spare::Gear { gear: gear.clone(), title, left })
}

fn in_use(wiring: &Wiring, gear: &Id) -> u32 {
    wiring.switches.values().filter(|switch| switch.gear == *gear).count() as u32
}

/// The shortest stocked length that is at least `length`; `None` if none is, or any length is made.
pub(super) fn stocked(analysis: &Analysis, medium: Medium, length: Length) -> Option<Length> {
    let stock = match medium {
        Medium::Fibre => &analysis.plan.stock.fibre,
        _ => &analysis.plan.stock.copper,
    };
    stock.iter().copied().filter(|one| *one >= length).min()
}
