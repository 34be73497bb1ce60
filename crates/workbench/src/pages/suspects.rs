//! Trouble: mark what is silent and what is heard, see who explains it, do the next test.
//!
//! The answers stand in the address, so that the page can be sent to somebody else and the back button works.

use super::part::Part;
use super::query::{Query, encoded};
use crate::engine::{Hunt, hunt};
use crate::store::View;
use loomwright_linecheck::{SuspectLine, TestLine};
use maud::{Markup, html};

/// Suspects shown before the rest is folded away. Own choice.
const SHOWN: usize = 8;

/// What was answered so far.
struct Report {
    good: Vec<String>,
    bad: Vec<String>,
    at: Option<String>,
}

impl Report {
    /// The answers of the address, with the one just given in the form.
    fn read(query: &Query) -> Self {
        let mut report =
            Self { good: query.list("good"), bad: query.list("bad"), at: query.get("at").filter(|at| !at.is_empty()).map(str::to_owned) };
        let what = query.get("what").map(str::trim).filter(|what| !what.is_empty());
        if let Some(what) = what {
            // A bare name is a stream: that is what people report first.
            let what = if what.contains(':') { what.to_owned() } else { format!("heard:{what}") };
            let is_good = query.get("answer") == Some("good");
            report = report.with(&what, is_good);
        }
        report
    }

    fn with(mut self, what: &str, is_good: bool) -> Self {
        self.good.retain(|one| one != what);
        self.bad.retain(|one| one != what);
        if is_good {
            self.good.push(what.to_owned())
        } else {
            self.bad.push(what.to_owned())
        }
        self
    }

    fn copy(&self) -> Self {
        Self { good: self.good.clone(), bad: self.bad.clone(), at: self.at.clone() }
    }

    fn without(&self, what: &str) -> Self {
        let mut rest = self.copy();
        rest.good.retain(|one| one != what);
        rest.bad.retain(|one| one != what);
        rest
    }

    fn address(&self) -> String {
        let list = |name: &str, all: &[String]| if all.is_empty() { String::new() } else { format!("&{name}={}", encoded(&all.join(","))) };
        let at = self.at.as_ref().map_or_else(String::new, |at| format!("&at={}", encoded(at)));
        format!("/trouble?{}", format!("{}{}{at}", list("bad", &self.bad), list("good", &self.good)).trim_start_matches('&'))
    }
}

/// The page.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    let report = Report::read(query);
    let hunt = hunt(&view.good, [&report.good, &report.bad], report.at.as_deref());
    let text = html! {
        div #trouble {
            div.heading { h1 { "Trouble" } }
            p.lead { "Say what is silent and what is heard. Every failure of the plan is tried against it. Mute first: when a fault is cured, sound can come back at full level. Leave mains and voice alarm to those who are licensed for them." }
            (form(&report, &hunt, view))
            @for refused in &hunt.refused { p.refusal role="alert" { (refused) } }
            (answered(&report))
            @if !report.bad.is_empty() { (found(&report, &hunt)) }
        }
    };
    vec![Part::new("trouble", text)]
}

fn form(report: &Report, hunt: &Hunt, view: &View) -> Markup {
    let places = view.good.plan.iter().flat_map(|plan| plan.places.keys());
    html! {
        form.report method="get" action="/trouble" {
            input type="hidden" name="bad" value=(report.bad.join(","));
            input type="hidden" name="good" value=(report.good.join(","));
            div.field { label for="what" { "What do you report?" }
                input #what name="what" list="reports" autocomplete="off" placeholder="stream@receiver" required;
                datalist #reports { @for (value, words) in &hunt.reports { option value=(value) { (words) } } } }
            div.field { label for="at" { "Where are you?" }
                select #at name="at" { option value="" { "not said" } @for place in places { option value=(place) selected[report.at.as_deref() == Some(place.as_str())] { (place) } } } }
            div.ways {
                button type="submit" name="answer" value="bad" { "Silent, dark or off" }
                button.second type="submit" name="answer" value="good" { "Heard, lit or on" }
            }
        }
    }
}

fn answered(report: &Report) -> Markup {
    let one = |what: &String, is_good: bool| {
        html! { li { span.word { (word(what, is_good)) } " " (words_of(what)) " " a.button.second.small href=(report.without(what).address()) aria-label={ "Take back: " (words_of(what)) } { "take back" } } }
    };
    html! {
        @if !(report.good.is_empty() && report.bad.is_empty()) {
            section { h2 { "Reported" } ul.answers { @for what in &report.bad { (one(what, false)) } @for what in &report.good { (one(what, true)) } } }
        }
    }
}

/// The answer in a word.
fn word(what: &str, is_good: bool) -> &'static str {
    match (what.split(':').next().unwrap_or_default(), is_good) {
        ("lights", true) => "Lit",
        ("lights", false) => "Dark",
        ("power", true) => "On",
        ("power", false) => "Off",
        ("sound", true) => "Not it",
        ("sound", false) => "Cured by another cable",
        (_, true) => "Heard",
        (_, false) => "Silent",
    }
}

fn words_of(what: &str) -> String {
    let (kind, name) = what.split_once(':').unwrap_or(("", what));
    match kind {
        "lights" => format!("cable {name}"),
        "sound" => format!("cable {name}"),
        _ => name.replace('@', " at ").replace('/', ", network "),
    }
}

fn found(report: &Report, hunt: &Hunt) -> Markup {
    let (first, rest) = hunt.lines.suspects.split_at(hunt.lines.suspects.len().min(SHOWN));
    html! {
        section aria-live="polite" {
            h2 { (hunt.lines.says) }
            @if let [first, others @ ..] = hunt.lines.tests.as_slice() {
                (test(report, first))
                @if !others.is_empty() { details { summary { "Or one of " (others.len()) " others" } @for other in others { (test(report, other)) } } }
            }
        }
        @if !first.is_empty() {
            section {
                h2 { "Suspects" }
                ol.suspects { @for suspect in first { (suspect_row(suspect)) } }
                @if !rest.is_empty() { details { summary { (rest.len()) " less likely" } ol.suspects { @for suspect in rest { (suspect_row(suspect)) } } } }
            }
        }
    }
}

fn suspect_row(suspect: &SuspectLine) -> Markup {
    let percent = suspect.chance_ppm.div_ceil(10_000);
    let address = format!("/drawing?without={}{}", encoded(&suspect.items.join(",")), if suspect.frozen { "&frozen=1" } else { "" });
    html! {
        li {
            div.chance { strong { @if suspect.chance_ppm < 10_000 { "<1" } @else { (percent) } " %" }
                svg.meter viewBox="0 0 100 5" preserveAspectRatio="none" aria-hidden="true" { rect.all width="100" height="5" {} rect.used width=(percent) height="5" {} } }
            div { (suspect.says) "." @if suspect.misfits > 0 { " " span.calm { "Does not explain " (suspect.misfits) " of the answers." } } " " a href=(address) { "Show on the drawing" } }
        }
    }
}

fn test(report: &Report, test: &TestLine) -> Markup {
    let minutes = test.seconds.div_ceil(60);
    html! {
        article.test {
            h3 { (test.says) }
            p.calm { @if !test.places.is_empty() { (test.places.join(" or ")) ". " } "About " (minutes) " min. Tells " (format!("{}.{:02}", test.millibits / 1_000, test.millibits % 1_000 / 10)) " of a bit: 1 halves the suspects." }
            div.outcomes {
                a.button href=(report.copy().with(&test.ask, true).address()) { "Yes" } p { "leaves " (test.if_good) }
                a.button href=(report.copy().with(&test.ask, false).address()) { "No" } p { "leaves " (test.if_bad) }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_stand_in_the_address_and_can_be_taken_back() {
        let report = Report::read(&Query::read("bad=heard:a@b&good=lights:A-001&what=c@d&answer=bad&at=foh"));
        assert_eq!(report.address(), "/trouble?bad=heard:a%40b,heard:c%40d&good=lights:A-001&at=foh");
        assert_eq!(report.without("heard:a@b").without("heard:c@d").address(), "/trouble?good=lights:A-001&at=foh");
        let turned = report.with("lights:A-001", false);
        assert!(turned.good.is_empty() && turned.bad.len() == 3);
    }
}
