//! Layouts and SVG drawings of a wiring: switch fronts with every port ([`panel`]), places and the
//! trunks between them ([`riser`]), and the floor plan with its cable routes ([`floor`]).
//!
//! Pure: text out. No `<style>` blocks: presentation attributes only, so that a drawing can stand in a
//! page that allows no inline style. Every part that can be taken away is a group with `data-item`.

pub mod canvas;
pub mod floor;
mod frame;
pub mod geometry;
pub mod measure;
pub mod options;
pub mod panel;
mod pill;
pub mod riser;
pub mod scene;
#[cfg(test)]
mod testing;
pub mod theme;

pub use canvas::{Drawing, Placed};
pub use floor::floor;
pub use measure::Typeface;
pub use options::{Layers, Options};
pub use panel::{Subject, panel};
pub use riser::riser;
pub use scene::Scene;
pub use theme::{Palette, Theme};
