//! The next best test: most information for the minutes it takes.
//!
//! A test splits the suspects into those that predict a good answer and those that predict a bad one. With a
//! share p of the chance on one side it tells H(p) = -p log2 p - (1-p) log2 (1-p) bits: one for an even split,
//! none if all agree. **Source**: Shannon 1948, entropy of a binary choice; choosing a measurement by it:
//! de Kleer and Williams 1987 (from memory).

use super::ask::Ask;
use super::{Inquiry, Trouble};
use loomwright_model::{Id, Item};
use std::collections::BTreeSet;

/// A test worth doing.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// What to look at.
    pub ask: Ask,
    /// The places where it can be done.
    pub places: Vec<Id>,
    /// Chance of a bad answer, by what is known so far.
    pub chance_bad: f64,
    /// What it tells, in bits: 1 halves the suspects.
    pub bits: f64,
    /// Minutes it takes, the walk included.
    pub minutes: f64,
    /// Suspects, by index, that stay if the answer is bad; the others stay if it is good.
    pub if_bad: Vec<usize>,
}

/// Information of an answer that is bad with chance `p`, in bits.
fn entropy(p: f64) -> f64 {
    let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    part(p) + part(1.0 - p)
}

/// Less than this tells nothing: suspects that fit badly would keep every test alive. Own choice.
const LEAST_BITS: f64 = 0.001;

impl Trouble<'_> {
    /// Tests that tell the suspects apart, by bits for each minute, best first; equal ones: fewer minutes first.
    /// `at`: where the crew stands, if known. Empty once nothing is left to tell apart.
    pub fn next_tests(&self, inquiry: &Inquiry, at: Option<&Id>) -> Vec<Test> {
        let asked: BTreeSet<&Ask> = inquiry.answers.iter().map(|answer| &answer.ask).collect();
        let asks = self.useful_asks(inquiry).into_iter().filter(|ask| !asked.contains(ask));
        let mut tests: Vec<Test> = asks.map(|ask| self.test(inquiry, ask, at)).filter(|test| test.bits >= LEAST_BITS).collect();
        tests.sort_by(|a, b| {
            let worth = |test: &Test| test.bits / test.minutes;
            worth(b).total_cmp(&worth(a)).then(a.minutes.total_cmp(&b.minutes)).then(a.ask.cmp(&b.ask))
        });
        tests
    }

    fn test(&self, inquiry: &Inquiry, ask: Ask, at: Option<&Id>) -> Test {
        let is_bad = |&at: &usize| !self.predict(&ask, &inquiry.candidates[at].signs);
        let if_bad: Vec<usize> = (0..inquiry.candidates.len()).filter(is_bad).collect();
        let chance_bad: f64 = if_bad.iter().map(|&at| inquiry.suspects[at].chance).sum();
        let mut places: Vec<Id> = self.places_of(&ask).into_iter().cloned().collect();
        places.dedup();
        Test { bits: entropy(chance_bad.clamp(0.0, 1.0)), minutes: self.cost(&ask, at), places, chance_bad, if_bad, ask }
    }

    /// Questions to which not all suspects give the answer of an intact system.
    fn useful_asks(&self, inquiry: &Inquiry) -> BTreeSet<Ask> {
        let mut asks = BTreeSet::new();
        for candidate in &inquiry.candidates {
            let signs = &candidate.signs.signs;
            for (leg, of) in self.legs.iter().enumerate().filter(|(leg, _)| !signs.heard[*leg] && self.intact.has_leg(*leg as u32)) {
                asks.insert(Ask::Leg(leg as u32));
                asks.insert(Ask::Heard(of.demand));
            }
            asks.extend(signs.taken.broken.iter().flat_map(|cable| [Ask::Lights(cable.clone()), Ask::Sound(cable.clone())]));
            for item in &signs.taken.dark {
                asks.insert(Ask::Power(item.clone()));
                asks.extend(self.cables_at(item).map(Ask::Lights));
            }
        }
        // With one leg, listening to the leg is listening to the demand.
        asks.retain(|ask| !matches!(ask, Ask::Heard(demand) if self.counts[*demand as usize] < 2));
        asks
    }

    fn cables_at(&self, item: &Item) -> impl Iterator<Item = Id> {
        let cables = self.fabric.cables.iter();
        cables.filter(|cable| self.ends_of(&cable.id).contains(item)).map(|cable| cable.id.clone())
    }
}
