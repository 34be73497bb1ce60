//! What the proof says about a wiring, in the few figures that designs are compared by.

use loomwright_model::{Plan, Time, Wiring};
use loomwright_proof::Report;
use loomwright_proof::report::FailureLine;

/// The figures of one design.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figures {
    /// Whether nothing stops the show, by the plan as it stands.
    pub is_ready: bool,
    /// What stops it, a sentence each.
    pub stops: Vec<String>,
    /// Targets that are missed.
    pub warnings: usize,
    /// The longest that any packet may take; `None` if one has no bound.
    pub worst_delay: Option<Time>,
    /// The largest clock error of any follower; `None` if one has no bound.
    pub clock_error: Option<Time>,
    /// What the worst single failure does.
    pub worst_failure: Fall,
    /// Pairs of failures that silence an essential stream though neither does alone.
    pub pairs: u64,
    /// Chance that every essential stream stays up, and what it is the chance of.
    pub availability: Option<f64>,
    /// Switch ports without a cable, of all switch ports.
    pub free_ports: [usize; 2],
    /// Streams that reach every receiver, of all streams.
    pub arriving: [usize; 2],
}

/// What one failure silences.
#[derive(Debug, Clone, PartialEq, Eq, Default, PartialOrd, Ord)]
pub struct Fall {
    /// Essential streams at receivers that hear nothing any more.
    pub essential: usize,
    /// All streams at receivers that hear nothing any more.
    pub silent: usize,
    /// What was taken away; empty if no failure silences anything.
    pub without: Vec<String>,
    /// A switch that froze.
    pub is_frozen: bool,
}

/// Reads the figures out of a proof.
pub fn figures(plan: &Plan, wiring: &Wiring, report: &Report) -> Figures {
    let stops = report.findings.iter().filter(|finding| finding.severity == "stop");
    let delays: Option<Vec<u64>> = report.streams.iter().map(|stream| stream.delay.as_ref().map(|delay| delay.worst_ns)).collect();
    let errors: Option<Vec<u64>> =
        report.clock.iter().flat_map(|clock| &clock.per_device).map(|follower| follower.worst_error_ns).collect();
    let most = |all: Option<Vec<u64>>| all.map(|all| Time::from_nanoseconds(all.into_iter().max().unwrap_or(0)));
    Figures {
        is_ready: report.ready,
        stops: stops.map(|finding| finding.says.clone()).collect(),
        warnings: report.findings.iter().filter(|finding| finding.severity == "warn").count(),
        worst_delay: most(delays),
        clock_error: most(errors),
        worst_failure: report
            .failures
            .iter()
            .map(|line| fall(plan, line))
            .max_by_key(|fall| (fall.essential, fall.silent))
            .unwrap_or_default(),
        pairs: report.pairs.count,
        availability: report.availability.essential,
        free_ports: ports(plan, wiring),
        arriving: arriving(plan, report),
    }
}

fn fall(plan: &Plan, line: &FailureLine) -> Fall {
    let essential = |stream: &str| plan.streams.get(stream).is_some_and(|stream| stream.essential);
    let silent = line.silent.len();
    Fall {
        essential: line.silent.iter().filter(|silent| essential(&silent.stream)).count(),
        silent,
        without: if silent == 0 { Vec::new() } else { line.without.clone() },
        is_frozen: line.frozen && silent > 0,
    }
}

/// Free ports and all ports. A pluggable port counts as a port.
fn ports(plan: &Plan, wiring: &Wiring) -> [usize; 2] {
    let all: usize =
        wiring.switches.values().filter_map(|switch| plan.gear.get(&switch.gear)).map(|gear| gear.switch_port_count() as usize).sum();
    let used = wiring.cables.values().flat_map(|cable| &cable.ends).filter(|end| wiring.switches.contains_key(&end.item)).count();
    [all.saturating_sub(used), all]
}

fn arriving(plan: &Plan, report: &Report) -> [usize; 2] {
    let hears = |id: &str, to: &str| report.streams.iter().any(|line| line.id == id && line.to == to);
    let whole = plan.streams.iter().filter(|(id, stream)| stream.to.iter().all(|to| hears(id.as_str(), to.as_str()))).count();
    [whole, plan.streams.len()]
}
