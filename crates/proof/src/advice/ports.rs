//! Ports that a plug can go into when something has failed.

use super::Emergency;
use loomwright_model::{Cable, Id, Item, Medium, PoeClass, PortRef, PortSpec};
use std::collections::BTreeSet;

/// A port that is free once the failure has happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FreePort {
    pub(super) port: PortRef,
    pub(super) spec: PortSpec,
    /// The dead cable that is in it now.
    pub(super) pull: Option<Id>,
    /// What the port is set for now; empty for a spare port, which is shut.
    pub(super) set_for: Vec<Id>,
}

impl FreePort {
    /// Whether a plug that came out of `old` may go in: same medium and speed, power enough.
    pub(super) fn takes(&self, old: &PortSpec, cable: Medium, needs: Option<PoeClass>) -> bool {
        let is_powered = needs.is_none_or(|class| self.spec.poe.is_some_and(|given| gives(given, class)));
        self.spec.medium == old.medium && self.spec.medium.takes(cable) && self.spec.speed == old.speed && is_powered
    }
}

/// Whether a port of class `given` feeds a device of class `asked`.
pub(super) fn gives(given: PoeClass, asked: PoeClass) -> bool {
    use loomwright_physical::poe::class_power;
    class_power(given).source >= class_power(asked).source
}

impl Emergency<'_> {
    /// The physical port behind a name.
    pub(super) fn spec(&self, port: &PortRef) -> Option<PortSpec> {
        let gear = self.analysis.wiring.gear_at(&self.analysis.plan, &port.item)?;
        gear.port_specs().into_iter().find(|spec| spec.name == port.port)
    }

    /// Spare ports of switches in `place`, in the order of the wiring. `lost` and boxes in `dark` have none.
    pub(super) fn spare_ports(&self, (lost, place): (&Id, &Id), dark: &BTreeSet<Item>) -> Vec<FreePort> {
        let (plan, wiring) = (&self.analysis.plan, &self.analysis.wiring);
        let used: BTreeSet<&PortRef> = wiring.cables.values().flat_map(|cable| &cable.ends).collect();
        let here = wiring.switches.iter().filter(|(id, switch)| *id != lost && switch.place == *place);
        let lit = here.filter(|(id, _)| !dark.contains(&Item::Switch((*id).clone())));
        let mut free = Vec::new();
        for (id, switch) in lit {
            let specs = plan.gear.get(&switch.gear).map(|gear| gear.port_specs()).unwrap_or_default();
            let named = specs.into_iter().map(|spec| (PortRef::new(id.clone(), spec.name.clone()), spec));
            let spare = named.filter(|(port, _)| !used.contains(port));
            free.extend(spare.map(|(port, spec)| FreePort { port, spec, pull: None, set_for: Vec::new() }));
        }
        free
    }

    /// Ports in `place` at the far end of cables that die with the box `lost`.
    pub(super) fn freed_ports(&self, (lost, place): (&Id, &Id)) -> Vec<FreePort> {
        let (plan, wiring) = (&self.analysis.plan, &self.analysis.wiring);
        let dead = wiring.cables.iter().filter(|(_, cable)| cable.ends.iter().any(|end| end.item == *lost));
        let freed = dead.filter_map(|(id, cable)| {
            let far = far_end(cable, lost);
            let is_here = far.item != *lost && wiring.place_of(plan, &far.item) == Some(place);
            let spec = self.spec(far).filter(|_| is_here)?;
            Some(FreePort { port: far.clone(), spec, pull: Some(id.clone()), set_for: cable.networks.clone() })
        });
        freed.collect()
    }
}

/// The end of `cable` that is not at `item`; the second end when both are.
pub(super) fn far_end<'c>(cable: &'c Cable, item: &Id) -> &'c PortRef {
    if cable.ends[0].item == *item { &cable.ends[1] } else { &cable.ends[0] }
}
