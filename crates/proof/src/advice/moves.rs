//! Chooses plugs to move. Every choice joins two parts of the network that hang apart once the failure has
//! happened, so that it cannot close a loop; [`super::prove`] then tries them all together.

use super::ports::{FreePort, far_end};
use super::{Advice, Emergency, Move, spare};
use loomwright_forwarding::{NetworkIx, NodeIx, SwitchIx};
use loomwright_model::{Cable, Id, Item, Length, PoeClass, PortRef, Supply, supplies};
use loomwright_survival::Loss;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// Nodes that are gone have this part.
const GONE: u32 = u32::MAX;

/// How a node of the fabric hangs together with others once the failure has happened.
struct Parts(Vec<u32>);

impl Parts {
    fn of(&self, node: NodeIx) -> u32 {
        self.0.get(node.0 as usize).copied().unwrap_or(GONE)
    }

    fn join(&mut self, one: u32, other: u32) {
        self.0.iter_mut().filter(|part| **part == one).for_each(|part| *part = other);
    }
}

/// A plug that could be moved.
struct Loose<'c> {
    id: &'c Id,
    cable: &'c Cable,
    /// The end that can be moved, and the one that stays.
    from: &'c PortRef,
    other: &'c PortRef,
    /// The class that `other` is powered with through this cable.
    needs: Option<PoeClass>,
    /// Essential and all silent deliveries that end behind it.
    weight: (usize, usize),
}

impl Emergency<'_> {
    /// Fills in moves and what they bring back.
    pub(super) fn move_plugs(&self, advice: &mut Advice, losses: &[Loss]) {
        // Nobody is told to re-patch what people's lives may hang on.
        if advice.touches_life_safety {
            return;
        }
        let mut parts = Parts(self.analysis.survival.domains_without(losses));
        let dark: BTreeSet<Item> = self.analysis.survival.whatif(losses).gone_too.into_iter().collect();
        let chosen = match &advice.item {
            Item::Cable(id) => self.leads(id, &dark, &parts),
            Item::Switch(id) | Item::Device(id) => self.plugs(id, (&dark, &advice.silent), &mut parts),
            _ => Vec::new(),
        };
        self.settle(advice, chosen, &dark);
    }

    /// Plugs of the dead box `lost` that can go elsewhere in its place, most useful first.
    fn plugs(&self, lost: &Id, (dark, silent): (&BTreeSet<Item>, &[u32]), parts: &mut Parts) -> Vec<Move> {
        let (plan, wiring) = (&self.analysis.plan, &self.analysis.wiring);
        let Some(place) = wiring.place_of(plan, lost) else { return Vec::new() };
        let mut free = self.spare_ports((lost, place), dark);
        free.extend(self.freed_ports((lost, place)));
        if free.is_empty() {
            return Vec::new();
        }
        let mut loose: Vec<Loose<'_>> = self.loose(lost, silent, parts);
        loose.sort_by_key(|plug| (Reverse(plug.weight), plug.id));
        let mut moves: Vec<Move> = Vec::new();
        for plug in loose {
            let taken = |port: &FreePort| {
                moves.iter().any(|one| one.to == port.port || one.other == port.port || port.pull.as_ref() == Some(&one.cable))
            };
            let is_pulled = moves.iter().any(|one| one.pull.as_ref() == Some(plug.id));
            let fit = free.iter().filter(|port| !is_pulled && !taken(port) && port.pull.as_ref() != Some(plug.id));
            let Some(port) = self.best(fit, &plug, parts) else { continue };
            self.join(&plug, port, parts);
            moves.push(Move {
                cable: plug.id.clone(),
                from: plug.from.clone(),
                to: port.port.clone(),
                other: plug.other.clone(),
                is_lead: false,
                pull: port.pull.clone(),
                prepare: port.pull.is_none().then(|| plug.cable.networks.clone()),
            });
        }
        moves
    }

    /// Short leads that stand in for a long cable: from its plug at one end to a spare port in the same place.
    fn leads(&self, id: &Id, dark: &BTreeSet<Item>, parts: &Parts) -> Vec<Move> {
        let (plan, wiring) = (&self.analysis.plan, &self.analysis.wiring);
        let Some(cable) = wiring.cables.get(id).filter(|cable| !cable.routes.is_empty()) else { return Vec::new() };
        let lead = |n: usize| {
            let (other, from) = (&cable.ends[n], &cable.ends[1 - n]);
            let place = wiring.place_of(plan, &other.item)?;
            let plug = Loose { id, cable, from, other, needs: self.powered_through(id, other), weight: (0, 0) };
            let free = self.spare_ports((&other.item, place), dark);
            let port = self.best(free.iter(), &plug, parts)?;
            let prepare = Some(cable.networks.clone());
            Some(Move {
                cable: id.clone(),
                from: from.clone(),
                to: port.port.clone(),
                other: other.clone(),
                is_lead: true,
                pull: None,
                prepare,
            })
        };
        lead(0).or_else(|| lead(1)).into_iter().collect()
    }

    fn loose<'s>(&'s self, lost: &Id, silent: &[u32], parts: &Parts) -> Vec<Loose<'s>> {
        let at_lost =
            self.analysis.wiring.cables.iter().filter(|(_, cable)| cable.ends.iter().filter(|end| end.item == *lost).count() == 1);
        let one = at_lost.map(|(id, cable)| {
            let other = far_end(cable, lost);
            let from = if cable.ends[0] == *other { &cable.ends[1] } else { &cable.ends[0] };
            let weight = self.weight((id, cable, other), silent, parts);
            Loose { id, cable, from, other, needs: self.powered_through(id, other), weight }
        });
        one.filter(|plug| plug.weight.1 > 0).collect()
    }

    /// Essential and all of `silent` that end at the far box of a cable or in the part of the network behind it.
    fn weight(&self, (id, cable, other): (&Id, &Cable, &PortRef), silent: &[u32], parts: &Parts) -> (usize, usize) {
        let behind: BTreeSet<u32> = self.nodes_at(id, cable, other).into_iter().map(|(_, node)| parts.of(node)).collect();
        let fabric = &self.analysis.fabric;
        let is_behind = |device: &Id| {
            let at = self.analysis.plan.devices.get_index_of(device).and_then(|at| fabric.audio.get(at));
            *device == other.item || at.into_iter().flatten().any(|one| parts.of(one.node) != GONE && behind.contains(&parts.of(one.node)))
        };
        let ends_there = silent.iter().filter(|&&demand| self.ends(demand).into_iter().flatten().any(&is_behind));
        ends_there.fold((0, 0), |(essential, all), &demand| (essential + usize::from(self.is_essential(demand)), all + 1))
    }

    /// The class that `port` is powered with through this cable; `None` if it has power of its own.
    fn powered_through(&self, cable: &Id, port: &PortRef) -> Option<PoeClass> {
        match supplies(&self.analysis.plan, &self.analysis.wiring).get(&port.item)? {
            Supply::Poe(links) if links.iter().any(|link| link.cable == *cable) => {
                self.analysis.wiring.gear_at(&self.analysis.plan, &port.item)?.poe
            }
            _ => None,
        }
    }

    /// The best of `free` for a plug: a port that is open and set already, then a spare one; devices from port 1
    /// upward, trunks from the last port downward (common practice, no source).
    fn best<'p>(&self, free: impl Iterator<Item = &'p FreePort>, plug: &Loose<'_>, parts: &Parts) -> Option<&'p FreePort> {
        let old = self.spec(plug.from)?;
        let is_trunk = self.analysis.wiring.switches.contains_key(&plug.other.item);
        let fits = free.filter(|port| port.takes(&old, plug.cable.medium, plug.needs) && self.joins_apart(plug, port, parts));
        let number = |port: &FreePort| i64::from(port.port.number().unwrap_or(0));
        fits.min_by_key(|port| (port.pull.is_none(), if is_trunk { -number(port) } else { number(port) }, port.port.clone()))
    }

    /// Whether plug and port hang apart in every network of the cable, and the port serves them all.
    fn joins_apart(&self, plug: &Loose<'_>, port: &FreePort, parts: &Parts) -> bool {
        let Some(pairs) = self.joined(plug, port) else { return false };
        let is_lone =
            || self.analysis.wiring.cables.values().flat_map(|cable| &cable.ends).filter(|end| end.item == plug.other.item).count() == 1;
        !pairs.is_empty()
            && pairs.iter().all(|(here, there)| match (parts.of(*here), parts.of(*there)) {
                (_, GONE) => false,
                // Dark for want of power, and this plug brings it: no other way may lead there.
                (GONE, _) => plug.needs.is_some() && is_lone(),
                (one, other) => one != other,
            })
    }

    fn join(&self, plug: &Loose<'_>, port: &FreePort, parts: &mut Parts) {
        for (here, there) in self.joined(plug, port).into_iter().flatten() {
            let (one, other) = (parts.of(here), parts.of(there));
            match one {
                GONE => parts.0[here.0 as usize] = other,
                _ => parts.join(one, other),
            }
        }
    }

    /// The nodes that a plug would join, network by network; `None` if the port does not serve one of them.
    fn joined(&self, plug: &Loose<'_>, port: &FreePort) -> Option<Vec<(NodeIx, NodeIx)>> {
        let fabric = &self.analysis.fabric;
        if port.pull.is_some() && port.set_for != plug.cable.networks {
            return None;
        }
        let there: Vec<(NetworkIx, NodeIx)> = match &port.pull {
            Some(cable) => self.nodes_at(cable, self.analysis.wiring.cables.get(cable)?, &port.port),
            None => {
                let networks = &self.analysis.wiring.switches.get(&port.port.item)?.networks;
                let at = fabric.switches.iter().position(|id| *id == port.port.item)?;
                let nodes = fabric.nodes_of_switch(SwitchIx(at as u32)).map(|node| (NodeIx(node as u32), fabric.nodes[node].network));
                let known = nodes.filter_map(|(node, network)| Some((network?, node)));
                known.filter(|(network, _)| fabric.networks.get(network.0 as usize).is_some_and(|id| networks.contains(id))).collect()
            }
        };
        let here = self.nodes_at(plug.id, plug.cable, plug.other);
        let pairs: Vec<(NodeIx, NodeIx)> =
            here.iter().filter_map(|(network, node)| Some((*node, there.iter().find(|(other, _)| other == network)?.1))).collect();
        (pairs.len() == here.len() && here.len() == plug.cable.networks.len()).then_some(pairs)
    }

    /// The nodes of the fabric at one end of a cable, by network.
    fn nodes_at(&self, id: &Id, cable: &Cable, end: &PortRef) -> Vec<(NetworkIx, NodeIx)> {
        let fabric = &self.analysis.fabric;
        let Some(at) = fabric.cable(id) else { return Vec::new() };
        let n = usize::from(cable.ends[0] != *end);
        fabric.links[fabric.links_of(at)].iter().map(|link| (link.network, link.nodes[n])).collect()
    }

    /// The length of a lead: the shortest of the stock, else 5 m. Own choice: across a rack with slack.
    pub(super) fn lead_length(&self, cable: &Cable) -> Length {
        spare::stocked(self.analysis, cable.medium, Length::ZERO).unwrap_or(Length::from_millimetres(5_000))
    }
}
