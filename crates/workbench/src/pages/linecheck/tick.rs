//! The one tap: an end is plugged, a cable is tested. The same form stands in the list and on the cable's own page.

use super::words::by;
use crate::store::View;
use loomwright_crewlog::Standing;
use maud::{Markup, html};

/// What is ticked.
pub struct Subject<'a> {
    /// The cable.
    pub cable: &'a str,
    /// The port of the end; `None` for the test of the cable.
    pub port: Option<&'a str>,
}

impl Subject<'_> {
    /// How it stands.
    pub fn standing<'v>(&self, view: &'v View) -> Standing<'v> {
        match self.port {
            Some(port) => view.crew.book.plugged(self.cable, port),
            None => view.crew.book.tested(self.cable),
        }
    }

    const fn words(&self) -> (&'static str, &'static str) {
        if self.port.is_some() { ("Plugged", "Not plugged") } else { ("Tested, good", "Not good") }
    }
}

/// The word for style: how it stands.
pub fn class(standing: &Standing<'_>) -> &'static str {
    match standing {
        Standing::Unsaid | Standing::TakenBack(_) => "open",
        Standing::Done(_) => "done",
        Standing::Disputed(_) => "disputed",
    }
}

/// The sign of a state: told apart by shape as well as colour.
pub fn sign(standing: &Standing<'_>) -> Markup {
    html! {
        svg.box viewBox="0 0 32 32" aria-hidden="true" focusable="false" {
            rect.frame x="2.5" y="2.5" width="27" height="27" rx="7" {}
            @match standing {
                Standing::Done(_) => { path.on d="M9 16.5l5 5L23.5 11" {} }
                Standing::Disputed(_) => { path.on d="M16 8.5v9.5M16 22.2v.4" {} }
                _ => {}
            }
        }
    }
}

/// A button that says `text` and ticks, or takes the tick back. While people disagree there are two.
pub fn form(view: &View, subject: &Subject<'_>, back: &str, text: &Markup) -> Markup {
    let standing = subject.standing(view);
    if standing.is_disputed() {
        return dispute(view, subject, (back, text));
    }
    let (yes, no) = subject.words();
    let is = !standing.is_done();
    html! {
        form method="post" action="/linecheck/tick" data-tick {
            (fields(view, subject, back))
            button.tick type="submit" name="is" value=(is) aria-pressed=(!is) {
                (sign(&standing))
                span.text { (text) span.by { @match &standing {
                    Standing::Done(entry) => { (yes) ": " (by(entry)) }
                    Standing::TakenBack(entry) => { "Taken back: " (by(entry)) }
                    _ => { span.unseen { (no) " yet" } }
                } } }
            }
        }
    }
}

/// Both claims and the two ways to decide.
fn dispute(view: &View, subject: &Subject<'_>, (back, text): (&str, &Markup)) -> Markup {
    let standing = subject.standing(view);
    let (yes, no) = subject.words();
    let Standing::Disputed(claims) = &standing else { return html! {} };
    let says = |entry: &loomwright_crewlog::Entry| match &entry.deed {
        loomwright_crewlog::Deed::Plug { is, .. } | loomwright_crewlog::Deed::Test { is, .. } => {
            if *is {
                yes
            } else {
                no
            }
        }
        _ => "",
    };
    html! {
        form.dispute method="post" action="/linecheck/tick" data-tick {
            (fields(view, subject, back))
            div.tick { (sign(&standing)) span.text { (text)
                @for claim in claims { span.by { strong { (says(claim)) } ": " (by(claim)) } }
                span.by { "They did not know of each other. Look, then decide:" } } }
            div.decide { button.second type="submit" name="is" value="true" { (yes) } button.second type="submit" name="is" value="false" { (no) } }
        }
    }
}

fn fields(view: &View, subject: &Subject<'_>, back: &str) -> Markup {
    html! {
        input type="hidden" name="cable" value=(subject.cable);
        @if let Some(port) = subject.port { input type="hidden" name="port" value=(port); }
        input type="hidden" name="knew" value=(view.crew.book.shown(subject.cable));
        input type="hidden" name="back" value=(back);
    }
}
