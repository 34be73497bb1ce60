//! Where each microsecond of a stream goes.

use super::{count, rate, time};
use crate::paint::{self, paint};
use crate::table::{Side, Table};
use loomwright_proof::report::{DelayLine, HoldLine, HopLine, StreamLine};
use std::fmt::Write;

/// Every packet stream of a stream at every receiver, hop by hop.
pub fn text(streams: &[&StreamLine]) -> String {
    streams.iter().map(|stream| one(stream)).collect::<Vec<_>>().join("\n")
}

fn one(stream: &StreamLine) -> String {
    let title = format!("{}/{} from {} to {} on network {}", stream.id, stream.packet_stream, stream.from, stream.to, stream.network);
    let hops = count(stream.hops as usize, "hop", "hops");
    let mut text = format!("{}, {} on the wire, {hops}\n", paint(paint::STRONG, title), rate(stream.wire_bps));
    let _ = writeln!(text, "  path: {}", stream.path.join(" > "));
    match &stream.delay {
        Some(delay) => text.push_str(&hop_by_hop(delay)),
        None => text.push_str("  no delay bound\n"),
    }
    text
}

fn hop_by_hop(delay: &DelayLine) -> String {
    let figures = ["serialise", "wait", "of it blocked", "forward", "propagate", "sum"].map(|name| (name, Side::Right));
    let mut table = Table::new(&[&[("leaves", Side::Left)], &figures[..], &[("waits behind", Side::Left)]].concat());
    let mut total =
        HopLine { at: "all".into(), serialise_ns: 0, wait_ns: 0, forward_ns: 0, propagate_ns: 0, blocked_ns: 0, behind: vec![] };
    for hop in &delay.per_hop {
        table.row(cells(hop));
        add(&mut total, hop);
    }
    table.row(cells(&total));
    let reached = match delay.reached_ns {
        Some(_) if delay.known_tight => String::new(),
        Some(reached) => format!("; {} can happen", time(reached)),
        None => "; no case constructed".to_owned(),
    };
    let bound = format!("bound {}, {}{reached}", time(delay.worst_ns), delay.standing());
    format!("{}  {bound}; never sooner than {}\n{}", table.text(), time(delay.least_ns), held(&delay.hold))
}

/// What the receiver has to hold back, and the setting that does it.
fn held(hold: &HoldLine) -> String {
    let [variation, jitter, packet, buffer, needed] =
        [hold.variation_ns, hold.jitter_ns, hold.packet_ns, hold.buffer_ns, hold.receive_delay_ns].map(time);
    let set = hold.setting_ns.map_or_else(|| "its gear states no setting as long".to_owned(), |set| format!("set it to {}", time(set)));
    format!(
        "  receiver holds {buffer} (variation {variation} + release jitter {jitter} + packet {packet})\n  \
         and plays {needed} after a sample enters the sender, at least: {set}\n"
    )
}

fn cells(hop: &HopLine) -> [String; 8] {
    let behind = if hop.behind.is_empty() { "-".to_owned() } else { hop.behind.join(", ") };
    let figures = [hop.serialise_ns, hop.wait_ns, hop.blocked_ns, hop.forward_ns, hop.propagate_ns, sum(hop)].map(time);
    let [serialise, wait, blocked, forward, propagate, sum] = figures;
    [hop.at.to_string(), serialise, wait, blocked, forward, propagate, sum, behind]
}

/// Blocking is part of the wait and not counted again.
fn sum(hop: &HopLine) -> u64 {
    [hop.serialise_ns, hop.wait_ns, hop.forward_ns, hop.propagate_ns].into_iter().fold(0, u64::saturating_add)
}

fn add(total: &mut HopLine, hop: &HopLine) {
    total.serialise_ns = total.serialise_ns.saturating_add(hop.serialise_ns);
    total.wait_ns = total.wait_ns.saturating_add(hop.wait_ns);
    total.blocked_ns = total.blocked_ns.saturating_add(hop.blocked_ns);
    total.forward_ns = total.forward_ns.saturating_add(hop.forward_ns);
    total.propagate_ns = total.propagate_ns.saturating_add(hop.propagate_ns);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_add_up() {
        let hop = HopLine {
            at: "port:a/1".into(),
            serialise_ns: 1_000,
            wait_ns: 2_000,
            forward_ns: 4_000,
            propagate_ns: 8_000,
            blocked_ns: 500,
            behind: vec!["b/1".into()],
        };
        let delay = DelayLine {
            least_ns: 7_000,
            worst_ns: 30_000,
            reached_ns: Some(30_000),
            known_tight: true,
            per_hop: vec![hop.clone(), hop],
            ..DelayLine::default()
        };
        let text = anstream::adapter::strip_str(&hop_by_hop(&delay)).to_string();
        let all: Vec<&str> = text.lines().nth(3).unwrap_or_default().split_whitespace().collect();
        assert!(text.contains("bound 30 us, known to occur; never sooner than 7 us"), "{text}");
        assert_eq!(all, ["all", "2", "us", "4", "us", "1", "us", "8", "us", "16", "us", "30", "us", "-"]);
    }
}
