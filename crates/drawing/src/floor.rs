//! stub
use crate::{Drawing, Options, Scene};
/// Places and trunks.
pub fn floor(_: &Scene<'_>, _: &Options) -> Drawing {
    Drawing::default()
}
