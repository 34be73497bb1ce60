//! What falls silent when something fails.

use super::Source;
use crate::cautions;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_drawing::scene::microseconds;
use loomwright_proof::report::{FailureLine, SilentLine};
use std::collections::BTreeMap;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Failures,
        columns([
            ("When this fails", Role::Name),
            ("Essential silent", Role::Figure),
            ("All silent", Role::Figure),
            ("What falls silent", Role::Text),
            ("On one leg", Role::Figure),
            ("Longest gap", Role::Figure),
            ("Clock", Role::Text),
        ]),
    );
    let report = source.scene.report;
    let mut told: Vec<&FailureLine> = report.failures.iter().filter(|line| has_effect(line)).collect();
    // Stable: failures with equal harm stay in the report's order.
    told.sort_by_key(|line| std::cmp::Reverse((essential(source, line), line.silent.len(), line.one_leg_left.len())));
    let quiet = report.failures.len() - told.len();
    table.note = match (report.failures.is_empty(), source.scene.plan.streams.is_empty()) {
        (true, false) => "Not computed yet.".to_owned(),
        _ => format!(
            "Every single failure was tried: {} have an effect, {quiet} have none. Most harmful first. Figures count streams and receivers; a stream without receivers named is silent at all of them. A stream whose own sender or receiver fails is not listed.",
            told.len()
        ),
    };
    table.cautions = vec![cautions::SOUND];
    table.units.insert(5, "ms");
    if source.scene.plan.streams.values().any(|stream| stream.life_safety) {
        table.cautions.push(cautions::LIFE_SAFETY);
    }
    table.rows = told.into_iter().map(|line| row(source, line)).collect();
    table
}

fn has_effect(line: &FailureLine) -> bool {
    !(line.silent.is_empty() && line.one_leg_left.is_empty() && line.gap_ns.is_empty() && line.clock_changes.is_empty())
}

/// How many essential streams fall silent, counted at each receiver.
fn essential(source: &Source<'_>, line: &FailureLine) -> usize {
    let is_essential = |silent: &&SilentLine| source.scene.plan.streams.get(silent.stream.as_str()).is_some_and(|stream| stream.essential);
    line.silent.iter().filter(is_essential).count()
}

fn row(source: &Source<'_>, line: &FailureLine) -> Row {
    let names: Vec<String> = line.without.iter().map(|item| item.replacen(':', " ", 1)).collect();
    let frozen = if line.frozen { " (frozen: links up, nothing forwarded)" } else { "" };
    let gap = line.gap_ns.values().max().copied();
    let mut row = Row::new(vec![
        format!("{}{frozen}", names.join(" and ")).into(),
        Cell::count(essential(source, line) as u64),
        Cell::count(line.silent.len() as u64),
        by_stream(source, &line.silent).into(),
        Cell::count(line.one_leg_left.len() as u64),
        gap.map_or_else(Cell::default, |gap| Cell { text: gap_text(gap), number: Some(gap as f64 / 1e6) }),
        line.clock_changes.join("; ").into(),
    ]);
    row.is_strong = !line.silent.is_empty();
    row
}

/// A gap in the unit people think in.
fn gap_text(nanoseconds: u64) -> String {
    match nanoseconds {
        0..1_000_000 => microseconds(nanoseconds),
        1_000_000..1_000_000_000 => format!("{} ms", nanoseconds.div_ceil(1_000_000)),
        _ => format!("{:.1} s", nanoseconds.div_ceil(100_000_000) as f64 / 10.0),
    }
}

/// `main-out; talkback at desk`: receivers are named where only some of them hear nothing.
fn by_stream(source: &Source<'_>, lines: &[SilentLine]) -> String {
    streams_of(source, lines.iter().map(|line| (line.stream.as_str(), line.to.as_str())))
        .into_iter()
        .map(|(_, says)| says)
        .collect::<Vec<_>>()
        .join("; ")
}

/// Streams in the order of their names, each with its receivers where only some of them are meant.
pub(crate) fn streams_of<'s>(source: &Source<'_>, pairs: impl Iterator<Item = (&'s str, &'s str)>) -> Vec<(&'s str, String)> {
    let mut streams: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (stream, to) in pairs {
        streams.entry(stream).or_default().push(to);
    }
    let all_of = |stream: &str| source.scene.plan.streams.get(stream).map_or(usize::MAX, |known| known.to.len());
    let part = |(stream, to): (&'s str, Vec<&str>)| {
        let says = if to.len() >= all_of(stream) { stream.to_owned() } else { format!("{stream} at {}", to.join(", ")) };
        (stream, says)
    };
    streams.into_iter().map(part).collect()
}
