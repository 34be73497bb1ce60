//! Designs side by side: the same plan wired in several shapes, each with what it costs.

use crate::design;
use crate::models;
use crate::placement::CableCost;
use crate::{Designed, Draft};
use loomwright_model::plan::Carries;
use loomwright_model::{GearKind, Id, Length, Money, Pairing, Plan, Severity, Survive, Wiring};

/// One way to wire the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct OptionSummary {
    /// What it is called: `chain`, `one-switch`, `several-switches` or `two-networks`.
    pub name: &'static str,
    /// Its wiring, with decisions and findings.
    pub designed: Designed,
    /// Switches and cables, laid and plugged, in the plan's currency; typical prices where the plan names none.
    pub cost: Money,
    /// All cables together.
    pub cable: Length,
    /// Switches.
    pub switches: usize,
    /// Findings that stop the show: 0 if the shape is feasible.
    pub stops: usize,
}

/// The shapes that the plan allows, cheapest first. A shape that cannot be built at all is left out; one that leaves
/// something unmet is there with its findings.
pub fn options(plan: &Plan) -> Vec<OptionSummary> {
    let shapes = [
        ("chain", chain(plan)),
        ("one-switch", one_switch(plan)),
        ("several-switches", one_network(plan)),
        ("two-networks", two_networks(plan)),
    ];
    let mut options: Vec<OptionSummary> = Vec::new();
    for (name, changed) in shapes {
        let Some(changed) = changed else { continue };
        let summary = summary(plan, name, design(&changed, &Wiring::default()));
        let has_shape = match name {
            "chain" => summary.switches == 0 && !summary.designed.wiring.cables.is_empty(),
            "one-switch" => summary.switches == 1,
            _ => summary.switches > 1,
        };
        if has_shape && options.iter().all(|other| other.designed.wiring != summary.designed.wiring) {
            options.push(summary);
        }
    }
    options.sort_by_key(|option| (option.stops > 0, option.cost));
    options
}

/// Everything chained on the first audio network, without switches.
fn chain(plan: &Plan) -> Option<Plan> {
    let mut plan = one_network(plan)?;
    plan.gear.retain(|_, gear| gear.kind != GearKind::Switch);
    plan.stock.switches = None;
    Some(plan)
}

/// The first audio network alone, in one place with switches.
fn one_switch(plan: &Plan) -> Option<Plan> {
    let mut plan = one_network(plan)?;
    let largest = plan.gear.iter().filter(|(_, gear)| gear.kind == GearKind::Switch && usable(&plan, gear));
    let largest = largest.filter(|(id, _)| plan.stock.switches.as_ref().is_none_or(|stock| stock.contains_key(*id)));
    let devices = u32::try_from(plan.devices.len()).unwrap_or(u32::MAX);
    let fits = |count: u32| count.saturating_sub(1) >= devices;
    let (id, _) = largest
        .filter(|(_, gear)| fits(gear.switch_port_count()))
        .min_by_key(|(_, gear)| (models::price(gear), gear.switch_port_count()))?;
    plan.stock.switches = Some([(id.clone(), 1)].into_iter().collect());
    Some(plan)
}

/// A type that can feed the powered devices of the plan, if it has any.
fn usable(plan: &Plan, gear: &loomwright_model::Gear) -> bool {
    let powered =
        plan.devices.values().any(|device| device.feeds.is_empty() && plan.gear_of(device).is_some_and(|gear| gear.poe.is_some()));
    !powered || gear.ports.iter().any(|group| group.poe.is_some())
}

/// The first audio network alone.
fn one_network(plan: &Plan) -> Option<Plan> {
    let mut plan = plan.clone();
    let audio: Vec<Id> = crate::demand::audio_networks(&plan);
    let first = audio.first()?.clone();
    let others = |id: &Id| audio.contains(id) && *id != first;
    plan.networks.retain(|id, _| !others(id));
    for device in plan.devices.values_mut() {
        device.pairing = device.pairing.map(|_| Pairing::Chained);
        device.networks.retain(|id| !others(id));
    }
    plan.targets.survive = Survive::Nothing;
    Some(plan)
}

/// Two audio networks that carry on alone; `None` if the plan has one only.
fn two_networks(plan: &Plan) -> Option<Plan> {
    let audio = plan.networks.values().filter(|network| network.carries == Carries::Audio).count();
    let mut plan = plan.clone();
    if plan.targets.survive == Survive::Nothing {
        plan.targets.survive = Survive::AnyOne;
    }
    (audio > 1).then_some(plan)
}

fn summary(plan: &Plan, name: &'static str, designed: Designed) -> OptionSummary {
    let wiring = &designed.wiring;
    let boxes: Money = wiring.switches.values().filter_map(|switch| plan.gear.get(&switch.gear)).map(models::price).sum();
    let rates = CableCost::new(&Draft::new(plan, &Wiring::default()));
    let cables = wiring.cables.values().map(|cable| rates.of_length(cable.medium, cable.length));
    OptionSummary {
        name,
        cost: boxes + Money::from_hundredths(cables.fold(0, u64::saturating_add)),
        cable: wiring.cables.values().map(|cable| cable.length).sum(),
        switches: wiring.switches.len(),
        stops: designed.findings.iter().filter(|finding| finding.severity == Severity::Stop).count(),
        designed,
    }
}
