//! The few figures behind the verdict, picked out of the proof.

use loomwright_model::Plan;
use loomwright_proof::Report;
use loomwright_proof::report::FailureLine;

/// The few figures behind the verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// Latest packet of any stream; `None` before there is a bounded one.
    pub worst_delay_ns: Option<u64>,
    /// What the plan allows.
    pub delay_limit_ns: u64,
    /// Failures that silence an essential stream.
    pub harmful_failures: usize,
    /// Failures tried.
    pub failures: usize,
    /// Load and speed of the fullest link.
    pub busiest: Option<(u64, u64)>,
    /// The share of a link that streams may use, parts per million.
    pub load_limit_ppm: u32,
    /// Largest clock error of any follower.
    pub worst_clock_ns: Option<u64>,
    /// What the plan allows.
    pub clock_limit_ns: u64,
    /// Chance that every essential stream is up.
    pub up: Option<f64>,
    /// Streams.
    pub streams: usize,
    /// Packet streams at receivers on networks.
    pub deliveries: usize,
    /// Devices.
    pub devices: usize,
}

/// Picks the figures out of the proof.
pub fn figures(plan: &Plan, report: &Report) -> Figures {
    let clock_errors = report.clock.iter().flat_map(|line| &line.per_device).filter_map(|follower| follower.worst_error_ns);
    let fullest = report.links.iter().max_by_key(|link| u128::from(link.load_bps) * 1_000_000 / u128::from(link.speed_bps.max(1)));
    Figures {
        worst_delay_ns: report.streams.iter().filter_map(|line| line.delay.as_ref()).map(|delay| delay.worst_ns).max(),
        delay_limit_ns: plan.targets.network_delay.nanoseconds_up(),
        harmful_failures: report.failures.iter().filter(|failure| harm(Some(plan), failure).essential > 0).count(),
        failures: report.failures.len(),
        busiest: fullest.map(|link| (link.load_bps, link.speed_bps)),
        load_limit_ppm: plan.targets.link_load.parts_per_million(),
        worst_clock_ns: clock_errors.max(),
        clock_limit_ns: plan.targets.clock_error.nanoseconds_up(),
        up: report.availability.essential,
        streams: plan.streams.len(),
        deliveries: report.streams.len(),
        devices: plan.devices.len(),
    }
}

/// How much a failure hurts; compares by essential streams first.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Harm {
    /// Silent deliveries of essential streams.
    pub essential: usize,
    /// Silent deliveries.
    pub silent: usize,
    /// Deliveries with one leg left.
    pub one_leg_left: usize,
    /// Longest gap.
    pub gap_ns: u64,
    /// Networks that get another clock leader.
    pub clock_changes: usize,
}

/// Weighs a failure.
pub fn harm(plan: Option<&Plan>, failure: &FailureLine) -> Harm {
    let is_essential = |stream: &str| plan.and_then(|plan| plan.streams.get(stream)).is_some_and(|stream| stream.essential);
    Harm {
        essential: failure.silent.iter().filter(|line| is_essential(&line.stream)).count(),
        silent: failure.silent.len(),
        one_leg_left: failure.one_leg_left.len(),
        gap_ns: failure.gap_ns.values().copied().max().unwrap_or(0),
        clock_changes: failure.clock_changes.len(),
    }
}
