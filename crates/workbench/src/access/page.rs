//! The engineer's page of the door: the link to scan, the PIN, who is in. Only on the engineer's own address.

use super::{Invitation, Role};
use crate::forms::see;
use crate::pages::whole;
use crate::server::Workbench;
use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
use qrcode::{Color, EcLevel, QrCode};

/// White rim of a QR code in modules. **Source**: ISO/IEC 18004 (from memory).
const QUIET: usize = 4;

/// The addresses.
pub fn routes() -> Router<Workbench> {
    Router::new().route("/crew", get(show)).route("/crew/renew", post(renew))
}

async fn show(State(workbench): State<Workbench>, headers: HeaderMap) -> Response {
    let text = match workbench.access() {
        Some(access) => open(
            &access.invitation(),
            &access.guests().iter().map(|guest| (guest.role, guest.who.name.clone(), guest.who.hand.clone())).collect::<Vec<_>>(),
        ),
        None => closed(),
    };
    whole(&workbench, &headers, ("The crew\u{2019}s phones", "/linecheck"), text)
}

async fn renew(State(workbench): State<Workbench>) -> Response {
    match workbench.access().map(|access| access.renew()) {
        Some(Ok(())) | None => see("/crew"),
        Some(Err(_)) => (StatusCode::SERVICE_UNAVAILABLE, "No new link could be made; the old one stays.\n").into_response(),
    }
}

fn closed() -> Markup {
    html! {
        section.narrow { h1 { "The crew\u{2019}s phones" }
            p { "Only this machine can open these pages. To let phones of the crew tick cables, start the workbench with " code { "loomwright open PLAN --crew" } ": it then also listens on one address of the show\u{2019}s own network, behind a link and a PIN." }
            p.ways { a.button href="/linecheck" { "Back to the line check" } } }
    }
}

fn open(given: &Invitation, guests: &[(Role, String, String)]) -> Markup {
    html! {
        section.invite {
            div.heading { h1 { "The crew\u{2019}s phones" } }
            p.lead { "Scan the code with a phone that is on the show\u{2019}s own network, then type the PIN. The crew reads, ticks, notes and photographs; only this desk changes the plan. The network must be yours: what is sent on it is not encrypted." }
            div.invitation {
                div.code role="img" aria-label={ "QR code of " (given.tick) } { (code(&given.tick)) }
                div { p.calm { "PIN" } p.pin { (given.pin) } p { code { (given.tick) } } }
            }
            details.more { summary { "For those who only look" } div.code role="img" aria-label={ "QR code of " (given.look) } { (code(&given.look)) } p { code { (given.look) } } }
            h2 { "Joined" span.count { " " (guests.len()) } }
            @if guests.is_empty() { p.calm { "Nobody yet." } }
            ul.files { @for (role, name, hand) in guests { li { div { strong { @if name.is_empty() { "no name" } @else { (name) } } " " span.calm { "phone " (hand) ", " @match role { Role::Tick => "ticks", Role::Look => "looks" } } } } } }
            form method="post" action="/crew/renew" { p.ways { button.second type="submit" { "Send everybody away, new link and PIN" } } }
        }
    }
}

/// A QR code as a drawing: black on white in either theme, each row as runs.
fn code(text: &str) -> Markup {
    let Ok(code) = QrCode::with_error_correction_level(text, EcLevel::M) else { return html! {} };
    let (width, mut path) = (code.width(), String::new());
    for (row, modules) in code.to_colors().chunks(width).enumerate() {
        let mut at = 0;
        for run in modules.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                path += &format!("M{} {}h{}v1h-{}z", at + QUIET, row + QUIET, run.len(), run.len());
            }
            at += run.len();
        }
    }
    let side = width + 2 * QUIET;
    html! { svg viewBox={ "0 0 " (side) " " (side) } shape-rendering="crispEdges" aria-hidden="true" { rect width=(side) height=(side) fill="#fff" {} path d=(path) fill="#000" {} } }
}
