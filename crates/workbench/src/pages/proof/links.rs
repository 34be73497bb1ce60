//! Every cable in every direction, fullest first.

use super::super::figures::{item_link, percent, rate};
use super::super::part::Part;
use super::super::verdict::meter;
use crate::store::View;
use loomwright_proof::report::LinkLine;
use maud::{Markup, html};

/// The table.
pub fn part(view: &View) -> Part {
    let mut links: Vec<&LinkLine> = view.good.report.links.iter().collect();
    links.sort_by_key(|link| (std::cmp::Reverse(u128::from(link.load_bps) * 1_000_000 / u128::from(link.speed_bps.max(1))), &link.cable));
    let share = view.good.plan.as_ref().map(|plan| plan.targets.link_load);
    Part::new(
        "links",
        html! {
            section #links {
                @if let Some(share) = share { p.lead { "Streams may use " (share) " of a link. The bar is full at that share." } }
                div.sheet { table {
                    thead { tr { th scope="col" { "Cable" } th scope="col" { "From" } th scope="col" { "To" } th.figure scope="col" { "Load" } th.figure scope="col" { "Of" } th.figure scope="col" { "Used" } th scope="col" { "" } th.figure scope="col" { "Streams" } th.figure scope="col" { "Unwanted" } } }
                    tbody { @for link in links { (row(link, share.map_or(link.speed_bps, |share| share.of(link.speed_bps)))) } }
                } }
            }
        },
    )
}

fn row(link: &LinkLine, planned: u64) -> Markup {
    html! {
        tr {
            th scope="row" { (item_link(&format!("cable:{}", link.cable))) }
            td { (item_link(&link.from)) }
            td { (item_link(&link.to)) }
            td.figure { (rate(link.load_bps)) }
            td.figure { (rate(link.speed_bps)) }
            td.figure.late[link.load_bps > planned] { (percent(link.load_bps, link.speed_bps)) }
            td.bar { (meter(link.load_bps, planned)) }
            td.figure { (link.streams) }
            td.figure { @if link.unwanted_bps > 0 { (rate(link.unwanted_bps)) } @else { "none" } }
        }
    }
}
