//! Planned against heard, while somebody listens: streams, clock leaders, queriers.

use super::super::figures::{count, item_link};
use super::super::part::Part;
use super::super::proof::streams::net;
use super::super::query::encoded;
use crate::engine::heard_of;
use crate::seen::Source;
use crate::store::View;
use loomwright_linecheck::{Heard, LeaderHeard, QuerierHeard, StreamHeard};
use maud::{Markup, html};

/// Heard streams in the table of one who listens; the rest is counted. Own choice: those with loss come first.
const SHOWN: usize = 60;
/// So many that are not heard stand open. Own choice: what a screen holds.
const FEW: usize = 12;
/// Most that are not heard by name. Own choice.
const MOST: usize = 300;

/// One part for everything that listens at this moment; with nobody listening it says how to.
pub fn part(view: &View) -> Part {
    let all: Vec<(&Source, Heard)> = view
        .seen
        .sources
        .iter()
        .filter(|source| source.is_live)
        .filter_map(|source| Some((source, heard_of(&view.good, source)?)))
        .collect();
    Part::new(
        "heard-live",
        html! {
            section #heard-live {
                @if all.is_empty() { details.more { summary { "Hear it live" }
                    p { "In a terminal, on a computer that is plugged into the network: " code { "loomwright listen " (view.file) " --on eth0 --pages" } }
                    p.calm { "It serves these pages, with planned against heard here, second by second. It sends nothing unless asked to; " code { "--join all" } " asks switches for all planned streams. " code { "loomwright listen --help" } " says more." } } }
                @for (source, heard) in &all { (listener(source, heard, view)) }
            }
        },
    )
}

fn listener(source: &Source, heard: &Heard, view: &View) -> Markup {
    let came = heard.streams.iter().filter(|one| one.packets > 0).count();
    let lost = heard.streams.iter().map(|one| one.lost).fold(0, u64::saturating_add);
    let networks: Vec<&str> = source.networks.iter().map(loomwright_model::Id::as_str).collect();
    html! {
        h2 { "Heard live" span.count { " " (source.name) @if !networks.is_empty() { ", network " (networks.join(" and ")) } } }
        dl.figures {
            div { dt { "Planned streams heard" } dd { span.value { (came) " of " (heard.streams.len()) } } }
            div { dt { "Packets lost" } dd { span.value { (lost) } } }
            div { dt { "Boxes heard" } dd { span.value { (heard.boxes.0) " of " (heard.boxes.1) } } }
            div { dt { "Listening for" } dd { span.value { (heard.lasted / 1_000_000_000) " s" } span.note { (heard.frames) " frames" } } }
        }
        dl.facts.wide {
            dt { "Clock leader" } dd { @if heard.leaders.is_empty() { "none heard yet" } @for one in &heard.leaders { p { (leader(one)) } } }
            dt { "Querier" } dd { @if heard.queriers.is_empty() { "none heard yet; they ask every 125 s or so" } @for one in &heard.queriers { p { (querier(one)) } } }
            @if !heard.unplanned.is_empty() { dt { "Not planned" } dd { (count(heard.unplanned.len(), "group carries", "groups carry")) " audio that is not in the plan: " @for group in heard.unplanned.iter().take(6) { code { (group) } " " } } }
        }
        (streams(&heard.streams, view))
        p.calm { "A switch that snoops sends here only what somebody at this port asked for: a stream that is not heard is not missing. Ask with " code { "--join" } "." }
    }
}

/// Those heard in a table, the ones with loss first; those not heard by name alone.
fn streams(all: &[StreamHeard], view: &View) -> Markup {
    let (mut came, silent): (Vec<&StreamHeard>, Vec<&StreamHeard>) = all.iter().partition(|one| one.packets > 0);
    came.sort_by_key(|one| one.lost == 0);
    let (shown, rest) = came.split_at(came.len().min(SHOWN));
    html! {
        @if !came.is_empty() { div.sheet { table {
            caption.unseen { "Planned streams that are heard" }
            thead { tr { th scope="col" { "Stream" } th.figure scope="col" { "Lost" } th.figure scope="col" { "Packets" } th scope="col" { "Net" } th scope="col" { "Group" } } }
            tbody { @for one in shown { (row(one, view)) } }
        } } }
        @if !rest.is_empty() { p.calm { "and " (rest.len()) " more without loss" } }
        @if !silent.is_empty() { details.more open[silent.len() <= FEW] { summary { (count(silent.len(), "planned stream", "planned streams")) " not heard yet" }
            ul.targets { @for one in silent.iter().take(MOST) { li { (item_link(&format!("stream:{}", one.stream))) " " (net(view, one.network.as_str())) " " code { (one.group) } } } }
            @if silent.len() > MOST { p.calm { "and " (silent.len() - MOST) " more" } } } }
    }
}

fn row(one: &StreamHeard, view: &View) -> Markup {
    html! {
        tr {
            th scope="row" { a.item href={ "/proof/streams?stream=" (encoded(one.stream.as_str())) } { (one.stream) } }
            td.figure { @if one.lost > 0 { strong { (one.lost) } } @else { "0" } }
            td.figure { (one.packets) }
            td { (net(view, one.network.as_str())) }
            td { code { (one.group) } }
        }
    }
}

fn leader(one: &LeaderHeard) -> String {
    format!("{} in domain {}{}", one.who, one.domain, planned(one.is_planned))
}

fn querier(one: &QuerierHeard) -> String {
    let who = one.who.as_ref().map_or_else(|| one.address.to_string(), |id| format!("{id} ({})", one.address));
    format!("{who}{}", planned(one.is_planned))
}

const fn planned(is_planned: Option<bool>) -> &'static str {
    match is_planned {
        Some(true) => ", as planned",
        Some(false) => ": not planned",
        None => "",
    }
}
