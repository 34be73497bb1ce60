//! Draw of feeds, and power over Ethernet of switches.

use super::Source;
use crate::cautions;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_model::Power;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Power,
        columns([("Sort", Role::Text), ("Item", Role::Name), ("Draw", Role::Figure), ("Budget", Role::Figure), ("Left", Role::Figure)]),
    );
    table.note =
        "Draw of what the plan gives a figure for. Inrush, audio peaks and everything that is not in the plan come on top.".to_owned();
    table.cautions = vec![cautions::MAINS, cautions::POE];
    table.grouped_by = Some(0);
    table.units.extend([(2, "W"), (3, "W"), (4, "W")]);
    let report = source.scene.report;
    table.rows = report
        .power
        .iter()
        .map(|line| Row::new(vec!["Feeds".into(), line.feed.as_str().into(), watts(line.draw_mw), Cell::default(), Cell::default()]))
        .chain(report.poe.iter().map(|line| {
            let left = line.budget_mw.saturating_sub(line.draw_mw);
            let head: Cell = "Power over Ethernet".into();
            let mut row = Row::new(vec![head, line.switch.as_str().into(), watts(line.draw_mw), watts(line.budget_mw), watts(left)]);
            row.is_strong = line.draw_mw > line.budget_mw;
            row
        }))
        .collect();
    table
}

fn watts(milliwatts: u64) -> Cell {
    Cell { text: Power::from_milliwatts(milliwatts).to_string(), number: Some(milliwatts as f64 / 1_000.0) }
}
