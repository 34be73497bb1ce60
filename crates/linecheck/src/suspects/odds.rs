//! How often things fail, one against the other.

use loomwright_model::Item;
use loomwright_survival::Loss;

/// Odds that this is lost on a day of work. Only their order is common practice, no source: cables and
/// plugs long before ports, boxes and power, and whole routes last. The figures are our own choice; no
/// statistics of hands and plugs exist that one could honestly put in.
pub(super) fn of(loss: &Loss) -> f64 {
    match loss {
        Loss::Gone(Item::Cable(_)) => 1e-3,
        Loss::Gone(Item::Device(_)) => 3e-4,
        Loss::Gone(Item::Switch(_) | Item::Feed(_)) => 2e-4,
        Loss::Frozen(_) => 1e-4,
        Loss::Gone(_) => 5e-5,
    }
}
