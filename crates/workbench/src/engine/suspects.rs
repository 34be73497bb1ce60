//! Fault finding: what was reported, who explains it, and what to test next.

use super::Proved;
use loomwright_linecheck::{Answer, InquiryLines, Trouble};
use loomwright_model::Id;

/// Tests that are offered. Own choice: the first is what to do, the others are there if it cannot be done.
const TESTS: usize = 5;

/// An inquiry with what of the report was not understood.
#[derive(Debug, Clone, Default)]
pub struct Hunt {
    /// Suspects and tests.
    pub lines: InquiryLines,
    /// Names that lead nowhere, each with the reason.
    pub refused: Vec<String>,
    /// Everything that can be reported: value and words.
    pub reports: Vec<(String, String)>,
}

/// The inquiry for good and bad answers, written as `heard:main@amp`, `lights:A-001`, `power:sw-a`, `sound:A-001`,
/// by somebody who stands at `at`.
pub fn hunt(proved: &Proved, [good, bad]: [&[String]; 2], at: Option<&str>) -> Hunt {
    let (Some(plan), Some(analysis)) = (&proved.plan, &proved.analysis) else { return Hunt::default() };
    let trouble = Trouble::new((plan, &proved.wiring), &analysis.fabric, (&analysis.survival, &analysis.singles));
    let mut hunt = Hunt { reports: reports(proved, &trouble), ..Hunt::default() };
    let mut answers = Vec::new();
    for (names, is_good) in [(good, true), (bad, false)] {
        for name in names {
            match trouble.asks(name) {
                Ok(asks) => answers.extend(asks.into_iter().map(|ask| Answer { ask, is_good })),
                Err(error) => hunt.refused.push(error.to_string()),
            }
        }
    }
    let at = at.and_then(|at| Id::new(at).ok());
    hunt.lines = trouble.lines(&trouble.inquire(&answers), TESTS, at.as_ref());
    hunt
}

/// Everything that can be reported, streams first.
fn reports(proved: &Proved, trouble: &Trouble) -> Vec<(String, String)> {
    let wiring = &proved.wiring;
    let demands = trouble.demands().iter().map(|demand| {
        let name = format!("{}@{}", demand.stream, demand.to);
        (format!("heard:{name}"), format!("{} at {}", demand.stream, demand.to))
    });
    let cables = wiring.cables.keys().map(|id| (format!("lights:{id}"), format!("link lights of cable {id}")));
    let devices = proved.plan.iter().flat_map(|plan| plan.devices.keys());
    let power = devices.chain(wiring.switches.keys()).map(|id| (format!("power:{id}"), format!("power of {id}")));
    demands.chain(cables).chain(power).collect()
}
