//! How likely it stays up: a show of any length without repair, years with repair, and which spare buys most.

use super::super::Query;
use super::super::figures::{count, item_link};
use super::super::part::Part;
use super::super::verdict::probability;
use crate::engine::{Asked, Chances};
use crate::store::View;
use loomwright_proof::report::ItemLine;
use loomwright_survival::Down;
use maud::{Markup, html};
use std::cmp::Ordering;

/// Longest show that can be asked for, hours. Own choice: a festival weekend.
const LONGEST: u64 = 72;
/// Longest repair that can be asked for, hours. Own choice: a week.
const LONGEST_REPAIR: u64 = 168;
/// Length of a show unless asked otherwise, hours. Own choice, as in the proof.
const SHOW: u64 = 4;
/// Time to repair unless asked otherwise, hours. Own choice: one working day.
const REPAIR: u64 = 8;
/// How many streams are named. Own choice: a glance.
const NAMED: usize = 10;
/// Hours in a year of 365 days.
const YEAR: f64 = 8_760.0;

/// What the address asks for.
pub fn asked(query: &Query) -> Asked {
    let hours =
        |name: &str, usual: u64, most: u64| query.get(name).and_then(|text| text.trim().parse().ok()).unwrap_or(usual).clamp(1, most);
    Asked { show: hours("hours", SHOW, LONGEST), repair: hours("repair", REPAIR, LONGEST_REPAIR) }
}

/// The part.
pub fn part(query: &Query, view: &View) -> Part {
    let asked = asked(query);
    let chances = view.good.chances(asked);
    Part::new(
        "spares",
        html! {
            section #spares {
                h2 #chances { "How likely it stays up" }
                (form(asked))
                @match &chances {
                    Some(chances) => { (figures(chances, asked)) (spares(chances, view)) (single(view)) (weakest(chances, view)) (perfect(chances)) }
                    None => { p.calm { "Nothing is proved yet." } }
                }
            }
        },
    )
}

fn form(asked: Asked) -> Markup {
    html! {
        form.ask method="get" action="/proof/failures#chances" {
            p {
                label for="hours" { "Length of the show" }
                input #hours type="range" name="hours" min="1" max=(LONGEST) step="1" value=(asked.show) aria-valuetext={ (asked.show) " hours" } data-shows="hours-said" data-unit="h";
                output #hours-said for="hours" { (asked.show) " h" }
            }
            p {
                label for="repair" { "Repaired within" }
                input #repair type="range" name="repair" min="1" max=(LONGEST_REPAIR) step="1" value=(asked.repair) aria-valuetext={ (asked.repair) " hours" } data-shows="repair-said" data-unit="h";
                output #repair-said for="repair" { (asked.repair) " h" }
            }
            button.second type="submit" { "Compute" }
        }
    }
}

fn figures(chances: &Chances, asked: Asked) -> Markup {
    let year = |down: &Down| format!("{} of silence somewhere in a year, at most", span(down.most * YEAR));
    html! {
        dl.figures.two {
            div { dt { "One show of " (asked.show) " h, nothing repaired" } dd { span.value #show-chance { (essential(chances.show.essential)) } span.note { "chance that every essential stream stays up from start to end" } } }
            div { dt { "Installed for years, repaired within " (asked.repair) " h" } dd { span.value { (essential(chances.repaired.essential)) } span.note { "share of the time that every essential stream is up" @if let Some(down) = &chances.repaired.essential { "; " (year(down)) } } } }
        }
    }
}

fn essential(down: Option<Down>) -> String {
    match down {
        None => "no stream is essential".to_owned(),
        Some(down) if down.is_exact() => probability(down.up()),
        Some(down) => format!("at least {}", probability(down.up())),
    }
}

/// Hours in a unit that people feel.
fn span(hours: f64) -> String {
    match hours {
        h if h < 1.0 / 60.0 => format!("{:.1} s", h * 3_600.0),
        h if h < 1.0 => format!("{:.0} min", (h * 60.0).ceil()),
        h => format!("{h:.1} h"),
    }
}

fn spares(chances: &Chances, view: &View) -> Markup {
    let title =
        |gear: &str| view.good.plan.as_ref().and_then(|plan| plan.gear.get(gear)).map(|gear| gear.title.clone()).unwrap_or_default();
    let whole: f64 = chances.show.essential.map_or(0.0, |down| down.most);
    html! {
        @if !chances.show.spares.is_empty() {
            h3 { "Which spare buys most" }
            p { "By how much the chance of silence in the show would shrink if gear of that type never failed: the most that spares of it can buy." }
            ol.spares { @for spare in chances.show.spares.iter().take(NAMED) {
                li { (item_link(&format!("gear:{}", spare.gear))) " " (title(spare.gear.as_str())) ", " (spare.count) " in use: " strong { (share(spare.gain, whole)) } " of the chance of silence" }
            } }
            @if chances.show.spares.len() > NAMED { p.calm { "Spares of the other types buy less." } }
        }
    }
}

/// Single boxes by what a spare beside them buys, and what to guard. For a show of the usual length, as in the report.
fn single(view: &View) -> Markup {
    let chances = &view.good.report.availability;
    let whole = chances.essential.map_or(0.0, |up| 1.0 - up);
    html! {
        @if !chances.boxes.is_empty() {
            h3 { "Beside which box" }
            p { "The same for each single box in a show of " (SHOW) " h: keep the spare of its type beside it." }
            ol.spares { @for line in chances.boxes.iter().take(NAMED) {
                li { (item_link(&line.item)) ": " strong { (share(line.gain, whole)) } " of the chance of silence" @if line.silences > 0 { ", " (count(line.silences as usize, "essential delivery falls", "essential deliveries fall")) " silent with it" } }
            } }
        }
        @if !chances.guard.is_empty() {
            h3 { "What to guard" }
            p { "No honest figures say how often cables, routes and feeds fail. This is what hangs on them." }
            ol.spares { @for line in chances.guard.iter().take(NAMED) {
                li { (item_link(&line.item)) ": " (hangs(line)) }
            } }
        }
    }
}

fn hangs(line: &ItemLine) -> String {
    match line.silences {
        0 => format!(
            "without it, the show goes on; the chance that one box more ends that within {SHOW} h is {:.4} %",
            (line.next * 1e6).ceil() / 1e4
        ),
        n => format!("{} silent with it", count(n as usize, "essential delivery falls", "essential deliveries fall")),
    }
}

/// A part of a chance in per cent, never rounded up from nothing.
fn share(part: f64, whole: f64) -> String {
    let percent = 100.0 * part / whole.max(f64::MIN_POSITIVE);
    if percent < 1.0 { "less than 1 %".to_owned() } else { format!("{percent:.0} %") }
}

fn weakest(chances: &Chances, view: &View) -> Markup {
    let names = view.good.deliveries();
    let mut all: Vec<(&(String, String), &Down, &Down)> =
        names.iter().zip(&chances.show.demands).zip(&chances.repaired.demands).map(|((name, show), years)| (name, show, years)).collect();
    all.sort_by(|one, other| other.1.most.partial_cmp(&one.1.most).unwrap_or(Ordering::Equal).then_with(|| one.0.cmp(other.0)));
    html! {
        @if !all.is_empty() {
            h3 { "Weakest streams" }
            div.sheet { table.failures {
                thead { tr { th scope="col" { "Stream" } th scope="col" { "At" } th.figure scope="col" { "Up for the show" } th.figure scope="col" { "Up over years" } } }
                tbody { @for ((stream, to), show, years) in all.iter().take(NAMED) { tr { th scope="row" { (item_link(&format!("stream:{stream}"))) } td data-label="At" { (to) } td.figure data-label="Up for the show" { (probability(show.up())) } td.figure data-label="Up over years" { (probability(years.up())) } } } }
            } }
            @if all.len() > NAMED { p.calm { "The other " (count(all.len() - NAMED, "delivery is", "deliveries are")) " as likely or likelier to stay up." } }
        }
    }
}

fn perfect(chances: &Chances) -> Markup {
    html! {
        p.calm {
            "Only boxes fail here; cables, feeds and routes are taken as perfect, because no honest figures of them exist. Compare designs with it; do not promise with it."
            @if !chances.show.taken_as_perfect.is_empty() { " Without a figure, and so taken as perfect: " @for (n, gear) in chances.show.taken_as_perfect.iter().enumerate() { @if n > 0 { ", " } (gear) } "." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_stays_within_bounds() {
        for (text, show, repair) in [("", SHOW, REPAIR), ("hours=0&repair=99999", 1, LONGEST_REPAIR), ("hours=12&repair=x", 12, REPAIR)] {
            assert_eq!(asked(&Query::read(text)), Asked { show, repair }, "{text}");
        }
    }

    #[test]
    fn shares_are_never_nothing() {
        assert_eq!((share(0.4, 1.0).as_str(), share(1e-9, 1.0).as_str()), ("40 %", "less than 1 %"));
    }

    #[test]
    fn spans_are_felt() {
        assert_eq!((span(0.001).as_str(), span(0.2).as_str(), span(30.0).as_str()), ("3.6 s", "12 min", "30.0 h"));
    }
}
