//! Every table, from a scene.

mod addresses;
mod cables;
mod delay;
pub(crate) mod failures;
mod findings;
mod packing;
mod ports;
mod power;
pub mod sourcing;
mod stock;
mod streams;
mod walk;

pub use walk::{Walk, natural, walk, walking_order};

use crate::table::{Kind, Table};
use loomwright_drawing::Scene;
use loomwright_drawing::scene::Plugs;
use loomwright_drawing::theme::Palette;
use loomwright_model::{BitRate, Cable, Gear, Id, PoeClass, PortRef, PortSpec};
use std::cell::OnceCell;
use std::collections::BTreeMap;

/// A scene with the indexes that tables need, built once.
pub struct Source<'a> {
    /// What is shown.
    pub scene: Scene<'a>,
    /// Network letters.
    pub palette: Palette,
    /// Which cable is where.
    pub plugs: Plugs<'a>,
    specs: BTreeMap<&'a Id, Vec<PortSpec>>,
    walk: OnceCell<Walk<'a>>,
}

impl<'a> Source<'a> {
    /// Looks through `scene` once.
    pub fn new(scene: &Scene<'a>) -> Self {
        let types = scene.plan.gear.iter().map(|(id, gear)| (id, gear.port_specs())).collect();
        Self { scene: *scene, palette: scene.palette(), plugs: Plugs::new(scene.wiring), specs: types, walk: OnceCell::new() }
    }

    /// The table of `kind`.
    pub fn table(&self, kind: Kind) -> Table {
        match kind {
            Kind::Findings => findings::table(self),
            Kind::Cables => cables::table(self),
            Kind::Ports => ports::table(self),
            Kind::Addresses => addresses::table(self),
            Kind::Streams => streams::table(self),
            Kind::Delay => delay::table(self),
            Kind::Groups => streams::groups(self),
            Kind::Failures => failures::table(self),
            Kind::Packing => packing::table(self),
            Kind::Stock => stock::table(self),
            Kind::Power => power::table(self),
        }
    }

    /// The round through all places.
    pub(crate) fn walk(&self) -> &Walk<'a> {
        self.walk.get_or_init(|| walk(self.scene.plan))
    }

    /// Physical ports of a device or switch.
    pub(crate) fn specs(&self, item: &Id) -> &[PortSpec] {
        let plan = self.scene.plan;
        let gear = plan.devices.get(item).map(|device| &device.gear);
        let gear = gear.or_else(|| self.scene.wiring.switches.get(item).map(|switch| &switch.gear));
        gear.and_then(|gear| self.specs.get(gear)).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn spec(&self, port: &PortRef) -> Option<&PortSpec> {
        self.specs(&port.item).iter().find(|spec| spec.name == port.port)
    }

    /// The speed both ends agree on: the lower one.
    pub(crate) fn speed(&self, cable: &Cable) -> Option<BitRate> {
        cable.ends.iter().filter_map(|end| self.spec(end)).map(|spec| spec.speed).min()
    }

    /// The class a cable feeds its device with, if one end can feed and the other needs it.
    pub(crate) fn poe(&self, cable: &Cable) -> Option<PoeClass> {
        let feeds = |n: usize| {
            let needs = self.scene.gear(&cable.ends[1 - n].item).and_then(|gear: &Gear| gear.poe)?;
            self.spec(&cable.ends[n])?.poe.and(Some(needs))
        };
        feeds(0).or_else(|| feeds(1))
    }

    /// What people call the place of an item, or nothing.
    pub(crate) fn place_name(&self, item: &Id) -> &'a str {
        self.scene.place_of(item).map_or("", |place| self.scene.place_name(place))
    }

    /// Letters and names of networks: `A a`, or `A+C` for several.
    pub(crate) fn networks(&self, networks: &[Id]) -> String {
        let letters: Vec<String> = self.palette.letters(networks).chars().map(String::from).collect();
        letters.join("+")
    }
}

#[cfg(test)]
mod tests;
