//! Says what shape the network has, and what keeps a plan from being wired at all.

use crate::demand::audio_networks;
use crate::draft::Draft;
use crate::switches::Placed;
use loomwright_model::{Item, Survive};
use std::collections::BTreeSet;

/// Names the shape: one switch, several, or two networks of them.
pub(crate) fn tell(draft: &mut Draft, placed: &Placed) {
    let switches: Vec<_> = placed.racks.iter().flat_map(|rack| &rack.switches).flatten().collect();
    let places: BTreeSet<usize> = placed.racks.iter().map(|rack| rack.place).collect();
    let networks = placed.racks.iter().flat_map(|rack| rack.switches.iter().enumerate()).filter(|(_, switch)| switch.is_some());
    let networks = networks.map(|(group, _)| group).collect::<BTreeSet<usize>>().len();
    let says = match (switches.len(), networks) {
        (0, _) => return,
        (1, _) => "A star: everything goes to one switch.".to_owned(),
        (count, 1) => format!("A tree: {count} switches in {} places, joined by trunks.", places.len()),
        (count, _) => format!("{networks} separate networks with {count} switches in {} places.", places.len()),
    };
    let because = match (networks, draft.plan.targets.survive) {
        (2.., Survive::AnyOne | Survive::AnyTwo) => "each network carries on when the other fails",
        (2.., Survive::Nothing) => "the plan's networks are kept on switches of their own",
        _ => "closing any of these places would cost more cable than its switch saves, or go beyond the reach of copper",
    };
    draft.decide(Item::Plan, says, because);
    if draft.plan.targets.survive != Survive::Nothing && audio_networks(draft.plan).len() == 1 {
        let says = "There is one audio network: when a switch fails, everything plugged into it is silent.".to_owned();
        let remedy = "Add a second audio network and use devices with two independent ports.".to_owned();
        draft.warn("design/one-network", vec![Item::Plan], [says, remedy]);
    }
}

/// Says what keeps the plan from being wired at all.
pub(crate) fn tell_missing(draft: &mut Draft, scarce: bool) {
    let audio = audio_networks(draft.plan).len();
    if draft.plan.devices.is_empty() {
        let texts = ["The plan has no devices: there is nothing to wire.".to_owned(), "Add devices.".to_owned()];
        draft.note("design/no-devices", vec![Item::Plan], texts);
    } else if audio == 0 {
        let texts =
            ["The plan has no audio network: no audio port can be wired.".to_owned(), "Add `[network.a]` with a subnet.".to_owned()];
        draft.stop("design/no-audio-network", vec![Item::Plan], texts);
    }
    if scarce && audio > 1 {
        let says = "Only one switch is to be had: all networks share it, kept apart by VLAN, and fall silent together.".to_owned();
        draft.warn("design/shared-switch", vec![Item::Plan], [says, "Add a second switch to the stock.".to_owned()]);
    }
}
