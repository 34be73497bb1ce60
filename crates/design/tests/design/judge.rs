//! The judge of `simulator`, which shares no code with the proof, over the wiring of a design.

use crate::plain::Plain;
use loomwright_model::{Item, Plan, Survive, Wiring};
use loomwright_survival::Loss;

/// Everything that can fail alone: boxes, frozen switches, cables, feeds, routes, hazards.
fn losses(plan: &Plan, wiring: &Wiring) -> Vec<Loss> {
    let boxes = plan.devices.keys().cloned().map(Item::Device).chain(wiring.switches.keys().cloned().map(Item::Switch));
    let cables = wiring.cables.keys().cloned().map(Item::Cable);
    let feeds = plan.places.values().flat_map(|place| &place.feeds).chain(plan.devices.values().flat_map(|device| &device.feeds));
    let feeds = feeds.cloned().map(Item::Feed);
    let routes = plan.routes.keys().cloned().map(Item::Route);
    let hazards = plan.routes.values().flat_map(|route| &route.shares).cloned().map(Item::Hazard);
    let gone = boxes.chain(cables).chain(feeds).chain(routes).chain(hazards).map(Loss::Gone);
    gone.chain(wiring.switches.keys().cloned().map(Loss::Frozen)).collect()
}

/// Whether each wish of the judge is part of an essential stream, in its order.
fn essential(plan: &Plan) -> Vec<bool> {
    let streams = plan.streams.values().filter(|stream| plan.devices.contains_key(&stream.from));
    let wishes =
        |stream: &loomwright_model::Stream| stream.to.iter().filter(|to| **to != stream.from && plan.devices.contains_key(*to)).count();
    streams.flat_map(|stream| vec![stream.essential; wishes(stream)]).collect()
}

/// How many failures were judged, as many at a time as the plan is to survive; or what one of them silences.
pub fn silences_nothing_essential(plan: &Plan, wiring: &Wiring) -> Result<usize, String> {
    let plain = Plain::new(plan, wiring, &[]);
    let essential = essential(plan);
    assert_eq!(essential.len(), plain.site.wishes.len(), "the judge asks for the same streams");
    let unheard = plain.site.legs_standing(&[], &[]);
    if let Some(at) = (0..unheard.len()).find(|at| unheard[*at] == 0) {
        return Err(format!("wish {at} is not heard at all"));
    }
    if plan.targets.survive == Survive::Nothing {
        return Ok(1);
    }
    let losses = losses(plan, wiring);
    for loss in &losses {
        let Some(lost) = plain.lost(loss) else { continue };
        let silent = plain.site.judge(&[lost]).silent;
        if let Some(at) = silent.into_iter().find(|at| essential[*at]) {
            return Err(format!("{loss} silences wish {at}"));
        }
    }
    Ok(losses.len())
}
