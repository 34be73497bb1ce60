//! The drawings, with what is taken away and what falls silent.

use super::{Moment, Proved};
use loomwright_drawing::{self as drawing, Layers, Options, Palette, Scene, Subject, Theme};
use loomwright_model::{Id, Item, Plan};
use loomwright_proof::report::{FailureLine, StreamLine};
use std::collections::{BTreeMap, BTreeSet};

pub use loomwright_drawing::theme::Colour;

/// Which drawing is wanted.
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    /// `riser`, `floor` or `panel`.
    pub view: &'a str,
    /// For panels: `switch:..` or `network:..`.
    pub of: Option<&'a str>,
    /// Layers that are on.
    pub layers: &'a [&'static str],
    /// What is taken away.
    pub gone: &'a [Item],
    /// What that does.
    pub effect: Option<&'a FailureLine>,
    /// The worst moment of one packet, whose way is drawn and whose queues are labelled.
    pub moment: Option<&'a Moment>,
}

/// The drawing as SVG; `None` while nothing is wired.
pub fn picture(proved: &Proved, wanted: &Picture<'_>) -> Option<String> {
    let plan = proved.plan.as_ref()?;
    if proved.wiring.cables.is_empty() && wanted.view != "floor" {
        return None;
    }
    let scene = Scene { plan, wiring: &proved.wiring, report: &proved.report };
    let on = |layer: &str| wanted.layers.contains(&layer);
    let layers =
        Layers { load: on("load"), delay: on("delay"), networks: on("networks"), labels: on("labels") || on("hang"), hang: on("hang") };
    let gone = wanted.gone.iter().cloned().collect();
    let (dim, notes) = match wanted.moment {
        Some(moment) => aside(proved, moment),
        None => (dimmed(proved, wanted), BTreeMap::new()),
    };
    let options = Options { theme: Theme::Page, layers, dim, notes, gone, bare: true };
    let drawing = match wanted.view {
        "floor" => drawing::floor(&scene, &options),
        "panel" => drawing::panel(&scene, &subject(proved, wanted.of)?, &options),
        _ => drawing::riser(&scene, &options),
    };
    Some(drawing.svg)
}

/// What a panel drawing shows; the first audio network unless the address says otherwise.
fn subject(proved: &Proved, of: Option<&str>) -> Option<Subject> {
    match of.map(str::parse::<Item>) {
        Some(Ok(Item::Switch(id))) if proved.wiring.switches.contains_key(&id) => Some(Subject::Switch(id)),
        Some(Ok(Item::Network(id))) if proved.plan.as_ref()?.networks.contains_key(&id) => Some(Subject::Network(id)),
        _ => proved.plan.as_ref()?.networks.keys().next().cloned().map(Subject::Network),
    }
}

/// The colours of the drawings.
pub fn colours() -> Vec<Colour> {
    drawing::theme::page_colours()
}

/// The class that gives a network its colour, the same as in the drawings.
pub fn net_class(plan: &Plan, network: &str) -> String {
    let palette = Palette::new(plan);
    let slot = Id::new(network).ok().and_then(|id| palette.get(&id).map(|style| style.slot)).unwrap_or(0);
    format!("net-{}", slot + 1)
}

/// What falls silent: devices that lose a stream, and cables on which nothing that arrives is left.
fn dimmed(proved: &Proved, wanted: &Picture<'_>) -> BTreeSet<Item> {
    let Some(effect) = wanted.effect else { return BTreeSet::new() };
    let silent: BTreeSet<(&str, &str)> = effect.silent.iter().map(|line| (line.stream.as_str(), line.to.as_str())).collect();
    let gone = Gone::new(proved, wanted.gone);
    let mut alive: BTreeMap<&str, bool> = BTreeMap::new();
    for line in &proved.report.streams {
        let is_dead = silent.contains(&(line.id.as_str(), line.to.as_str())) || gone.cuts(line);
        for cable in line.path.iter().filter(|step| step.starts_with("cable:")) {
            *alive.entry(cable).or_insert(false) |= !is_dead;
        }
    }
    let cables = alive.iter().filter(|(_, alive)| !**alive).filter_map(|(cable, _)| cable.parse().ok());
    let devices = effect.silent.iter().filter_map(|line| Id::new(&line.to).ok()).map(Item::Device);
    cables.chain(devices).collect()
}

/// Of a worst moment: the cables that the packet does not take, and what the labels of the others say.
fn aside(proved: &Proved, moment: &Moment) -> (BTreeSet<Item>, BTreeMap<Item, String>) {
    let notes: BTreeMap<Item, String> =
        moment.cables.iter().zip(&moment.replay.queues).map(|(cable, queue)| (Item::Cable(cable.clone()), Moment::note(queue))).collect();
    let others = proved.wiring.cables.keys().cloned().map(Item::Cable).filter(|cable| !notes.contains_key(cable));
    (others.collect(), notes)
}

/// What was taken away, as paths name it.
pub struct Gone(BTreeSet<String>);

impl Gone {
    /// From the items.
    pub fn new(proved: &Proved, items: &[Item]) -> Self {
        Self(items.iter().flat_map(|item| with_parts(proved, item)).collect())
    }

    fn cuts(&self, line: &StreamLine) -> bool {
        line.path.iter().any(|step| self.0.contains(step.as_str()))
    }

    /// The networks on which a stream still reaches a receiver by the way it took before.
    pub fn legs_left<'a>(&self, proved: &'a Proved, stream: &str, to: &str) -> BTreeSet<&'a str> {
        let lines = proved.report.streams.iter().filter(|line| line.id == stream && line.to == to);
        lines.filter(|line| !self.cuts(line)).map(|line| line.network.as_str()).collect()
    }
}

/// An item as paths name it: a device or switch by its ports, a route by its cables, and so on.
fn with_parts(proved: &Proved, item: &Item) -> Vec<String> {
    let cables = &proved.wiring.cables;
    let of_item =
        |id: &Id| cables.values().flat_map(|cable| &cable.ends).filter(|end| end.item == *id).map(|end| format!("port:{end}")).collect();
    let in_routes = |lies: &dyn Fn(&Id) -> bool| {
        cables.iter().filter(|(_, cable)| cable.routes.iter().any(lies)).map(|(id, _)| format!("cable:{id}")).collect()
    };
    match item {
        Item::Device(id) | Item::Switch(id) => of_item(id),
        Item::Route(route) => in_routes(&|id| id == route),
        Item::Hazard(hazard) => {
            in_routes(&|id| proved.plan.iter().filter_map(|plan| plan.routes.get(id)).any(|route| route.shares.contains(hazard)))
        }
        other => vec![other.to_string()],
    }
}

/// Everything that can be taken away, by kind.
pub fn takeable(proved: &Proved) -> Vec<(&'static str, Vec<String>)> {
    let Some(plan) = &proved.plan else { return Vec::new() };
    let named = |kind: &str, ids: BTreeSet<&Id>| ids.into_iter().map(|id| format!("{kind}:{id}")).collect::<Vec<_>>();
    let own = plan.devices.values().flat_map(|device| &device.feeds);
    let feeds = plan
        .places
        .values()
        .flat_map(|place| &place.feeds)
        .chain(own)
        .chain(proved.wiring.switches.values().flat_map(|switch| &switch.feeds));
    let all = [
        ("Cables", named("cable", proved.wiring.cables.keys().collect())),
        ("Switches", named("switch", proved.wiring.switches.keys().collect())),
        ("Devices", named("device", plan.devices.keys().collect())),
        ("Feeds", named("feed", feeds.collect())),
        ("Cable routes", named("route", plan.routes.keys().collect())),
        ("Hazards", named("hazard", plan.routes.values().flat_map(|route| &route.shares).collect())),
    ];
    all.into_iter().filter(|(_, items)| !items.is_empty()).collect()
}
