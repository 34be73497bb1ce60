//! What has to be plugged in: every jack of every device that needs a switch port, and the groups of networks
//! that may share switches.

use crate::draft::{Draft, listed, made_name};
use loomwright_model::plan::Carries;
use loomwright_model::{BitRate, Control, Device, Gear, Id, Item, Medium, Pairing, Plan, PoeClass, PortRef, Power};
use loomwright_physical::poe::class_power;

/// Networks that may share switches, told apart by VLAN. The first gives the switches their letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    pub networks: Vec<Id>,
}

impl Group {
    /// The network that names it.
    pub fn main(&self) -> &Id {
        &self.networks[0]
    }
}

/// One jack that wants a port on a switch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Jack {
    /// Index of the device in the plan.
    pub device: usize,
    /// Index of the place it stands in.
    pub place: usize,
    /// The jack.
    pub port: Id,
    /// The network it goes to.
    pub network: Id,
    /// Index of that network's group.
    pub group: usize,
    pub speed: BitRate,
    pub medium: Medium,
    /// The class it is powered by through this jack.
    pub poe: Option<PoeClass>,
    pub draws: Power,
    /// A control jack: plugged after all audio jacks.
    pub control: bool,
}

/// Audio networks in plan order: A, B ...
pub(crate) fn audio_networks(plan: &Plan) -> Vec<Id> {
    plan.networks.iter().filter(|(_, network)| network.carries == Carries::Audio).map(|(id, _)| id.clone()).collect()
}

/// The first control network, if any.
pub(crate) fn control_network(plan: &Plan) -> Option<&Id> {
    plan.networks.iter().find(|(_, network)| network.carries == Carries::Control).map(|(id, _)| id)
}

/// Which networks share switches. Audio networks never do; a control network rides on the first audio network's
/// switches where both have VLAN numbers. With one switch in all (`scarce`), everything shares it.
pub(crate) fn groups(plan: &Plan, scarce: bool) -> Vec<Group> {
    let mut groups: Vec<Group> = audio_networks(plan).into_iter().map(|network| Group { networks: vec![network] }).collect();
    for (id, network) in plan.networks.iter().filter(|(_, network)| network.carries == Carries::Control) {
        let host = groups.first_mut().filter(|group| {
            let vlans: Vec<_> = group.networks.iter().map(|other| plan.networks[other].vlan).collect();
            network.vlan.is_some() && !vlans.contains(&None) && !vlans.contains(&network.vlan)
        });
        match host {
            Some(group) => group.networks.push(id.clone()),
            None => groups.push(Group { networks: vec![id.clone()] }),
        }
    }
    if scarce && groups.len() > 1 {
        return vec![Group { networks: groups.into_iter().flat_map(|group| group.networks).collect() }];
    }
    groups
}

/// The audio ports of a device that are cabled, each with its network, in port order.
pub(crate) fn audio_legs(plan: &Plan, device: &Device, gear: &Gear, pairing: Option<Pairing>) -> Vec<(usize, Id)> {
    let audio = audio_networks(plan);
    let asked = |network: &Id| device.networks.is_empty() || device.networks.contains(network);
    let legs = audio.iter().enumerate().filter(|(_, network)| asked(network));
    match pairing {
        Some(Pairing::Independent) => legs.filter(|(n, _)| *n < gear.audio_ports.len()).map(|(n, network)| (n, network.clone())).collect(),
        _ if gear.audio_ports.is_empty() => Vec::new(),
        _ => legs.take(1).map(|(_, network)| (0, network.clone())).collect(),
    }
}

/// The network that a device's control function is on, if it has one and the plan lets it: the control network; without
/// one, the first audio network for devices that have no audio port.
pub(crate) fn control_leg<'a>(plan: &'a Plan, device: &Device, gear: &Gear) -> Option<&'a Id> {
    gear.control.as_ref()?;
    let audio =
        || plan.networks.iter().find(|(_, network)| network.carries == Carries::Audio && gear.audio_ports.is_empty()).map(|(id, _)| id);
    control_network(plan).or_else(audio).filter(|network| device.networks.is_empty() || device.networks.contains(*network))
}

/// The pseudo port that names a control function merged into an audio port.
pub(crate) fn merged_control() -> Id {
    made_name("control")
}

/// Every jack that wants a port, devices in plan order. Jacks that a held cable already serves are left out.
pub(crate) fn jacks(draft: &mut Draft, groups: &[Group]) -> Vec<Jack> {
    let mut jacks = Vec::new();
    for (index, (id, device)) in draft.plan.devices.iter().enumerate() {
        let (Some(gear), Some(place)) = (draft.plan.gear_of(device), draft.place_index(&device.place)) else { continue };
        let pairing = draft.done.wiring.pairing_of(id, device, gear);
        let wanted = if gear.is_switching() { uplink(draft.plan, device, gear) } else { wanted(draft.plan, device, gear, pairing) };
        let served = is_served(draft, id, gear, pairing);
        for mut jack in wanted {
            if served && (!jack.control || gear.is_switching()) {
                continue;
            }
            let end = PortRef::new(id.clone(), jack.port.clone());
            let Some(group) = groups.iter().position(|group| group.networks.contains(&jack.network)) else { continue };
            if !draft.done.wiring.cables.values().any(|cable| cable.ends.contains(&end)) {
                (jack.device, jack.place, jack.group) = (index, place, group);
                jacks.push(jack);
            }
        }
    }
    note_single_legs(draft);
    jacks
}

/// Whether a held cable already joins a chained device to the rest.
fn is_served(draft: &Draft, id: &Id, gear: &Gear, pairing: Option<Pairing>) -> bool {
    let touches = |port: &PortRef| port.item == *id && (gear.is_switching() || gear.audio_ports.iter().any(|own| own.name == port.port));
    (gear.is_switching() || pairing == Some(Pairing::Chained))
        && draft.done.wiring.cables.values().any(|cable| cable.ends.iter().any(touches))
}

fn wanted(plan: &Plan, device: &Device, gear: &Gear, pairing: Option<Pairing>) -> Vec<Jack> {
    let mut jacks: Vec<Jack> = audio_legs(plan, device, gear, pairing)
        .into_iter()
        .map(|(n, network)| {
            let port = &gear.audio_ports[n];
            Jack::plain(&port.name, network, port.speed, port.medium).powered(device, gear)
        })
        .collect();
    if let (Some(Control::Own { port, speed }), Some(network)) = (&gear.control, control_leg(plan, device, gear)) {
        let jack = Jack { control: true, ..Jack::plain(port, network.clone(), *speed, Medium::Copper) };
        jacks.push(if jacks.is_empty() { jack.powered(device, gear) } else { jack });
    }
    jacks
}

/// A Wi-Fi router (or a switch that the plan lists as a device) is joined by its last copper port: to the control
/// network if there is one, else to the first audio network.
fn uplink(plan: &Plan, device: &Device, gear: &Gear) -> Vec<Jack> {
    let network = device.networks.first().or_else(|| control_network(plan)).cloned().or_else(|| audio_networks(plan).first().cloned());
    let specs = gear.port_specs();
    let port = specs.iter().rev().find(|port| port.medium == Medium::Copper).or(specs.last());
    match (network, port) {
        (Some(network), Some(port)) => {
            vec![Jack { control: true, ..Jack::plain(&port.name, network, port.speed, port.medium) }.powered(device, gear)]
        }
        _ => Vec::new(),
    }
}

impl Jack {
    /// What its cable is made of.
    pub fn cable(&self) -> Medium {
        if self.medium == Medium::Copper { Medium::Copper } else { Medium::Fibre }
    }

    fn plain(port: &Id, network: Id, speed: BitRate, medium: Medium) -> Self {
        let port = port.clone();
        let (device, place, group, draws) = (0, 0, 0, Power::ZERO);
        Self { device, place, port, network, group, speed, medium, poe: None, draws, control: false }
    }

    /// Takes its power through this jack if the gear can and the plan gives the device no feed of its own. Counted is
    /// what a switch that reserves by class sets aside.
    fn powered(self, device: &Device, gear: &Gear) -> Self {
        match gear.poe.filter(|_| device.feeds.is_empty()) {
            Some(class) => Self { poe: Some(class), draws: class_power(class).source, ..self },
            None => self,
        }
    }
}

/// Says once which devices have one leg only although there are two audio networks.
fn note_single_legs(draft: &mut Draft) {
    let audio = audio_networks(draft.plan);
    if audio.len() < 2 {
        return;
    }
    let single = |(id, device): &(&Id, &Device)| {
        let Some(gear) = draft.plan.gear_of(device) else { return false };
        let pairing = draft.done.wiring.pairing_of(id, device, gear);
        device.networks.is_empty() && !gear.audio_ports.is_empty() && audio_legs(draft.plan, device, gear, pairing).len() == 1
    };
    let names: Vec<Id> = draft.plan.devices.iter().filter(single).map(|(id, _)| id.clone()).collect();
    if names.is_empty() {
        return;
    }
    let says = format!("On network {} only, with one leg: {}.", audio[0], listed(&names, 5));
    let remedy = "Accept that one failure can silence them, or set or choose gear with two independent ports.".to_owned();
    draft.note("design/one-leg", names.into_iter().map(Item::Device).collect(), [says, remedy]);
}
