//! Decides the switches: places, core of each network, trunk ports wanted, racks.

use crate::demand::{Group, Jack, audio_networks};
use crate::draft::{Draft, listed};
use crate::lanes::{Cable, Lane};
use crate::lengths;
use crate::load::Loads;
use crate::models::{self, Model};
use crate::placement::Placement;
use crate::racks::{Fitter, PlaceNeeds, Rack, TrunkNeed, Wanted, feeds_at};
use crate::trunks::GIGABIT;
use loomwright_model::{BitRate, Id, Item, Medium, Survive};
use std::collections::BTreeMap;

/// The switches and where each group's core stands.
pub(crate) struct Placed {
    pub racks: Vec<Rack>,
    /// Place of each group's core; `None` for a group without switches.
    pub cores: Vec<Option<usize>>,
    /// Jacks that no switch takes.
    pub left_out: Vec<Jack>,
}

/// What the steps of this module share.
struct Sites<'s> {
    placement: &'s Placement,
    jacks: &'s [Jack],
    cores: &'s [Option<usize>],
    ring: bool,
    /// Speeds that trunk ports come in, lowest first.
    speeds: Vec<BitRate>,
    /// Speeds of fibre trunk ports, lowest first, each with the most that one type has.
    optics: Vec<(BitRate, usize)>,
}

/// Fills the places of `placement` with switches, the cores first.
pub(crate) fn decide<'a>(draft: &mut Draft<'a>, (groups, jacks): (&[Group], &[Jack]), models: Vec<Model<'a>>, sited: &Sited) -> Placed {
    let ring = models::wants_ring(draft.plan, audio_networks(draft.plan).len());
    let placement = &sited.placement;
    let cores = cores(draft, groups, sited, jacks);
    let sites = Sites { placement, jacks, cores: &cores, ring, speeds: speeds(draft, &models), optics: optics(&models) };
    let needs = place_needs(draft, groups, &sites);
    let mut fitter = Fitter::new(draft, groups.to_vec(), models);
    let mut placed = Placed { racks: Vec::new(), cores: cores.clone(), left_out: Vec::new() };
    let mut open = placement.open();
    open.sort_by_key(|place| (!cores.contains(&Some(*place)), *place));
    for place in open {
        let own = jacks.iter().filter(|jack| placement.home.get(&jack.place) == Some(&place)).cloned();
        let (own, too_far): (Vec<Jack>, Vec<Jack>) = own.partition(|jack| in_reach(fitter.draft, jack, place));
        placed.left_out.extend(too_far);
        let (racks, left_out) = fitter.cut(place, own, &needs[&place]);
        placed.racks.extend(racks);
        placed.left_out.extend(left_out);
    }
    placed.racks.extend(fitter.remaining_held());
    placed.racks.sort_by_key(|rack| rack.place);
    placed
}

/// Whether a cable from `jack` to a switch at `place` can be laid.
fn in_reach(draft: &Draft, jack: &Jack, place: usize) -> bool {
    let way = draft.ways.shortest(jack.cable(), jack.place, place);
    way.is_some_and(|way| lengths::within_reach(draft.plan, jack.cable(), way.length))
}

fn speeds(draft: &Draft, models: &[Model]) -> Vec<BitRate> {
    let held = draft.done.wiring.switches.values().filter_map(|switch| draft.plan.gear.get(&switch.gear));
    let mut speeds: Vec<BitRate> =
        models.iter().map(|model| model.gear).chain(held).flat_map(|gear| &gear.ports).map(|port| port.speed).collect();
    speeds.sort_unstable();
    speeds.dedup();
    speeds
}

/// Where switches stand, and where each group's core is to be if that is decided; the rest is left to common practice.
#[derive(Debug, Clone)]
pub(crate) struct Sited {
    pub placement: Placement,
    pub cores: Vec<Option<usize>>,
}

/// The core of each group: the place from which the cables to all jacks are shortest in sum. The core of B stands on
/// another feed than that of A: in the same place if that has two, else in the next best place.
fn cores(draft: &mut Draft, groups: &[Group], sited: &Sited, jacks: &[Jack]) -> Vec<Option<usize>> {
    let mut cores: Vec<Option<usize>> = Vec::new();
    let mut first_feed: Option<Id> = None;
    for (index, group) in groups.iter().enumerate() {
        let ranked = ranked_cores(draft, &sited.placement, jacks, index);
        let Some(best) = ranked.first().copied() else {
            cores.push(None);
            continue;
        };
        let feed_of = |place: usize| {
            let feeds = feeds_at(draft, place);
            feeds.get(index).or(feeds.first()).cloned()
        };
        let apart = |place: &usize| first_feed.is_none() || feed_of(*place) != first_feed;
        let matters = index > 0 && draft.plan.targets.survive != Survive::Nothing && audio_networks(draft.plan).contains(group.main());
        let usual = if matters { ranked.iter().copied().find(apart).unwrap_or(best) } else { best };
        let core = sited.cores.get(index).copied().flatten().filter(|core| ranked.contains(core)).unwrap_or(usual);
        let shared = matters && !apart(&core);
        let because = if core != usual {
            "from here the trunks cost least, laid apart from those of the other network where they can"
        } else if core == best {
            "the cables to everything else are shortest in sum from here"
        } else {
            "it hangs on another power feed than the core of the first network"
        };
        if index == 0 {
            first_feed = feed_of(core);
        }
        cores.push(Some(core));
        draft.decide(
            Item::Network(group.main().clone()),
            format!("The core of network {} stands at {}.", group.main(), draft.place(core)),
            because,
        );
        if shared {
            let feed = first_feed.clone().map_or(String::new(), |feed| feed.to_string());
            let says = format!("The cores of networks {} and {} both hang on feed {feed}.", groups[0].main(), group.main());
            let remedy = format!("Bring a second feed to {} or to another place with switches.", draft.place(core));
            draft.warn("design/shared-feed", vec![Item::Network(group.main().clone())], [says, remedy]);
        }
    }
    cores
}

/// Places with switches for a group, the one from which the cables to all jacks are shortest in sum first.
pub(crate) fn ranked_cores(draft: &Draft, placement: &Placement, jacks: &[Jack], group: usize) -> Vec<usize> {
    let mut weight: BTreeMap<usize, u64> = BTreeMap::new();
    for jack in jacks.iter().filter(|jack| jack.group == group) {
        if let Some(home) = placement.home.get(&jack.place) {
            *weight.entry(*home).or_default() += 1;
        }
    }
    let mut ranked: Vec<(u64, std::cmp::Reverse<u64>, usize)> = weight
        .iter()
        .map(|(place, own)| {
            let far = draft.ways.distances_any(*place);
            let sum = weight.iter().map(|(other, jacks)| far[*other].unwrap_or(OUT_OF_REACH).saturating_mul(*jacks));
            (sum.fold(0, u64::saturating_add), std::cmp::Reverse(*own), *place)
        })
        .collect();
    ranked.sort_unstable();
    ranked.into_iter().map(|(_, _, place)| place).collect()
}

/// Millimetres that stand for "no way" when places are compared: farther than any venue is wide.
const OUT_OF_REACH: u64 = 1_000_000_000;

/// The trunk ports wanted at every place with switches.
fn place_needs(draft: &mut Draft, groups: &[Group], sites: &Sites) -> BTreeMap<usize, PlaceNeeds> {
    let loads = Loads::new(draft);
    let empty = || Wanted { trunks: vec![Vec::new(); groups.len()], must: vec![false; groups.len()] };
    let open = sites.placement.open();
    let mut needs: BTreeMap<usize, PlaceNeeds> =
        open.iter().map(|place| (*place, PlaceNeeds { first: empty(), further: empty() })).collect();
    for (index, group) in groups.iter().enumerate() {
        let Some(core) = sites.cores[index] else { continue };
        let with_jacks: Vec<usize> = open.iter().copied().filter(|place| has_jacks(sites, *place, index)).collect();
        let mut leaves: Vec<(usize, TrunkNeed)> = Vec::new();
        for place in with_jacks {
            let inside = |device: usize| home_of_device(draft, sites, device) == Some(place);
            let load = loads.trunk(group.main(), &inside);
            let need = trunk_need(draft, sites, (index, [place, core]), load);
            let own = needs.get_mut(&place).expect("every open place has an entry");
            own.further.trunks[index] = vec![TrunkNeed { medium: Medium::Copper, speed: need.speed.min(GIGABIT), exact: false }];
            own.first.must[index] = place == core;
            if place != core {
                leaves.push((place, need));
            }
        }
        set_optics(&mut leaves, sites);
        for (place, need) in leaves {
            let own = needs.get_mut(&place).expect("every open place has an entry");
            own.first.trunks[index].extend(std::iter::repeat_n(need, if sites.ring { 2 } else { 1 }));
            needs.get_mut(&core).expect("the core is an open place").first.trunks[index].push(need);
        }
    }
    needs
}

/// Optics at both ends of a fibre must be of one speed. Of the speeds that carry the load, the lowest is taken for which
/// some switch type has a port for every leaf; if none has, the one with the most.
fn set_optics(leaves: &mut [(usize, TrunkNeed)], sites: &Sites) {
    let is_fibre = |need: &TrunkNeed| need.medium != Medium::Copper;
    let count = leaves.iter().filter(|(_, need)| is_fibre(need)).count();
    let enough = sites.optics.iter().find(|(_, most)| *most >= count);
    let Some((speed, _)) = enough.or(sites.optics.iter().max_by_key(|(_, most)| *most)).copied() else { return };
    for (_, need) in leaves.iter_mut().filter(|(_, need)| is_fibre(need)) {
        need.speed = sites.optics.iter().map(|(speed, _)| *speed).find(|other| *other >= need.speed.max(speed)).unwrap_or(need.speed);
        need.exact = true;
    }
}

/// Speeds of fibre and pluggable ports from 1 Gb/s up, each with the most that one switch type has of them.
fn optics(models: &[Model]) -> Vec<(BitRate, usize)> {
    let mut most: BTreeMap<BitRate, usize> = BTreeMap::new();
    for model in models {
        let mut own: BTreeMap<BitRate, usize> = BTreeMap::new();
        for group in model.gear.ports.iter().filter(|group| group.medium != Medium::Copper && group.speed >= GIGABIT) {
            *own.entry(group.speed).or_default() += group.count as usize;
        }
        for (speed, count) in own {
            let known = most.entry(speed).or_default();
            *known = count.max(*known);
        }
    }
    most.into_iter().collect()
}

fn has_jacks(sites: &Sites, place: usize, group: usize) -> bool {
    sites.jacks.iter().any(|jack| jack.group == group && sites.placement.home.get(&jack.place) == Some(&place))
}

fn home_of_device(draft: &Draft, sites: &Sites, device: usize) -> Option<usize> {
    let (_, device) = draft.plan.devices.get_index(device)?;
    sites.placement.home.get(&draft.place_index(&device.place)?).copied()
}

/// The medium and speed for a trunk between two places that carries `load`.
fn trunk_need(draft: &mut Draft, sites: &Sites, (group, places): (usize, [usize; 2]), load: BitRate) -> TrunkNeed {
    let speed = speed_for(draft, &sites.speeds, load);
    let lane = Lane { group, places, second: false };
    let choices = draft.choices(lane);
    let fibre = choices.iter().find(|choice| speed > GIGABIT && choice.cable == Cable::Fibre);
    let choice = fibre.or(choices.first());
    if let Some(choice) = choice {
        draft.take_lane(lane, choice);
    }
    let medium = choice.map_or(Medium::Copper, |choice| choice.cable.medium());
    let speed = if medium == Medium::Copper { speed.min(GIGABIT) } else { speed };
    TrunkNeed { medium, speed, exact: false }
}

/// The lowest speed, from 1 Gb/s up, whose planned share carries `load`; the fastest there is if none does.
fn speed_for(draft: &Draft, speeds: &[BitRate], load: BitRate) -> BitRate {
    let share = draft.plan.targets.link_load;
    let carries = |speed: &&BitRate| **speed >= GIGABIT && share.of(speed.bits_per_second()) >= load.bits_per_second();
    speeds.iter().find(carries).or(speeds.last()).copied().unwrap_or(GIGABIT)
}

/// Seats what no rack took on any switch in reach that has a port, giving up spare ports if it must; says what
/// remains without a port.
pub(crate) fn squeeze_in(draft: &mut Draft, placed: &mut Placed) {
    let (mut no_spare, mut without): (Vec<Id>, Vec<Jack>) = (Vec::new(), Vec::new());
    for jack in std::mem::take(&mut placed.left_out) {
        match seat_anywhere(draft, placed, &jack) {
            Some(switch) => no_spare.push(switch),
            None => without.push(jack),
        }
    }
    no_spare.sort();
    no_spare.dedup();
    if !no_spare.is_empty() {
        let says = format!("Not enough switch ports to keep {} free on: {}.", draft.plan.targets.spare_ports, listed(&no_spare, 5));
        let remedy = "Add a switch, or allow fewer spare ports.".to_owned();
        draft.warn("design/no-spare-ports", no_spare.into_iter().map(Item::Switch).collect(), [says, remedy]);
    }
    without.iter().for_each(|jack| tell_without(draft, jack));
}

/// Says that a jack gets no port.
pub(crate) fn tell_without(draft: &mut Draft, jack: &Jack) {
    let (device, place) = (draft.device(jack.device).clone(), draft.place(jack.place));
    let power = jack.poe.map_or(String::new(), |class| format!(" with PoE {class}"));
    let says =
        format!("{device}/{} at {place} gets no port on network {}: no switch within reach has one free{power}.", jack.port, jack.network);
    let remedy = format!("Add a switch at {place} or in reach of it (copper: 90 m with slack), or a bigger type.");
    draft.stop("design/no-port", vec![Item::Device(device)], [says, remedy]);
}

fn seat_anywhere(draft: &Draft, placed: &mut Placed, jack: &Jack) -> Option<Id> {
    let medium = jack.cable();
    let far = draft.ways.distances(medium, jack.place);
    let mut racks: Vec<(u64, usize)> = placed
        .racks
        .iter()
        .enumerate()
        .filter_map(|(at, rack)| Some((far[rack.place].filter(|way| lengths::within_reach(draft.plan, medium, *way))?, at)))
        .collect();
    racks.sort_unstable();
    let carries = |rack: &Rack| {
        let switch = rack.switches[jack.group].as_ref().and_then(|id| draft.done.wiring.switches.get(id));
        switch.is_some_and(|switch| switch.networks.contains(&jack.network))
    };
    for (_, at) in racks {
        let rack = &mut placed.racks[at];
        if !carries(rack) {
            continue;
        }
        let mut trial = rack.panels.clone();
        trial.iter_mut().flatten().for_each(crate::panel::Panel::give_up_spare);
        let mut all: Vec<Jack> = rack.jacks.iter().chain([jack]).cloned().collect();
        all.sort_by_key(|jack| jack.device);
        if crate::ports::seat(&mut trial, &all).left_out.is_empty() {
            rack.jacks = all;
            rack.panels.iter_mut().flatten().for_each(crate::panel::Panel::give_up_spare);
            return rack.switches[jack.group].clone();
        }
    }
    None
}
