//! Designs side by side, worked out once for each state of a plan.

use super::Proved;
use super::change::in_words;
use crate::store::{Made, Texts};
use loomwright_design::options::{self, Built, DesignOption, Shape, Wish};
use loomwright_drawing::{self as drawing, Layers, Options, Scene, Theme};
use loomwright_model::{Plan, Wiring};
use loomwright_planfile::{Source, update_wiring, write_wiring};
use loomwright_proof::Report;
use std::sync::{Arc, OnceLock};

/// The designs of one state, with and without the one that survives two failures.
#[derive(Default)]
pub struct Compared {
    plain: OnceLock<Arc<Vec<DesignOption>>>,
    any_two: OnceLock<Arc<Vec<DesignOption>>>,
}

/// Every shape of the plan as it is; worked out when first asked for.
pub fn compared(proved: &Proved, plan: &Plan, any_two: bool) -> Arc<Vec<DesignOption>> {
    let cell = if any_two { &proved.compared.any_two } else { &proved.compared.plain };
    Arc::clone(cell.get_or_init(|| Arc::new(options::options(plan, &proved.wiring, Wish { any_two }))))
}

/// The design drawn small: boxes, cables and networks, no figures.
pub fn small_picture(plan: &Plan, built: &Built) -> String {
    let report = Report::default();
    let scene = Scene { plan, wiring: &built.designed.wiring, report: &report };
    let layers = Layers { load: false, networks: true, labels: false, ..Layers::default() };
    drawing::riser(&scene, &Options { theme: Theme::Page, layers, bare: true, ..Options::default() }).svg
}

/// The texts with the wiring of the shape that `word` names.
///
/// **Errors**: why it cannot be taken, in words.
pub fn choose(now: &Proved, word: &str) -> Result<Made, String> {
    let Some(plan) = &now.plan else { return Err("The plan file has errors. Repair them first; nothing was changed.".to_owned()) };
    let shape = Shape::from_word(word).ok_or_else(|| "There is no such design.".to_owned())?;
    let designed = options::option(plan, &now.wiring, shape)?;
    wired(now, &designed.wiring)
}

/// The texts with another wiring.
///
/// **Errors**: why the file does not take it, in words.
pub fn wired(now: &Proved, wiring: &Wiring) -> Result<Made, String> {
    let text = match &now.texts.wiring {
        Some(text) => update_wiring(Source { name: now.names()[1], text }, wiring).map_err(|problems| in_words(&problems))?,
        None => write_wiring(wiring),
    };
    Ok(Made::from(Texts { wiring: Some(text), ..now.texts.clone() }))
}
