//! Saving a whole file as text.

use crate::engine::Proved;
use crate::forms::{Fields, act, back, field};
use crate::server::Workbench;
use crate::store::{Made, Refusal, Texts};
use axum::extract::{Form, State};
use axum::http::HeaderMap;
use axum::response::Response;

/// `POST /file/text`.
pub async fn save(State(workbench): State<Workbench>, headers: HeaderMap, Form(fields): Form<Fields>) -> Response {
    let is_wiring = field(&fields, "which") == "wiring";
    let label = if is_wiring { "wiring file as text" } else { "plan file as text" };
    let way_back = back(&fields).to_owned();
    let done = move |bench: &Workbench| bench.change(|store| store.edit(label, |now| edited(now, is_wiring, &fields)));
    act(workbench, headers, way_back, done).await
}

fn edited(now: &Proved, is_wiring: bool, fields: &Fields) -> Result<Made, Refusal> {
    let current = if is_wiring { now.texts.wiring.clone().unwrap_or_default() } else { now.texts.plan.clone() };
    let text = as_before(field(fields, "text"), &current);
    if field(fields, "based") != now.digest && text != current {
        let what = if is_wiring { "the wiring file" } else { "the plan file" };
        return Err(Refusal::Conflict { what: what.to_owned(), mine: text, theirs: current });
    }
    let texts = now.texts.clone();
    Ok(Made::from(match is_wiring {
        true => Texts { wiring: Some(text), ..texts },
        false => Texts { plan: text, ..texts },
    }))
}

/// Browsers send lines ended by CR LF; the file keeps the ending it had.
fn as_before(text: &str, current: &str) -> String {
    let plain = text.replace("\r\n", "\n");
    if current.contains("\r\n") { plain.replace('\n', "\r\n") } else { plain }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn line_ends_stay_as_they_were() {
        assert_eq!(as_before("a\r\nb\r\n", "x\n"), "a\nb\n");
        assert_eq!(as_before("a\r\nb\r\n", "x\r\ny\r\n"), "a\r\nb\r\n");
    }
}
