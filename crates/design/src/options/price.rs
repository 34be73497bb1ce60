//! What a wiring costs: switches, cable from stock, laying by the metre, plugging by the end.

use loomwright_model::{Cable, Length, Medium, Money, Plan, PortRef, Wiring};
use std::collections::BTreeMap;

/// What a wiring takes and costs. Counts are there whatever the plan names prices for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Price {
    /// Switches in all.
    pub switches: usize,
    /// Copper, all cables together.
    pub copper: Length,
    /// Fibre, all cables together.
    pub fibre: Length,
    /// Ends to plug or make.
    pub ends: usize,
    /// Pluggable modules.
    pub modules: usize,
    /// Each part that has a price: what it is, and its sum.
    pub parts: Vec<(&'static str, Money)>,
    /// What has no price in the plan, with how much of it there is.
    pub missing: Vec<String>,
    /// Cables for which the truck holds no piece that long.
    pub not_in_stock: usize,
}

impl Price {
    /// The sum of what has a price.
    pub fn known(&self) -> Money {
        self.parts.iter().map(|(_, sum)| *sum).sum()
    }

    /// All cable together.
    pub fn cable(&self) -> Length {
        self.copper + self.fibre
    }
}

/// Adds up. Prices come from the gear types (`price`) and the plan's `[labour]`; what is missing there is counted, not
/// guessed.
pub fn price(plan: &Plan, wiring: &Wiring) -> Price {
    let mut sum = counted(plan, wiring);
    add_switches(plan, wiring, &mut sum);
    let labour = &plan.labour;
    let metres = |length: Length, each: Money| Money::from_hundredths(length.millimetres().saturating_mul(each.hundredths()) / 1_000);
    let ends =
        |medium: Medium| 2 * wiring.cables.values().filter(|cable| (cable.medium == Medium::Copper) == (medium == Medium::Copper)).count();
    let (copper_ends, fibre_ends) = (ends(Medium::Copper), ends(Medium::Fibre));
    let cable = sum.cable();
    let (copper, fibre, modules) = (sum.copper, sum.fibre, sum.modules);
    sum.add("laying", labour.per_metre.map(|each| metres(cable, each)), (cable > Length::ZERO).then(|| format!("laying {cable}")));
    sum.add(
        "copper",
        labour.copper_per_metre.map(|each| metres(copper, each)),
        (copper > Length::ZERO).then(|| format!("{copper} of copper")),
    );
    sum.add("fibre", labour.fibre_per_metre.map(|each| metres(fibre, each)), (fibre > Length::ZERO).then(|| format!("{fibre} of fibre")));
    let count = |number: usize| u64::try_from(number).unwrap_or(u64::MAX);
    sum.add(
        "ends",
        labour.per_end.map(|each| each.times(count(copper_ends))),
        (copper_ends > 0).then(|| format!("{copper_ends} copper ends")),
    );
    let fibre_end = labour.fibre_per_end.or(labour.per_end);
    sum.add(
        "fibre ends",
        fibre_end.map(|each| each.times(count(fibre_ends))),
        (fibre_ends > 0).then(|| format!("{fibre_ends} fibre ends")),
    );
    sum.add("modules", labour.per_module.map(|each| each.times(count(modules))), (modules > 0).then(|| format!("{modules} modules")));
    sum
}

impl Price {
    fn add(&mut self, what: &'static str, sum: Option<Money>, needed: Option<String>) {
        match (needed, sum) {
            (None, _) => {}
            (Some(_), Some(sum)) => self.parts.push((what, sum)),
            (Some(needed), None) => self.missing.push(needed),
        }
    }
}

fn counted(plan: &Plan, wiring: &Wiring) -> Price {
    let of =
        |copper: bool| wiring.cables.values().filter(|cable| (cable.medium == Medium::Copper) == copper).map(|cable| cable.length).sum();
    Price {
        switches: wiring.switches.len(),
        copper: of(true),
        fibre: of(false),
        ends: 2 * wiring.cables.len(),
        modules: wiring.cables.values().flat_map(|cable| &cable.ends).filter(|end| is_pluggable(plan, wiring, end)).count(),
        not_in_stock: wiring.cables.values().filter(|cable| !is_stocked(plan, cable)).count(),
        ..Price::default()
    }
}

/// Whether a module has to be put into this port.
pub(crate) fn is_pluggable(plan: &Plan, wiring: &Wiring, end: &PortRef) -> bool {
    let specs = wiring.gear_at(plan, &end.item).map(loomwright_model::Gear::port_specs).unwrap_or_default();
    specs.iter().any(|spec| spec.name == end.port && matches!(spec.medium, Medium::Sfp | Medium::SfpPlus))
}

/// Whether the truck holds pieces of this length, or any length is made.
fn is_stocked(plan: &Plan, cable: &Cable) -> bool {
    let stock = &plan.stock;
    let reels = stock.reels(cable.medium).iter().any(|reel| reel.length >= cable.length);
    !stock.has_lengths(cable.medium) || reels || stock.lengths(cable.medium).any(|length| length == cable.length)
}

fn add_switches(plan: &Plan, wiring: &Wiring, sum: &mut Price) {
    let mut types: BTreeMap<&loomwright_model::Id, u64> = BTreeMap::new();
    wiring.switches.values().for_each(|switch| *types.entry(&switch.gear).or_default() += 1);
    let mut total = None;
    for (id, count) in types {
        match plan.gear.get(id).and_then(|gear| gear.price) {
            Some(each) => total = Some(total.unwrap_or_default() + each.times(count)),
            None => sum.missing.push(format!("{count} of switch {id}")),
        }
    }
    if let Some(total) = total {
        sum.parts.push(("switches", total));
    }
}
