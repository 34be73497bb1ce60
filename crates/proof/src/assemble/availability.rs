//! How likely the streams of the report stay up.

use crate::analysis::{Analysis, SHOW};
use crate::report::{Availability, SpareLine, UpLine};
use loomwright_survival::Down;

/// Chances for one show, nothing being repaired. The lower end is printed where only a range is known.
pub(super) fn line(analysis: &Analysis) -> Availability {
    let found = analysis.availability();
    let demands = analysis.survival.demands().iter().zip(&found.demands);
    let per_stream = demands.map(|(demand, down)| UpLine { stream: demand.stream.to_string(), to: demand.to.to_string(), up: down.up() });
    let spares = found.spares.iter().map(|spare| SpareLine { gear: spare.gear.to_string(), gain: spare.gain, count: spare.count });
    Availability {
        essential: found.essential.as_ref().map(Down::up),
        per_stream: per_stream.collect(),
        spares: spares.collect(),
        of: format!("a show of {SHOW}, nothing being repaired; cables, feeds and routes taken as perfect"),
        taken_as_perfect: found.taken_as_perfect.iter().map(ToString::to_string).collect(),
    }
}
