//! One cable: what the QR code on its label opens. Both ends, the way it lies, ticks, notes and pictures.

use super::super::part::Part;
use super::super::query::encoded;
use super::cables::networks;
use super::tick::{self, Subject};
use super::words::{by, trouble};
use crate::engine::{Heard, Word, cable, cable_cautions, line_check, place_name, place_of, ways};
use crate::store::View;
use loomwright_crewlog::{Deed, Entry};
use loomwright_model::{Cable, PortRef};
use maud::{Markup, html};

/// The page of the cable called `id`; `None` if the plan has none of that name and nobody said anything about it.
pub fn parts(id: &str, view: &View) -> Option<Vec<Part>> {
    let Some(found) = cable(&view.good, id) else {
        // While the plan cannot be read nobody knows whether it has the cable.
        let is_known = view.good.plan.is_none() || view.crew.book.about(id).next().is_some();
        return is_known.then(|| vec![gone(id, view), history(id, view)]);
    };
    let mut all = vec![head(id, found, view), trouble(view)];
    all.extend([0, 1].map(|n| end(id, (found, n), view)));
    all.push(test(id, view));
    all.push(lies(id, found, view));
    all.push(say(id, view));
    all.push(history(id, view));
    Some(all)
}

fn gone(id: &str, view: &View) -> Part {
    Part::new(
        "cable-head",
        html! { section #cable-head.narrow { h1 { "Cable " (id) }
        @if view.good.plan.is_none() { p { "The plan file has errors; the cable is shown when they are repaired. What was said about it stands below." } }
            @else { p { "The plan no longer has this cable. If it lies there, ask before you pull it out; what was said about it stands below." } }
        p.ways { a.button href="/linecheck" { "To the line check" } } } },
    )
}

fn head(id: &str, cable: &Cable, view: &View) -> Part {
    Part::new(
        "cable-head",
        html! {
            section #cable-head.cable-head {
                p.back { a href="/linecheck" { "Line check" } }
                h1 { (id) " " (networks(view, id)) }
                p.large { (cable.length) " " (cable.medium) }
            }
        },
    )
}

fn end(id: &str, (cable, n): (&Cable, usize), view: &View) -> Part {
    let port = cable.ends[n].to_string();
    let subject = Subject { cable: id, port: Some(&port) };
    let standing = subject.standing(view);
    let place = place_of(&view.good, &cable.ends[n]).map(|place| place_name(&view.good, place));
    let text = html! { span.first { @if let Some(place) = place { (place) } @else { "Place not known" } } span.where-to { "this end plugged into " b { (port) } } };
    let name = format!("cable-end-{n}");
    Part::new(
        name.as_str(),
        html! { section id=(name) class={ "end big " (tick::class(&standing)) } { (tick::form(view, &subject, &address(id), &text)) } },
    )
}

fn test(id: &str, view: &View) -> Part {
    let subject = Subject { cable: id, port: None };
    let text = html! { span.first { "Tested" } span.where-to { "signal through, link light on at both ends" } };
    Part::new(
        "cable-test",
        html! { section #cable-test class={ "end big " (tick::class(&subject.standing(view))) } { (tick::form(view, &subject, &address(id), &text)) } },
    )
}

fn address(id: &str) -> String {
    format!("/c/{}", encoded(id))
}

/// The way it lies, what the network says, what can hurt, and where to read on.
fn lies(id: &str, cable: &Cable, view: &View) -> Part {
    let comparison = line_check(&view.good, &view.seen);
    let heard = Heard::of(comparison.as_deref()).says(id);
    let item = format!("cable:{id}");
    let ends: Vec<String> = cable.ends.iter().map(PortRef::to_string).collect();
    let ways = ways(&view.good, cable);
    Part::new(
        "cable-lies",
        html! {
            section #cable-lies.panel {
                dl.facts {
                    dt { "Way" } dd { @if ways.is_empty() { "inside one place" } @else { @for (n, (name, length)) in ways.iter().enumerate() { @if n > 0 { ", then " } (name) @if let Some(length) = length { " (" (length) ")" } } } }
                    dt { "Network says" } dd { @match heard {
                        Word::AsPlanned => "seen as planned",
                        Word::Differs => { a href="/linecheck/seen" { "something differs" } },
                        Word::Nothing => "nothing yet; not seen is not wrong",
                    } }
                    @for (port, entry) in view.crew.book.elsewhere(id, &ends) { dt { "Plan changed" } dd { "was plugged into " b { (port) } " (" (by(entry)) "); the plan now says otherwise. Move it." } }
                }
                ul.cautions { @for caution in cable_cautions(&view.good, cable) { li { (caution) } } }
                p.ways {
                    a href={ "/proof/failures?item=" (encoded(&item)) } { "If it breaks" }
                    a href={ "/drawing?without=" (encoded(&item)) } { "On the drawing" }
                    a href={ "/trouble?bad=" (encoded(&format!("lights:{id}"))) } { "Its link light is dark" }
                }
            }
        },
    )
}

fn say(id: &str, view: &View) -> Part {
    Part::new(
        "cable-say",
        html! {
            section #cable-say.panel {
                form method="post" action="/linecheck/note" data-tick data-note {
                    input type="hidden" name="cable" value=(id); input type="hidden" name="back" value=(address(id));
                    input type="hidden" name="knew" value=(view.crew.book.shown(id));
                    div.field { label for="note" { "Note" } textarea #note name="text" rows="3" maxlength="2000" required placeholder="What should others know about this cable?" {} }
                    p.ways { button type="submit" { "Keep the note" } }
                }
                form.photo method="post" action="/linecheck/photo" enctype="multipart/form-data" {
                    input type="hidden" name="cable" value=(id);
                    label.field { "Photo: JPEG, PNG or WebP, up to " (loomwright_crewlog::photo::LARGEST / 1024 / 1024) " MB; needs a connection" input type="file" name="photo" accept="image/jpeg,image/png,image/webp" required; }
                    p.ways { button.second type="submit" { "Keep the photo" } }
                }
            }
        },
    )
}

/// Everything said about it, newest first.
fn history(id: &str, view: &View) -> Part {
    let all: Vec<&Entry> = view.crew.book.about(id).rev().collect();
    Part::new(
        "cable-history",
        html! { section #cable-history { h2 { "What was said" }
            @if all.is_empty() { p.calm { "Nothing yet." } }
            ol.said { @for entry in all { li { (deed(entry)) p.by { (by(entry)) } } } }
        } },
    )
}

fn deed(entry: &Entry) -> Markup {
    html! {
        @match &entry.deed {
            Deed::Plug { port, is, .. } => { p { @if *is { "Plugged into " } @else { "Not plugged into " } b { (port) } } }
            Deed::Test { is, .. } => { p { @if *is { "Tested, good" } @else { "Not good, or not tested" } } }
            Deed::Note { text, .. } => { p.note { (text) } }
            Deed::Photo { file, .. } => { a href={ "/linecheck/photo/" (encoded(file)) } target="_blank" { img.photo src={ "/linecheck/photo/" (encoded(file)) } alt={ "Photo of " (entry.deed.cable().unwrap_or_default()) } loading="lazy"; } }
            _ => {}
        }
    }
}
