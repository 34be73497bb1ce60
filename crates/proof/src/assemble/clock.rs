//! Clock lines of the report.

use crate::analysis::Analysis;
use crate::report::{ClockLine, FollowerLine};

/// Every network's leader and followers; a network in several parts has a line for each.
pub(super) fn lines(analysis: &Analysis) -> Vec<ClockLine> {
    let (clock, fabric) = (&analysis.clock, &analysis.fabric);
    let mut lines = Vec::new();
    for (domain, (followers, expected)) in clock.domains.iter().zip(clock.followers.iter().zip(&clock.expected)) {
        let per_device = followers.iter().zip(expected).map(|(follower, expected)| FollowerLine {
            device: fabric.devices[follower.device.0 as usize].to_string(),
            hops: follower.terms.as_ref().map_or(0, loomwright_clock::Terms::hops),
            worst_error_ns: follower.error().map(|error| error.nanoseconds_up()),
            expected_error_ns: expected.filter(|_| follows(follower)).map(|expected| expected.mean().nanoseconds_up()),
            filtered_error_ns: expected
                .filter(|expected| follows(follower) && expected.filter_holds())
                .map(|expected| expected.unequal().nanoseconds_up()),
        });
        let per_device: Vec<FollowerLine> = per_device.collect();
        lines.extend(domain.networks.iter().map(|network| ClockLine {
            network: fabric.networks[network.0 as usize].to_string(),
            leader: domain.leader.map(|leader| format!("device:{}", fabric.devices[leader.0 as usize])),
            per_device: per_device.clone(),
        }));
    }
    lines
}

/// Only of one that follows within a bound anything is to be expected.
fn follows(follower: &loomwright_clock::Follower) -> bool {
    follower.error().is_some()
}
