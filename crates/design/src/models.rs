//! Which switch types may be used, how many, and what they cost.

use loomwright_model::{Gear, GearKind, Id, Money, Plan, SpanningTree, Survive, Wiring};

/// What a switch port is taken to cost where a gear type names no price, in hundredths. Own choice, only to
/// compare designs: it makes a bigger switch dearer than a smaller one.
const PRICE_PER_PORT: u64 = 3_000;

/// One switch type that may be used.
#[derive(Debug, Clone)]
pub(crate) struct Model<'a> {
    pub id: &'a Id,
    pub gear: &'a Gear,
    pub price: Money,
    /// How many are left; `None` is as many as wanted.
    pub left: Option<u32>,
}

/// Usable types, cheapest first; of equal price the one with fewer ports, then in the order known.
pub(crate) fn models(plan: &Plan) -> Vec<Model<'_>> {
    let mut models: Vec<Model> = plan
        .gear
        .iter()
        .filter(|(_, gear)| gear.kind == GearKind::Switch && gear.switch_port_count() > 0)
        .filter_map(|(id, gear)| Some(Model { id, gear, price: price(gear), left: stock(plan, id)? }))
        .filter(|model| model.left != Some(0))
        .collect();
    models.sort_by_key(|model| (model.price, model.gear.switch_port_count()));
    models
}

/// What one costs.
pub(crate) fn price(gear: &Gear) -> Money {
    gear.price.unwrap_or(Money::from_hundredths(PRICE_PER_PORT).times(u64::from(gear.switch_port_count())))
}

/// `None` if the type is not to be used, `Some(None)` if there is no limit.
fn stock(plan: &Plan, id: &Id) -> Option<Option<u32>> {
    match &plan.stock.switches {
        None => Some(None),
        Some(stock) => stock.get(id).map(|count| Some(*count)),
    }
}

/// Takes the switches that stand already off the stock: they are no longer in the truck.
pub(crate) fn less_held<'a>(mut models: Vec<Model<'a>>, held: &Wiring) -> Vec<Model<'a>> {
    for model in &mut models {
        let standing = held.switches.values().filter(|switch| switch.gear == *model.id).count();
        model.left = model.left.map(|left| left.saturating_sub(u32::try_from(standing).unwrap_or(u32::MAX)));
    }
    models.retain(|model| model.left != Some(0));
    models
}

/// How many switches there are in all; `None` is as many as wanted.
pub(crate) fn available(models: &[Model]) -> Option<u64> {
    models.iter().map(|model| model.left.map(u64::from)).sum()
}

/// Leaves only types that behave as a media network needs, as far as any do: no energy saving, snooping with a
/// querier, and (where a ring is wanted) rapid spanning tree. **Source**: common practice.
pub(crate) fn well_behaved<'a>(mut models: Vec<Model<'a>>, ring: bool) -> Vec<Model<'a>> {
    let quiet = |gear: &Gear| !gear.energy_saving;
    let asks = |gear: &Gear| gear.snooping && gear.querier;
    let heals = |gear: &Gear| !ring || gear.spanning_tree == SpanningTree::Rapid;
    for wish in [&quiet as &dyn Fn(&Gear) -> bool, &asks, &heals] {
        if models.iter().any(|model| wish(model.gear)) {
            models.retain(|model| wish(model.gear));
        }
    }
    models
}

/// Whether a second way round is wanted inside each network: any-one with a single audio network, or any-two.
pub(crate) fn wants_ring(plan: &Plan, audio_networks: usize) -> bool {
    match plan.targets.survive {
        Survive::Nothing => false,
        Survive::AnyOne => audio_networks == 1,
        Survive::AnyTwo => true,
    }
}
