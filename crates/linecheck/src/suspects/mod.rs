//! From silent and heard to suspects and the next best test.
//!
//! A **suspect** is one failure, or two at once, that the failure model says would give the signs that were
//! reported. Its chance is its odds times how well it fits, over the sum of all: an answer may be wrong now and
//! then, so a misfit lowers a suspect and does not strike it off. Pairs come in only when no single failure
//! explains everything.
//!
//! Deliberately absent: three faults at once, faults that come and go, and devices set wrongly: they show no
//! sign that a failed cable would not show.

mod ask;
mod candidates;
mod lines;
mod naming;
mod next;
mod odds;
mod walk;

pub use ask::{Answer, Ask};
pub use lines::{InquiryLines, SuspectLine, TestLine};
pub use naming::NoSuchAsk;
pub use next::Test;

use ask::Signed;
use candidates::Candidate;
use loomwright_forwarding::Fabric;
use loomwright_model::{Plan, Wiring};
use loomwright_survival::{Demand, LegOf, Loss, Singles, Survival};

/// How often an answer is wrong: a mute left in, the wrong jack looked at. Own choice, no source: small enough
/// that two answers outweigh one, large enough that one slip does not strike off the true fault.
const MISTAKES: f64 = 0.01;

/// A failure, or two at once, and how likely it is the one.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// What would be lost.
    pub losses: Vec<Loss>,
    /// Its chance among all suspects of this inquiry, 0 to 1.
    pub chance: f64,
    /// Answers that it does not explain, as indexes into those given.
    pub misfits: Vec<usize>,
}

/// What is known so far.
#[derive(Debug, Clone, Default)]
pub struct Inquiry {
    /// Most likely first; equal ones in the order of the failure list.
    pub suspects: Vec<Suspect>,
    candidates: Vec<Candidate>,
    /// What was answered.
    answers: Vec<Answer>,
}

impl Inquiry {
    /// Whether at least one suspect explains every answer.
    pub fn is_explained(&self) -> bool {
        self.suspects.iter().any(|suspect| suspect.misfits.is_empty())
    }

    /// Suspects that explain every answer.
    pub fn fitting(&self) -> impl Iterator<Item = &Suspect> {
        self.suspects.iter().filter(|suspect| suspect.misfits.is_empty())
    }
}

/// A wiring made ready for fault finding.
pub struct Trouble<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    fabric: &'a Fabric,
    survival: &'a Survival,
    singles: &'a Singles,
    legs: Vec<LegOf>,
    /// Legs of each demand.
    counts: Vec<u32>,
    /// Signs with nothing wrong.
    intact: Signed,
}

impl<'a> Trouble<'a> {
    /// Gets ready. O(devices + cables + streams).
    pub fn new((plan, wiring): (&'a Plan, &'a Wiring), fabric: &'a Fabric, (survival, singles): (&'a Survival, &'a Singles)) -> Self {
        let legs = survival.legs();
        let intact = Signed::new(survival.signs(&[]), &legs, survival.demands().len());
        let mut counts = vec![0; survival.demands().len()];
        legs.iter().for_each(|leg| counts[leg.demand as usize] += 1);
        Self { plan, wiring, fabric, survival, singles, legs, counts, intact }
    }

    /// The legs that [`Ask::Leg`] names by index.
    pub fn legs(&self) -> &[LegOf] {
        &self.legs
    }

    /// Every stream at every receiver, as [`Ask::Heard`] names them by index.
    pub fn demands(&self) -> &[Demand] {
        self.survival.demands()
    }

    /// Who explains `answers`. Empty if no answer is bad: then nothing is wrong that can be told from here.
    /// O(suspects x (devices + cables + streams)).
    pub fn inquire(&self, answers: &[Answer]) -> Inquiry {
        let candidates = self.candidates(answers);
        let mut scored: Vec<(f64, Vec<usize>)> = candidates.iter().map(|candidate| self.score(candidate, answers)).collect();
        let sum: f64 = scored.iter().map(|(score, _)| score).sum();
        let mut order: Vec<usize> = (0..candidates.len()).collect();
        order.sort_by(|a, b| scored[*b].0.total_cmp(&scored[*a].0));
        let suspects = order.iter().map(|&at| {
            let (score, misfits) = std::mem::take(&mut scored[at]);
            Suspect { losses: candidates[at].losses.clone(), chance: score / sum, misfits }
        });
        let suspects = suspects.collect();
        let mut slots: Vec<Option<Candidate>> = candidates.into_iter().map(Some).collect();
        let candidates = order.into_iter().filter_map(|at| slots[at].take()).collect();
        Inquiry { suspects, candidates, answers: answers.to_vec() }
    }

    /// Odds times fit, and the answers that do not fit.
    fn score(&self, candidate: &Candidate, answers: &[Answer]) -> (f64, Vec<usize>) {
        let fits = |answer: &Answer| self.predict(&answer.ask, &candidate.signs) == answer.is_good;
        let misfits: Vec<usize> = (0..answers.len()).filter(|&at| !fits(&answers[at])).collect();
        let wrong = i32::try_from(misfits.len()).unwrap_or(i32::MAX);
        let right = i32::try_from(answers.len()).unwrap_or(i32::MAX) - wrong;
        (candidate.odds * MISTAKES.powi(wrong) * (1.0 - MISTAKES).powi(right), misfits)
    }
}
