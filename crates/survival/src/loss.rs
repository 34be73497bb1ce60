//! What can be lost, and what goes with it.
//!
//! A hazard takes its routes, a route its cables; a feed takes the items that hang on no other; a switch
//! without power takes the devices it powers, and so on until nothing more goes.

use crate::graph::Lists;
use indexmap::{IndexMap, IndexSet};
use loomwright_forwarding::{CableIx, DeviceIx, Fabric, SwitchIx};
use loomwright_model::{Id, Item, Plan, PortRef, Supply, Wiring, supplies};
use std::fmt;

/// One thing that is lost.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Loss {
    /// Cable, switch without power, device, port, feed, route, hazard, place (all that stands there) or
    /// network (all its links) is gone. Other items change nothing.
    Gone(Item),
    /// A switch forwards nothing while its links stay up and its power goes on.
    Frozen(Id),
}

impl Loss {
    /// The item it concerns.
    pub fn item(&self) -> Item {
        match self {
            Self::Gone(item) => item.clone(),
            Self::Frozen(id) => Item::Switch(id.clone()),
        }
    }

    /// Whether it is a switch that froze.
    pub fn is_frozen(&self) -> bool {
        matches!(self, Self::Frozen(_))
    }
}

impl From<Item> for Loss {
    fn from(item: Item) -> Self {
        Self::Gone(item)
    }
}

impl fmt::Display for Loss {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Gone(item) => write!(f, "{item}"),
            Self::Frozen(id) => write!(f, "switch:{id} (frozen)"),
        }
    }
}

/// Power through a data cable.
#[derive(Debug, Clone, Copy)]
struct Powering {
    giver: u32,
    cable: u32,
    taker: u32,
}

/// Every thing that can be lost, by dense index. A **box** is a device (plan order), then a switch.
#[derive(Debug, Clone, Default)]
pub(crate) struct Things {
    pub(crate) devices: IndexSet<Id>,
    switches: IndexSet<Id>,
    pub(crate) cables: IndexSet<Id>,
    feeds: IndexSet<Id>,
    routes: IndexSet<Id>,
    hazards: IndexSet<Id>,
    /// Boxes on each feed, cables in each route, routes of each hazard.
    on_feed: Lists,
    in_route: Lists,
    of_hazard: Lists,
    powering: Vec<Powering>,
    /// Entries of `powering` by giving box, by cable and by taking box.
    given_by: Lists,
    through: Lists,
    taken_by: Lists,
    /// How many supplies each box has; 0 for those on no feed that is modelled.
    supply_count: Vec<u32>,
    /// Vertices of each box and of each cable.
    box_vertices: Lists,
    cable_vertices: Lists,
    /// Boxes in each place, places by name; links of each network; the cable in each port.
    places: IndexSet<Id>,
    in_place: Lists,
    networks: Vec<Id>,
    network_vertices: Lists,
    ports: IndexMap<PortRef, u32>,
}

/// One step of losing, by dense index.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Work {
    Box(u32),
    Frozen(u32),
    Cable(u32),
    Feed(u32),
    Route(u32),
    Hazard(u32),
    Place(u32),
    Network(u32),
}

/// What went, and marks that make starting over cheap.
#[derive(Debug, Clone, Default)]
pub(crate) struct Wreck {
    /// Vertices that are gone, each once.
    pub(crate) vertices: Vec<u32>,
    /// Boxes without power or taken away (not frozen).
    pub(crate) boxes: Vec<u32>,
    /// Cables that are gone.
    pub(crate) cables: Vec<u32>,
    work: Vec<Work>,
    round: u32,
    vertex_mark: Vec<u32>,
    box_mark: Vec<u32>,
    cable_mark: Vec<u32>,
    powering_mark: Vec<u32>,
    /// Marks nodes of boxes that are taken away, not frozen.
    dark: Vec<u32>,
    feed_mark: Vec<u32>,
    /// Round and number of supplies lost, by box.
    lost: Vec<(u32, u32)>,
    /// Boxes that lost a supply.
    less_supplied: Vec<u32>,
}

impl Things {
    pub(crate) fn new(plan: &Plan, wiring: &Wiring, fabric: &Fabric) -> Self {
        let mut things = Self {
            devices: plan.devices.keys().cloned().collect(),
            switches: wiring.switches.keys().cloned().collect(),
            cables: fabric.cables.iter().map(|cable| cable.id.clone()).collect(),
            networks: fabric.networks.clone(),
            ..Self::default()
        };
        things.add_vertices(fabric);
        things.add_routes(plan, wiring);
        things.add_power(plan, wiring);
        things.add_places(plan, wiring);
        things
    }

    fn box_count(&self) -> usize {
        self.devices.len() + self.switches.len()
    }

    /// The box that an item's name stands for.
    pub(crate) fn box_of(&self, id: &Id) -> Option<u32> {
        let switch = || self.switches.get_index_of(id).map(|at| self.devices.len() + at);
        self.devices.get_index_of(id).or_else(switch).map(|at| at as u32)
    }

    /// The item that a box stands for.
    pub(crate) fn item_of_box(&self, at: u32) -> Item {
        match self.devices.get_index(at as usize) {
            Some(id) => Item::Device(id.clone()),
            None => Item::Switch(self.switches[at as usize - self.devices.len()].clone()),
        }
    }

    /// The item that a cable stands for.
    pub(crate) fn item_of_cable(&self, at: u32) -> Item {
        Item::Cable(self.cables[at as usize].clone())
    }

    /// The box of every node, then [`crate::graph::NONE`] for links.
    pub(crate) fn box_by_vertex(&self, vertices: usize) -> Vec<u32> {
        let mut of = vec![crate::graph::NONE; vertices];
        for at in 0..self.box_vertices.len() as u32 {
            for &vertex in self.box_vertices.of(at) {
                of[vertex as usize] = at;
            }
        }
        of
    }

    fn add_vertices(&mut self, fabric: &Fabric) {
        let devices = self.devices.len() as u32;
        let mut boxes = Vec::new();
        for at in 0..devices {
            boxes.extend(fabric.nodes_of_device(DeviceIx(at)).map(|node| (at, node as u32)));
        }
        for at in 0..self.switches.len() as u32 {
            boxes.extend(fabric.nodes_of_switch(SwitchIx(at)).map(|node| (devices + at, node as u32)));
        }
        let nodes = fabric.nodes.len() as u32;
        let mut links = Vec::new();
        for (at, cable) in fabric.cables.iter().enumerate() {
            links.extend(fabric.links_of(CableIx(at as u32)).map(|link| (at as u32, nodes + link as u32)));
            self.ports.extend(cable.ends.iter().map(|end| (end.clone(), at as u32)));
        }
        self.box_vertices = Lists::group(self.box_count(), &boxes);
        self.cable_vertices = Lists::group(fabric.cables.len(), &links);
        let by_network = fabric.links.iter().enumerate().map(|(at, link)| (u32::from(link.network.0), nodes + at as u32));
        self.network_vertices = Lists::group(fabric.networks.len(), &by_network.collect::<Vec<_>>());
    }

    fn add_routes(&mut self, plan: &Plan, wiring: &Wiring) {
        let (mut lies, mut shares) = (Vec::new(), Vec::new());
        for (id, cable) in &wiring.cables {
            let Some(at) = self.cables.get_index_of(id) else { continue };
            for route in &cable.routes {
                let (route, _) = self.routes.insert_full(route.clone());
                lies.push((route as u32, at as u32));
            }
        }
        for (at, route) in self.routes.iter().enumerate() {
            for hazard in plan.routes.get(route).map_or(&[][..], |route| &route.shares) {
                let (hazard, _) = self.hazards.insert_full(hazard.clone());
                shares.push((hazard as u32, at as u32));
            }
        }
        self.in_route = Lists::group(self.routes.len(), &lies);
        self.of_hazard = Lists::group(self.hazards.len(), &shares);
    }

    fn add_power(&mut self, plan: &Plan, wiring: &Wiring) {
        self.supply_count = vec![0; self.box_count()];
        let mut hangs = Vec::new();
        for (id, supply) in supplies(plan, wiring) {
            let Some(taker) = self.box_of(&id) else { continue };
            match supply {
                Supply::Feeds(own) => {
                    let own: IndexSet<Id> = own.into_iter().collect();
                    self.supply_count[taker as usize] = own.len() as u32;
                    hangs.extend(own.into_iter().map(|feed| (self.feeds.insert_full(feed).0 as u32, taker)));
                }
                Supply::Poe(links) => {
                    let known =
                        links.iter().filter_map(|link| Some((self.box_of(&link.from.item)?, self.cables.get_index_of(&link.cable)?)));
                    let found: Vec<Powering> = known.map(|(giver, cable)| Powering { giver, cable: cable as u32, taker }).collect();
                    self.supply_count[taker as usize] = found.len() as u32;
                    self.powering.extend(found);
                }
            }
        }
        self.on_feed = Lists::group(self.feeds.len(), &hangs);
        let numbered = || self.powering.iter().zip(0u32..);
        self.given_by = Lists::group(self.box_count(), &numbered().map(|(one, at)| (one.giver, at)).collect::<Vec<_>>());
        self.taken_by = Lists::group(self.box_count(), &numbered().map(|(one, at)| (one.taker, at)).collect::<Vec<_>>());
        self.through = Lists::group(self.cables.len(), &numbered().map(|(one, at)| (one.cable, at)).collect::<Vec<_>>());
    }

    fn add_places(&mut self, plan: &Plan, wiring: &Wiring) {
        self.places = plan.places.keys().cloned().collect();
        let devices = plan.devices.values().map(|device| &device.place);
        let all = devices.chain(wiring.switches.values().map(|switch| &switch.place));
        let stands = all.zip(0u32..).filter_map(|(place, at)| Some((self.places.get_index_of(place)? as u32, at)));
        self.in_place = Lists::group(self.places.len(), &stands.collect::<Vec<_>>());
    }

    /// Every single failure that is proved: cables, switches without power, frozen switches, devices, and
    /// the feeds, routes and hazards in use.
    pub(crate) fn single_losses(&self) -> Vec<Loss> {
        let gone = |ids: &IndexSet<Id>, item: fn(Id) -> Item| ids.iter().map(|id| Loss::Gone(item(id.clone()))).collect::<Vec<_>>();
        let mut losses = gone(&self.cables, Item::Cable);
        losses.extend(gone(&self.switches, Item::Switch));
        losses.extend(self.switches.iter().map(|id| Loss::Frozen(id.clone())));
        losses.extend(gone(&self.devices, Item::Device));
        losses.extend(gone(&self.feeds, Item::Feed));
        losses.extend(gone(&self.routes, Item::Route));
        losses.extend(gone(&self.hazards, Item::Hazard));
        losses
    }

    /// Where each of [`Self::single_losses`] starts, in the same order.
    pub(crate) fn single_steps(&self) -> Vec<Work> {
        let of = |ids: &IndexSet<Id>, step: fn(u32) -> Work| (0..ids.len() as u32).map(step).collect::<Vec<_>>();
        let boxes = self.devices.len() as u32;
        let mut steps = of(&self.cables, Work::Cable);
        steps.extend((boxes..self.box_count() as u32).map(Work::Box));
        steps.extend((boxes..self.box_count() as u32).map(Work::Frozen));
        steps.extend(of(&self.devices, Work::Box));
        steps.extend(of(&self.feeds, Work::Feed));
        steps.extend(of(&self.routes, Work::Route));
        steps.extend(of(&self.hazards, Work::Hazard));
        steps
    }

    /// Starting points of a loss; nothing if no one knows the item.
    fn first_step(&self, loss: &Loss) -> Option<Work> {
        let index = |at: Option<usize>| at.map(|at| at as u32);
        Some(match loss {
            Loss::Frozen(id) => Work::Frozen(self.box_of(id)?),
            Loss::Gone(Item::Switch(id) | Item::Device(id)) => Work::Box(self.box_of(id)?),
            Loss::Gone(Item::Cable(id)) => Work::Cable(index(self.cables.get_index_of(id))?),
            Loss::Gone(Item::Port(port)) => Work::Cable(*self.ports.get(port)?),
            Loss::Gone(Item::Feed(id)) => Work::Feed(index(self.feeds.get_index_of(id))?),
            Loss::Gone(Item::Route(id)) => Work::Route(index(self.routes.get_index_of(id))?),
            Loss::Gone(Item::Hazard(id)) => Work::Hazard(index(self.hazards.get_index_of(id))?),
            Loss::Gone(Item::Place(id)) => Work::Place(index(self.places.get_index_of(id))?),
            Loss::Gone(Item::Network(id)) => Work::Network(index(self.networks.iter().position(|network| network == id))?),
            Loss::Gone(Item::Plan | Item::Stream(_) | Item::Gear(_)) => return None,
        })
    }

    /// Loses `losses` together and everything that goes with them. O(what goes).
    pub(crate) fn lose(&self, losses: &[Loss], wreck: &mut Wreck) {
        self.lose_from(losses.iter().filter_map(|loss| self.first_step(loss)), wreck);
    }

    /// The same from starting points.
    pub(crate) fn lose_from(&self, steps: impl IntoIterator<Item = Work>, wreck: &mut Wreck) {
        wreck.start_over(self);
        wreck.work.extend(steps);
        while let Some(work) = wreck.work.pop() {
            match work {
                Work::Box(at) => self.lose_box(at, wreck),
                Work::Frozen(at) => wreck.take(self.box_vertices.of(at)),
                Work::Cable(at) => self.lose_cable(at, wreck),
                Work::Feed(at) => self.lose_feed(at, wreck),
                Work::Route(at) => wreck.work.extend(self.in_route.of(at).iter().map(|&cable| Work::Cable(cable))),
                Work::Hazard(at) => wreck.work.extend(self.of_hazard.of(at).iter().map(|&route| Work::Route(route))),
                Work::Place(at) => wreck.work.extend(self.in_place.of(at).iter().map(|&one| Work::Box(one))),
                Work::Network(at) => wreck.take(self.network_vertices.of(at)),
            }
        }
    }

    fn lose_box(&self, at: u32, wreck: &mut Wreck) {
        if std::mem::replace(&mut wreck.box_mark[at as usize], wreck.round) == wreck.round {
            return;
        }
        wreck.boxes.push(at);
        wreck.take(self.box_vertices.of(at));
        self.box_vertices.of(at).iter().for_each(|&node| wreck.dark[node as usize] = wreck.round);
        self.stop_powering(self.given_by.of(at), wreck);
    }

    fn lose_cable(&self, at: u32, wreck: &mut Wreck) {
        if std::mem::replace(&mut wreck.cable_mark[at as usize], wreck.round) == wreck.round {
            return;
        }
        wreck.cables.push(at);
        wreck.take(self.cable_vertices.of(at));
        self.stop_powering(self.through.of(at), wreck);
    }

    fn lose_feed(&self, at: u32, wreck: &mut Wreck) {
        if std::mem::replace(&mut wreck.feed_mark[at as usize], wreck.round) != wreck.round {
            for &taker in self.on_feed.of(at) {
                self.lose_supply(taker, wreck);
            }
        }
    }

    fn stop_powering(&self, powering: &[u32], wreck: &mut Wreck) {
        for &at in powering {
            if std::mem::replace(&mut wreck.powering_mark[at as usize], wreck.round) != wreck.round {
                self.lose_supply(self.powering[at as usize].taker, wreck);
            }
        }
    }

    fn lose_supply(&self, taker: u32, wreck: &mut Wreck) {
        let lost = &mut wreck.lost[taker as usize];
        if lost.0 != wreck.round {
            *lost = (wreck.round, 0);
            wreck.less_supplied.push(taker);
        }
        lost.1 += 1;
        if lost.1 == self.supply_count[taker as usize] {
            wreck.work.push(Work::Box(taker));
        }
    }

    /// Boxes that run on, with fewer supplies than before.
    pub(crate) fn weakened(&self, wreck: &Wreck) -> Vec<u32> {
        let boxes = wreck.less_supplied.iter().copied();
        boxes.filter(|&taker| wreck.lost[taker as usize].1 < self.supply_count[taker as usize]).collect()
    }

    /// Vertices of a box.
    pub(crate) fn vertices_of_box(&self, at: u32) -> &[u32] {
        self.box_vertices.of(at)
    }

    /// For availability: the boxes that power `taker` through a cable; empty if it hangs on feeds.
    pub(crate) fn givers_of(&self, taker: u32) -> Vec<u32> {
        self.taken_by.of(taker).iter().map(|&at| self.powering[at as usize].giver).collect()
    }
}

impl Wreck {
    fn start_over(&mut self, things: &Things) {
        self.vertices.clear();
        self.boxes.clear();
        self.cables.clear();
        self.work.clear();
        self.less_supplied.clear();
        if self.round == 0 {
            let vertices = things.box_vertices.items.len() + things.cable_vertices.items.len();
            self.vertex_mark = vec![0; vertices];
            self.dark = vec![0; vertices];
            self.box_mark = vec![0; things.box_count()];
            self.cable_mark = vec![0; things.cables.len()];
            self.powering_mark = vec![0; things.powering.len()];
            self.feed_mark = vec![0; things.feeds.len()];
            self.lost = vec![(0, 0); things.box_count()];
        }
        self.round = self.round.saturating_add(1);
    }

    /// Whether `vertex` is gone.
    pub(crate) fn has(&self, vertex: u32) -> bool {
        self.vertex_mark.get(vertex as usize).is_some_and(|mark| *mark == self.round)
    }

    /// Whether the node's box was taken away, so that its links are down; not so if it froze.
    pub(crate) fn has_no_power(&self, node: u32) -> bool {
        self.dark.get(node as usize).is_some_and(|mark| *mark == self.round)
    }

    fn take(&mut self, vertices: &[u32]) {
        for &vertex in vertices {
            if std::mem::replace(&mut self.vertex_mark[vertex as usize], self.round) != self.round {
                self.vertices.push(vertex);
            }
        }
    }
}
