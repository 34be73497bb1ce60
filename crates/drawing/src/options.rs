//! How a drawing is wanted, and what every layout needs at hand.

use crate::scene::{Figures, Plugs, Scene};
use crate::theme::{Palette, Theme};
use loomwright_model::Item;
use std::collections::{BTreeMap, BTreeSet};

/// What is shown besides the wiring itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layers {
    /// Each cable's share of load, as line width and figure.
    pub load: bool,
    /// The worst delay into each device.
    pub delay: bool,
    /// Network colours, line styles and letters; without it all lines are plain.
    pub networks: bool,
    /// Labels with the cable's name and length.
    pub labels: bool,
    /// How many deliveries hang on each cable, switch and route: as line width and as figures, which stand in the labels.
    pub hang: bool,
}

impl Default for Layers {
    /// Networks and labels.
    fn default() -> Self {
        Self { load: false, delay: false, networks: true, labels: true, hang: false }
    }
}

/// How a drawing is wanted.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Options {
    /// Page or paper.
    pub theme: Theme,
    /// What is shown.
    pub layers: Layers,
    /// Items that fall silent or lose a leg: drawn faint.
    pub dim: BTreeSet<Item>,
    /// Items that were taken away: drawn crossed out.
    pub gone: BTreeSet<Item>,
    /// What the labels of these cables say instead of lengths and figures.
    pub notes: BTreeMap<Item, String>,
    /// Leaves out heading and title block, for pages that have their own.
    pub bare: bool,
}

/// A scene with its options and indexes, built once per drawing.
pub(crate) struct Desk<'a> {
    pub(crate) scene: Scene<'a>,
    pub(crate) options: &'a Options,
    pub(crate) palette: Palette,
    pub(crate) figures: Figures,
    pub(crate) plugs: Plugs<'a>,
}

impl<'a> Desk<'a> {
    pub(crate) fn new(scene: &Scene<'a>, options: &'a Options) -> Self {
        Self { scene: *scene, options, palette: scene.palette(), figures: Figures::new(scene), plugs: Plugs::new(scene.wiring) }
    }
}
