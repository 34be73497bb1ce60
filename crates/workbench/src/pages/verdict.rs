//! The first page: one sentence, the few figures behind it, what to do next, what changed.

use super::figures::{count, items, mark, micro, percent, severity, time};
use super::part::Part;
use super::shell::standing;
use crate::engine::{Figures, figures};
use crate::store::View;
use loomwright_proof::report::FindingLine;
use maud::{Markup, html};

/// How many findings stand on the first page. Own choice: what is read before the first coffee.
const TOP: usize = 5;

/// The page.
pub fn parts(view: &View) -> Vec<Part> {
    vec![sentence(view), figures_band(view), top_findings(view), changes(view)]
}

fn sentence(view: &View) -> Part {
    let (word, _) = standing(view);
    let report = &view.good.report;
    let is_wired = !view.good.wiring.cables.is_empty();
    let says = match &view.good.plan {
        None => "The plan file has errors; nothing can be proved yet.",
        Some(_) if !is_wired => "Nothing is wired yet.",
        Some(_) => &report.verdict,
    };
    let (address, todo) = next_step(view);
    Part::new(
        "verdict",
        html! {
            section #verdict class={ "verdict " (word) } {
                (mark(word))
                div { h1 { (micro(says)) } p.next { a.button href=(address) { (todo) } @if address == "/sheets" { " " a.button.second href="/linecheck" { "Tick the cables" } } } }
            }
        },
    )
}

/// Where to go from here.
fn next_step(view: &View) -> (&'static str, &'static str) {
    let Some(plan) = &view.good.plan else { return ("/file", "Repair the plan file") };
    let stops = view.good.report.findings.iter().any(|finding| finding.severity == "stop");
    match () {
        () if view.now.plan.is_none() => ("/file", "Repair the plan file"),
        () if plan.devices.is_empty() => ("/gear", "Put in the gear"),
        () if plan.streams.is_empty() => ("/gear/streams", "Say what must reach whom"),
        () if view.good.wiring.cables.is_empty() => ("/design", "Design the wiring"),
        () if stops => ("/proof", "See what stops the show"),
        () => ("/sheets", "Print the sheets"),
    }
}

fn figures_band(view: &View) -> Part {
    let shown = view.good.plan.as_ref().map(|plan| figures(plan, &view.good.report));
    Part::new(
        "figures",
        html! { section #figures aria-label="Figures" { @if let Some(shown) = shown { dl.figures { @for one in tiles(&shown) { (tile(&one)) } } } } },
    )
}

/// One figure: its name and page, the figure, what stands below it, and part and whole of its bar.
struct Tile {
    title: (&'static str, &'static str),
    value: Option<String>,
    note: String,
    share: Option<(u64, u64)>,
}

fn tiles(shown: &Figures) -> Vec<Tile> {
    let planned = u64::from(shown.load_limit_ppm);
    let allowed = |limit: u64| format!("{} allowed", time(limit));
    vec![
        Tile {
            title: ("Worst delay", "/proof/streams"),
            value: shown.worst_delay_ns.map(time),
            note: allowed(shown.delay_limit_ns),
            share: shown.worst_delay_ns.map(|worst| (worst, shown.delay_limit_ns)),
        },
        Tile {
            title: ("Silencing failures", "/proof/failures"),
            value: (shown.failures > 0).then(|| shown.harmful_failures.to_string()),
            note: format!("of {} tried silence an essential stream", shown.failures),
            share: None,
        },
        Tile {
            title: ("Busiest link", "/proof/links"),
            value: shown.busiest.map(|(load, speed)| percent(load, speed)),
            note: format!("{} planned", percent(planned, 1_000_000)),
            share: shown.busiest.map(|(load, speed)| (load, planned.saturating_mul(speed / 1_000_000))),
        },
        Tile {
            title: ("Clock error", "/proof/clock"),
            value: shown.worst_clock_ns.map(time),
            note: allowed(shown.clock_limit_ns),
            share: shown.worst_clock_ns.map(|worst| (worst, shown.clock_limit_ns)),
        },
        Tile {
            title: ("Stays up", "/proof/failures"),
            value: shown.up.map(probability),
            note: "chance that every essential stream stays up for one show".to_owned(),
            share: None,
        },
        Tile {
            title: ("Streams", "/gear/streams"),
            value: Some(shown.streams.to_string()),
            note: format!("over {} to {}", count(shown.deliveries, "path", "paths"), count(shown.devices, "device", "devices")),
            share: None,
        },
    ]
}

fn tile(tile: &Tile) -> Markup {
    let (title, address) = tile.title;
    html! {
        div {
            dt { a href=(address) { (title) } }
            dd {
                span.value { @match &tile.value { Some(value) => { (value) } None => { "not known" } } }
                span.note { (tile.note) }
                @if let Some((part, whole)) = tile.share { (meter(part, whole)) }
            }
        }
    }
}

/// A thin bar; over the limit it is told by its hatch as well as its colour.
pub fn meter(part: u64, whole: u64) -> Markup {
    let width = if whole == 0 { 0 } else { (u128::from(part) * 1000 / u128::from(whole)).min(1000) };
    html! {
        svg.meter viewBox="0 0 1000 10" preserveAspectRatio="none" aria-hidden="true" focusable="false" {
            rect.all width="1000" height="10" {}
            rect class=(if part > whole { "over" } else { "used" }) width=(width) height="10" {}
        }
    }
}

/// A chance close to one, with its nines.
pub fn probability(up: f64) -> String {
    let digits = if up >= 1.0 { 0 } else { ((1.0 - up).log10().floor().abs() as usize).saturating_sub(1).clamp(1, 6) };
    format!("{:.digits$} %", up * 100.0)
}

fn top_findings(view: &View) -> Part {
    let findings = &view.good.report.findings;
    Part::new(
        "top",
        html! {
            section #top {
                h2 { "What to do" }
                @if findings.is_empty() { p.calm { "Nothing found that needs a hand." } }
                ol.findings { @for finding in findings.iter().take(TOP) { li { (brief(finding)) } } }
                @if findings.len() > TOP { p { a href="/proof" { "All " (count(findings.len(), "finding", "findings")) } } }
            }
        },
    )
}

fn brief(finding: &FindingLine) -> Markup {
    html! {
        article class={ "finding " (finding.severity) } {
            p.says { (severity(&finding.severity)) " " (micro(&finding.says)) }
            p.do { (micro(&finding.remedy)) }
            p.where { (items(&finding.items)) }
        }
    }
}

fn changes(view: &View) -> Part {
    let (before, now) = (&view.opened.report, &view.good.report);
    let gone: Vec<&FindingLine> = before.findings.iter().filter(|finding| !now.findings.contains(finding)).collect();
    let new: Vec<&FindingLine> = now.findings.iter().filter(|finding| !before.findings.contains(finding)).collect();
    let work = view.good.work_since(&view.opened);
    let is_same = view.edits.is_empty() && gone.is_empty() && new.is_empty() && work.is_empty();
    Part::new(
        "changes",
        html! {
            section #changes {
                h2 { "Since it was opened" }
                @if is_same { p.calm { "Nothing changed." } }
                @if before.verdict != now.verdict && !before.verdict.is_empty() { p { "It began as: \u{201c}" (before.verdict) "\u{201d}" } }
                @if !new.is_empty() || !gone.is_empty() {
                    ul.delta {
                        @for finding in new.iter().take(TOP) { li.new { span.word { "new" } " " (finding.says) } }
                        @for finding in gone.iter().take(TOP) { li.gone { span.word { "gone" } " " s { (finding.says) } } }
                        @if new.len().max(gone.len()) > TOP { li { (count(new.len(), "new finding", "new findings")) ", " (gone.len()) " gone, in all" } }
                    }
                }
                @if !work.is_empty() {
                    details open[work.len() <= TOP] { summary { (count(work.len(), "thing to re-patch or set", "things to re-patch or set")) } ol.work { @for says in &work { li { (says) } } } }
                }
                @if !view.edits.is_empty() { h3 { "Latest edits" } ol.edits { @for edit in &view.edits { li { (edit) } } } }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nines_are_kept() {
        assert_eq!(probability(0.9), "90.0 %");
        assert_eq!(probability(0.99987), "99.987 %");
        assert_eq!(probability(1.0), "100 %");
    }

    #[test]
    fn a_bar_never_leaves_its_box() {
        assert!(meter(5, 10).into_string().contains("class=\"used\" width=\"500\""));
        assert!(meter(50, 10).into_string().contains("class=\"over\" width=\"1000\""));
        assert!(meter(5, 0).into_string().contains("width=\"0\""));
    }
}
