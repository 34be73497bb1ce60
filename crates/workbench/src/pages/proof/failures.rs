//! Every failure with what it does, most harmful first.

use super::super::Query;
use super::super::figures::{count, item_link, time};
use super::super::part::Part;
use super::super::query::encoded;
use super::streams::net;
use crate::engine::{Harm, harm};
use crate::store::View;
use loomwright_proof::report::{FailureLine, SilentLine};
use maud::{Markup, html};

/// Most rows before the rest has to be asked for. Own choice: a page that still opens at once on a phone.
const MOST_ROWS: usize = 200;

/// Single failures, pairs, chances; or one failure with what to do.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    match query.get("item") {
        Some(item) => vec![super::failure::part(item, query.get("frozen").is_some(), view)],
        None => vec![singles(query, view), pairs(view), super::chances::part(query, view)],
    }
}

fn singles(query: &Query, view: &View) -> Part {
    let mut all: Vec<(Harm, &FailureLine)> =
        view.good.report.failures.iter().map(|failure| (harm(view.good.plan.as_ref(), failure), failure)).collect();
    all.sort_by(|(harm_a, a), (harm_b, b)| harm_b.cmp(harm_a).then_with(|| a.without.cmp(&b.without)));
    let (felt, unfelt): (Vec<_>, Vec<_>) = all.into_iter().partition(|(harm, _)| *harm > Harm::default());
    let silencing = felt.iter().filter(|(harm, _)| harm.silent > 0).count();
    let shown = if query.get("all").is_some() { felt.len() } else { felt.len().min(MOST_ROWS) };
    Part::new(
        "failures",
        html! {
            section #failures {
                p.lead { (count(felt.len() + unfelt.len(), "failure was tried", "failures were tried")) ", one at a time, most harmful first. " (silencing) " silence a stream that could still be heard otherwise; " (felt.len() - silencing) " cost a leg or a short gap; " (unfelt.len()) " change nothing." }
                p.lead { "At once: before the network has found itself again. For good: after it has, until somebody mends it. Counted are deliveries, a stream at one receiver." }
                div.sheet { table.failures {
                    thead { tr { th scope="col" { "Without" } th scope="col" { "Silent at once" } th scope="col" { "Silent for good" } th scope="col" { "Longest gap, and why" } th scope="col" { "One leg left" } th scope="col" { "Clock leader" } } }
                    tbody { @for (harm, failure) in &felt[..shown] { (row(*harm, failure, view)) } }
                } }
                @if shown < felt.len() { p { a href="/proof/failures?all=1" { "Show the other " (felt.len() - shown) } " or take the table from the " a href="/sheets" { "sheets" } "." } }
                @if !unfelt.is_empty() { details { summary { (unfelt.len()) " that nobody would hear" } p.items { @for (_, failure) in &unfelt { (without(failure)) " " } } } }
            }
        },
    )
}

fn row(harm: Harm, failure: &FailureLine, view: &View) -> Markup {
    let at_once = failure.silent.len() + failure.gap_ns.len();
    html! {
        tr class=(if harm.essential > 0 { "stop" } else if harm.silent > 0 { "warn" } else { "" }) {
            th scope="row" { (to_failure(failure)) }
            td data-label="Silent at once" { @if at_once == 0 { span.none { "none" } } @else { (at_once) } }
            td data-label="Silent for good" { (several(&failure.silent, harm.essential)) }
            td data-label="Longest gap, and why" { (gap(failure)) }
            td data-label="One leg left" { (several(&failure.one_leg_left, 0)) }
            td data-label="Clock leader" { @for change in &failure.clock_changes { (leader_change(change, view)) } }
        }
    }
}

/// The longest gap and what it is made of.
pub fn gap(failure: &FailureLine) -> Markup {
    html! {
        @match (&failure.longest_gap, failure.gap_ns.values().max()) {
            (Some(parts), Some(whole)) => {
                strong { (time(*whole)) } " at most: " (time(parts.tree_ns)) " until the spanning tree has a new way"
                @if parts.members_ns > 0 { ", then " (time(parts.members_ns)) " until switches know the multicast members again" }
            }
            _ => { span.none { "none" } }
        }
    }
}

/// What was taken away, as a link to what to do about it.
fn to_failure(failure: &FailureLine) -> Markup {
    match failure.without.as_slice() {
        [item] => {
            let address = format!("/proof/failures?item={}{}", encoded(item), if failure.frozen { "&frozen=1" } else { "" });
            let (kind, name) = item.split_once(':').unwrap_or(("", item));
            html! { a.item href=(address) { span.kind { (kind) } " " (name) @if failure.frozen { " (frozen)" } } }
        }
        _ => without(failure),
    }
}

/// A change of leader, written `network: old > new`, with the network as its sign.
pub fn leader_change(text: &str, view: &View) -> Markup {
    let (network, change) = text.split_once(": ").unwrap_or(("", text));
    html! { div.leader { @if !network.is_empty() { (net(view, network)) " " } (change.replace(" > ", " \u{2192} ")) } }
}

/// What was taken away, as a link to the drawing that shows it.
pub fn without(failure: &FailureLine) -> Markup {
    let address = format!("/drawing?without={}{}", encoded(&failure.without.join(",")), if failure.frozen { "&frozen=1" } else { "" });
    html! {
        a.item href=(address) {
            @for (n, item) in failure.without.iter().enumerate() {
                @let (kind, name) = item.split_once(':').unwrap_or(("", item));
                @if n > 0 { " and " } span.kind { (kind) } " " (name)
            }
            @if failure.frozen { " (frozen)" }
        }
    }
}

/// How many, and which when opened.
pub fn several(all: &[SilentLine], essential: usize) -> Markup {
    html! {
        @if all.is_empty() { span.none { "none" } } @else {
            details {
                summary { (all.len()) @if essential > 0 { ", " strong { (essential) " essential" } } }
                ul { @for line in all { li { (item_link(&format!("stream:{}", line.stream))) " at " (line.to) } } }
            }
        }
    }
}

fn pairs(view: &View) -> Part {
    let pairs = &view.good.report.pairs;
    Part::new(
        "pairs",
        html! {
            section #pairs {
                h2 { "Two at once" }
                @if pairs.count == 0 { p.calm { "No pair silences an essential stream that neither failure silences alone, or pairs were not asked for." } }
                @else {
                    p { (pairs.count) " pairs silence an essential stream though neither failure does alone. The worst:" }
                    div.sheet { table { thead { tr { th scope="col" { "Without both" } th scope="col" { "Falls silent" } } } tbody { @for pair in &pairs.worst { tr { th scope="row" { (without(pair)) } td { (several(&pair.silent, harm(view.good.plan.as_ref(), pair).essential)) } } } } } }
                }
            }
        },
    )
}
