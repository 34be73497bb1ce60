//! The wiring while it is being decided: what is asked, what was there, what is settled so far.

use crate::form::Form;
use crate::lanes::{Choice, Lane, Lanes};
use loomwright_model::{Finding, Id, Item, Plan, Severity, Wiring};
use loomwright_physical::ways::Ways;
use std::rc::Rc;

/// One thing that was decided, for the person who has to defend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// What it concerns.
    pub item: Item,
    /// What was decided, as one sentence.
    pub says: String,
    /// Why, as one sentence.
    pub because: String,
}

/// A wiring and how it came about.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Designed {
    /// What was decided, ready to be written beside the plan.
    pub wiring: Wiring,
    /// Every decision in the order it was taken.
    pub decisions: Vec<Decision>,
    /// What could not be met, and what the reader should know.
    pub findings: Vec<Finding>,
}

/// How much work a design is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Care {
    /// Every placement is wired in full and proved, and the best is measured against what is possible.
    #[default]
    Full,
    /// The same without the measure: one of several shapes that are shown side by side.
    Shape,
    /// One of many designs that are tried: the first placement that can be wired.
    Trial,
}

/// What every step works on.
#[derive(Clone)]
pub(crate) struct Draft<'a> {
    pub plan: &'a Plan,
    pub before: &'a Wiring,
    pub form: Form,
    pub care: Care,
    pub ways: Rc<Ways>,
    pub lanes: Lanes,
    pub done: Designed,
}

impl<'a> Draft<'a> {
    /// Starts with everything of `before` that is held.
    pub fn new(plan: &'a Plan, before: &'a Wiring) -> Self {
        let mut wiring = Wiring::default();
        let held_switches = before.switches.iter().filter(|(_, switch)| switch.hold);
        wiring.switches.extend(held_switches.map(|(id, switch)| (id.clone(), switch.clone())));
        let held_cables = before.cables.iter().filter(|(_, cable)| cable.hold);
        wiring.cables.extend(held_cables.map(|(id, cable)| (id.clone(), cable.clone())));
        let held_settings = before.settings.iter().filter(|(_, setting)| setting.hold);
        wiring.settings.extend(held_settings.map(|(id, setting)| (id.clone(), setting.clone())));
        let held_interfaces = before.interfaces.iter().filter(|(_, interface)| interface.hold);
        wiring.interfaces.extend(held_interfaces.map(|(port, interface)| (port.clone(), interface.clone())));
        let done = Designed { wiring, ..Designed::default() };
        Self { plan, before, form: Form::Usual, care: Care::Full, ways: Rc::new(Ways::new(plan)), lanes: Lanes::default(), done }
    }

    /// The ways a lane can take, best first.
    pub fn choices(&mut self, lane: Lane) -> Vec<Choice> {
        self.lanes.choices(self.plan, &self.ways, lane)
    }

    /// Notes that cables lie in `lane` by `choice`.
    pub fn take_lane(&mut self, lane: Lane, choice: &Choice) {
        self.lanes.take(&self.ways, lane, choice);
    }

    /// Notes a decision.
    pub fn decide(&mut self, item: Item, says: impl Into<String>, because: impl Into<String>) {
        self.done.decisions.push(Decision { item, says: says.into(), because: because.into() });
    }

    /// Notes something that stops the show.
    pub fn stop(&mut self, code: &'static str, items: Vec<Item>, [says, remedy]: [String; 2]) {
        self.done.findings.push(Finding::new((code, Severity::Stop), items, says, remedy));
    }

    /// Notes something that misses a target.
    pub fn warn(&mut self, code: &'static str, items: Vec<Item>, [says, remedy]: [String; 2]) {
        self.done.findings.push(Finding::new((code, Severity::Warn), items, says, remedy));
    }

    /// Notes something good to know.
    pub fn note(&mut self, code: &'static str, items: Vec<Item>, [says, remedy]: [String; 2]) {
        self.done.findings.push(Finding::new((code, Severity::Note), items, says, remedy));
    }

    /// The position of a place in the plan.
    pub fn place_index(&self, place: &Id) -> Option<usize> {
        self.plan.places.get_index_of(place)
    }

    /// The name of the place at `index`.
    pub fn place(&self, index: usize) -> &'a Id {
        self.plan.places.get_index(index).map(|(id, _)| id).expect("place indexes come from the plan")
    }

    /// The name of the device at `index`.
    pub fn device(&self, index: usize) -> &'a Id {
        self.plan.devices.get_index(index).map(|(id, _)| id).expect("device indexes come from the plan")
    }
}

/// A name made of other names, digits and dashes.
pub(crate) fn made_name(text: &str) -> Id {
    Id::new(text).expect("joined names and digits are a valid name")
}

/// Joins names for a sentence; after `most` of them it only counts.
pub(crate) fn listed<T: std::fmt::Display>(names: &[T], most: usize) -> String {
    let shown: Vec<String> = names.iter().take(most).map(ToString::to_string).collect();
    match names.len().saturating_sub(most) {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}
