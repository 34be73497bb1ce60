//! What switches and cables cost when designs are compared: the plan's prices, and typical ones where it names none.

use crate::lengths;
use crate::models::{self, Model};
use crate::options::price;
use loomwright_model::plan::Labour;
use loomwright_model::{Cable, Length, Medium, Money, Plan, Wiring};

/// Costs where the plan names none, in hundredths per metre, end or module. Own choice, only to compare designs.
const COPPER_METRE: u64 = 200;
const FIBRE_METRE: u64 = 300;
const CABLE_END: u64 = 500;
const MODULE: u64 = 4_000;

/// What cable costs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CableCost {
    copper_metre: u64,
    fibre_metre: u64,
    copper_end: u64,
    fibre_end: u64,
}

impl CableCost {
    /// From the plan's labour and material, else the defaults.
    pub fn new(plan: &Plan) -> Self {
        let labour = &plan.labour;
        let metre = |material: Option<Money>, default| match (labour.per_metre, material) {
            (None, None) => default,
            (lay, material) => lay.unwrap_or_default().hundredths().saturating_add(material.unwrap_or_default().hundredths()),
        };
        let copper_end = labour.per_end.map_or(CABLE_END, Money::hundredths);
        Self {
            copper_metre: metre(labour.copper_per_metre, COPPER_METRE),
            fibre_metre: metre(labour.fibre_per_metre, FIBRE_METRE),
            copper_end,
            fibre_end: labour.fibre_per_end.map_or(copper_end, Money::hundredths),
        }
    }

    /// One cable over `way` millimetres of routes, at the shortest that is cut or taken for it, both ends plugged.
    pub fn over(&self, plan: &Plan, medium: Medium, way: u64) -> u64 {
        self.of_length(medium, lengths::shortest(plan, medium, way))
    }

    /// One cable of this length, both ends plugged.
    pub fn of_length(&self, medium: Medium, length: Length) -> u64 {
        let (metre, end) = if medium == Medium::Copper { (self.copper_metre, self.copper_end) } else { (self.fibre_metre, self.fibre_end) };
        (length.millimetres().saturating_mul(metre) / 1_000).saturating_add(end.saturating_mul(2))
    }
}

/// What a wiring adds to what is held: its switches, and all cables that end on a switch with the modules in their ports.
pub(crate) fn added(plan: &Plan, wiring: &Wiring) -> u64 {
    let cost = CableCost::new(plan);
    let gear = wiring.switches.values().filter(|switch| !switch.hold).filter_map(|switch| plan.gear.get(&switch.gear));
    let switches = gear.map(|gear| models::price(gear).hundredths());
    let plugged = wiring.cables.values().filter(|cable| !cable.hold);
    let plugged = plugged.filter(|cable| cable.ends.iter().any(|end| wiring.switches.contains_key(&end.item)));
    let module = plan.labour.per_module.map_or(MODULE, Money::hundredths);
    let modules = |cable: &Cable| cable.ends.iter().filter(|end| price::is_pluggable(plan, wiring, end)).count() as u64;
    let cables = plugged.map(|cable| cost.of_length(cable.medium, cable.length).saturating_add(module.saturating_mul(modules(cable))));
    switches.chain(cables).fold(0, u64::saturating_add)
}

/// Whether the plan names every price that [`added`] asks for.
pub(crate) fn is_priced(labour: &Labour, models: &[Model]) -> bool {
    let laid = labour.per_metre.is_some() || labour.copper_per_metre.is_some() && labour.fibre_per_metre.is_some();
    laid && labour.per_end.is_some() && labour.per_module.is_some() && models.iter().all(|model| model.gear.price.is_some())
}
