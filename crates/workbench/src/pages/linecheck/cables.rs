//! Every cable end, place by place in walking order, each a big target.

use super::super::Query;
use super::super::figures::count;
use super::super::part::Part;
use super::super::query::encoded;
use super::tick::{self, Subject};
use crate::engine::{CAUTIONS, Heard, Word, cable, line_check, net_class, place_name, place_of, progress};
use crate::store::View;
use loomwright_crewlog::progress::{Count, End, Progress, Stop};
use maud::{Markup, html};

/// Most ends that stand open on one page; with more, one place at a time. Own choice: what a phone draws at once.
const ALL_AT_ONCE: usize = 160;

/// The page.
pub fn parts(query: &Query, view: &View) -> Vec<Part> {
    let far = progress(&view.good, &view.crew.book);
    if far.stops.is_empty() {
        return vec![Part::new("crew-head", nothing())];
    }
    let one = chosen(query, &far);
    let comparison = line_check(&view.good, &view.seen);
    let heard = Heard::of(comparison.as_deref());
    let differences = comparison.as_ref().map(|comparison| comparison.differences.len());
    let mut all = vec![head(query, view, (&far, one, differences))];
    for (n, stop) in far.stops.iter().enumerate().filter(|(n, _)| one.is_none_or(|one| one == *n)) {
        let base = match (one, &stop.place) {
            (Some(_), Some(id)) => format!("/linecheck?place={}", encoded(id.as_str())),
            _ => "/linecheck".to_owned(),
        };
        all.push(place(view, (n, stop), (&heard, &base)));
    }
    all.push(onward(&far, one));
    all.push(Part::new("cautions", cautions()));
    all
}

fn nothing() -> Markup {
    html! { section #crew-head { p.calm { "There is nothing to plug before something is wired. " a href="/design" { "Design the wiring" } "." } } }
}

/// The one place that is shown; `None` shows all.
fn chosen(query: &Query, far: &Progress) -> Option<usize> {
    let word = |stop: &Stop| stop.place.as_ref().map_or("-".to_owned(), ToString::to_string);
    let wanted = query.get("place").and_then(|id| far.stops.iter().position(|stop| word(stop) == id));
    let first_open = || far.stops.iter().position(|stop| !stop.count.is_complete()).unwrap_or(0);
    wanted.or_else(|| (far.ends.of > ALL_AT_ONCE).then(first_open))
}

fn head(query: &Query, view: &View, (far, one, differences): (&Progress, Option<usize>, Option<usize>)) -> Part {
    let name = query.get("name").unwrap_or_default();
    Part::new(
        "crew-head",
        html! {
            section #crew-head {
                div.far {
                    p.large { strong.value { (far.ends.done) } " of " (count(far.ends.of, "end", "ends")) " plugged" }
                    (meter(far.ends))
                    p.calm { (far.cables.done) " of " (count(far.cables.of, "cable", "cables")) " at both ends, " (far.tested.done) " tested. "
                        @match differences {
                            None => { "Nothing was seen on the network yet: " a href="/linecheck/seen" { "drop evidence in" } "." }
                            Some(0) => { "Nothing seen on the network differs." }
                            Some(n) => { a href="/linecheck/seen" { (count(n, "difference", "differences")) } " on the network." }
                        }
                    }
                    @if far.disputed > 0 { p.disagree { (tick::sign(&loomwright_crewlog::Standing::Disputed(Vec::new()))) (count(far.disputed, "end or test", "ends or tests")) " about which people said different things. Look and decide." } }
                }
                (name_form(name))
                p #dead-spot.calm { "Dead spot? Keep this page open: over plain http a phone cannot open it again without connection. Taps are kept and sent later." }
                nav.walk aria-label="Places in walking order" { @for (n, stop) in far.stops.iter().enumerate() { (stop_link(view, (n, stop), one)) } }
            }
        },
    )
}

/// Who ticks; kept in this browser. The script fills it in from there.
fn name_form(name: &str) -> Markup {
    html! {
        form.who method="post" action="/linecheck/name" {
            input type="hidden" name="back" value="/linecheck";
            div.field { label for="crew-name" { "Your name" }
                input #crew-name name="name" value=(name) maxlength="40" autocomplete="name" placeholder="So that others know whom to ask"; }
            button.second type="submit" { "Keep" }
            a.phones.owner href="/crew" { "Let the crew\u{2019}s phones in" }
        }
    }
}

fn stop_link(view: &View, (n, stop): (usize, &Stop), one: Option<usize>) -> Markup {
    let name = stop.place.as_ref().map_or_else(|| "Place not known".to_owned(), |id| place_name(&view.good, id));
    let word = stop.place.as_ref().map_or("-", |id| id.as_str());
    let address = if one.is_some() { format!("/linecheck?place={}", encoded(word)) } else { format!("#stop-{n}") };
    html! {
        a href=(address) class=[stop.count.is_complete().then_some("complete")] aria-current=[(one == Some(n)).then_some("true")] {
            span.n { (n + 1) } span.name { (name) }
            span.figure { @if stop.disputed > 0 { b.disputes title="People said different things" { "!" span.unseen { " people disagree; " } } " " } (stop.count.done) "/" (stop.count.of) } (meter(stop.count))
        }
    }
}

fn place(view: &View, (n, stop): (usize, &Stop), (heard, base): (&Heard, &str)) -> Part {
    let name = stop.place.as_ref().map_or_else(|| "Place not known".to_owned(), |id| place_name(&view.good, id));
    let before = html! { h2 { (n + 1) ". " (name) " " span.count { (stop.count.done) " of " (stop.count.of) } } }.into_string();
    let rows = stop.ends.iter().map(|end| row(view, end, (heard.says(end.cable.as_str()), base))).collect();
    let open = format!("<section id=\"stop-{n}\" class=\"at-place\">{before}<ul class=\"ends\">");
    Part::with_rows(format!("stop-{n}"), &open, rows, "</ul></section>")
}

fn row(view: &View, end: &End, (heard, base): (Word, &str)) -> Part {
    let id = format!("end-{}-{}", end.cable, end.n);
    let port = end.port.to_string();
    let subject = Subject { cable: end.cable.as_str(), port: Some(&port) };
    let standing = subject.standing(view);
    let text = html! { span.first { strong.cable { (end.cable) } " " (networks(view, end.cable.as_str())) " " span.port { "into " b { (port) } } } (rest(view, end)) };
    let back = format!("{base}#{id}");
    let html = html! {
        li id=(id) class={ "end " (tick::class(&standing)) } {
            (tick::form(view, &subject, &back, &text))
            a.about href={ "/c/" (encoded(end.cable.as_str())) } aria-label={ "About cable " (end.cable) } {
                @match heard { Word::AsPlanned => span.seen title="Seen on the network as planned" { "seen" }, Word::Differs => span.seen.differs { "differs" }, Word::Nothing => {} }
                svg.sign viewBox="0 0 24 24" aria-hidden="true" focusable="false" { path d="M9 5l7 7-7 7" {} }
            }
        }
    };
    Part::new(id, html)
}

/// Letters of the networks that a cable carries.
pub fn networks(view: &View, id: &str) -> Markup {
    let (plan, cable) = (view.good.plan.as_ref(), cable(&view.good, id));
    html! { @if let (Some(plan), Some(cable)) = (plan, cable) { @for network in &cable.networks { span class={ "net " (net_class(plan, network.as_str())) } { (network) } } } }
}

fn rest(view: &View, end: &End) -> Markup {
    let Some(cable) = cable(&view.good, end.cable.as_str()) else { return html! {} };
    let (here, there) = (place_of(&view.good, &end.port), place_of(&view.good, &end.other));
    html! {
        span.rest-of { "other end " (end.other) @if here != there { @if let Some(place) = there { ", " (place_name(&view.good, place)) } }
            " \u{b7} " (cable.length) " " (cable.medium) }
    }
}

/// Where to walk next, at the foot: the thumb is there.
fn onward(far: &Progress, one: Option<usize>) -> Part {
    let next = one.and_then(|one| (one + 1..far.stops.len()).chain(0..one).find(|n| !far.stops[*n].count.is_complete()));
    let word = next.and_then(|n| far.stops[n].place.as_ref()).map(|id| encoded(id.as_str()));
    Part::new(
        "onward",
        html! { p #onward.ways {
            @if let Some(word) = word { a.button href={ "/linecheck?place=" (word) } { "On to the next place" } }
            @if far.ends.is_complete() { a.button href="/linecheck/record" { "All plugged: on to the record" } }
        } },
    )
}

/// How much of it is done.
pub fn meter(count: Count) -> Markup {
    let percent = count.done * 100 / count.of.max(1);
    html! { svg.meter viewBox="0 0 100 5" preserveAspectRatio="none" aria-hidden="true" { rect.all width="100" height="5" {} rect.done width=(percent) height="5" {} } }
}

fn cautions() -> Markup {
    html! {
        aside #cautions.cautions { h2 { "Before you touch anything" } ul { @for caution in CAUTIONS { li { (caution) } } } }
    }
}
