//! Designs side by side: the same plan wired in several shapes, each wired in full, proved, priced and compared.
//!
//! [`options`] tries every [`Shape`]. What comes out is judged by the plan as it stands: a shape that gives something up
//! says so, and its proof says what that costs. A shape that cannot be built says why in one sentence.

mod compare;
mod figures;
pub(crate) mod price;
mod refusal;
mod shapes;

pub use compare::Standing;
pub use figures::{Fall, Figures, figures};
pub use price::{Price, price};
pub use shapes::Shape;

use crate::form::Form;
use crate::{Designed, design_as};
use loomwright_model::{Nowhere, Plan, Severity, Survive, Wiring};
use loomwright_proof::prove;
use shapes::Variant;

/// One way to wire the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignOption {
    /// Its shape.
    pub shape: Shape,
    /// Its wiring with all figures, or why it cannot be built: one sentence.
    pub outcome: Result<Box<Built>, String>,
}

/// A shape that was built.
#[derive(Debug, Clone, PartialEq)]
pub struct Built {
    /// Its wiring, with decisions and findings.
    pub designed: Designed,
    /// What of the plan it does without, a sentence each.
    pub gives_up: Vec<String>,
    /// What it costs.
    pub price: Price,
    /// What the proof says.
    pub figures: Figures,
    /// How it stands among the others.
    pub standing: Standing,
    /// Whether `design` would decide on this.
    pub is_usual: bool,
    /// Whether the wiring is like this already.
    pub is_wired: bool,
}

/// What the comparison is to try.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wish {
    /// Also tries to survive any two failures, whatever the plan asks for.
    pub any_two: bool,
}

/// Every shape, those that can be built first: ready ones before others, cheap ones before dear ones. Of `before`, held
/// items stay exactly; addresses and groups that still fit stay too.
pub fn options(plan: &Plan, before: &Wiring, wish: Wish) -> Vec<DesignOption> {
    let usual = design_as(plan, before, Form::Usual);
    let mut found: Vec<DesignOption> = Vec::new();
    for shape in Shape::ALL.iter().copied().filter(|shape| *shape != Shape::AnyTwo || wish.any_two) {
        let outcome =
            build(plan, before, shape).and_then(|variant| match same_as(&found, &variant.0.wiring).filter(|_| shape != Shape::AnyTwo) {
                Some(other) => Err(format!("It comes out the same as {}.", other.title())),
                None => Ok(Box::new(built(plan, (before, &usual), variant))),
            });
        found.push(DesignOption { shape, outcome });
    }
    compare::stand(&mut found);
    found.sort_by_key(rank);
    found
}

/// One shape alone; `Err` says why it cannot be built.
pub fn option(plan: &Plan, before: &Wiring, shape: Shape) -> Result<Designed, String> {
    build(plan, before, shape).map(|(designed, _)| designed)
}

fn rank(option: &DesignOption) -> (bool, bool, bool, u64) {
    match &option.outcome {
        Ok(built) => (false, !built.figures.is_ready, !built.price.missing.is_empty(), built.price.known().hundredths()),
        Err(_) => (true, true, true, 0),
    }
}

fn same_as(found: &[DesignOption], wiring: &Wiring) -> Option<Shape> {
    let same = |option: &&DesignOption| option.outcome.as_ref().is_ok_and(|built| built.designed.wiring == *wiring);
    found.iter().find(same).map(|option| option.shape)
}

/// The wiring of a shape and what it gives up.
fn build(plan: &Plan, before: &Wiring, shape: Shape) -> Result<(Designed, Vec<String>), String> {
    let variants = shapes::variants(plan, before, shape)?;
    let mut why = None;
    for Variant { plan: changed, form, gives_up } in variants {
        let designed = design_as(&changed, before, form);
        if designed.findings.iter().all(|finding| finding.severity != Severity::Stop) {
            shapes::has_shape(shape, &designed.wiring)?;
            return Ok((designed, gives_up));
        }
        why.get_or_insert_with(|| refusal::sentence(shape, &designed));
    }
    Err(why.unwrap_or_else(|| "The plan has nothing to build it with.".to_owned()))
}

fn built(plan: &Plan, (before, usual): (&Wiring, &Designed), (designed, gives_up): (Designed, Vec<String>)) -> Built {
    let report = prove(plan, &designed.wiring, &Nowhere);
    Built {
        price: price(plan, &designed.wiring),
        figures: figures(plan, &designed.wiring, &report),
        is_usual: designed.wiring == usual.wiring,
        is_wired: designed.wiring == *before,
        standing: Standing::default(),
        gives_up,
        designed,
    }
}

/// What surviving any two failures adds to the design that the plan gets now, in sentences; empty if that one or the
/// other cannot be built.
pub fn any_two_difference(plan: &Plan, options: &[DesignOption]) -> Vec<String> {
    let built = |wanted: &dyn Fn(&DesignOption) -> bool| {
        options.iter().find(|option| wanted(option)).and_then(|option| option.outcome.as_ref().ok())
    };
    let two = options.iter().find(|option| option.shape == Shape::AnyTwo);
    match two.map(|option| &option.outcome) {
        None => Vec::new(),
        Some(Err(why)) if plan.targets.survive == Survive::AnyTwo => vec![format!("The plan asks for this already. {why}")],
        Some(Err(why)) => vec![why.clone()],
        Some(Ok(two)) => {
            let base = built(&|option| option.shape == Shape::TwoNetworks)
                .or_else(|| built(&|option| option.outcome.as_ref().is_ok_and(|built| built.is_usual)));
            base.map_or(Vec::new(), |base| compare::difference(base, two))
        }
    }
}
