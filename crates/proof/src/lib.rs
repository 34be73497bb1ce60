//! Runs every analysis, merges their findings and says the verdict.
//!
//! [`Analysis`] holds what the engines make of a plan and its wiring; [`findings`] holds one file per
//! kind of trouble; [`prove`] puts both into a [`Report`].

pub mod advice;
pub mod analysis;
mod assemble;
pub mod beside;
pub mod clock;
pub mod cuts;
pub mod diff;
pub mod findings;
pub mod later;
pub mod layout;
pub mod listening;
pub mod lookup;
pub mod memory;
mod name;
pub mod report;
pub mod rule;
#[cfg(test)]
mod trial;
mod verdict;
pub mod whatif;
mod wording;

pub use advice::{Advice, Emergency};
pub use analysis::Analysis;
pub use assemble::{brief_report, report as report_of, report_beside};
pub use beside::Beside;
pub use cuts::{Cuts, cuts_of};
pub use findings::explain;
pub use later::{DelayChange, DelaysAfter, whatif_delays};
pub use lookup::{NoSuchItem, resolve_item};
pub use report::Report;
pub use rule::Explanation;
pub use whatif::{whatif, whatif_losses};

pub use loomwright_survival::{Effect, Loss};

use loomwright_model::{Finding, Locate, Plan, Wiring};

/// Every finding of an analysis, most harmful first, then by code, then by item.
pub fn findings_of(analysis: &Analysis) -> Vec<Finding> {
    let mut findings: Vec<Finding> = findings::all().iter().flat_map(|rule| (rule.check)(analysis)).collect();
    findings.sort_by(|x, y| (x.severity, x.code, &x.items, &x.says).cmp(&(y.severity, y.code, &y.items, &y.says)));
    findings
}

/// Proves `wiring` against `plan`. Never fails: trouble is a finding.
pub fn prove(plan: &Plan, wiring: &Wiring, places: &dyn Locate) -> Report {
    prove_beside((plan, wiring), places, beside::in_turn)
}

/// The same, with work that has nothing in common done as `beside` does it; the report does not depend on it.
pub fn prove_beside((plan, wiring): (&Plan, &Wiring), places: &dyn Locate, beside: Beside) -> Report {
    report_beside(&Analysis::new_beside(plan, wiring, beside), places, beside)
}

/// The same with single failures only counted: who falls silent after each is found and not listed by name.
pub fn prove_briefly((plan, wiring): (&Plan, &Wiring), places: &dyn Locate, beside: Beside) -> Report {
    brief_report(&Analysis::new_beside(plan, wiring, beside), places, beside)
}
