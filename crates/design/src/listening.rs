//! Says who cannot hear whom because they are on no network together, and who can only be controlled from where.

use crate::demand;
use crate::draft::{Draft, listed};
use crate::load;
use loomwright_model::{Control, Id, Item, PortRef};

/// Adds the findings.
pub(crate) fn tell(draft: &mut Draft) {
    let networks = load::device_networks(draft);
    let mut deaf: Vec<(Id, Vec<Id>)> = Vec::new();
    for (id, stream) in &draft.plan.streams {
        let carried = load::stream_networks(draft, &networks, stream);
        let hears = |to: &Id| carried.iter().any(|(_, receivers)| receivers.iter().any(|device| draft.device(*device) == to));
        let without: Vec<Id> = stream.to.iter().filter(|to| !hears(to)).cloned().collect();
        if !without.is_empty() {
            deaf.push((id.clone(), without));
        }
    }
    for (stream, without) in deaf {
        let from = &draft.plan.streams[&stream].from;
        let says = format!(
            "No network carries {stream} from {from} to {}: they are on none together that the stream may use.",
            listed(&without, 5)
        );
        let remedy = format!("Put sender and receivers of {stream} on one audio network, or change its legs.");
        let items = [Item::Stream(stream)].into_iter().chain(without.into_iter().map(Item::Device)).collect();
        draft.stop("design/no-common-network", items, [says, remedy]);
    }
    tell_control(draft);
}

/// A control function that shares an audio port is on the audio network's wire: control jacks and computers on a VLAN
/// of their own do not reach it.
fn tell_control(draft: &mut Draft) {
    let Some(control) = demand::control_network(draft.plan).cloned() else { return };
    let jack_wired = draft.done.wiring.cables.values().any(|cable| cable.networks == [control.clone()]);
    let pseudo = demand::merged_control();
    let merged: Vec<Id> = draft
        .plan
        .devices
        .iter()
        .filter(|(id, device)| {
            let shares = draft.plan.gear_of(device).is_some_and(|gear| matches!(gear.control, Some(Control::MergedWith(_))));
            shares && draft.done.wiring.interfaces.contains_key(&PortRef::new((*id).clone(), pseudo.clone()))
        })
        .map(|(id, _)| id.clone())
        .collect();
    if !jack_wired || merged.is_empty() {
        return;
    }
    let says = format!(
        "Control shares an audio port, and so that network's wire, on: {}. What is plugged into network {control} does not reach it there.",
        listed(&merged, 5)
    );
    let remedy = "Control these from a computer on the audio network, or join the two networks by a router.".to_owned();
    draft.note("design/control-apart", merged.into_iter().map(Item::Device).collect(), [says, remedy]);
}
