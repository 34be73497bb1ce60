//! Makes a chain longer: new devices go behind a free port of the ones that are chained already.

use crate::demand::{self, Jack};
use crate::draft::Draft;
use crate::form::Form;
use crate::panel::cable_for;
use crate::trunks::Run;
use crate::{Designed, finish_wiring, lengths, pairing};
use loomwright_model::{Id, Item, Medium, Pairing, Plan, PortRef, Wiring};

/// The chain of `before` with everything new joined to it; `None` if something finds no free port in reach.
pub(super) fn design(plan: &Plan, before: &Wiring) -> Option<Designed> {
    let mut draft = Draft::new(plan, before);
    draft.form = Form::Chain;
    pairing::decide(&mut draft);
    let groups = demand::groups(plan, true);
    let jacks = demand::jacks(&mut draft, &groups);
    let mut runs = Vec::new();
    for jack in &jacks {
        if jack.poe.is_some() {
            return None;
        }
        let run = behind(&draft, jack, &runs)?;
        let says = format!("{} is chained behind {}.", draft.device(jack.device), run.ends[1].item);
        draft.decide(
            Item::Device(draft.device(jack.device).clone()),
            says,
            "the chain stays plugged as it is, and this is the nearest free port",
        );
        runs.push(run);
    }
    finish_wiring(&mut draft, &groups, &runs);
    Some(draft.done)
}

/// A cable from `jack` to the nearest free port of a device that is chained already.
fn behind(draft: &Draft, jack: &Jack, runs: &[Run]) -> Option<Run> {
    let ends = || draft.done.wiring.cables.values().map(|cable| &cable.ends).chain(runs.iter().map(|run| &run.ends)).flatten();
    let mut found: Vec<(u64, usize, Run)> = Vec::new();
    for (at, (id, device)) in draft.plan.devices.iter().enumerate() {
        let Some(gear) = draft.plan.gear_of(device) else { continue };
        let chained = draft.done.wiring.pairing_of(id, device, gear) == Some(Pairing::Chained);
        if !chained || at == jack.device || !ends().any(|end| end.item == *id) {
            continue;
        }
        let free = gear.audio_ports.iter().find(|port| !ends().any(|end| end.item == *id && end.port == port.name));
        let Some((port, medium)) = free.and_then(|port| Some((port.name.clone(), cable_for(port.medium, jack.medium)?))) else { continue };
        let Some(place) = draft.place_index(&device.place) else { continue };
        if let Some(run) = run(draft, jack, (place, id, port), medium) {
            found.push((run.way.length, at, run));
        }
    }
    found.into_iter().min_by_key(|(length, at, _)| (*length, *at)).map(|(_, _, run)| run)
}

fn run(draft: &Draft, jack: &Jack, (place, id, port): (usize, &Id, Id), medium: Medium) -> Option<Run> {
    let way = draft.ways.shortest(medium, jack.place.min(place), jack.place.max(place))?;
    let ends = [PortRef::new(draft.device(jack.device).clone(), jack.port.clone()), PortRef::new(id.clone(), port)];
    lengths::within_reach(draft.plan, medium, way.length).then(|| Run {
        ends,
        places: [jack.place, place],
        networks: vec![jack.network.clone()],
        group: jack.group,
        medium,
        way,
        trunk: false,
        second_way: false,
    })
}
