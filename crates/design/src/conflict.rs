//! Why a plan cannot be wired: the smallest set of demands that cannot be met together.
//!
//! Demands are taken out of the plan, many at a time, then one at a time; what can go without making the plan buildable
//! goes for good. What is left is minimal: without any one of it, a wiring is found. "Cannot" means that the design finds
//! none; it is a heuristic.

use crate::draft::{Draft, made_name};
use crate::form::Form;
use crate::{design_trial, lengths};
use loomwright_model::plan::Route;
use loomwright_model::{Id, Length, Medium, Nowhere, Plan, Severity, Share, Survive, Wiring};
use loomwright_proof::prove;

/// One thing that the plan asks for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Demand {
    /// A device has to be there with its streams.
    Device(Id),
    /// A device takes its power from a switch.
    Power(Id),
    /// A place can be reached by its routes only.
    Reach(Id),
    /// There are no more switches than the stock holds.
    Stock,
    /// Ports of each switch stay free.
    SparePorts,
    /// Failures have to be survived.
    Survive,
}

/// Demands that cannot be met together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The demands: none can be left out.
    pub demands: Vec<Demand>,
    /// The same in one sentence.
    pub says: String,
}

/// The smallest conflict that deletion finds; `None` if a wiring is found, or if none is found even without all of these
/// demands. O(demands x one design and proof).
pub fn conflict(plan: &Plan, before: &Wiring) -> Option<Conflict> {
    let all = demands(plan);
    let fails = |kept: &[Demand]| !is_buildable(&without(plan, &all, kept), before);
    if !fails(&all) || fails(&[]) {
        return None;
    }
    let mut kept = all.clone();
    let mut size = kept.len().div_ceil(2);
    loop {
        let count = kept.len();
        let mut at = 0;
        while at < kept.len() {
            let fewer: Vec<Demand> = kept[..at].iter().chain(kept.iter().skip(at + size)).cloned().collect();
            if fails(&fewer) { kept = fewer } else { at += size }
        }
        if size == 1 && kept.len() == count {
            break;
        }
        size = size.div_ceil(2);
    }
    Some(Conflict { says: sentence(plan, &kept), demands: kept })
}

/// The plan with only the demands in `kept`, of those that it has.
pub fn with_only(plan: &Plan, kept: &[Demand]) -> Plan {
    without(plan, &demands(plan), kept)
}

/// Whether the design finds a wiring that nothing stops, a missing clock leader aside.
pub fn is_buildable(plan: &Plan, before: &Wiring) -> bool {
    let designed = design_trial(plan, before, Form::Usual);
    // Taking devices out may take the clock leader out: that is no trouble of the wiring.
    let counts = |code: &str| !["design/no-clock-leader", "clock/no-leader"].contains(&code);
    let stopped = designed.findings.iter().any(|finding| finding.severity == Severity::Stop && counts(finding.code));
    !stopped && prove(plan, &designed.wiring, &Nowhere).findings.iter().all(|finding| finding.severity != "stop" || !counts(&finding.code))
}

fn demands(plan: &Plan) -> Vec<Demand> {
    let powered = |id: &&Id| plan.devices[*id].feeds.is_empty() && plan.gear_of(&plan.devices[*id]).is_some_and(|gear| gear.poe.is_some());
    let mut all: Vec<Demand> = plan.devices.keys().cloned().map(Demand::Device).collect();
    all.extend(plan.devices.keys().filter(powered).cloned().map(Demand::Power));
    if plan.places.len() > 1 {
        all.extend(plan.places.keys().cloned().map(Demand::Reach));
    }
    all.extend(plan.stock.switches.is_some().then_some(Demand::Stock));
    all.extend((plan.targets.spare_ports > Share::from_parts_per_million(0)).then_some(Demand::SparePorts));
    all.extend((plan.targets.survive != Survive::Nothing).then_some(Demand::Survive));
    all
}

fn without(plan: &Plan, all: &[Demand], kept: &[Demand]) -> Plan {
    let mut plan = plan.clone();
    all.iter().filter(|demand| !kept.contains(demand)).for_each(|demand| relax(&mut plan, demand));
    plan
}

fn relax(plan: &mut Plan, demand: &Demand) {
    match demand {
        Demand::Device(id) => {
            plan.devices.shift_remove(id);
            plan.streams.retain(|_, stream| stream.from != *id);
            plan.streams.values_mut().for_each(|stream| stream.to.retain(|to| to != id));
            plan.streams.retain(|_, stream| !stream.to.is_empty());
        }
        Demand::Power(id) => {
            if let Some(device) = plan.devices.get_mut(id) {
                device.feeds = vec![made_name("a-feed-of-its-own")];
            }
        }
        Demand::Reach(place) => {
            let others: Vec<Id> = plan.places.keys().filter(|other| *other != place).cloned().collect();
            for (n, other) in others.into_iter().enumerate() {
                let route = Route {
                    between: [place.clone(), other],
                    length: Length::from_millimetres(1_000),
                    takes: Vec::new(),
                    shares: Vec::new(),
                };
                plan.routes.insert(made_name(&format!("next-door-{place}-{n}")), route);
            }
        }
        Demand::Stock => plan.stock.switches = None,
        Demand::SparePorts => plan.targets.spare_ports = Share::from_parts_per_million(0),
        Demand::Survive => plan.targets.survive = Survive::Nothing,
    }
}

fn sentence(plan: &Plan, kept: &[Demand]) -> String {
    let clauses: Vec<String> = kept.iter().map(|demand| clause(plan, demand)).collect();
    match clauses.as_slice() {
        [one] => format!("This alone cannot be met: {one}."),
        many => format!("These cannot be met together; without any one of them a wiring is found: {}.", many.join("; ")),
    }
}

fn clause(plan: &Plan, demand: &Demand) -> String {
    match demand {
        Demand::Device(id) => format!("{id} at {} with its streams", plan.devices.get(id).map_or("?", |device| device.place.as_str())),
        Demand::Power(id) => format!("{id} takes its power from a switch"),
        Demand::Reach(place) => reach(plan, place),
        Demand::Stock => {
            let stock = plan.stock.switches.iter().flatten().map(|(id, count)| format!("{count} of {id}"));
            let held: Vec<String> = stock.collect();
            format!("the stock holds {}", if held.is_empty() { "no switch".to_owned() } else { held.join(", ") })
        }
        Demand::SparePorts => format!("{} of each switch's ports stay free", plan.targets.spare_ports),
        Demand::Survive => format!("essential streams survive {}", plan.targets.survive),
    }
}

/// How far a place is from the next one, by copper and by fibre.
fn reach(plan: &Plan, place: &Id) -> String {
    let empty = Wiring::default();
    let draft = Draft::new(plan, &empty);
    let Some(at) = draft.place_index(place) else { return format!("{place} is no place of the plan") };
    let near = |medium| {
        let far = draft.ways.distances(medium, at);
        let others = (0..plan.places.len()).filter(|other| *other != at).filter_map(|other| far[other]);
        others.min().map(|way| lengths::cut(plan, medium, way).length)
    };
    let words = |medium: Medium| match near(medium) {
        Some(length) => format!("{length} of {medium} away from the next place"),
        None => format!("reached by no {medium}"),
    };
    format!("{place} is {} and {}", words(Medium::Copper), words(Medium::Fibre))
}
