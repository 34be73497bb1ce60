//! The few figures behind a verdict.

use super::{count, length, power, rate, share, time};
use crate::paint::{self, paint};
use crate::table::{Side, Table};
use loomwright_proof::Report;
use loomwright_proof::report::{Availability, ClockLine, FailureCounts, LengthLine, LinkLine, SpareLine, StreamLine};

/// A table of figures.
pub fn text(report: &Report) -> String {
    let mut table = Table::new(&[("", Side::Left), ("", Side::Left)]);
    let mut add = |name: &str, figure: Option<String>| {
        if let Some(figure) = figure {
            table.row([name, &figure]);
        }
    };
    add("streams", Some(streams(&report.streams)));
    add("latest", latest(&report.streams));
    add("fullest link", fullest(&report.links));
    for journey in &report.journeys {
        add(&format!("journey {}", journey.name), Some(super::buffers::journey(journey)));
    }
    for group in report.in_phase.iter().filter(|group| group.declared) {
        add(&format!("in step {}", group.name), Some(super::buffers::setting(group)));
    }
    for clock in &report.clock {
        add(&format!("clock {}", clock.network), Some(leader(clock)));
    }
    add("one failure", failures(report));
    add("two failures", Some(pairs(report)));
    add("availability", availability(&report.availability));
    add("best spare", report.availability.spares.first().map(spare));
    for poe in &report.poe {
        add(&format!("PoE {}", poe.switch), Some(format!("{} of {}", power(poe.draw_mw), power(poe.budget_mw))));
    }
    for feed in &report.power {
        add(&format!("feed {}", feed.feed), Some(power(feed.draw_mw)));
    }
    add("longest cable", longest(&report.lengths));
    format!("\n{}\n{}", paint(paint::STRONG, "Figures"), table.text())
}

fn streams(streams: &[StreamLine]) -> String {
    let unbounded = streams.iter().filter(|stream| stream.delay.is_none()).count();
    let all = format!("{} in all networks", count(streams.len(), "packet stream at a receiver", "packet streams at their receivers"));
    if unbounded == 0 { all } else { format!("{all}, {unbounded} of them without a delay bound") }
}

fn latest(streams: &[StreamLine]) -> Option<String> {
    let bounded = streams.iter().filter_map(|stream| stream.delay.as_ref().map(|delay| (delay.worst_ns, stream)));
    let (worst, stream) = bounded.max_by(|a, b| a.0.cmp(&b.0).then_with(|| b.1.id.cmp(&a.1.id)))?;
    let hops = count(stream.hops as usize, "hop", "hops");
    Some(format!("{} at worst: {}/{} to {} on network {}, {hops}", time(worst), stream.id, stream.packet_stream, stream.to, stream.network))
}

fn fullest(links: &[LinkLine]) -> Option<String> {
    let part = |link: &LinkLine| u128::from(link.load_bps) * 1_000_000 / u128::from(link.speed_bps.max(1));
    let link = links.iter().max_by(|a, b| part(a).cmp(&part(b)).then_with(|| b.cable.cmp(&a.cable)))?;
    let load = share(link.load_bps, link.speed_bps);
    Some(format!("{load}: {} of {} on {}, {} to {}", rate(link.load_bps), rate(link.speed_bps), link.cable, link.from, link.to))
}

fn leader(clock: &ClockLine) -> String {
    let Some(leader) = &clock.leader else { return "nobody leads".to_owned() };
    let followers = count(clock.per_device.len(), "follower", "followers");
    let unbounded = clock.per_device.iter().filter(|device| device.worst_error_ns.is_none()).count();
    let worst = clock.per_device.iter().filter_map(|device| device.worst_error_ns.map(|error| (error, &device.device))).max();
    let error = worst.map_or(String::new(), |(error, device)| format!(", error at most {} ({device})", time(error)));
    let open = if unbounded == 0 { String::new() } else { format!(", {unbounded} without a bound") };
    format!("{leader} leads {followers}{error}{open}")
}

fn failures(report: &Report) -> Option<String> {
    let FailureCounts { tried, silencing, longest_gap_ns, .. } = report.counts;
    let gap = longest_gap_ns.map_or(String::new(), |gap| format!(", longest gap {}", time(gap)));
    (tried > 0).then(|| format!("{tried} tried, {silencing} of them silence a stream{gap}"))
}

fn pairs(report: &Report) -> String {
    match report.pairs.count {
        0 => "no pair silences an essential stream that neither silences alone".to_owned(),
        n => format!("{} an essential stream that neither silences alone", count(n as usize, "pair silences", "pairs silence")),
    }
}

fn longest(lengths: &[LengthLine]) -> Option<String> {
    let part = |line: &LengthLine| u128::from(line.length_mm) * 1_000_000 / u128::from(line.limit_mm.max(1));
    let line = lengths.iter().max_by(|a, b| part(a).cmp(&part(b)).then_with(|| b.cable.cmp(&a.cable)))?;
    Some(format!("{} of {} allowed ({}), nearest to its limit", length(line.length_mm), length(line.limit_mm), line.cable))
}

fn availability(availability: &Availability) -> Option<String> {
    let up = percent(availability.essential?);
    let perfect = &availability.taken_as_perfect;
    let taken = if perfect.is_empty() { String::new() } else { format!("; {} too, for want of a lifetime", perfect.join(", ")) };
    Some(format!("{up} that every essential stream stays up: {}{taken}", availability.of))
}

fn spare(spare: &SpareLine) -> String {
    let used = count(spare.count as usize, "is in use", "are in use");
    let beside = spare.beside.as_ref().filter(|_| spare.count > 1);
    let beside = beside.map_or_else(String::new, |item| format!("; keep it beside {item}, where it buys most"));
    format!("{} ({used}): one more raises that by {} percentage points{beside}", spare.gear, percent(spare.gain).trim_end_matches(" %"))
}

/// A probability in percent with as many digits as matter, rounded down: nothing looks surer than it is.
fn percent(probability: f64) -> String {
    format!("{:.4} %", (probability * 1e6).floor() / 1e4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_the_fullest_link_and_rounds_towards_caution() {
        let link = |cable: &str, load| LinkLine {
            from: "port:a/1".into(),
            to: "port:b/1".into(),
            cable: cable.into(),
            speed_bps: 1_000_000_000,
            load_bps: load,
            streams: 1,
            unwanted_bps: 0,
            backlog_bytes: None,
        };
        let said = fullest(&[link("A-001", 5), link("A-002", 500_000_001)]);
        assert!(said.is_some_and(|said| said.starts_with("51 %") && said.contains("A-002")));
        assert_eq!(percent(0.999_999_99), "99.9999 %");
    }
}
