//! What the delays ask for: settings of receivers in step, whole ways of sound, memory of boxes.

use super::{bytes, count, length, time};
use crate::paint::{self, paint};
use crate::table::{Side, Table};
use loomwright_proof::Report;
use loomwright_proof::report::{InPhaseLine, JourneyLine, MemoryLine};
use std::fmt::Write;

/// All three, each only where there is something to say.
pub fn text(report: &Report) -> String {
    let sections = [in_step(&report.in_phase), ways(&report.journeys), memory(&report.memory)];
    let text = sections.into_iter().flatten().collect::<Vec<_>>().join("\n");
    if text.is_empty() { "nothing is received anywhere\n".to_owned() } else { text }
}

/// The setting of a group, and what goes wrong without it.
pub fn setting(group: &InPhaseLine) -> String {
    let players = count(group.players.len(), "receiver", "receivers");
    match (group.setting_ns, group.needed_ns) {
        (Some(set), _) => format!("set all {players} to {}{}", time(set), apart(group)),
        (None, Some(needed)) => format!("set all {players} to the same delay, {} at least{}", time(needed), apart(group)),
        (None, None) => format!("{players}, no common setting: not all have a delay bound"),
    }
}

fn apart(group: &InPhaseLine) -> String {
    let spread = group.spread_ns.zip(group.spread_mm);
    spread.map_or_else(String::new, |(ns, mm)| format!("; each on its own, up to {} apart, {} of air", time(ns), length(mm)))
}

/// A way in one line.
pub fn journey(way: &JourneyLine) -> String {
    let Some((whole, air)) = way.whole_ns.zip(way.air_mm) else { return format!("no bound to {}", way.to) };
    let limit = way.limit_ns.map_or_else(String::new, |limit| format!(" of {} allowed", time(limit)));
    format!("{}{limit} to {}, as far as {} of air", time(whole), way.to, length(air))
}

fn in_step(groups: &[InPhaseLine]) -> Option<String> {
    let mut table = Table::new(&[
        ("group", Side::Left),
        ("receivers", Side::Right),
        ("need", Side::Right),
        ("set to", Side::Right),
        ("without", Side::Right),
        ("of air", Side::Right),
    ]);
    let or_dash = |figure: Option<String>| figure.unwrap_or_else(|| "-".to_owned());
    for group in groups {
        let name = if group.declared { format!("{} (in-phase)", group.name) } else { group.name.clone() };
        let [needed, set, spread] = [group.needed_ns, group.setting_ns, group.spread_ns].map(|figure| or_dash(figure.map(time)));
        table.row([name, group.players.len().to_string(), needed, set, spread, or_dash(group.spread_mm.map(length))]);
    }
    let note = "The plan asks for the groups marked in-phase; the others hold if the receivers of that stream have to play in step.\n\
                need: from a sample's entry at the sender to the latest receiver. without: how far apart they may play if\n\
                each starts its own buffer with the first packet, early or late; 343 m of air a second, 20 degrees.";
    (!groups.is_empty()).then(|| format!("{}\n{}{note}\n", paint(paint::STRONG, "Receivers in step"), table.text()))
}

fn ways(journeys: &[JourneyLine]) -> Option<String> {
    let mut text = String::new();
    for way in journeys {
        let _ = writeln!(text, "{}: {}", paint(paint::STRONG, format!("Journey {}", way.name)), journey(way));
        let mut table = Table::new(&[("at", Side::Left), ("spent", Side::Left), ("time", Side::Right)]);
        way.parts.iter().for_each(|part| table.row([part.at.clone(), part.spent().to_owned(), time(part.ns)]));
        text.push_str(&table.text());
        if !way.not_stated.is_empty() {
            let _ = writeln!(text, "  counted as nothing, for want of a figure: {}", way.not_stated.join(", "));
        }
        if !way.unset.is_empty() {
            let _ = writeln!(text, "  no setting as long as needed is stated for: {}", way.unset.join(", "));
        }
    }
    (!journeys.is_empty()).then_some(text)
}

fn memory(boxes: &[MemoryLine]) -> Option<String> {
    let mut table = Table::new(&[
        ("box", Side::Left),
        ("fullest port", Side::Left),
        ("there", Side::Right),
        ("all ports", Side::Right),
        ("has", Side::Right),
    ]);
    for line in boxes {
        let needed = line.needed_bytes.map_or_else(|| "no bound".to_owned(), bytes);
        let stated = line.stated_bytes.map_or_else(|| "not stated".to_owned(), bytes);
        table.row([line.item.clone(), line.fullest_port.clone(), bytes(line.fullest_bytes), needed, stated]);
    }
    let note = "all ports: every queue at its fullest at once, which hardly happens. Traffic that is not planned comes on top.";
    (!boxes.is_empty()).then(|| format!("{}\n{}{note}\n", paint(paint::STRONG, "Queue memory"), table.text()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn says_what_to_set_or_why_not() {
        let group = InPhaseLine {
            name: "hang".into(),
            declared: true,
            players: vec![],
            needed_ns: Some(1_200_000),
            setting_ns: None,
            spread_ns: Some(400_000),
            spread_mm: Some(137),
        };
        assert_eq!(
            setting(&group),
            "set all 0 receivers to the same delay, 1.2 ms at least; each on its own, up to 400 us apart, 13.7 cm of air"
        );
        let set = InPhaseLine { setting_ns: Some(2_000_000), spread_ns: None, ..group.clone() };
        assert_eq!(setting(&set), "set all 0 receivers to 2 ms");
        let lost = InPhaseLine { needed_ns: None, ..group };
        assert!(setting(&lost).ends_with("not all have a delay bound"));
    }
}
