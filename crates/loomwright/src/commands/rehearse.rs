//! `loomwright rehearse PLAN`: the wiring built on this machine, everything taken away once, compared with the prediction.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::{output, text};
use loomwright_forwarding::Fabric;
use loomwright_model::{Item, Plan, Wiring};
use loomwright_proof::resolve_item;
use loomwright_rehearsal::script::{as_rehearsed, survival};
use loomwright_rehearsal::{Blueprint, Cast, Report, Script};
use loomwright_survival::Survival;

/// Says every line to the person at the terminal.
#[cfg(target_os = "linux")]
struct Talk;

#[cfg(target_os = "linux")]
impl loomwright_rehearsal::Progress for Talk {
    fn says(&self, line: &str) {
        output::talk(line);
    }
}

/// Builds, takes away, compares. A difference, or a step that could not be tried, stops the show.
pub fn run(arguments: &arguments::Rehearse) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let (plan, wiring) = (as_rehearsed(&opened.loaded.plan), &opened.loaded.wiring);
    let only = arguments.only.iter().map(|name| item(name, &plan, wiring)).collect::<Result<Vec<Item>, Failure>>()?;
    let fabric = Fabric::new(&plan, wiring);
    refuse_loops(&plan, wiring, &fabric)?;
    let survival: Survival = survival(&plan, wiring, &fabric);
    let blueprint = Blueprint::new(&plan, wiring, &fabric);
    let cast = Cast::new((&plan, wiring), &fabric, &survival, &blueprint);
    let mut script = Script::new((&plan, wiring), &fabric, &survival, &blueprint);
    script.keep_only(&only);
    if cast.listeners.is_empty() {
        return Err(Failure::new(
            "no stream has both ends plugged in: there is nothing to listen to",
            "Wire the plan: `loomwright design PLAN`.",
        ));
    }
    let report = on_this_machine(arguments, (&blueprint, &cast), &script)?;
    if arguments.json {
        output::json(&report)?
    } else {
        output::data(&text::rehearsal::report(&report))?
    }
    Ok(Outcome::ready_if(report.agrees))
}

#[cfg(target_os = "linux")]
fn on_this_machine(arguments: &arguments::Rehearse, (blueprint, cast): (&Blueprint, &Cast), script: &Script) -> Result<Report, Failure> {
    use loomwright_rehearsal::{Options, kernel, rehearse};
    let found = kernel::prepare().map_err(failure)?;
    if found.has_own_users {
        output::talk("Without root: in a user namespace of its own.");
    }
    let options = Options { copies: arguments.copies, keep: arguments.keep.clone() };
    rehearse((blueprint, cast), script, &options, &Talk).map_err(failure)
}

#[cfg(not(target_os = "linux"))]
fn on_this_machine(_: &arguments::Rehearse, _: (&Blueprint, &Cast), _: &Script) -> Result<Report, Failure> {
    Err(Failure::new("a rehearsal needs the bridges of a Linux kernel", "Run it on a Linux machine, or in a virtual one."))
}

#[cfg(target_os = "linux")]
fn failure(trouble: loomwright_rehearsal::Trouble) -> Failure {
    Failure::new(trouble.says, trouble.remedy)
}

/// Frames that circle would load this machine as they would load the switches.
fn refuse_loops(plan: &Plan, wiring: &Wiring, fabric: &Fabric) -> Result<(), Failure> {
    let storms = loomwright_forwarding::forward(plan, wiring, fabric).storms;
    let Some(storm) = storms.first() else { return Ok(()) };
    let cables: Vec<String> = storm.cables.iter().map(|cable| fabric.cables[cable.0 as usize].id.to_string()).collect();
    let says = format!("the wiring has a loop that nothing breaks ({}): frames would circle on this machine too", cables.join(", "));
    Err(Failure::new(says, "Mend the loop first: `loomwright check PLAN` says how."))
}

/// The item that `name` means, if it can be taken away here.
fn item(name: &str, plan: &Plan, wiring: &Wiring) -> Result<Item, Failure> {
    let item =
        resolve_item(plan, wiring, name).map_err(|error| Failure::new(error.to_string(), "Check the name in the plan and its wiring."))?;
    match item {
        Item::Cable(_) | Item::Switch(_) | Item::Device(_) | Item::Feed(_) | Item::Route(_) | Item::Hazard(_) => Ok(item),
        _ => Err(Failure::new(format!("`{item}` cannot be taken away here"), "Name a cable, switch, device, feed, route or hazard.")),
    }
}
