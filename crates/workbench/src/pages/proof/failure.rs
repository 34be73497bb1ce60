//! One failure: what falls silent at once and for good, how long the gap is and why, and what to do.

use super::super::figures::{count, drawing_of, item_link};
use super::super::part::Part;
use super::failures::{gap, leader_change, several};
use crate::engine::{Orders, harm};
use crate::store::View;
use loomwright_model::Item;
use loomwright_proof::report::{FailureLine, SilentLine};
use maud::{Markup, html};

/// The part; says so where there is no such thing.
pub fn part(text: &str, is_frozen: bool, view: &View) -> Part {
    let known = |line: &&FailureLine| line.without == [text] && line.frozen == is_frozen;
    let line = view.good.report.failures.iter().find(known);
    let item = text.parse::<Item>().ok();
    Part::new(
        "failures",
        html! {
            section #failures {
                p { a href="/proof/failures" { "All failures" } }
                @match (line, item) {
                    (Some(line), Some(item)) => (one(line, &item, view)),
                    _ => { h2 { "Nothing of that name can fail" } p.calm { "The plan has no " (text) " any more, or never had." } }
                }
            }
        },
    )
}

fn one(line: &FailureLine, item: &Item, view: &View) -> Markup {
    let harm = harm(view.good.plan.as_ref(), line);
    let back: Vec<SilentLine> = line
        .gap_ns
        .keys()
        .filter_map(|key| key.split_once('>'))
        .map(|(stream, to)| SilentLine { stream: stream.into(), to: to.into() })
        .collect();
    let grave = if harm.essential > 0 { format!(", {} essential", harm.essential) } else { String::new() };
    html! {
        h2 { "When " (item.kind()) " " (item.name()) @if line.frozen { " freezes" } @else { " fails" } }
        dl.facts {
            dt { "Silent at once" } dd { strong { (count(line.silent.len() + back.len(), "delivery", "deliveries")) } }
            dt { "Silent for good" } dd { strong { (count(line.silent.len(), "delivery", "deliveries")) (grave) } ", after the network has found itself again" }
            dt { "Longest gap" } dd { (gap(line)) }
            dt { "Clock leader" } dd { @if line.clock_changes.is_empty() { "stays" } @for change in &line.clock_changes { (leader_change(change, view)) } }
            @if !line.gone_too.is_empty() { dt { "Goes with it" } dd { @for gone in &line.gone_too { (item_link(gone)) " " } } }
        }
        @if let Some(orders) = view.good.orders(item) { (what_to_do(&orders)) }
        @if let Some(address) = drawing_of(&item.to_string()) { p { a href={ (address) @if line.frozen { "&frozen=1" } } { "See it in the drawing" } } }
        h3 { "Silent for good" } (several(&line.silent, harm.essential))
        h3 { "Silent, then heard again" } (several(&back, 0))
        h3 { "One leg left" } (several(&line.one_leg_left, 0))
    }
}

/// The orders, numbered.
pub fn what_to_do(orders: &Orders) -> Markup {
    html! {
        section.orders aria-labelledby="orders" {
            h3 #orders { "What to do" }
            ol { @for step in &orders.steps { li { (step) } } }
            @if orders.back > 0 { p.calm { "Proved with the plugs moved in memory: " (count(orders.back, "delivery is", "deliveries are")) " heard again" @if orders.waiting > 0 { "; " (orders.waiting) " wait for the spare" } "." } }
        }
    }
}
