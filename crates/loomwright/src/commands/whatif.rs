//! `loomwright whatif PLAN ITEM..`: what falls silent without these.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::{output, progress, text};
use loomwright_model::{Item, Plan, Wiring};
use loomwright_proof::report::FailureLine;
use loomwright_proof::{Analysis, DelaysAfter, Emergency, Loss, resolve_item, whatif, whatif_delays};
use serde::Serialize;

/// Takes the items away and prints what that does. An essential stream that falls silent stops the show.
pub fn run(arguments: &arguments::Whatif) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let (plan, wiring) = (&opened.loaded.plan, &opened.loaded.wiring);
    let items = arguments.items.iter().map(|name| item(name, plan, wiring)).collect::<Result<Vec<Item>, Failure>>()?;
    let (effect, delays, steps) = progress::during("taking away", || {
        let analysis = Analysis::new(plan, wiring);
        let losses: Vec<Loss> = items.iter().cloned().map(Loss::from).collect();
        (whatif(&analysis, &items), whatif_delays(&analysis, &losses), steps(&analysis, &items))
    });
    if arguments.json {
        output::json(&Told { effect: &effect, delays: &delays, steps: &steps })?
    } else {
        let [effect, delays, steps] = [text::failures::one(&effect), text::failures::delays(&delays), text::failures::steps(&steps)];
        output::data(&format!("{effect}{delays}{steps}"))?
    }
    Ok(Outcome::ready_if(!silences_essential(&effect, plan)))
}

/// What is printed as JSON: the failure, what it does to delays, and what to do in the minute it happens.
#[derive(Serialize)]
struct Told<'t> {
    #[serde(flatten)]
    effect: &'t FailureLine,
    delays: &'t DelaysAfter,
    #[serde(rename = "do")]
    steps: &'t [String],
}

/// What to do when one thing fails; nothing for several at once or for what cannot be replaced.
fn steps(analysis: &Analysis, items: &[Item]) -> Vec<String> {
    let [item] = items else { return Vec::new() };
    Emergency::new(analysis).advice(item).map(|advice| advice.steps(analysis)).unwrap_or_default()
}

fn silences_essential(effect: &FailureLine, plan: &Plan) -> bool {
    effect.silent.iter().any(|line| plan.streams.get(line.stream.as_str()).is_some_and(|stream| stream.essential))
}

/// The item that `name` means, if it is something that can fail.
fn item(name: &str, plan: &Plan, wiring: &Wiring) -> Result<Item, Failure> {
    let item =
        resolve_item(plan, wiring, name).map_err(|error| Failure::new(error.to_string(), "Check the name in the plan and its wiring."))?;
    match item {
        Item::Cable(_) | Item::Switch(_) | Item::Device(_) | Item::Port(_) | Item::Feed(_) | Item::Route(_) | Item::Hazard(_) => Ok(item),
        Item::Plan | Item::Stream(_) | Item::Network(_) | Item::Place(_) | Item::Gear(_) => Err(Failure::new(
            format!("`{item}` is not something that fails by itself"),
            "Name a cable, switch, device, port, feed, route or hazard.",
        )),
    }
}
