//! What the delays ask for: receivers in step, whole ways of sound, memory of boxes that forward.

use super::super::figures::{count, item_link, length, time};
use super::super::part::Part;
use super::super::verdict::meter;
use crate::store::View;
use loomwright_model::ByteCount;
use loomwright_proof::report::{InPhaseLine, JourneyLine, MemoryLine};
use maud::{Markup, html};

/// All three, one below the other.
pub fn part(view: &View) -> Part {
    let report = &view.good.report;
    Part::new(
        "listening",
        html! {
            section #listening {
                p.lead { "A receiver waits for the latest packet: one packet time, the sender's jitter and the worst delay. Set all that have to play in step to the same time." }
                h2 { "Whole ways of sound" }
                @if report.journeys.is_empty() { p.calm { "The plan names none. Write " code { "[journey.NAME]" } " with " code { "through = [\"STREAM\", ..]" } " into the plan file." } }
                @for way in &report.journeys { (journey(way)) }
                (in_step(&report.in_phase))
                (memory(&report.memory))
            }
        },
    )
}

fn journey(way: &JourneyLine) -> Markup {
    html! {
        article.derived {
            h3 { (way.name) " to " (way.to) }
            @match way.whole_ns.zip(way.air_mm) {
                None => { p.late { "No bound exists on this way." } }
                Some((whole, air)) => {
                    p { strong.late[way.limit_ns.is_some_and(|limit| whole > limit)] { (time(whole)) } " at most"
                        @if let Some(limit) = way.limit_ns { ", " (time(limit)) " allowed" } ", as far as " (length(air)) " of air at 343 m/s." }
                    @if let Some(limit) = way.limit_ns { (meter(whole, limit)) }
                }
            }
            div.sheet { table {
                thead { tr { th scope="col" { "At" } th scope="col" { "Spent" } th.figure scope="col" { "Time" } } }
                tbody { @for part in &way.parts { tr { th scope="row" { (part.at) } td { (part.spent()) } td.figure { (time(part.ns)) } } } }
            } }
            @if !way.not_stated.is_empty() { p.where { "Counted as nothing, as their gear does not say: " (way.not_stated.join(", ")) "." } }
            @if !way.unset.is_empty() { p.where { "No setting as long as needed is stated for: " (way.unset.join(", ")) "." } }
        }
    }
}

fn in_step(groups: &[InPhaseLine]) -> Markup {
    html! {
        h2 { "Receivers in step" }
        @if groups.is_empty() { p.calm { "No stream has several receivers." } } @else {
            p { "The plan asks for the groups marked so. The others hold if the receivers of that stream have to play in step. Apart: what may come about if each starts its own buffer with the first packet, early or late." }
            div.sheet { table {
                thead { tr { th scope="col" { "Group" } th.figure scope="col" { "Receivers" } th.figure scope="col" { "Need" } th.figure scope="col" { "Set to" } th.figure scope="col" { "Apart" } th.figure scope="col" { "Of air" } } }
                tbody { @for group in groups { tr {
                    th scope="row" { (group.name) @if group.declared { " (in the plan)" } }
                    td.figure { (group.players.len()) }
                    td.figure { (or_none(group.needed_ns.map(time), "no bound")) }
                    td.figure { strong { (or_none(group.setting_ns.map(time), "none known")) } }
                    td.figure { (or_none(group.spread_ns.map(time), "-")) }
                    td.figure { (or_none(group.spread_mm.map(length), "-")) }
                } } }
            } }
        }
    }
}

fn or_none(figure: Option<String>, none: &str) -> String {
    figure.unwrap_or_else(|| none.to_owned())
}

fn bytes(bytes: u64) -> String {
    ByteCount::from_bytes(bytes).to_string()
}

fn memory(boxes: &[MemoryLine]) -> Markup {
    let is_short =
        |line: &MemoryLine| line.stated_bytes.is_some_and(|stated| line.fullest_bytes.max(line.needed_bytes.unwrap_or(0)) > stated);
    html! {
        h2 { "Queue memory" }
        @if boxes.is_empty() { p.calm { "No box forwards a stream." } } @else {
            p { (count(boxes.len(), "box forwards", "boxes forward")) " streams. All ports: every queue at its fullest at once, which hardly happens. Traffic that is not planned comes on top." }
            div.sheet { table {
                thead { tr { th scope="col" { "Box" } th scope="col" { "Fullest port" } th.figure scope="col" { "There" } th.figure scope="col" { "All ports" } th.figure scope="col" { "Has" } } }
                tbody { @for line in boxes { tr {
                    th scope="row" { (item_link(&line.item)) }
                    td { (item_link(&line.fullest_port)) }
                    td.figure { (bytes(line.fullest_bytes)) }
                    td.figure.late[is_short(line)] { (or_none(line.needed_bytes.map(bytes), "no bound")) }
                    td.figure { (or_none(line.stated_bytes.map(bytes), "not stated")) }
                } } }
            } }
        }
    }
}
