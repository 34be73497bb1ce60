//! What was seen otherwise than planned: what, where, how sure, what to do.

use super::super::figures::{count, item_link, micro};
use super::super::query::encoded;
use crate::engine::place_name;
use crate::store::View;
use loomwright_linecheck::{Certainty, Comparison, Difference};
use loomwright_model::Item;
use maud::{Markup, html};

/// Sightings of one difference before the rest folds away. Own choice.
const SHOWN: usize = 3;
/// Longest text of what was planned before its rest folds away. **Unit**: octet. Own choice: two lines.
const LONG: usize = 180;

/// All of it: the sentence, differences by place, what nobody looked at.
pub fn all(comparison: &Comparison, view: &View) -> Markup {
    let mut place = None;
    html! {
        p.large { (micro(&comparison.says)) }
        @for one in &comparison.differences {
            @if place.replace(&one.place) != Some(&one.place) { h3.place { @match &one.place { Some(id) => (place_name(&view.good, id)), None => "Anywhere" } } }
            (difference(one))
        }
        (not_seen(comparison))
    }
}

fn difference(one: &Difference) -> Markup {
    let (class, sure) = match one.certainty {
        Certainty::Certain => ("stop", "certain"),
        Certainty::Likely => ("warn", "likely"),
        Certainty::Hint => ("note", "hint"),
    };
    let (first, rest) = one.seen.split_at(one.seen.len().min(SHOWN));
    let sighting = |one: &loomwright_linecheck::Sighting| html! { li { (micro(&one.says)) " " span.at-file { (one.at) } } };
    html! {
        article.finding.difference {
            p.says { span class={ "severity " (class) } { (super::super::figures::mark(class)) (sure) } " " (micro(&one.says)) "." }
            dl.facts {
                @if !one.planned.is_empty() { dt { "Planned" } dd { (planned(&one.planned)) } }
                @if !one.seen.is_empty() { dt { "Seen" } dd { ul { @for one in first { (sighting(one)) } } @if !rest.is_empty() { details { summary { "and " (count(rest.len(), "more sighting", "more sightings")) } ul { @for one in rest { (sighting(one)) } } } } } }
            }
            p.do { (micro(&one.remedy)) }
            @if let Some(caution) = one.caution { p.caution { (caution) } }
            p.where { @for item in &one.items { (link(item)) " " } @if let Some(report) = report(one) { a href=(report) { "What explains it? Trouble" } } a.code href={ "/explain/" (one.code) } { "Why: " (one.code) } }
        }
    }
}

/// What was planned; a long list folds away behind its first part.
fn planned(text: &str) -> Markup {
    match text.split_once("; ").filter(|_| text.len() > LONG) {
        Some((first, rest)) => html! { (micro(first)) details { summary { "and what else is planned there" } (micro(rest)) } },
        None => html! { (micro(text)) },
    }
}

/// Cables lead to their own page, where they are ticked.
fn link(item: &Item) -> Markup {
    match item {
        Item::Cable(id) => html! { a.item href={ "/c/" (encoded(id.as_str())) } { span.kind { "cable" } " " (id) } },
        other => item_link(&other.to_string()),
    }
}

/// The page Trouble with this difference as the first report: a stream that does not come, a cable that is dark.
fn report(one: &Difference) -> Option<String> {
    let what = one.items.iter().find_map(|item| match item {
        Item::Stream(id) => Some(format!("heard:{id}")),
        _ => None,
    });
    let cable = || {
        one.items.iter().find_map(|item| match item {
            Item::Cable(id) => Some(format!("lights:{id}")),
            _ => None,
        })
    };
    let at = one.place.as_ref().map_or_else(String::new, |id| format!("&at={}", encoded(id.as_str())));
    what.or_else(cable).map(|what| format!("/trouble?bad={}{at}", encoded(&what)))
}

fn not_seen(comparison: &Comparison) -> Markup {
    let all = &comparison.not_seen;
    html! {
        @if !all.is_empty() { details.more {
            summary { (count(all.len(), "planned item", "planned items")) " not seen: neither right nor wrong" }
            ul.targets.unseen-items { @for one in all { li { (link(&one.item)) ": " span.calm { (one.says) } } } }
        } }
    }
}
