//! The worst moment of one packet: who stands in front of it in each queue, as a picture and as a table.

mod picture;

use super::super::Query;
use super::super::figures::{count, item_link, micro};
use super::super::part::Part;
use super::super::query::encoded;
use super::streams::net;
use crate::engine::{Moment, NoMoment, Wanted};
use crate::store::View;
use loomwright_model::Time;
use loomwright_proof::report::StreamLine;
use loomwright_replay::{Passing, QueueTimeline};
use maud::{Markup, html};
use std::collections::BTreeMap;

/// Where the replay of a delivery stands.
pub fn address(line: &StreamLine) -> String {
    let [stream, to, network] = [&line.id, &line.to, &line.network].map(|name| encoded(name));
    format!("/proof/replay?stream={stream}&to={to}&network={network}&packets={}", line.packet_stream)
}

/// A time in the words of the pages.
fn words(time: Time) -> String {
    micro(&time.to_string())
}

/// A moment, always in microseconds, as the picture counts.
fn micros(time: Time) -> String {
    format!("{:.2} \u{b5}s", time.picoseconds() as f64 / 1e6)
}

/// The replay, or a sentence that says why there is none.
pub fn part(query: &Query, view: &View) -> Part {
    let name = |name: &str| query.get(name).unwrap_or_default();
    let packets = query.get("packets").map(|number| number.parse().unwrap_or(0));
    let wanted = Wanted { stream: name("stream"), to: name("to"), network: name("network"), packets };
    let shown = match view.good.moment(&wanted) {
        Ok(moment) => html! { p { a href=(drawn(&wanted, &moment)) { "Show it on the drawing" } } (replay(&moment)) },
        Err(reason) => html! { p.calm { (refusal(reason, &wanted)) } },
    };
    Part::new(
        "replay",
        html! {
            section #replay {
                p { a href="/proof/streams" { "All streams" } @if !wanted.stream.is_empty() { " \u{b7} " a href={ "/proof/streams?stream=" (encoded(wanted.stream)) } { "Stream " (wanted.stream) } } }
                h2 { "The worst moment of " (wanted.stream) " to " (wanted.to) " " (net(view, wanted.network)) }
                (shown)
            }
        },
    )
}

/// Where the drawing shows it.
fn drawn(wanted: &Wanted<'_>, moment: &Moment) -> String {
    let Wanted { stream, to, network, .. } = wanted;
    format!("/drawing?view=riser&late={},{},{},{}", encoded(stream), encoded(to), encoded(network), moment.packets)
}

/// Why there is no moment to show.
pub fn refusal(reason: NoMoment, wanted: &Wanted<'_>) -> String {
    let Wanted { stream, to, network, .. } = wanted;
    match reason {
        NoMoment::Stream => format!("No stream is called \"{stream}\"."),
        NoMoment::Receiver => format!("Stream {stream} has no receiver called \"{to}\"."),
        NoMoment::Network => format!("No such packet stream of {stream} comes to {to} on a network called \"{network}\"."),
        NoMoment::Bound => "No bound exists on this path, so there is no worst moment; the findings say why.".to_owned(),
        NoMoment::TooMany(others) => format!("{others} packet streams can be in its way: too many to replay here."),
    }
}

fn replay(moment: &Moment) -> Markup {
    html! {
        (standing(moment))
        p.calm { "Assumed: streams keep their periods and nothing ties their phases; every box takes the longest of its times; one clock message comes from each device that sends any; no release jitter." }
        (picture::figure(moment))
        (table(moment))
    }
}

/// What is reached beside the bound, and which of the two can happen.
fn standing(moment: &Moment) -> Markup {
    let (reached, bound) = (moment.reached, moment.bound);
    let is_met = (bound - reached).picoseconds() < 1_000;
    let is_drawn = reached == moment.replay.reached;
    html! {
        p.lead { "Packet stream " (moment.packets) ": reached " strong #reached { (words(reached)) } ", bound " strong #bound { (words(bound)) } ". "
            @if is_met { "This can happen." }
            @else { "The first can happen; the second is a bound, not known to be reached." }
            @if !is_drawn { " The moment drawn here reaches " (words(moment.replay.reached)) "; the latest happens in another way." }
        }
    }
}

/// The picture in figures: a row for each queue.
fn table(moment: &Moment) -> Markup {
    let replay = &moment.replay;
    html! {
        h3 { "The same in figures" }
        p { "Time counts from the first thing that happens in any of its queues. The packet is released at " (micros(replay.released)) " and heard at " (micros(replay.heard)) "." }
        div.sheet tabindex="0" role="region" aria-label="Queues in figures" { table #moments {
            thead { tr { th scope="col" { "Queue" } th.figure scope="col" { "Packets ahead" } th.figure scope="col" { "Arrives" } th.figure scope="col" { "Waits" } th.figure scope="col" { "Sent from" } th.figure scope="col" { "To" } th scope="col" { "Who is ahead" } } }
            tbody { @for (queue, port) in replay.queues.iter().zip(&moment.ports) { (row(moment, queue, port)) } }
        } }
    }
}

fn row(moment: &Moment, queue: &QueueTimeline, port: &str) -> Markup {
    let (own, ahead) = Moment::ahead(queue);
    html! {
        tr {
            th scope="row" { (item_link(port)) }
            td.figure { (ahead.len()) }
            @if let Some(own) = own {
                @for time in [own.arrives, own.starts - own.arrives, own.starts, own.ends] { td.figure { (micros(time)) } }
            } @else { td colspan="4" {} }
            td.behind { (who(moment, &ahead)) }
        }
    }
}

/// Whose packets these are, with how many of each.
fn who(moment: &Moment, ahead: &[Passing]) -> Markup {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for packet in ahead {
        *counts.entry(moment.name(packet.whose)).or_default() += 1;
    }
    let names: Vec<String> =
        counts.iter().map(|(name, n)| if *n == 1 { (*name).to_owned() } else { format!("{name} \u{d7} {n}") }).collect();
    html! {
        @if names.is_empty() { "nobody" }
        @else if names.len() <= FEW { (names.join(", ")) }
        @else { details { summary { (count(ahead.len(), "packet", "packets")) } (names.join(", ")) } }
    }
}

/// How many names stand in a row before they fold away. Own choice.
const FEW: usize = 4;
