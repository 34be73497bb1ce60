//! The floor plan.
use crate::{Drawing, Options, Scene};
/// Draws the floor plan; an empty drawing until its layout is written.
pub fn floor(_: &Scene<'_>, _: &Options) -> Drawing {
    Drawing::default()
}
