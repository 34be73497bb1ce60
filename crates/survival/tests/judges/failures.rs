//! A slow, obvious judge: take items away from plan and wiring, flood each network by names, compare.
//! It shares no code with the crate beyond the types of the plan.

use crate::fleet::{Fleet, id};
use loomwright_forwarding::Fabric;
use loomwright_model::plan::Legs;
use loomwright_model::*;
use loomwright_survival::{Loss, Survival};
use std::collections::{BTreeMap, BTreeSet};

/// A place where frames of one network are forwarded or end: an item and the network or port on it.
type Spot = (Id, Id);

struct Judge<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    /// Cables and networks that spanning tree blocks.
    blocked: BTreeSet<(Id, Id)>,
    /// Cables and switches that could power each item: in these plans every switch port gives power.
    givers: BTreeMap<Id, Vec<(Id, Id)>>,
    /// The name of a chained device's one spot.
    all: Id,
    /// Legs of each demand with nothing lost.
    before: Vec<((Id, Id), usize)>,
}

/// What is gone.
struct Gone {
    dead: BTreeSet<Id>,
    frozen: BTreeSet<Id>,
    cables: BTreeSet<Id>,
}

fn givers(wiring: &Wiring, item: &Id) -> Vec<(Id, Id)> {
    let ends = wiring.cables.iter().flat_map(|(cable, c)| [(cable, &c.ends[0], &c.ends[1]), (cable, &c.ends[1], &c.ends[0])]);
    let given = ends.filter(|(_, from, to)| to.item == *item && wiring.switches.contains_key(&from.item));
    given.map(|(cable, from, _)| (cable.clone(), from.item.clone())).collect()
}

impl Judge<'_> {
    fn gone(&self, losses: &[Loss]) -> Gone {
        let has = |item: Item| losses.contains(&Loss::Gone(item));
        let route_is_gone = |id: &Id| {
            let shares = self.plan.routes.get(id).map_or(&[][..], |route| &route.shares);
            has(Item::Route(id.clone())) || shares.iter().any(|hazard| has(Item::Hazard(hazard.clone())))
        };
        let cables = self.wiring.cables.iter().filter(|(id, cable)| {
            let port = cable.ends.iter().any(|end| has(Item::Port(end.clone())));
            has(Item::Cable((*id).clone())) || port || cable.routes.iter().any(route_is_gone)
        });
        let mut gone = Gone {
            dead: BTreeSet::new(),
            frozen: losses.iter().filter_map(|loss| if let Loss::Frozen(id) = loss { Some(id.clone()) } else { None }).collect(),
            cables: cables.map(|(id, _)| id.clone()).collect(),
        };
        loop {
            let all = self.plan.devices.keys().chain(self.wiring.switches.keys());
            let dead: BTreeSet<Id> = all.filter(|id| self.is_dead(id, losses, &gone)).cloned().collect();
            if dead == gone.dead {
                return gone;
            }
            gone.dead = dead;
        }
    }

    fn is_dead(&self, id: &Id, losses: &[Loss], gone: &Gone) -> bool {
        let device = self.plan.devices.get(id);
        let item = if device.is_some() { Item::Device(id.clone()) } else { Item::Switch(id.clone()) };
        if losses.contains(&Loss::Gone(item)) {
            return true;
        }
        let (gear, place, own) = match device {
            Some(device) => (&device.gear, &device.place, &device.feeds),
            None => (&self.wiring.switches[id].gear, &self.wiring.switches[id].place, &self.wiring.switches[id].feeds),
        };
        let givers = &self.givers[id];
        if own.is_empty() && self.plan.gear[gear].poe.is_some() && !givers.is_empty() {
            return givers.iter().all(|(cable, giver)| gone.cables.contains(cable) || gone.dead.contains(giver));
        }
        let feeds: Vec<Id> = if own.is_empty() { self.plan.places[place].feeds.iter().take(1).cloned().collect() } else { own.clone() };
        !feeds.is_empty() && feeds.iter().all(|feed| losses.contains(&Loss::Gone(Item::Feed(feed.clone()))))
    }

    fn spot(&self, port: &PortRef, network: &Id) -> Spot {
        let on = match self.plan.devices.get(&port.item) {
            Some(device) => match self.wiring.pairing_of(&port.item, device, &self.plan.gear[&device.gear]) {
                Some(Pairing::Chained) => self.all.clone(),
                _ => port.port.clone(),
            },
            None => network.clone(),
        };
        (port.item.clone(), on)
    }

    /// What hangs directly on each spot of one network.
    fn links(&self, network: &Id, gone: &Gone, use_blocked: bool) -> BTreeMap<Spot, Vec<Spot>> {
        let alive = |item: &Id| !gone.dead.contains(item) && !gone.frozen.contains(item);
        let mut links: BTreeMap<Spot, Vec<Spot>> = BTreeMap::new();
        for (cable_id, cable) in &self.wiring.cables {
            let open = use_blocked || !self.blocked.contains(&(cable_id.clone(), network.clone()));
            if cable.networks.contains(network) && open && !gone.cables.contains(cable_id) && cable.ends.iter().all(|end| alive(&end.item))
            {
                let [one, two] = [0, 1].map(|end| self.spot(&cable.ends[end], network));
                links.entry(one.clone()).or_default().push(two.clone());
                links.entry(two).or_default().push(one);
            }
        }
        links
    }

    /// All spots that hang together with `from`; it stands alone if its own item is gone.
    fn flood(links: &BTreeMap<Spot, Vec<Spot>>, from: &Spot) -> BTreeSet<Spot> {
        let mut reached = BTreeSet::new();
        let mut todo = vec![from.clone()];
        while let Some(spot) = todo.pop() {
            if reached.insert(spot.clone()) {
                todo.extend(links.get(&spot).into_iter().flatten().cloned());
            }
        }
        reached
    }

    /// The spots where a device's audio meets a network.
    fn seats(&self, device: &Id, network: &Id) -> Vec<Spot> {
        let cables = self.wiring.cables.values().filter(|cable| cable.networks.contains(network));
        let ends = cables.flat_map(|cable| cable.ends.iter()).filter(|end| end.item == *device);
        ends.map(|end| self.spot(end, network)).collect()
    }

    /// How many legs of each stream at each receiver stand.
    fn legs(&self, losses: &[Loss], use_blocked: bool) -> Vec<((Id, Id), usize)> {
        let gone = self.gone(losses);
        let links: BTreeMap<Id, BTreeMap<Spot, Vec<Spot>>> =
            ["a", "b"].map(|network| (id(network), self.links(&id(network), &gone, use_blocked))).into();
        let mut known: BTreeMap<(Id, Spot), BTreeSet<Spot>> = BTreeMap::new();
        let mut found = Vec::new();
        for (stream_id, stream) in &self.plan.streams {
            for to in stream.to.iter().filter(|to| **to != stream.from) {
                let networks = ["a", "b"].map(id).into_iter().filter(|network| match &stream.legs {
                    Legs::Both => true,
                    Legs::Only(only) => only.contains(network),
                });
                let mut stands = |network: &Id| {
                    self.seats(&stream.from, network).into_iter().take(1).any(|from| {
                        let reached = known.entry((network.clone(), from.clone())).or_insert_with(|| Self::flood(&links[network], &from));
                        self.seats(to, network).into_iter().any(|seat| reached.contains(&seat))
                    })
                };
                let count = networks.filter(|network| stands(network)).count();
                found.push(((stream_id.clone(), to.clone()), count));
            }
        }
        found
    }

    /// Silent, one leg less, and silent only at once: indexes of demands.
    fn effect(&self, losses: &[Loss]) -> [Vec<u32>; 3] {
        let (before, after, present) = (&self.before, self.legs(losses, true), self.legs(losses, false));
        let mut effect = [vec![], vec![], vec![]];
        for (at, ((stream, to), legs)) in before.iter().enumerate() {
            let own = [&self.plan.streams[stream].from, to].iter().any(|end| losses.contains(&Loss::Gone(Item::Device((*end).clone()))));
            if *legs == 0 || own {
                continue;
            }
            match after[at].1 {
                0 => effect[0].push(at as u32),
                left if left < *legs => effect[1].push(at as u32),
                _ => {}
            }
            if after[at].1 > 0 && present[at].1 == 0 {
                effect[2].push(at as u32);
            }
        }
        effect
    }
}

fn with_plan(seed: u64, mut test: impl FnMut(&Judge<'_>, &Survival, &mut crate::fleet::Dice)) {
    let mut fleet = Fleet::new(seed);
    let fabric = Fabric::new(&fleet.plan, &fleet.wiring);
    assert_eq!(fabric.left_out, [], "seed {seed}");
    let blocked = fleet.block_rings(&fabric);
    let names = fabric.links.iter().zip(&blocked).filter(|(_, blocked)| **blocked);
    let names = names.map(|(link, _)| (fabric.cables[link.cable.0 as usize].id.clone(), fabric.networks[link.network.0 as usize].clone()));
    let names: BTreeSet<(Id, Id)> = names.collect();
    let survival = Survival::new(&fleet.plan, &fleet.wiring, &fabric, &blocked);
    let (plan, wiring) = (fleet.plan.clone(), fleet.wiring.clone());
    let items = plan.devices.keys().chain(wiring.switches.keys());
    let givers = items.map(|item| (item.clone(), givers(&wiring, item))).collect();
    let mut judge = Judge { givers, plan: &plan, wiring: &wiring, blocked: names, all: id("all"), before: Vec::new() };
    judge.before = judge.legs(&[], true);
    test(&judge, &survival, fleet.dice());
}

fn parts(effect: &loomwright_survival::Effect) -> [Vec<u32>; 3] {
    [effect.silent.clone(), effect.one_leg_left.clone(), effect.gaps.iter().map(|(demand, _)| *demand).collect()]
}

#[test]
fn every_single_failure_agrees_with_the_judge() {
    let (mut failures, mut silenced, mut gaps) = (0, 0, 0);
    for seed in 0..600 {
        with_plan(seed, |judge, survival, _| {
            let singles = survival.single_failures();
            for (at, effect) in survival.effects(&singles).enumerate() {
                let expected = judge.effect(&effect.losses);
                assert_eq!(parts(&effect), expected, "seed {seed}: {}", effect.losses[0]);
                assert_eq!(effect, survival.whatif(&effect.losses), "seed {seed}");
                assert_eq!(effect, survival.effect_of(&singles, at), "seed {seed}");
                failures += 1;
                silenced += expected[0].len();
                gaps += expected[2].len();
            }
        });
    }
    assert!(failures > 20_000 && silenced > 20_000 && gaps > 5_000, "{failures} failures, {silenced} silenced, {gaps} gaps");
}

#[test]
fn any_set_of_losses_agrees_with_the_judge() {
    let mut silenced = 0;
    for seed in 1_000..1_300 {
        with_plan(seed, |judge, survival, dice| {
            let mut all = survival.single_failures().losses().to_vec();
            all.extend(judge.wiring.cables.values().map(|cable| Loss::Gone(Item::Port(cable.ends[0].clone()))));
            for _ in 0..10 {
                let losses: Vec<Loss> = (0..1 + dice.roll(4)).map(|_| dice.pick(&all).clone()).collect();
                let effect = survival.whatif(&losses);
                assert_eq!(parts(&effect), judge.effect(&losses), "seed {seed}: {losses:?}");
                silenced += effect.silent.len();
            }
        });
    }
    assert!(silenced > 3_000, "{silenced}");
}

#[test]
fn pairs_of_failures_agree_with_trying_them_all() {
    let mut pairs = 0;
    for seed in 2_000..2_120 {
        with_plan(seed, |_, survival, _| {
            let singles = survival.single_failures();
            let found = survival.double_failures(&singles, 3);
            let essential = |demand: &u32| survival.demands()[*demand as usize].essential;
            let losses: Vec<&Loss> = singles.losses().iter().filter(|loss| !loss.is_frozen()).collect();
            let alone: Vec<Vec<u32>> = losses.iter().map(|loss| survival.whatif(&[(*loss).clone()]).silent).collect();
            let (mut count, mut most) = (0, Vec::new());
            for one in 0..losses.len() {
                for two in one + 1..losses.len() {
                    let both = survival.whatif(&[losses[one].clone(), losses[two].clone()]).silent;
                    let new =
                        both.iter().filter(|demand| essential(demand) && !alone[one].contains(demand) && !alone[two].contains(demand));
                    let new = new.count() as u32;
                    count += u64::from(new > 0);
                    most.push(new);
                }
            }
            most.sort_unstable_by(|one, two| two.cmp(one));
            assert_eq!(found.count, count, "seed {seed}");
            let worst: Vec<u32> = found.worst.iter().map(|double| double.silenced).collect();
            let expected: Vec<u32> = most.into_iter().filter(|new| *new > 0).take(3).collect();
            assert_eq!(worst, expected, "seed {seed}");
            pairs += count;
        });
    }
    assert!(pairs > 2_000, "{pairs}");
}
