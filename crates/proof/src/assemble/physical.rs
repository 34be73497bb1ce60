//! Feeds, power over Ethernet and lengths of the report.

use crate::analysis::Analysis;
use crate::report::{FeedLine, LengthLine, PoeLine};
use loomwright_model::Power;

/// Draw of every feed.
pub(super) fn power(analysis: &Analysis) -> Vec<FeedLine> {
    analysis.physical.feeds.iter().map(|feed| FeedLine { feed: feed.feed.to_string(), draw_mw: feed.draw.milliwatts() }).collect()
}

/// Power over Ethernet of every switch that gives any.
pub(super) fn poe(analysis: &Analysis) -> Vec<PoeLine> {
    let line = |found: &loomwright_physical::SwitchPoe| PoeLine {
        switch: found.switch.to_string(),
        budget_mw: found.budget.unwrap_or(Power::ZERO).milliwatts(),
        draw_mw: found.draw.milliwatts(),
    };
    analysis.physical.poe.iter().map(line).collect()
}

/// Every cable whose limit is known.
pub(super) fn lengths(analysis: &Analysis) -> Vec<LengthLine> {
    let line = |found: &loomwright_physical::CableCheck| {
        let limit_mm = found.limit?.most.millimetres();
        Some(LengthLine { cable: found.cable.to_string(), length_mm: found.length.millimetres(), limit_mm })
    };
    analysis.physical.cables.iter().filter_map(line).collect()
}
