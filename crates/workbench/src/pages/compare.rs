//! Designs side by side: what each costs, what it stands, and which to take.

use super::Query;
use super::figures::{micro, time};
use super::part::Part;
use super::tabs::tabs;
use crate::engine::{compared, small_picture};
use crate::store::View;
use loomwright_design::options::{Built, DesignOption, Fall, Shape, any_two_difference};
use loomwright_model::{Plan, Time};
use maud::{Markup, PreEscaped, html};

/// The page.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    let head = tabs("Design", &super::design::PAGES, "/design/options");
    let Some(plan) = &view.good.plan else {
        return vec![
            head,
            Part::new("options", html! { p #options.calm { "There is nothing to compare until the plan file can be read." } }),
        ];
    };
    let any_two = query.get("any-two").is_some();
    let found = compared(&view.good, plan, any_two);
    let back = if any_two { "/design/options?any-two=1" } else { "/design/options" };
    vec![
        head,
        ask(plan, any_two, &found),
        table(&found),
        Part::new("options", html! { section #options.choices { @for option in found.iter() { (card(plan, option, back)) } } }),
    ]
}

fn ask(plan: &Plan, any_two: bool, found: &[DesignOption]) -> Part {
    let unpriced = found.iter().filter_map(|option| option.outcome.as_ref().ok()).find(|built| !built.price.missing.is_empty());
    Part::new(
        "ask",
        html! {
            section #ask.narrow {
                p.lead { "Every shape is wired in full and proved by the plan as it stands. What is held stays in all of them. Taking one can be undone." }
                @if let Some(built) = unpriced { p.calm { "Cost counts what has a price only, not: " (built.price.missing.join(", ")) ". Add prices under " code { "[labour]" } " in the plan file and to the gear types." } }
                @if any_two {
                    div.panel { h2 { "To survive any two failures" } @for line in any_two_difference(plan, found) { p { (line) } } p.ways { a href="/design/options" { "Leave it out again" } } }
                } @else { p.ways { a.button.second href="/design/options?any-two=1" { "What would it cost to survive any two?" } } }
            }
        },
    )
}

fn table(found: &[DesignOption]) -> Part {
    let built = || found.iter().filter_map(|option| Some((option.shape, option.outcome.as_ref().ok()?)));
    let heads =
        ["Ready", "Cost", "Switches", "Cable", "Ends", "Worst delay", "Clock error", "One failure silences", "Stays up", "Free ports"];
    Part::new(
        "compared",
        html! {
            div #compared.sheet {
                table.compared {
                    caption.unseen { "Designs and their figures" }
                    thead { tr { th scope="col" { "Design" } @for head in heads { th scope="col" { (head) } } } }
                    tbody { @for (shape, built) in built() {
                        tr class=[built.standing.beaten_by.is_some().then_some("beaten")] {
                            th scope="row" { a href={ "#" (shape.word()) } { (upper(shape.title())) } @if built.is_wired { span.kind { " wired now" } } @if built.standing.beaten_by.is_none() { span.kind { " \u{2605} beaten by none" } } }
                            @for (head, cell) in heads.iter().zip(cells(built)) { td data-label=(head) { (cell) } }
                        }
                    } }
                }
            }
        },
    )
}

fn cells(built: &Built) -> [String; 10] {
    let (price, figures) = (&built.price, &built.figures);
    let bound = |bound: Option<Time>| bound.map_or("no bound".to_owned(), |bound| time(bound.nanoseconds_up()));
    [
        if figures.is_ready { "yes".to_owned() } else { "no".to_owned() },
        format!("{}{}", price.known(), if price.missing.is_empty() { "" } else { " +" }),
        price.switches.to_string(),
        price.cable().to_string(),
        price.ends.to_string(),
        bound(figures.worst_delay),
        bound(figures.clock_error),
        silences(&figures.worst_failure),
        figures.availability.map_or("\u{2013}".to_owned(), |up| format!("{:.4} %", up * 100.0)),
        format!("{} of {}", figures.free_ports[0], figures.free_ports[1]),
    ]
}

fn silences(fall: &Fall) -> String {
    if fall.silent == 0 { "nothing".to_owned() } else { format!("{}, {} essential", fall.silent, fall.essential) }
}

fn upper(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

fn card(plan: &Plan, option: &DesignOption, back: &str) -> Markup {
    let (word, title) = (option.shape.word(), upper(option.shape.title()));
    match &option.outcome {
        Err(why) => html! { article.choice.unbuilt id=(word) { h2 { (title) } p { "Cannot be built. " (why) } } },
        Ok(built) => html! {
            article.choice id=(word) {
                h2 { (title) }
                div.small-drawing aria-hidden="true" { (PreEscaped(small_picture(plan, built))) }
                (said(built))
                (take(option.shape, built, back))
            }
        },
    }
}

fn said(built: &Built) -> Markup {
    let figures = &built.figures;
    html! {
        @if built.is_usual { p { "This is what the design decides by itself." } }
        @for line in &built.gives_up { p { (line) } }
        @if let Some(first) = figures.stops.first() {
            p { strong.severity.stop { "Stops the show:" } " " (micro(first)) @if figures.stops.len() > 1 { " And " (figures.stops.len() - 1) " more." } }
        } @else { p { strong.ready { "Nothing stops the show." } } }
        @if !figures.worst_failure.without.is_empty() { p.calm { "Worst single failure: " (figures.worst_failure.without.join(", ")) @if figures.worst_failure.is_frozen { ", frozen" } "." } }
        @if let Some((_, says)) = &built.standing.beaten_by { p.calm { "Not worth it by these figures. " (says) } }
        details { summary { "What it costs" } ul {
            @for (what, sum) in &built.price.parts { li { (upper(what)) ": " (sum) } }
            @for missing in &built.price.missing { li { (upper(missing)) ": no price in the plan" } }
            @if built.price.not_in_stock > 0 { li { (super::figures::count(built.price.not_in_stock, "cable is", "cables are")) " longer than any piece in stock" } }
        } }
    }
}

fn take(shape: Shape, built: &Built, back: &str) -> Markup {
    html! {
        @if built.is_wired { p.calm { "Wired like this now." } } @else {
            form.ways method="post" action="/design/choose" data-live {
                input type="hidden" name="shape" value=(shape.word());
                input type="hidden" name="back" value=(back);
                button type="submit" { "Take this one" span.unseen { ": " (shape.title()) } }
            }
        }
    }
}
