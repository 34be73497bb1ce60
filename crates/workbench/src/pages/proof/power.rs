//! Feeds, power over Ethernet, and lengths against their limits.

use super::super::figures::{item_link, length, percent, power};
use super::super::part::Part;
use super::super::verdict::meter;
use loomwright_proof::Report;
use maud::{Markup, html};

/// Three tables.
pub fn part(report: &Report) -> Part {
    Part::new("power", html! { section #power { (feeds(report)) (poe(report)) (lengths(report)) } })
}

fn feeds(report: &Report) -> Markup {
    html! {
        h2 { "Feeds" }
        p { "What hangs on each feed by the gear's own figures. Supply, protection and earthing belong to a licensed electrician under the local code." }
        div.sheet { table {
            thead { tr { th scope="col" { "Feed" } th.figure scope="col" { "Draw" } } }
            tbody { @for feed in &report.power { tr { th scope="row" { (item_link(&format!("feed:{}", feed.feed))) } td.figure { (power(feed.draw_mw)) } } } }
        } }
    }
}

fn poe(report: &Report) -> Markup {
    html! {
        @if !report.poe.is_empty() {
            h2 { "Power over Ethernet" }
            div.sheet { table {
                thead { tr { th scope="col" { "Switch" } th.figure scope="col" { "Asked" } th.figure scope="col" { "Budget" } th scope="col" { "" } } }
                tbody { @for line in &report.poe { tr { th scope="row" { (item_link(&format!("switch:{}", line.switch))) } td.figure.late[line.draw_mw > line.budget_mw] { (power(line.draw_mw)) } td.figure { (power(line.budget_mw)) } td.bar { (meter(line.draw_mw, line.budget_mw)) } } } }
            } }
        }
    }
}

fn lengths(report: &Report) -> Markup {
    let mut lines: Vec<_> = report.lengths.iter().collect();
    lines.sort_by_key(|line| (std::cmp::Reverse(u128::from(line.length_mm) * 1000 / u128::from(line.limit_mm.max(1))), &line.cable));
    html! {
        h2 { "Lengths" }
        div.sheet { table {
            thead { tr { th scope="col" { "Cable" } th.figure scope="col" { "Length" } th.figure scope="col" { "Limit" } th.figure scope="col" { "Used" } th scope="col" { "" } } }
            tbody { @for line in lines { tr { th scope="row" { (item_link(&format!("cable:{}", line.cable))) } td.figure.late[line.length_mm > line.limit_mm] { (length(line.length_mm)) } td.figure { (length(line.limit_mm)) } td.figure { (percent(line.length_mm, line.limit_mm)) } td.bar { (meter(line.length_mm, line.limit_mm)) } } } }
        } }
    }
}
