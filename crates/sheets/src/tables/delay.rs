//! Where the delay of each stream goes, hop by hop, for the latest packet stream and network at each receiver.

use super::Source;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_drawing::scene::microseconds;
use loomwright_proof::report::{DelayLine, HopLine, Name, StreamLine};
use std::collections::BTreeMap;

/// Most arrivals that are listed: the latest. Own choice: some thirty sheets.
const MOST: usize = 240;
/// Most names of who is ahead in one row. Own choice: three lines of a cell.
const NAMED: usize = 8;

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Delay,
        columns([
            ("Arrival", Role::Name),
            ("Leaves from", Role::Name),
            ("Onto the cable us", Role::Figure),
            ("Behind one frame us", Role::Figure),
            ("Behind others us", Role::Figure),
            ("Along the cable us", Role::Figure),
            ("Inside the next box us", Role::Figure),
            ("Hop us", Role::Figure),
            ("Who may be ahead", Role::Text),
        ]),
    );
    let latest = latest(&source.scene.report.streams);
    let (shown, all) = (latest.len().min(MOST), latest.len());
    let which = if shown < all { format!("The latest {shown} of {all} arrivals; the pages show all.") } else { String::new() };
    table.note = format!(
        "For each stream and receiver the packet stream and network that can be latest. The parts add up to the hop, the hops to the bound. Achieved: a delay that a packet is known to have. {which}"
    );
    table.grouped_by = Some(0);
    table.keeps_groups = true;
    table.units.extend((2..8).map(|column| (column, "us")));
    for (line, delay) in latest.into_iter().take(MOST) {
        let head = head(source, line, delay);
        table.rows.extend(delay.per_hop.iter().map(|hop| row(&head, hop)));
    }
    table
}

/// The latest line of each stream at each receiver: all in the order of the plan, or those of the greatest delay first if
/// not all can be listed.
fn latest(lines: &[StreamLine]) -> Vec<(&StreamLine, &DelayLine)> {
    let mut worst: BTreeMap<(&str, &str), (usize, &StreamLine, &DelayLine)> = BTreeMap::new();
    for (n, line) in lines.iter().enumerate() {
        let Some(delay) = &line.delay else { continue };
        let slot = worst.entry((&line.id, &line.to)).or_insert((n, line, delay));
        if delay.worst_ns > slot.2.worst_ns {
            *slot = (slot.0, line, delay);
        }
    }
    let mut all: Vec<_> = worst.into_values().collect();
    if all.len() > MOST {
        all.sort_by_key(|(n, _, delay)| (std::cmp::Reverse(delay.worst_ns), *n));
    } else {
        all.sort_by_key(|(n, ..)| *n);
    }
    all.into_iter().map(|(_, line, delay)| (line, delay)).collect()
}

fn head(source: &Source<'_>, line: &StreamLine, delay: &DelayLine) -> String {
    let network = source.scene.plan.networks.get_key_value(line.network.as_str());
    let letter = network.map_or_else(String::new, |(id, _)| source.networks(std::slice::from_ref(id)));
    let reached = match delay.reached_ns {
        Some(_) if delay.known_tight => String::new(),
        Some(reached) => format!("; {} can happen", microseconds(reached)),
        None => "; no case constructed".to_owned(),
    };
    let (bound, standing) = (microseconds(delay.worst_ns), delay.standing());
    format!("{} {} to {}, network {letter}: bound {bound}, {standing}{reached}", line.id, line.packet_stream, line.to)
}

fn row(head: &str, hop: &HopLine) -> Row {
    let others = hop.wait_ns.saturating_sub(hop.blocked_ns);
    let hop_ns = hop.serialise_ns.saturating_add(hop.wait_ns).saturating_add(hop.propagate_ns).saturating_add(hop.forward_ns);
    let figures = [hop.serialise_ns, hop.blocked_ns, others, hop.propagate_ns, hop.forward_ns, hop_ns].map(figure);
    let mut cells = vec![head.into(), hop.at.trim_start_matches("port:").into()];
    cells.extend(figures);
    cells.push(ahead(&hop.behind).into());
    Row::new(cells)
}

/// Whole nanoseconds as microseconds; the unit stands in the heading.
fn figure(nanoseconds: u64) -> Cell {
    let text = format!("{}.{:03}", nanoseconds / 1_000, nanoseconds % 1_000);
    let text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
    Cell { text, number: Some(nanoseconds as f64 / 1_000.0) }
}

/// Streams with how many packet streams each, such as `sl-mics (4), talkback`.
fn ahead(behind: &[Name]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for name in behind {
        let stream = name.rsplit_once('.').map_or(name.as_str(), |(stream, _)| stream);
        match counts.iter_mut().find(|(known, _)| *known == stream) {
            Some((_, count)) => *count += 1,
            None => counts.push((stream, 1)),
        }
    }
    let named = counts.iter().take(NAMED).map(|(name, count)| if *count > 1 { format!("{name} ({count})") } else { (*name).to_owned() });
    let mut text = named.collect::<Vec<_>>().join(", ");
    match counts.len() {
        0 => "nobody".clone_into(&mut text),
        n if n > NAMED => text.push_str(&format!(" and {} more", n - NAMED)),
        _ => {}
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_is_ahead_stays_short() {
        let names = |names: &[&str]| names.iter().map(|name| Name::from(*name)).collect::<Vec<_>>();
        assert_eq!(ahead(&[]), "nobody");
        assert_eq!(ahead(&names(&["mics.1", "mics.2", "talk.1"])), "mics (2), talk");
        let many: Vec<Name> = (0..11).map(|n| format!("s{n}.1").into()).collect();
        assert!(ahead(&many).ends_with("s7 and 3 more"));
    }

    #[test]
    fn figures_keep_their_nanoseconds() {
        for (nanoseconds, text) in [(0, "0"), (5_230, "5.23"), (25, "0.025"), (12_000, "12")] {
            assert_eq!(figure(nanoseconds).text, text);
        }
    }

    #[test]
    fn only_the_latest_leg_is_listed_and_never_more_than_the_most() {
        let line = |n: usize, network: &str, worst_ns| StreamLine {
            id: format!("s{n}").into(),
            packet_stream: 1,
            from: "a".into(),
            to: "b".into(),
            network: network.into(),
            path: vec![],
            hops: 1,
            wire_bps: 1,
            delay: Some(DelayLine { worst_ns, ..DelayLine::default() }),
        };
        let lines: Vec<StreamLine> = (0..300).flat_map(|n| [line(n, "a", 10 + n as u64), line(n, "b", 5)]).collect();
        let latest = latest(&lines);
        assert_eq!((latest.len(), latest[0].1.worst_ns), (300, 309), "the latest first where not all fit");
        assert!(latest.iter().all(|(line, _)| line.network == "a"));
    }
}
