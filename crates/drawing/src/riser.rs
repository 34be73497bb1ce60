//! stub
use crate::{Drawing, Options, Scene};
/// Places and trunks.
pub fn riser(_: &Scene<'_>, _: &Options) -> Drawing {
    Drawing::default()
}
