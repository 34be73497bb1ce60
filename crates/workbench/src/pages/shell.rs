//! What every page has: head, navigation, the plan's name and state, undo and redo.

use super::assets::VERSION;
use super::figures::mark;
use super::part::{Page, Part};
use super::trouble;
use crate::access::{ROLE, Role};
use crate::server::Workbench;
use crate::store::View;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

/// How a browser wants pages to look, from its cookie.
pub struct Look {
    theme: Option<&'static str>,
    /// The role of a guest of the crew's door; `None` at the engineer's desk.
    role: Option<&'static str>,
}

impl Look {
    /// Reads the cookie `theme`, and the role that the door wrote.
    pub fn of(headers: &HeaderMap) -> Self {
        let cookies = headers.get(header::COOKIE).and_then(|value| value.to_str().ok()).unwrap_or("");
        let theme = cookies.split(';').find_map(|cookie| match cookie.trim() {
            "theme=dark" => Some("dark"),
            "theme=light" => Some("light"),
            _ => None,
        });
        let role = headers.get(ROLE).and_then(|value| [Role::Look.word(), Role::Tick.word()].into_iter().find(|word| value == word));
        Self { theme, role }
    }
}

/// The sections: address, name, and the strokes of its sign.
const SECTIONS: [(&str, &str, &str); 9] = [
    ("/", "Verdict", "M4 12.5l5 5L20 6.5"),
    ("/drawing", "Drawing", "M4 4h6v5H4zM14 15h6v5h-6zM7 9v6.5a2 2 0 0 0 2 2h5"),
    ("/gear", "Gear", "M3 6h18M3 12h18M3 18h18M9 6v12"),
    ("/design", "Design", "M5 19c8 0 6-14 14-14M5 19h.01M19 5h.01M3 19a2 2 0 1 0 4 0a2 2 0 1 0-4 0M17 5a2 2 0 1 0 4 0a2 2 0 1 0-4 0"),
    ("/proof", "Proof", "M3 20h18M6 20v-7M11 20V5M16 20v-11M21 20v-4"),
    ("/addresses", "Addresses", "M9 3L7 21M17 3l-2 18M4 8.5h17M3 15.5h17"),
    ("/sheets", "Sheets", "M6 3h8l4 4v14H6zM14 3v4h4M9 12h6M9 16h6"),
    ("/linecheck", "Line check", "M4 6h4v4H4zM4 15h4v4H4zM12 8h8M12 17h8M5 7.5l1 1.2 2.6-3"),
    ("/trouble", "Trouble", "M12 3l9.5 17h-19zM12 10v4.5M12 17.5v.01"),
];

/// Puts the parts every page has around a page's own.
pub fn page(title: String, section: &'static str, mut own: Vec<Part>, view: &View) -> Page {
    let mut parts = vec![trouble::banner(view)];
    parts.append(&mut own);
    Page { title, section, mark: view.mark(), exists: true, follows: true, around: vec![state(view), steps(view)], parts }
}

/// For an address that leads nowhere.
pub fn missing(path: &str, view: &View) -> Page {
    let text = html! {
        section #missing.narrow {
            h1 { "There is no such page" }
            p { "Nothing is shown at " code { (path) } ". It may have been taken away from the plan, or the address has a slip." }
            p { a.button href="/" { "Go to the verdict" } }
        }
    };
    Page { exists: false, ..page("No such page".to_owned(), "", vec![Part::new("missing", text)], view) }
}

/// Which plan this is and how it stands, on every page.
fn state(view: &View) -> Part {
    let (word, says) = standing(view);
    let about = view.good.plan.as_ref().map(|plan| &plan.about);
    let name = about.map(|about| about.name.as_str()).filter(|name| !name.is_empty()).unwrap_or(&view.file);
    Part::new(
        "state",
        html! {
            div #state data-log=(view.crew.key) {
                p.plan { strong { (name) } @if let Some(about) = about.filter(|about| !about.revision.is_empty()) { span.revision { "Rev " (about.revision) } } }
                a class={ "standing " (word) } href="/" { (mark(word)) span { (says) } }
            }
        },
    )
}

/// The word of the mark for the plan's state, and what it says in a few words.
pub fn standing(view: &View) -> (&'static str, String) {
    let count = |word: &str| view.good.report.findings.iter().filter(|finding| finding.severity == word).count();
    match (view.now.plan.is_some(), count("stop"), count("warn")) {
        (false, ..) => ("stop", "File has errors".to_owned()),
        _ if view.good.wiring.cables.is_empty() => ("note", "Not wired yet".to_owned()),
        _ if !view.now.report.ready => ("stop", format!("Not ready: {}", count("stop"))),
        (_, _, 0) => ("ready", "Ready".to_owned()),
        (.., warn) => ("ready", format!("Ready, {warn} to watch")),
    }
}

/// Undo and redo, on every page.
fn steps(view: &View) -> Part {
    let step = |action: &str, word: &str, label: Option<&String>, strokes: &str| {
        html! {
            form method="post" action=(action) data-live {
                input type="hidden" name="based" value=(view.now.digest);
                input type="hidden" name="back" value="/" data-here;
                button.quiet type="submit" disabled[label.is_none()] title=[label.map(|label| format!("{word}: {label}"))] {
                    (stroke(strokes)) span { (word) } @if let Some(label) = label { span.unseen { ": " (label) } }
                }
            }
        }
    };
    Part::new(
        "steps",
        html! {
            div #steps {
                (step("/undo", "Undo", view.undo.as_ref(), "M9 6L4 11l5 5M4 11h10a6 6 0 0 1 6 6v1"))
                (step("/redo", "Redo", view.redo.as_ref(), "M15 6l5 5-5 5M20 11H10a6 6 0 0 0-6 6v1"))
            }
        },
    )
}

/// A sign drawn with strokes.
pub fn stroke(path: &str) -> Markup {
    html! { svg.sign viewBox="0 0 24 24" aria-hidden="true" focusable="false" { path d=(path) {} } }
}

/// Sections that a guest has no use for: they edit the plan.
const DESK: [&str; 3] = ["/gear", "/design", "/addresses"];

fn navigation(section: &str, is_guest: bool) -> Markup {
    html! {
        nav aria-label="Pages" {
            @for (address, name, strokes) in SECTIONS.into_iter().filter(|(address, ..)| !(is_guest && DESK.contains(address))) {
                a href=(address) aria-current=[(section == address).then_some("page")] { (stroke(strokes)) span { (name) } }
            }
        }
    }
}

/// The whole document, with the status it is answered with.
pub fn document(page: &Page, look: &Look, at: &str) -> (StatusCode, Markup) {
    let document = html! {
        (DOCTYPE)
        html lang="en" data-theme=[look.theme] {
            (head(&page.title, look))
            body data-mark=(page.mark) data-still[!page.follows] data-role=[look.role] {
                a.skip href="#main" { "Skip to the page" }
                header { a.home href="/" aria-label="Loomwright, verdict" { (emblem()) } @for part in &page.around { (part.html()) } (theme_button(look, at)) }
                (navigation(page.section, look.role.is_some()))
                (page.main())
                p #live role="status" {}
            }
        }
    };
    (if page.exists { StatusCode::OK } else { StatusCode::NOT_FOUND }, document)
}

/// The house's sign: three strands crossed by one.
fn emblem() -> Markup {
    html! {
        svg.emblem viewBox="0 0 32 32" aria-hidden="true" focusable="false" {
            path.warp d="M8 4v24M16 4v24M24 4v24" {}
            path.weft d="M3 16h3.5M9.5 16h9.5M13 16h0M21 16h8" {}
        }
    }
}

fn theme_button(look: &Look, at: &str) -> Markup {
    let (next, word) = match look.theme {
        None => ("dark", "Dark"),
        Some("dark") => ("light", "Light"),
        Some(_) => ("auto", "As the system"),
    };
    html! {
        form.theme method="post" action="/theme" {
            input type="hidden" name="back" value=(at);
            input type="hidden" name="theme" value=(next);
            button.quiet type="submit" title={ "Switch colours: " (word) } { (stroke("M12 3a9 9 0 1 0 0 18zM12 3a9 9 0 0 1 0 18")) span.unseen { "Colours: " (word) } }
        }
    }
}

fn head(title: &str, look: &Look) -> Markup {
    let version = VERSION.as_str();
    html! {
        head {
            meta charset="utf-8";
            title { (title) " \u{2013} Loomwright" }
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content=(look.theme.unwrap_or("light dark"));
            link rel="icon" type="image/svg+xml" href={ "/assets/icon.svg?" (version) };
            link rel="stylesheet" href={ "/assets/app.css?" (version) };
            script type="module" src={ "/assets/app.js?" (version) } {}
            script type="module" src={ "/assets/crew.js?" (version) } {}
        }
    }
}

/// A document of its own for people who are not let in yet: no plan, no navigation.
pub fn bare(headers: &HeaderMap, title: &str, text: &Markup) -> Markup {
    let look = Look::of(headers);
    html! { (DOCTYPE) html lang="en" data-theme=[look.theme] { (head(title, &look)) body.bare data-still { main #main { (text) } p #live role="status" {} } } }
}

/// A page of `title` and section that stands still, as an answer.
pub fn whole(workbench: &Workbench, headers: &HeaderMap, (title, section): (&str, &'static str), text: Markup) -> Response {
    let parts = vec![Part::new("whole", html! { div #whole { (text) } })];
    let page = Page { follows: false, ..page(title.to_owned(), section, parts, &workbench.view()) };
    document(&page, &Look::of(headers), section).into_response()
}
