//! Fills the chosen places with switches: cuts the devices of a place into racks and picks the cheapest switch
//! type for every rack and network that has ports, power and trunk ports for it.
//!
//! A **rack** is one switch of each network side by side, serving the same devices. Fewest switches come first,
//! price second: every switch more is one more to carry, to feed and to fail.

use crate::demand::{Group, Jack};
use crate::draft::{Draft, made_name};
use crate::models::Model;
use crate::panel::Panel;
use crate::ports;
use loomwright_model::{BitRate, Id, Item, Medium, Share, Switch};
use std::collections::BTreeMap;

/// A trunk port that a switch must have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct TrunkNeed {
    pub medium: Medium,
    /// The least speed, or the only one.
    pub speed: BitRate,
    /// Optics at both ends of a fibre must be of one speed: set once the far end is known.
    pub exact: bool,
}

/// Switches side by side.
#[derive(Debug, Clone)]
pub(crate) struct Rack {
    pub place: usize,
    /// What is plugged in here, devices in plan order.
    pub jacks: Vec<Jack>,
    /// One switch for each group, where there is one.
    pub switches: Vec<Option<Id>>,
    pub panels: Vec<Option<Panel>>,
}

/// A switch that was picked.
#[derive(Debug, Clone)]
enum Pick {
    Held(Id),
    Buy(usize),
}

/// A picked switch for each group that needs one.
type Picks = Vec<Option<(Pick, Panel)>>;

/// Picks switches. Counts what the stock has left.
pub(crate) struct Fitter<'d, 'a> {
    pub draft: &'d mut Draft<'a>,
    pub groups: Vec<Group>,
    pub models: Vec<Model<'a>>,
    /// Held switches that serve no rack yet, by group and place.
    held: BTreeMap<(usize, usize), Vec<Id>>,
    spare: Share,
}

/// What a rack must have beside ports for its jacks, by group.
#[derive(Debug, Clone, Default)]
pub(crate) struct Wanted {
    pub trunks: Vec<Vec<TrunkNeed>>,
    /// True where a switch must stand even if no jack needs it.
    pub must: Vec<bool>,
}

/// What is wanted at one place: for its first rack, and for every further one.
#[derive(Debug, Clone, Default)]
pub(crate) struct PlaceNeeds {
    pub first: Wanted,
    pub further: Wanted,
}

impl<'d, 'a> Fitter<'d, 'a> {
    /// With all of `models` and the held switches of the draft.
    pub fn new(draft: &'d mut Draft<'a>, groups: Vec<Group>, models: Vec<Model<'a>>) -> Self {
        let mut held: BTreeMap<(usize, usize), Vec<Id>> = BTreeMap::new();
        for (id, switch) in &draft.done.wiring.switches {
            let group = groups.iter().position(|group| switch.networks.contains(group.main()));
            if let (Some(group), Some(place)) = (group, draft.place_index(&switch.place)) {
                held.entry((group, place)).or_default().push(id.clone());
            }
        }
        Self { spare: draft.plan.targets.spare_ports, draft, groups, models, held }
    }

    /// Cuts the jacks of one place into racks. Returns the racks and the jacks that no switch takes.
    pub fn cut(&mut self, place: usize, jacks: Vec<Jack>, needs: &PlaceNeeds) -> (Vec<Rack>, Vec<Jack>) {
        let mut rest = by_device(jacks);
        let (mut racks, mut left_out) = (Vec::new(), Vec::new());
        while !rest.is_empty() || (racks.is_empty() && needs.first.must.contains(&true)) {
            let mut wanted = if racks.is_empty() { self.possible(place, &needs.first) } else { needs.further.clone() };
            let mut count = self.most_devices(place, &rest, &wanted);
            if racks.is_empty() && count < rest.len() {
                wanted = self.possible(place, &with_further(wanted, rest.len() - count, count, &needs.further));
                count = self.most_devices(place, &rest, &wanted);
            }
            let taken: Vec<Jack> = rest.iter().take(count).flatten().cloned().collect();
            match self.pick(place, &taken, &wanted) {
                Some(picks) if count > 0 || racks.is_empty() => {
                    rest.drain(..count);
                    racks.push(self.commit(place, taken, picks));
                }
                _ if rest.is_empty() => break,
                _ => left_out.extend(rest.remove(0)),
            }
        }
        (racks, left_out)
    }

    /// Racks for held switches that serve nothing yet, so that they get their trunk.
    pub fn remaining_held(&mut self) -> Vec<Rack> {
        let held = std::mem::take(&mut self.held);
        let rack = |group: usize, place: usize, id: Id| {
            let mut rack =
                Rack { place, jacks: Vec::new(), switches: vec![None; self.groups.len()], panels: vec![None; self.groups.len()] };
            rack.panels[group] = self.held_panel(&id);
            rack.switches[group] = Some(id);
            rack
        };
        held.into_iter()
            .flat_map(|((group, place), ids)| ids.into_iter().map(move |id| (group, place, id)))
            .map(|(g, p, id)| rack(g, p, id))
            .collect()
    }

    /// As many of the wanted trunk ports as one switch without devices can have: a core may need more than any has.
    fn possible(&self, place: usize, wanted: &Wanted) -> Wanted {
        let mut kept = wanted.clone();
        for group in 0..kept.trunks.len() {
            let alone = |count: usize| {
                let mut only = Wanted { trunks: vec![Vec::new(); wanted.trunks.len()], must: vec![false; wanted.trunks.len()] };
                only.trunks[group] = wanted.trunks[group][..count].to_vec();
                only.must[group] = true;
                self.pick(place, &[], &only).is_some()
            };
            let most = (0..=wanted.trunks[group].len()).rev().find(|count| alone(*count)).unwrap_or(0);
            kept.trunks[group].truncate(most);
        }
        kept
    }

    /// How many of `devices`, from the first on, one rack can take.
    fn most_devices(&self, place: usize, devices: &[Vec<Jack>], needs: &Wanted) -> usize {
        let fits = |count: usize| {
            let jacks: Vec<Jack> = devices[..count].iter().flatten().cloned().collect();
            self.pick(place, &jacks, needs).is_some()
        };
        let biggest = self.models.iter().map(|model| model.gear.switch_port_count()).max().unwrap_or(0) as usize;
        let held = self.draft.done.wiring.switches.values().filter_map(|switch| self.draft.plan.gear.get(&switch.gear));
        let biggest = held.map(|gear| gear.switch_port_count() as usize).max().unwrap_or(0).max(biggest);
        let (mut good, mut bad) = (0, devices.len().min(biggest * self.groups.len()) + 1);
        while bad - good > 1 {
            let middle = if good == 0 && bad - 1 == devices.len() { bad - 1 } else { good.midpoint(bad) };
            if fits(middle) { good = middle } else { bad = middle }
        }
        good
    }

    /// A switch for each group that has jacks or trunks here, or `None` if no type will do.
    fn pick(&self, place: usize, jacks: &[Jack], needs: &Wanted) -> Option<Picks> {
        let mut picked: Picks = vec![None; self.groups.len()];
        for group in 0..self.groups.len() {
            let own = jacks.iter().filter(|jack| jack.group == group).count();
            if own == 0 && needs.must.get(group) != Some(&true) {
                continue;
            }
            let mut uneven = None;
            let carried = |switch: &Switch| jacks.iter().all(|jack| jack.group != group || switch.networks.contains(&jack.network));
            for candidate in self.candidates(group, place, &picked) {
                if matches!(&candidate.0, Pick::Held(id) if !self.draft.done.wiring.switches.get(id).is_some_and(carried)) {
                    continue;
                }
                let mut trial = picked.clone();
                trial[group] = Some(candidate);
                match fit(&trial, jacks, &needs.trunks, group) {
                    Fit::Even => {
                        uneven = Some(trial);
                        break;
                    }
                    Fit::Uneven if uneven.is_none() => uneven = Some(trial),
                    _ => {}
                }
            }
            picked = uneven?;
        }
        Some(picked)
    }

    /// The held switch that comes next here, then every type that is left, cheapest first.
    fn candidates(&self, group: usize, place: usize, picked: &[Option<(Pick, Panel)>]) -> Vec<(Pick, Panel)> {
        let held = self.held.get(&(group, place)).and_then(|ids| ids.first());
        let held = held.and_then(|id| Some((Pick::Held(id.clone()), self.held_panel(id)?)));
        let bought = |at: usize| picked.iter().flatten().filter(|(pick, _)| matches!(pick, Pick::Buy(other) if *other == at)).count();
        let left = |at: &usize| self.models[*at].left.is_none_or(|left| (left as usize) > bought(*at));
        let fresh = (0..self.models.len()).filter(left).map(|at| (Pick::Buy(at), Panel::new(self.models[at].gear, self.spare)));
        held.into_iter().chain(fresh).collect()
    }

    /// The front of a held switch with the ports of held cables taken.
    fn held_panel(&self, id: &Id) -> Option<Panel> {
        let wiring = &self.draft.done.wiring;
        let gear = self.draft.plan.gear.get(&wiring.switches.get(id)?.gear)?;
        let mut panel = Panel::new(gear, self.spare);
        let ends = wiring.cables.values().flat_map(|cable| &cable.ends).filter(|end| end.item == *id);
        ends.filter_map(|end| end.number()).for_each(|number| panel.take_number(number));
        Some(panel)
    }

    /// Enters the picked switches into the wiring.
    fn commit(&mut self, place: usize, jacks: Vec<Jack>, picks: Picks) -> Rack {
        let (mut switches, mut panels) = (Vec::new(), Vec::new());
        for (group, pick) in picks.into_iter().enumerate() {
            let Some((pick, mut panel)) = pick else {
                switches.push(None);
                panels.push(None);
                continue;
            };
            let id = match pick {
                Pick::Held(id) => {
                    self.held.entry((group, place)).or_default().retain(|other| *other != id);
                    id
                }
                Pick::Buy(at) => self.buy(at, group, place),
            };
            panel.promise(media(&jacks, group));
            switches.push(Some(id));
            panels.push(Some(panel));
        }
        Rack { place, jacks, switches, panels }
    }

    /// Of the feeds of a place one that no switch of another group hangs on; of those the one with the group's number.
    fn feed_apart<'f>(&self, feeds: &'f [Id], group: usize) -> Option<&'f Id> {
        let others = || self.draft.done.wiring.switches.values().filter(|switch| !switch.networks.contains(self.groups[group].main()));
        let is_shared = |feed: &Id| others().any(|switch| switch.feeds.contains(feed));
        let usual = if group < feeds.len() { group } else { 0 };
        (0..feeds.len()).min_by_key(|at| (is_shared(&feeds[*at]), *at != usual, *at)).map(|at| &feeds[at])
    }

    fn buy(&mut self, at: usize, group: usize, place: usize) -> Id {
        let feeds = feeds_at(self.draft, place);
        let feed = self.feed_apart(&feeds, group);
        let model = &mut self.models[at];
        model.left = model.left.map(|left| left.saturating_sub(1));
        let group_of = &self.groups[group];
        let id = new_name(self.draft, group_of.main(), self.draft.place(place));
        let switch = Switch {
            gear: model.id.clone(),
            place: self.draft.place(place).clone(),
            networks: group_of.networks.clone(),
            feeds: feed.cloned().into_iter().collect(),
            address: None,
            bridge_priority: None,
            path_cost: Default::default(),
            hold: false,
        };
        let feed = feed.map_or(String::new(), |feed| format!(", on feed {feed}"));
        let says = format!("{id} is a {} at {}{feed}.", model.gear.title, self.draft.place(place));
        self.draft.decide(
            Item::Switch(id.clone()),
            says,
            "it is the cheapest type with ports, power and trunk ports for what is plugged in here",
        );
        self.draft.done.wiring.switches.insert(id.clone(), switch);
        id
    }
}

/// What the first rack must have if `more` devices go to further racks of `each` devices: a trunk port for every one.
fn with_further(mut wanted: Wanted, more: usize, each: usize, further: &Wanted) -> Wanted {
    for (own, trunks) in wanted.trunks.iter_mut().zip(&further.trunks) {
        let racks = more.div_ceil(each.max(1));
        own.extend(std::iter::repeat_n(trunks, racks).flatten());
    }
    wanted
}

/// Power feeds at a place: its own, then those that devices there name.
pub(crate) fn feeds_at(draft: &Draft, place: usize) -> Vec<Id> {
    let id = draft.place(place);
    let own = draft.plan.places.get(id).map_or(&[][..], |place| &place.feeds);
    let named = draft.plan.devices.values().filter(|device| device.place == *id).flat_map(|device| &device.feeds);
    let mut feeds: Vec<Id> = Vec::new();
    for feed in own.iter().chain(named) {
        if !feeds.contains(feed) {
            feeds.push(feed.clone());
        }
    }
    feeds
}

fn new_name(draft: &Draft, network: &Id, place: &Id) -> Id {
    let base = format!("sw-{}-{place}", network.as_str().to_lowercase());
    let taken =
        |id: &Id| draft.plan.devices.contains_key(id) || draft.plan.places.contains_key(id) || draft.done.wiring.switches.contains_key(id);
    let numbered = (2u32..).map(|n| made_name(&format!("{base}-{n}")));
    std::iter::once(made_name(&base)).chain(numbered).find(|id| !taken(id)).expect("numbers do not run out")
}

fn by_device(jacks: Vec<Jack>) -> Vec<Vec<Jack>> {
    let mut devices: Vec<Vec<Jack>> = Vec::new();
    for jack in jacks {
        match devices.last_mut().filter(|own| own[0].device == jack.device) {
            Some(own) => own.push(jack),
            None => devices.push(vec![jack]),
        }
    }
    devices
}

/// How many jacks of a group want copper ports, and how many others.
fn media(jacks: &[Jack], group: usize) -> [usize; 2] {
    let own = || jacks.iter().filter(|jack| jack.group == group);
    let copper = own().filter(|jack| jack.medium == Medium::Copper).count();
    [copper, own().count() - copper]
}

/// How well a rack's jacks sit.
enum Fit {
    Even,
    Uneven,
    No,
}

/// Tries trunks, then all jacks of the groups up to `group`.
fn fit(trial: &[Option<(Pick, Panel)>], jacks: &[Jack], needs: &[Vec<TrunkNeed>], group: usize) -> Fit {
    let own = jacks.iter().filter(|jack| jack.group == group).count();
    let mut panels: Vec<Option<Panel>> = trial.iter().map(|pick| pick.as_ref().map(|(_, panel)| panel.clone())).collect();
    let trunks = needs.get(group).map_or(0, Vec::len);
    if panels[group].as_ref().is_none_or(|panel| panel.room() < own + trunks) {
        return Fit::No;
    }
    for (at, (panel, needs)) in panels.iter_mut().zip(needs).enumerate() {
        let Some(panel) = panel else { continue };
        panel.promise(media(jacks, at));
        for need in needs {
            let Some(port) = panel.trunk_port(*need) else { return Fit::No };
            panel.take_trunk(port);
        }
    }
    let so_far: Vec<Jack> = jacks.iter().filter(|jack| jack.group <= group).cloned().collect();
    let seating = ports::seat(&mut panels, &so_far);
    match (seating.left_out.is_empty(), seating.uneven.is_empty()) {
        (false, _) => Fit::No,
        (true, true) => Fit::Even,
        (true, false) => Fit::Uneven,
    }
}
