//! Every stream: how late it can be at each receiver on each network, and where each microsecond goes.

use super::super::Query;
use super::super::figures::{count, item_link, rate, time};
use super::super::part::Part;
use super::super::query::encoded;
use super::strip::{PARTS, legend, parts_of, strip};
use crate::engine::net_class;
use crate::store::View;
use loomwright_proof::report::{DelayLine, StreamLine};
use maud::{Markup, html};
use std::collections::BTreeMap;

/// All streams, or one with its derivation.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    match query.get("stream") {
        Some(id) => vec![derivation(id, view)],
        None => vec![overview(view)],
    }
}

/// The latest packet stream of each stream, receiver and network.
type Latest<'a> = BTreeMap<(&'a str, &'a str), BTreeMap<&'a str, &'a StreamLine>>;

fn latest<'a>(lines: &'a [StreamLine]) -> Latest<'a> {
    let mut all: Latest<'a> = BTreeMap::new();
    for line in lines {
        let worst = |line: &StreamLine| line.delay.as_ref().map_or(u64::MAX, |delay| delay.worst_ns);
        let slot = all.entry((&line.id, &line.to)).or_default().entry(&line.network).or_insert(line);
        if worst(line) > worst(slot) {
            *slot = line;
        }
    }
    all
}

fn limit(view: &View, stream: &str) -> u64 {
    let Some(plan) = &view.good.plan else { return 0 };
    let own = plan.streams.get(stream).and_then(|stream| stream.network_delay);
    own.unwrap_or(plan.targets.network_delay).nanoseconds_up()
}

fn scale_of<'a>(lines: impl Iterator<Item = &'a StreamLine>) -> u64 {
    lines.filter_map(|line| line.delay.as_ref()).map(|delay| delay.worst_ns).max().unwrap_or(1)
}

fn overview(view: &View) -> Part {
    let lines = &view.good.report.streams;
    let scale = scale_of(lines.iter());
    let all = latest(lines);
    Part::new(
        "streams",
        html! {
            section #streams {
                p.lead { (count(all.len(), "delivery", "deliveries")) " of " (count(stream_count(&all), "stream", "streams")) ". Each strip is the worst case, last bit out of the sender to last bit into the receiver; all strips share one scale, " (time(scale)) " wide." }
                (legend())
                div.sheet { table.strips {
                    thead { tr { th scope="col" { "Stream" } th scope="col" { "To" } th scope="col" { "Net" } th.figure scope="col" { "At most" } th.figure scope="col" { "Allowed" } th scope="col" { "Where the time goes" } } }
                    @for legs in all.values() { tbody { @for (n, line) in legs.values().enumerate() { (row(view, line, scale, (n == 0).then_some(legs.len()))) } } }
                } }
            }
        },
    )
}

fn stream_count(all: &Latest<'_>) -> usize {
    let mut names: Vec<&str> = all.keys().map(|(stream, _)| *stream).collect();
    names.dedup();
    names.len()
}

fn row(view: &View, line: &StreamLine, scale: u64, head: Option<usize>) -> Markup {
    let allowed = limit(view, &line.id);
    html! {
        tr {
            @if let Some(legs) = head {
                th scope="row" rowspan=(legs) { a href={ "/proof/streams?stream=" (encoded(&line.id)) } { (line.id) } }
                td.to rowspan=(legs) { (line.to) }
            }
            td { (net(view, &line.network)) }
            @match &line.delay {
                Some(delay) => {
                    td.figure.late[delay.worst_ns > allowed] { (time(delay.worst_ns)) }
                    td.figure { (time(allowed)) }
                    td.wide { (strip(delay, scale, Some(allowed))) }
                }
                None => { td.figure.late { "no bound" } td.figure { (time(allowed)) } td.wide { "Nothing can be promised on this path; see the findings." } }
            }
        }
    }
}

/// A network by letter, line and colour.
pub fn net(view: &View, network: &str) -> Markup {
    let class = view.good.plan.as_ref().map(|plan| net_class(plan, network)).unwrap_or_default();
    html! { span class={ "net " (class) } { (network) } }
}

fn derivation(id: &str, view: &View) -> Part {
    let lines: Vec<&StreamLine> = view.good.report.streams.iter().filter(|line| line.id == id).collect();
    let scale = scale_of(lines.iter().copied());
    Part::new(
        "streams",
        html! {
            section #streams {
                p { a href="/proof/streams" { "All streams" } }
                h2 { "Stream " (id) }
                @if lines.is_empty() { p.calm { "No path of this stream was found. The findings say why." } }
                @if !lines.is_empty() { p.lead { "Allowed " (time(limit(view, id))) ". The parts of a hop add up to the hop, the hops to the whole." } (legend()) }
                (cuts(id, view))
                @for line in lines { (derived(view, line, scale)) }
            }
        },
    )
}

/// What silences the stream, receiver by receiver: alone, and in pairs.
fn cuts(id: &str, view: &View) -> Markup {
    let all = view.good.cuts(id);
    html! {
        @if !all.is_empty() {
            h3 { "What silences it" }
            p { "Its own sender and receiver left out; a frozen switch does the same as a dead one." }
            div.cuts { @for cuts in &all { article.derived {
                h4 { "At " (cuts.to) }
                @if !cuts.is_heard { p { "It is never heard there." } } @else { (cut(cuts)) }
            } } }
        }
    }
}

fn cut(cuts: &loomwright_proof::Cuts) -> Markup {
    let names = |all: &[loomwright_model::Item]| super::super::figures::items(&all.iter().map(ToString::to_string).collect::<Vec<_>>());
    html! {
        p { @if cuts.alone.is_empty() { strong { "Nothing alone." } } @else { strong { (count(cuts.alone.len(), "thing", "things")) " alone: " } (names(&cuts.alone)) } }
        @match cuts.pairs {
            None => { p.calm { "Pairs were not tried: the plan is too large for it here." } }
            Some(0) => { p { "No pair that neither does alone." } }
            Some(pairs) => {
                details { summary { (count(pairs, "pair", "pairs")) " together, of which neither does it alone" }
                    ul { @for [one, other] in &cuts.together { li { "any of " (names(one)) " with any of " (names(other)) } } }
                }
            }
        }
    }
}

/// How sure the bound is, and what the receiver has to do about it.
fn standing(delay: &DelayLine) -> Markup {
    let hold = &delay.hold;
    html! {
        p { "Bound " strong { (time(delay.worst_ns)) } ", " (delay.standing()) @match delay.reached_ns { Some(_) if delay.known_tight => {} Some(reached) => { "; " strong { (time(reached)) } " can happen" } None => { "; no case constructed" } } "." }
        p { "The receiver holds " strong { (time(hold.buffer_ns)) } " (" (time(hold.variation_ns)) " variation, " (time(hold.jitter_ns)) " release jitter, " (time(hold.packet_ns)) " packet) and plays " (time(hold.receive_delay_ns)) " after a sample enters the sender, at least. "
            @match hold.setting_ns { Some(set) => { "Set it to " strong { (time(set)) } "." } None => { "Its gear states no setting as long." } } }
    }
}

fn derived(view: &View, line: &StreamLine, scale: u64) -> Markup {
    let allowed = limit(view, &line.id);
    html! {
        article.derived {
            h3 { "Packet stream " (line.packet_stream) " to " (line.to) " " (net(view, &line.network)) }
            @match &line.delay {
                None => { p { "No bound exists on this path." } }
                Some(delay) => {
                    p { strong { (time(delay.worst_ns)) } " at most, " (time(delay.least_ns)) " at least, " (rate(line.wire_bps)) " on the wire." }
                    (standing(delay))
                    (strip(delay, scale, Some(allowed)))
                    p { a href=(super::replay::address(line)) { "See the worst moment" span.unseen { " of packet stream " (line.packet_stream) " to " (line.to) " on " (line.network) } } }
                    div.sheet { table {
                        thead { tr { th scope="col" { "Leaves from" } @for (_, name) in PARTS { th.figure scope="col" { (name) } } th.figure scope="col" { "Hop" } th scope="col" { "May wait behind" } } }
                        tbody { @for hop in &delay.per_hop { tr {
                            th scope="row" { (item_link(&hop.at)) }
                            @for part in parts_of(hop) { td.figure { (time(part)) } }
                            td.figure { strong { (time(parts_of(hop).iter().sum())) } }
                            td.behind { @if hop.behind.is_empty() { "nobody" } @else { details { summary { (count(hop.behind.len(), "stream", "streams")) } (hop.behind.join(", ")) } } }
                        } } }
                    } }
                }
            }
            p.where { "Way: " @for (n, item) in line.path.iter().enumerate() { @if n > 0 { " \u{2192} " } (item_link(item)) } }
        }
    }
}
