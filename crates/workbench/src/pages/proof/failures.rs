//! Every failure with what it does, most harmful first.

use super::super::figures::{count, item_link, time};
use super::super::part::Part;
use super::super::query::encoded;
use super::streams::net;
use crate::engine::{Harm, harm};
use crate::store::View;
use loomwright_proof::report::{FailureLine, SilentLine};
use maud::{Markup, html};

/// Single failures, pairs, spares.
pub fn parts(view: &View) -> Vec<Part> {
    vec![singles(view), pairs(view), spares(view)]
}

fn singles(view: &View) -> Part {
    let mut all: Vec<(Harm, &FailureLine)> =
        view.good.report.failures.iter().map(|failure| (harm(view.good.plan.as_ref(), failure), failure)).collect();
    all.sort_by(|(harm_a, a), (harm_b, b)| harm_b.cmp(harm_a).then_with(|| a.without.cmp(&b.without)));
    let (felt, unfelt): (Vec<_>, Vec<_>) = all.into_iter().partition(|(harm, _)| *harm > Harm::default());
    let silencing = felt.iter().filter(|(harm, _)| harm.silent > 0).count();
    Part::new(
        "failures",
        html! {
            section #failures {
                p.lead { (count(felt.len() + unfelt.len(), "failure was tried", "failures were tried")) ", one at a time. " (silencing) " silence a stream that could still be heard otherwise; " (felt.len() - silencing) " cost a leg or a short gap; " (unfelt.len()) " change nothing." }
                div.sheet { table.failures {
                    thead { tr { th scope="col" { "Without" } th scope="col" { "Falls silent" } th scope="col" { "One leg left" } th.figure scope="col" { "Longest gap" } th scope="col" { "Clock leader" } } }
                    tbody { @for (harm, failure) in &felt { (row(*harm, failure, view)) } }
                } }
                @if !unfelt.is_empty() { details { summary { (unfelt.len()) " that nobody would hear" } p.items { @for (_, failure) in &unfelt { (without(failure)) " " } } } }
            }
        },
    )
}

fn row(harm: Harm, failure: &FailureLine, view: &View) -> Markup {
    html! {
        tr class=(if harm.essential > 0 { "stop" } else if harm.silent > 0 { "warn" } else { "" }) {
            th scope="row" { (without(failure)) }
            td data-label="Falls silent" { (several(&failure.silent, harm.essential)) }
            td data-label="One leg left" { (several(&failure.one_leg_left, 0)) }
            td.figure data-label="Longest gap" { @if let Some(gap) = failure.gap_ns.values().max().filter(|gap| **gap > 0) { (time(*gap)) } @else { "none" } }
            td data-label="Clock leader" { @for change in &failure.clock_changes { (leader_change(change, view)) } }
        }
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

fn several(all: &[SilentLine], essential: usize) -> Markup {
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

fn spares(view: &View) -> Part {
    let availability = &view.good.report.availability;
    Part::new(
        "spares",
        html! {
            section #spares {
                @if let Some(up) = availability.essential {
                    h2 { "How likely it stays up" }
                    p { strong { (super::super::verdict::probability(up)) } " is the chance that every essential stream stays up: " (availability.of) "." }
                }
                @if !availability.spares.is_empty() {
                    h3 { "Which spare buys most" }
                    ol { @for spare in &availability.spares { li { (item_link(&format!("gear:{}", spare.gear))) ": " (format!("{:.4}", spare.gain * 100.0)) " percentage points" } } }
                }
            }
        },
    )
}
