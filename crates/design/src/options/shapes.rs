//! The shapes, and the plan changed so that the design builds each.

use super::refusal;
use crate::draft::{Draft, listed};
use crate::form::Form;
use crate::models::{self, Model};
use crate::{demand, pairing};
use loomwright_model::{Id, Plan, Survive, Wiring};

/// A shape that a wiring can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Shape {
    /// One chain through all devices, no switch.
    Chain,
    /// A chain that is closed.
    Ring,
    /// Everything to one switch.
    OneSwitch,
    /// Several switches joined by trunks, one network.
    SeveralSwitches,
    /// The same with a second way round for every trunk.
    SwitchRing,
    /// Devices of one place chained behind one switch port, switches between.
    ChainsAndStar,
    /// Two networks that carry on alone.
    TwoNetworks,
    /// Two networks; what is on one of them only is chained in its place.
    TwoNetworksAndChains,
    /// All networks, each with a second way round: to survive any two failures.
    AnyTwo,
}

impl Shape {
    /// Every shape, simple ones first.
    pub const ALL: &'static [Self] = &[
        Self::Chain,
        Self::Ring,
        Self::OneSwitch,
        Self::SeveralSwitches,
        Self::SwitchRing,
        Self::ChainsAndStar,
        Self::TwoNetworks,
        Self::TwoNetworksAndChains,
        Self::AnyTwo,
    ];

    /// As written on the command line.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Chain => "chain",
            Self::Ring => "ring",
            Self::OneSwitch => "one-switch",
            Self::SeveralSwitches => "several-switches",
            Self::SwitchRing => "switch-ring",
            Self::ChainsAndStar => "chains-and-star",
            Self::TwoNetworks => "two-networks",
            Self::TwoNetworksAndChains => "two-networks-and-chains",
            Self::AnyTwo => "any-two",
        }
    }

    /// As read by people.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Chain => "one chain",
            Self::Ring => "a closed ring of devices",
            Self::OneSwitch => "one switch",
            Self::SeveralSwitches => "several switches",
            Self::SwitchRing => "several switches with a second way round",
            Self::ChainsAndStar => "chains inside each place, switches between",
            Self::TwoNetworks => "two networks",
            Self::TwoNetworksAndChains => "two networks, and chains where one leg is enough",
            Self::AnyTwo => "two ways round on every network, to survive any two failures",
        }
    }

    /// The shape with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|shape| shape.word() == word)
    }
}

/// A plan to design from, and what of the plan as it stands it does without.
pub(super) struct Variant {
    pub plan: Plan,
    pub form: Form,
    pub gives_up: Vec<String>,
}

/// What to try for a shape, best first. **Errors**: why there is nothing to try.
pub(super) fn variants(plan: &Plan, before: &Wiring, shape: Shape) -> Result<Vec<Variant>, String> {
    match shape {
        Shape::Chain | Shape::Ring => {
            let variant = one_network(plan, if shape == Shape::Ring { Form::Ring } else { Form::Chain }, Survive::Nothing)?;
            refusal::chain(&variant.plan, before, shape)?;
            Ok(vec![variant])
        }
        Shape::OneSwitch => one_switch(one_network(plan, Form::Switches, Survive::Nothing)?, before),
        Shape::SeveralSwitches => Ok(vec![one_network(plan, Form::Switches, Survive::Nothing)?]),
        Shape::SwitchRing => Ok(vec![one_network(plan, Form::Switches, Survive::AnyOne)?]),
        Shape::ChainsAndStar => Ok(vec![one_network(plan, Form::ChainsInPlaces, Survive::Nothing)?]),
        Shape::TwoNetworks => Ok(vec![two_networks(plan, Form::Switches, Survive::AnyOne)?]),
        Shape::TwoNetworksAndChains => Ok(vec![two_networks(plan, Form::ChainsInPlaces, Survive::AnyOne)?]),
        Shape::AnyTwo => Ok(vec![two_networks(plan, Form::Switches, Survive::AnyTwo)?]),
    }
}

/// The first audio network alone.
fn one_network(plan: &Plan, form: Form, survive: Survive) -> Result<Variant, String> {
    let mut changed = plan.clone();
    let audio: Vec<Id> = demand::audio_networks(plan);
    let first = audio.first().ok_or_else(|| "The plan has no audio network.".to_owned())?;
    let others: Vec<Id> = audio.iter().filter(|id| *id != first).cloned().collect();
    let mut gives_up = Vec::new();
    if !others.is_empty() {
        gives_up.push(format!("Network {} is not used.", listed(&others, 4)));
    }
    let asked: Vec<Id> = plan
        .devices
        .iter()
        .filter(|(_, device)| device.pairing == Some(loomwright_model::Pairing::Independent))
        .map(|(id, _)| id.clone())
        .collect();
    if !others.is_empty() && !asked.is_empty() {
        gives_up.push(format!("Set chained although the plan asks for independent ports: {}.", listed(&asked, 4)));
    }
    if survive < plan.targets.survive {
        gives_up.push(format!("The plan asks to survive {}; this is built to survive {survive}.", plan.targets.survive));
    }
    changed.networks.retain(|id, _| !others.contains(id));
    for device in changed.devices.values_mut() {
        device.pairing = device.pairing.filter(|_| others.is_empty());
        device.networks.retain(|id| !others.contains(id));
    }
    changed.targets.survive = survive;
    Ok(Variant { plan: changed, form, gives_up })
}

/// One variant for each switch type that has ports enough, cheapest first.
fn one_switch(variant: Variant, before: &Wiring) -> Result<Vec<Variant>, String> {
    let Variant { plan, form, gives_up } = variant;
    let wanted = jack_count(&plan, before);
    let types: Vec<Model> = models::well_behaved(models::models(&plan), false);
    let Some(largest) = types.iter().map(|model| model.gear.switch_port_count()).max() else {
        return Err("There is no switch to be had.".to_owned());
    };
    let fits: Vec<&Model> = types.iter().filter(|model| model.gear.switch_port_count() as usize >= wanted).collect();
    if fits.is_empty() {
        return Err(format!("{wanted} ports are needed, and the largest switch to be had has {largest}."));
    }
    let with = |model: &&Model| {
        let mut plan = plan.clone();
        plan.stock.switches = Some([(model.id.clone(), 1)].into_iter().collect());
        Variant { plan, form, gives_up: gives_up.clone() }
    };
    Ok(fits.iter().map(with).collect())
}

/// How many jacks want a switch port.
fn jack_count(plan: &Plan, before: &Wiring) -> usize {
    let mut draft = Draft::new(plan, before);
    pairing::decide(&mut draft);
    let groups = demand::groups(plan, true);
    demand::jacks(&mut draft, &groups).len()
}

/// All audio networks, to survive at least `survive`.
fn two_networks(plan: &Plan, form: Form, survive: Survive) -> Result<Variant, String> {
    if demand::audio_networks(plan).len() < 2 {
        return Err("The plan has one audio network; add a second one, for example `[network.b]` with a subnet of its own.".to_owned());
    }
    let mut changed = plan.clone();
    let wanted = if survive == Survive::AnyTwo { survive } else { plan.targets.survive.clamp(survive, Survive::AnyOne) };
    let mut gives_up = Vec::new();
    if wanted < plan.targets.survive {
        gives_up.push(format!("The plan asks to survive {}; this is built to survive {wanted}.", plan.targets.survive));
    }
    changed.targets.survive = wanted;
    Ok(Variant { plan: changed, form, gives_up })
}

/// Whether what came out has the shape. **Errors**: what it came out as.
pub(super) fn has_shape(shape: Shape, wiring: &Wiring) -> Result<(), String> {
    let switches = wiring.switches.len();
    let chained = wiring.cables.values().any(|cable| cable.ends.iter().all(|end| !wiring.switches.contains_key(&end.item)));
    let trunks = wiring.cables.values().filter(|cable| cable.ends.iter().all(|end| wiring.switches.contains_key(&end.item))).count();
    let why = match shape {
        _ if wiring.cables.is_empty() => "There is nothing to wire.",
        Shape::Chain | Shape::Ring if switches > 0 => "Devices cannot be chained to one another.",
        Shape::SeveralSwitches | Shape::SwitchRing if switches < 2 => "One switch serves everything: more would only cost more.",
        Shape::SwitchRing if trunks < switches => "No second way round could be laid.",
        Shape::ChainsAndStar | Shape::TwoNetworksAndChains if !chained => "No place has two devices that can be chained behind one port.",
        _ => return Ok(()),
    };
    Err(why.to_owned())
}
