//! What was heard against what was expected. Pure.
//!
//! Silence is counted in packets that were sent and did not come, never in time that passed: a busy machine sends late, and
//! that is no fault of the network.

use crate::cast::{Cast, Leg};
use crate::report::{Difference, OutageLine, SilentLine, StepLine};
use crate::script::{Expected, Step};
use std::collections::BTreeSet;

/// Fewer lost packets in a row are no outage: what was under way when a cable went. Own choice.
pub const OUTAGE_PACKETS: u32 = 3;

/// Whether a leg was heard at the end of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Audible {
    /// All its packet streams came.
    Heard,
    /// None came.
    Silent,
    /// Some did.
    Partly,
}

impl Audible {
    const fn word(self) -> &'static str {
        match self {
            Self::Heard => "heard",
            Self::Silent => "silent",
            Self::Partly => "partly heard",
        }
    }
}

/// Numbers of packets `from..to` that did not come: packet `from` is the first one missing, `to` the first that came again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// First packet missing.
    pub from: u32,
    /// First packet heard again.
    pub to: u32,
}

impl Missing {
    const fn packets(self) -> u32 {
        self.to.saturating_sub(self.from)
    }
}

/// What one listener heard from the moment of the loss.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Hearing {
    /// Whether it hears now.
    pub hears_now: bool,
    /// What did not come, in order; the last may still go on.
    pub missing: Vec<Missing>,
}

/// What all listeners heard.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Observation {
    /// In the order of [`Cast::listeners`].
    pub hearing: Vec<Hearing>,
    /// Milliseconds between two packets of a stream.
    pub period_ms: u64,
    /// Milliseconds that the kernel took until both ends of what was cut knew: they come on top of a predicted gap.
    pub noticed_ms: u64,
}

impl Observation {
    /// Whether a leg was heard.
    pub fn audible(&self, cast: &Cast, leg: u32) -> Audible {
        let all: Vec<bool> = cast.listeners_of(leg).map(|(at, _)| self.hearing[at].hears_now).collect();
        match (all.contains(&true), all.contains(&false)) {
            (true, false) => Audible::Heard,
            (true, true) => Audible::Partly,
            (false, _) => Audible::Silent,
        }
    }

    /// Longest silence of a demand: packets that came over none of `legs`.
    fn longest_silence(&self, cast: &Cast, legs: &[u32]) -> u64 {
        let mut common: Option<Vec<Missing>> = None;
        for leg in legs {
            let missing = union(cast.listeners_of(*leg).flat_map(|(at, _)| self.hearing[at].missing.iter().copied()));
            common = Some(match common {
                None => missing,
                Some(before) => intersection(&before, &missing),
            });
        }
        let outages = common.unwrap_or_default().into_iter().map(Missing::packets);
        let longest = outages.filter(|packets| *packets >= OUTAGE_PACKETS).max().unwrap_or_default();
        u64::from(longest) * self.period_ms
    }
}

fn union(all: impl Iterator<Item = Missing>) -> Vec<Missing> {
    let mut all: Vec<Missing> = all.collect();
    all.sort_unstable();
    let mut joined: Vec<Missing> = Vec::new();
    for next in all {
        match joined.last_mut().filter(|last| next.from <= last.to) {
            Some(last) => last.to = last.to.max(next.to),
            None => joined.push(next),
        }
    }
    joined
}

fn intersection(one: &[Missing], two: &[Missing]) -> Vec<Missing> {
    let pairs = one.iter().flat_map(|a| two.iter().map(move |b| Missing { from: a.from.max(b.from), to: a.to.min(b.to) }));
    pairs.filter(|both| both.from < both.to).collect()
}

fn line(leg: &Leg) -> SilentLine {
    SilentLine { stream: leg.stream.to_string(), to: leg.to.to_string(), network: leg.network.to_string() }
}

/// Compares one observation with what was expected of it.
pub fn compare(cast: &Cast, expected: &Expected, seen: &Observation) -> StepLine {
    let mut told = StepLine::default();
    for (at, leg) in (0u32..).zip(&cast.legs) {
        let (heard, audible) = (expected.heard[at as usize], seen.audible(cast, at));
        if audible != Audible::Heard {
            told.silent.push(line(leg));
        }
        let as_expected = if heard { audible == Audible::Heard } else { audible == Audible::Silent };
        if !as_expected {
            let expected = if heard { Audible::Heard } else { Audible::Silent };
            told.differences.push(Difference {
                stream: leg.stream.to_string(),
                to: leg.to.to_string(),
                network: Some(leg.network.to_string()),
                expected: expected.word().to_owned(),
                seen: audible.word().to_owned(),
            });
        }
    }
    outages(cast, expected, seen, &mut told);
    told.agrees = told.differences.is_empty();
    told
}

/// Silences of demands that are heard at the end.
fn outages(cast: &Cast, expected: &Expected, seen: &Observation, told: &mut StepLine) {
    let demands: BTreeSet<u32> = cast.legs.iter().map(|leg| leg.demand).collect();
    for demand in demands {
        let legs: Vec<u32> = (0u32..).zip(&cast.legs).filter(|(_, leg)| leg.demand == demand).map(|(at, _)| at).collect();
        if !legs.iter().any(|leg| seen.audible(cast, *leg) == Audible::Heard) {
            continue;
        }
        let (silence, leg) = (seen.longest_silence(cast, &legs), &cast.legs[legs[0] as usize]);
        let gap = expected.gaps.iter().find(|(at, _)| *at == demand);
        let bound = gap.map(|(_, gap)| gap.whole().picoseconds() / 1_000_000_000 + seen.noticed_ms);
        if silence == 0 && bound.is_none() {
            continue;
        }
        let (stream, to) = (leg.stream.to_string(), leg.to.to_string());
        told.outages.push(OutageLine { stream: stream.clone(), to: to.clone(), silent_ms: silence, at_most_ms: bound });
        let is_expected = expected.heard.iter().zip(&cast.legs).any(|(heard, leg)| *heard && leg.demand == demand);
        if is_expected && silence > bound.unwrap_or_default() {
            let expected = bound.map_or("no silence".to_owned(), |bound| format!("at most {bound} ms of silence"));
            told.differences.push(Difference { stream, to, network: None, expected, seen: format!("{silence} ms of silence") });
        }
    }
}

/// The line of a step: [`compare`] with its names.
pub fn judge(cast: &Cast, step: &Step, seen: &Observation) -> StepLine {
    let mut told = compare(cast, &step.expected, seen);
    told.without = step.loss.item().to_string();
    told.frozen = step.loss.is_frozen();
    told.gone_too = step.gone_too.iter().map(ToString::to_string).collect();
    told
}

#[cfg(test)]
mod tests;
