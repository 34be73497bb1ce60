//! What the design would decide, and why.

use super::Proved;
use super::compared::wired;
use crate::store::Made;
use loomwright_design::Designed;
use loomwright_model::{Finding, Plan, Wiring};
use loomwright_proof::report::FindingLine;
use std::collections::BTreeSet;

/// One decision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// What it concerns.
    pub item: String,
    /// What was decided.
    pub says: String,
    /// Why.
    pub because: String,
}

/// A design that was not taken over yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Whether the wiring already is as the design has it.
    pub is_as_wired: bool,
    /// Cables and switches that differ from the wiring now.
    pub differences: Vec<String>,
    /// What could not be met.
    pub findings: Vec<FindingLine>,
    /// Every decision in order.
    pub decisions: Vec<Reason>,
}

/// Designs without taking over.
pub fn proposal(plan: &Plan, wiring: &Wiring, afresh: bool) -> Proposal {
    let designed = designed(plan, wiring, afresh);
    let new = &designed.wiring;
    Proposal {
        is_as_wired: new == wiring,
        differences: differences(wiring, new),
        findings: designed.findings.iter().map(line_of).collect(),
        decisions: designed
            .decisions
            .iter()
            .map(|decision| Reason { item: decision.item.to_string(), says: decision.says.clone(), because: decision.because.clone() })
            .collect(),
    }
}

fn differences(old: &Wiring, new: &Wiring) -> Vec<String> {
    let switches = old.switches.keys().chain(new.switches.keys()).filter(|id| old.switches.get(*id) != new.switches.get(*id));
    let cables = old.cables.keys().chain(new.cables.keys()).filter(|id| old.cables.get(*id) != new.cables.get(*id));
    let all = switches.map(|id| format!("switch:{id}")).chain(cables.map(|id| format!("cable:{id}")));
    all.collect::<BTreeSet<_>>().into_iter().collect()
}

fn line_of(finding: &Finding) -> FindingLine {
    FindingLine {
        code: finding.code.to_owned(),
        severity: finding.severity.to_string(),
        items: finding.items.iter().map(ToString::to_string).collect(),
        says: finding.says.clone(),
        value: finding.value.clone(),
        limit: finding.limit.clone(),
        source: finding.source.clone(),
        remedy: finding.remedy.clone(),
        at: None,
    }
}

/// Designs and gives the texts with the new wiring: around what is plugged in, or `afresh` around what is held.
///
/// **Errors**: why it cannot be done, in words.
pub fn design(now: &Proved, afresh: bool) -> Result<Made, String> {
    let Some(plan) = &now.plan else { return Err("The plan file has errors. Repair them first; nothing was designed.".to_owned()) };
    wired(now, &designed(plan, &now.wiring, afresh).wiring)
}

fn designed(plan: &Plan, wiring: &Wiring, afresh: bool) -> Designed {
    if afresh { loomwright_design::design(plan, wiring) } else { loomwright_design::redesign(plan, wiring).designed }
}
