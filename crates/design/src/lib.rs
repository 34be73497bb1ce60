//! Decides the wiring of a plan.
//!
//! One file per decision, taken in this order: how two-port devices are set ([`pairing`]); what has to be plugged in
//! ([`demand`]); whether a chain will do ([`chain`]) or devices are chained inside their place ([`clusters`]); which places get switches ([`placement`], [`attempts`]) and which ones
//! ([`switches`], [`racks`]); trunks ([`trunks`]); ports ([`ports`]); ways, lengths and names of cables ([`lay`]);
//! querier and spanning tree ([`tree`]); addresses ([`addresses`]); groups ([`groups`]); clock ([`clock`]).
//!
//! Where switches stand is asked of a solver; the rest is common practice. What comes out is priced and, where that can be
//! done, held against a proved bound ([`near`]). Never fails: what cannot be met is a finding. The same
//! plan and the same earlier wiring give the same bytes. Everything that is held stays as it is.

mod addresses;
mod alone;
mod attempts;
mod chain;
mod clock;
mod closing;
mod clusters;
pub mod conflict;
mod cost;
mod demand;
mod draft;
mod explain;
mod form;
mod groups;
mod lanes;
mod lay;
mod lengths;
mod listening;
mod load;
mod models;
mod near;
pub mod options;
mod pairing;
mod panel;
mod placement;
mod ports;
mod racks;
pub mod redesign;
mod rings;
mod shape;
mod shared;
mod sites;
mod sockets;
mod switches;
mod tree;
mod trunks;
mod watch;

#[cfg(test)]
#[path = "../tests/design/plans.rs"]
#[allow(dead_code, reason = "the plans are shared with the other tests; not every one is needed here")]
mod plans;

pub use draft::{Decision, Designed};
pub use explain::{Explanation, explanations};
pub use loomwright_placement::{Progress, Step};
pub use redesign::{Redesigned, redesign, redesign_watched};
pub use watch::{Stage, Watch};

use draft::{Care, Draft, listed};
use form::Form;
use lanes::{Cable, Lane};
use loomwright_model::{Id, Item, Plan, PortRef, Wiring};
use switches::Placed;
use trunks::Run;
use watch::Watched;

/// Decides the wiring of `plan`. Of `before`, held items stay exactly; addresses and groups that still fit stay too.
pub fn design(plan: &Plan, before: &Wiring) -> Designed {
    design_watched(plan, before, &mut |_| true)
}

/// Like [`design`], for a caller that shows progress or wants to stop early: the best found so far is then wired in full.
pub fn design_watched(plan: &Plan, before: &Wiring, watch: Watch) -> Designed {
    design_with(Draft::new(plan, before), watch)
}

/// Like [`design`], in a given form and without the bound.
pub(crate) fn design_as(plan: &Plan, before: &Wiring, form: Form) -> Designed {
    design_with(Draft { form, care: Care::Shape, ..Draft::new(plan, before) }, &mut |_| true)
}

/// Like [`design_as`], as one of many that are tried: without proof and bound.
pub(crate) fn design_trial(plan: &Plan, before: &Wiring, form: Form) -> Designed {
    design_with(Draft { form, care: Care::Trial, ..Draft::new(plan, before) }, &mut |_| true)
}

fn design_with(mut draft: Draft, watch: Watch) -> Designed {
    pairing::decide(&mut draft);
    let types = models::models(draft.plan);
    let scarce = models::available(&types) == Some(1);
    let groups = demand::groups(draft.plan, scarce);
    let jacks = demand::jacks(&mut draft, &groups);
    shape::tell_missing(&mut draft, scarce);
    match chain::decide(&mut draft, &jacks, types.is_empty()) {
        Some(runs) => finish_wiring(&mut draft, &groups, &runs),
        None => {
            let types = models::less_held(types, &draft.done.wiring);
            attempts::decide(&mut draft, (&groups, &jacks), types, &Watched::new(watch));
        }
    }
    draft.done
}

/// Lays the cables of a wiring without switches of its own, then settles the rest.
fn finish_wiring(draft: &mut Draft, groups: &[demand::Group], runs: &[Run]) {
    lay::decide(draft, runs);
    settle(draft, groups, &Placed { racks: Vec::new(), cores: vec![None; groups.len()], left_out: Vec::new() });
}

/// Everything that is decided once the cables are there.
fn settle(draft: &mut Draft, groups: &[demand::Group], placed: &Placed) {
    tree::decide(draft, groups, placed);
    addresses::decide(draft);
    groups::decide(draft);
    clock::decide(draft, placed);
    listening::tell(draft);
    finish(draft);
}

/// Gives every jack its port and a cable to it.
fn plug_in(draft: &mut Draft, placed: &mut Placed) -> Vec<Run> {
    let (mut runs, mut uneven, mut without) = (Vec::new(), Vec::new(), Vec::new());
    for rack in &mut placed.racks {
        let mut trial = rack.panels.clone();
        let mut seating = ports::seat(&mut trial, &rack.jacks);
        if !seating.left_out.is_empty() {
            // Trunks took ports that were to stay spare: use the rest of them.
            rack.panels.iter_mut().flatten().for_each(panel::Panel::give_up_spare);
            seating = ports::seat(&mut rack.panels, &rack.jacks);
        }
        without.extend(seating.left_out.iter().map(|jack| rack.jacks[*jack].clone()));
        uneven.extend(seating.uneven.iter().map(|device| draft.device(*device).clone()));
        for seat in seating.seats {
            let jack = &rack.jacks[seat.jack];
            let (Some(panel), Some(switch)) = (&rack.panels[jack.group], &rack.switches[jack.group]) else { continue };
            let port = panel.port(seat.port);
            let Some(medium) = panel::cable_for(port.medium, jack.medium) else { continue };
            let places = [jack.place, rack.place];
            let lane = Lane { group: jack.group, places, second: false };
            let Some(choice) = draft.choices(lane).into_iter().find(|choice| choice.cable == Cable::of(medium)) else {
                without.push(jack.clone());
                continue;
            };
            draft.take_lane(lane, &choice);
            let ends =
                [PortRef::new(draft.device(jack.device).clone(), jack.port.clone()), PortRef::new(switch.clone(), port.name.clone())];
            let (way, networks) = (choice.way, vec![jack.network.clone()]);
            runs.push(Run { ends, places, networks, group: jack.group, medium, way, trunk: false, second_way: false });
        }
    }
    without.iter().for_each(|jack| switches::tell_without(draft, jack));
    if !uneven.is_empty() {
        let says = format!("Not on the same port number on all their networks: {}.", listed(&uneven, 5));
        let remedy = "Free the same port on both switches, or use the same switch type for both.".to_owned();
        draft.note("design/uneven-ports", uneven.into_iter().map(Item::Device).collect(), [says, remedy]);
    }
    runs
}

/// Switches in the order of their network, then of their place, then of their name.
fn sort_switches(draft: &mut Draft) {
    let plan = draft.plan;
    let key = |id: &Id, switch: &loomwright_model::Switch| {
        let network = switch.networks.first().and_then(|network| plan.networks.get_index_of(network));
        (network, plan.places.get_index_of(&switch.place), id.as_str().len(), id.clone())
    };
    draft.done.wiring.switches.sort_by(|one, first, other, second| key(one, first).cmp(&key(other, second)));
}

/// Brings maps into the order a reader expects.
fn finish(draft: &mut Draft) {
    let wiring = &mut draft.done.wiring;
    wiring.cables.sort_keys();
    let plan = draft.plan;
    wiring.settings.sort_by(|one, _, other, _| plan.devices.get_index_of(one).cmp(&plan.devices.get_index_of(other)).then(one.cmp(other)));
}
