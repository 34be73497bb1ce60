//! `loomwright suspect PLAN --silent .. --heard ..`: who explains it, and what to test next.

use super::load;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::{output, progress, text};
use loomwright_linecheck::{Answer, Trouble};
use loomwright_model::{Id, Plan};
use loomwright_proof::Analysis;

/// Tests that are shown. Own choice: the first is what to do, the others are there if it cannot be done.
const TESTS: usize = 5;

/// Prints suspects and tests. A suspect or a report that nobody explains stops the show.
pub fn run(arguments: &arguments::Suspect) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let (plan, wiring) = (&opened.loaded.plan, &opened.loaded.wiring);
    let at = arguments.at.as_deref().map(|name| place(name, plan)).transpose()?;
    let analysis = progress::during("trying every failure", || Analysis::new(plan, wiring));
    let trouble = Trouble::new((plan, wiring), &analysis.fabric, (&analysis.survival, &analysis.singles));
    let answers = answers(arguments, &trouble)?;
    let is_well = answers.iter().all(|answer| answer.is_good);
    let lines = trouble.lines(&trouble.inquire(&answers), TESTS, at.as_ref());
    if arguments.json {
        output::json(&lines)?
    } else {
        output::data(&text::suspects::inquiry(&lines))?
    }
    Ok(Outcome::ready_if(is_well))
}

fn place(name: &str, plan: &Plan) -> Result<Id, Failure> {
    let known = || plan.places.keys().map(Id::to_string).collect::<Vec<_>>().join(", ");
    let id = Id::new(name).ok().filter(|id| plan.places.contains_key(id));
    id.ok_or_else(|| Failure::new(format!("no place is called `{name}`"), format!("Name one of {}.", known())))
}

/// Everything that was said on the command line.
fn answers(arguments: &arguments::Suspect, trouble: &Trouble) -> Result<Vec<Answer>, Failure> {
    let said: [(&str, &[String], bool); 8] = [
        ("heard", &arguments.silent, false),
        ("heard", &arguments.heard, true),
        ("lights", &arguments.dark, false),
        ("lights", &arguments.lit, true),
        ("power", &arguments.off, false),
        ("power", &arguments.on, true),
        ("sound", &arguments.cured, false),
        ("sound", &arguments.sound, true),
    ];
    let mut answers = Vec::new();
    for (kind, names, is_good) in said {
        for name in names {
            let asks = trouble.asks(&format!("{kind}:{name}"));
            let asks = asks.map_err(|error| Failure::new(error.to_string(), "Check the name in the plan and its wiring."))?;
            answers.extend(asks.into_iter().map(|ask| Answer { ask, is_good }));
        }
    }
    Ok(answers)
}
