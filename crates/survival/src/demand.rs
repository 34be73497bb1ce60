//! Who must hear whom, and over which legs.

use loomwright_forwarding::{Fabric, NetworkIx};
use loomwright_model::plan::{Carries, Legs, Mode, Stream};
use loomwright_model::{Id, Plan};

/// One stream at one receiver.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Demand {
    /// The stream.
    pub stream: Id,
    /// The receiver.
    pub to: Id,
    /// Whether the show stops without it.
    pub essential: bool,
    /// Whether its packets go to a group: after a change they wait for the next membership query.
    pub is_multicast: bool,
    /// Indexes of sender and receiver in the plan's order.
    pub(crate) ends: [u32; 2],
}

/// One leg of a demand: two vertices of the failure graph in one network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Leg {
    pub(crate) network: NetworkIx,
    pub(crate) ends: [u32; 2],
}

/// All demands and their legs.
#[derive(Debug, Clone, Default)]
pub(crate) struct Demands {
    pub(crate) all: Vec<Demand>,
    pub(crate) legs: Vec<Leg>,
    start: Vec<u32>,
}

impl Demands {
    /// Every stream at every receiver, in the order of the plan; what the plan does not know is left out,
    /// and so is a stream to its own sender.
    pub(crate) fn new(plan: &Plan, fabric: &Fabric) -> Self {
        let mut demands = Self { start: vec![0], ..Self::default() };
        for (id, stream) in &plan.streams {
            let Some(from) = plan.devices.get_index_of(&stream.from) else { continue };
            for receiver in &stream.to {
                match plan.devices.get_index_of(receiver) {
                    Some(to) if to != from => demands.add((plan, fabric), (id, stream), (receiver, [from, to])),
                    _ => {}
                }
            }
        }
        demands
    }

    fn add(&mut self, (plan, fabric): (&Plan, &Fabric), (id, stream): (&Id, &Stream), (receiver, ends): (&Id, [usize; 2])) {
        let [Some(from), Some(to)] = ends.map(|end| fabric.audio.get(end)) else { return };
        for sender in from.iter().filter(|attachment| is_wanted(plan, stream, attachment.network)) {
            if let Some(other) = to.iter().find(|attachment| attachment.network == sender.network) {
                self.legs.push(Leg { network: sender.network, ends: [sender.node.0, other.node.0] });
            }
        }
        self.start.push(self.legs.len() as u32);
        self.all.push(Demand {
            stream: id.clone(),
            to: receiver.clone(),
            essential: stream.essential,
            is_multicast: stream.mode == Mode::Multicast,
            ends: ends.map(|end| end as u32),
        });
    }

    /// Legs of a demand.
    pub(crate) fn legs_of(&self, demand: u32) -> &[Leg] {
        &self.legs[self.start[demand as usize] as usize..self.start[demand as usize + 1] as usize]
    }
}

fn is_wanted(plan: &Plan, stream: &Stream, network: NetworkIx) -> bool {
    let Some((id, network)) = plan.networks.get_index(network.0 as usize) else { return false };
    match &stream.legs {
        Legs::Both => network.carries == Carries::Audio,
        Legs::Only(ids) => ids.contains(id),
    }
}
