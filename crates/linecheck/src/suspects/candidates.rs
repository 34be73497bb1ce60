//! Which failures could explain the answers.

use super::ask::{Answer, Ask, Signed};
use super::{Trouble, odds};
use loomwright_model::{Id, Item};
use loomwright_survival::{Loss, Taken};
use std::collections::BTreeSet;

/// First faults of pairs. Own choice: beyond it a pair is unlikely to be first, and the search stays short.
const PAIRED: usize = 64;

/// A failure, or two, with what it would show.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) losses: Vec<Loss>,
    pub(super) odds: f64,
    pub(super) signs: Signed,
}

impl Trouble<'_> {
    /// Single failures that would give one of the bad answers; pairs too where no single one fits all.
    pub(super) fn candidates(&self, answers: &[Answer]) -> Vec<Candidate> {
        let bad: Vec<&Ask> =
            answers.iter().filter(|answer| !answer.is_good && self.predict(&answer.ask, &self.intact)).map(|answer| &answer.ask).collect();
        let singles: BTreeSet<u32> = bad.iter().flat_map(|ask| self.could_cause(ask, &[])).collect();
        let single = |at: &u32| self.candidate(vec![self.singles.losses()[*at as usize].clone()]);
        let mut candidates: Vec<Candidate> = singles.iter().map(single).filter(|candidate| self.causes_any(candidate, &bad)).collect();
        if !bad.is_empty() && candidates.iter().all(|candidate| !self.score(candidate, answers).1.is_empty()) {
            candidates.extend(self.pairs(&candidates, (&bad, answers)));
        }
        candidates
    }

    fn candidate(&self, losses: Vec<Loss>) -> Candidate {
        let signs = Signed::new(self.survival.signs(&losses), &self.legs, self.survival.demands().len());
        Candidate { odds: losses.iter().map(odds::of).product(), losses, signs }
    }

    fn causes_any(&self, candidate: &Candidate, bad: &[&Ask]) -> bool {
        bad.iter().any(|ask| !self.predict(ask, &candidate.signs))
    }

    /// Pairs of a first fault that explains something and a second that explains what it leaves.
    fn pairs(&self, singles: &[Candidate], (bad, answers): (&[&Ask], &[Answer])) -> Vec<Candidate> {
        let mut ranked: Vec<(f64, &Candidate)> = singles.iter().map(|single| (self.score(single, answers).0, single)).collect();
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut seen = BTreeSet::new();
        let mut pairs = Vec::new();
        for (_, first) in ranked.into_iter().take(PAIRED) {
            let Some(left) = bad.iter().find(|ask| self.predict(ask, &first.signs)) else { continue };
            for second in self.could_cause(left, &first.losses) {
                let mut losses = vec![first.losses[0].clone(), self.singles.losses()[second as usize].clone()];
                losses.sort();
                if losses[0] != losses[1] && seen.insert(losses.clone()) {
                    pairs.push(self.candidate(losses));
                }
            }
        }
        pairs.retain(|pair| bad.iter().all(|ask| !self.predict(ask, &pair.signs)));
        pairs
    }

    /// Single failures among which are all that turn the answer to `ask` bad, on top of `losses`.
    fn could_cause(&self, ask: &Ask, losses: &[Loss]) -> Vec<u32> {
        match ask {
            Ask::Leg(leg) => self.survival.could_silence(self.singles, *leg as usize, losses),
            Ask::Heard(demand) => {
                let legs = (0..self.legs.len()).filter(|&leg| self.legs[leg].demand == *demand);
                legs.flat_map(|leg| self.survival.could_silence(self.singles, leg, losses)).collect()
            }
            Ask::Power(item) => self.darkening(std::slice::from_ref(item)),
            Ask::Sound(cable) => self.breaking(cable),
            Ask::Lights(cable) => [self.darkening(&self.ends_of(cable)), self.breaking(cable)].concat(),
        }
    }

    /// Failures that put one of `items` out.
    fn darkening(&self, items: &[Item]) -> Vec<u32> {
        self.failures(|taken| taken.dark.iter().any(|dark| items.contains(dark)))
    }

    /// Failures that break a cable.
    fn breaking(&self, cable: &Id) -> Vec<u32> {
        self.failures(|taken| taken.broken.contains(cable))
    }

    fn failures(&self, is_meant: impl Fn(&Taken) -> bool) -> Vec<u32> {
        let taken = self.survival.taken_by(self.singles).enumerate();
        taken.filter(|(_, taken)| is_meant(taken)).map(|(at, _)| at as u32).collect()
    }
}
