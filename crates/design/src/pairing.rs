//! Decides how the two ports of each device are set.

use crate::demand;
use crate::draft::Draft;
use loomwright_model::{Id, Item, Pairing, Survive};

/// The plan's word stands; else independent where a second audio network is there, the gear can do it and
/// something asks for it; else chained, as it leaves the factory.
pub(crate) fn decide(draft: &mut Draft) {
    for (id, device) in &draft.plan.devices {
        let Some(gear) = draft.plan.gear_of(device) else { continue };
        if gear.audio_ports.len() < 2 {
            continue;
        }
        let held = draft.done.wiring.settings.get(id).and_then(|setting| setting.pairing);
        if let (Some(held), Some(asked)) = (held, device.pairing)
            && held != asked
        {
            draft.warn(
                "design/held-pairing",
                vec![Item::Device(id.clone())],
                [
                    format!("{id} is held {held} in the wiring, but the plan asks for {asked}."),
                    format!("Take the hold off the setting of {id}, or change the plan."),
                ],
            );
        }
        if held.is_some() || device.pairing.is_some() || draft.done.wiring.settings.contains_key(id) {
            continue;
        }
        let can = gear.pairing.contains(&Pairing::Independent);
        let (pairing, because) = choose(draft, id, can);
        draft.done.wiring.settings.entry(id.clone()).or_default().pairing = Some(pairing);
        draft.decide(Item::Device(id.clone()), format!("The ports of {id} are set {pairing}."), because);
    }
}

fn choose(draft: &Draft, id: &Id, can: bool) -> (Pairing, &'static str) {
    let plan = draft.plan;
    let asked = plan.devices.get(id).map_or(&[][..], |device| &device.networks);
    let audio = demand::audio_networks(plan);
    let open: Vec<&Id> = audio.iter().filter(|network| asked.is_empty() || asked.contains(network)).collect();
    if open.len() < 2 {
        return (Pairing::Chained, "there is one audio network for it; chained is how it leaves the factory");
    }
    if !can {
        return (Pairing::Chained, "its gear type cannot set its ports independent");
    }
    let essential = plan.streams.values().any(|stream| stream.essential && (stream.from == *id || stream.to.contains(id)));
    if essential {
        return (Pairing::Independent, "an essential stream begins or ends here: each network carries its own copy");
    }
    if plan.targets.survive != Survive::Nothing {
        return (Pairing::Independent, "the plan wants failures survived: each network carries its own copy");
    }
    if !asked.is_empty() {
        return (Pairing::Independent, "the plan puts it on two audio networks");
    }
    (Pairing::Chained, "nothing asks for a second network here; one cable is enough")
}
