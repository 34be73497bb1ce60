//! A second opinion on what falls silent: take things away, look who is still reached.
//!
//! Nothing clever on purpose. Every question is answered by going through everything again, so that one can see that it
//! is right. It knows no plan: boxes, spots, links and cables are plain numbers.

use std::collections::BTreeSet;

/// What can keep a box running.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A power feed.
    Feed(usize),
    /// Power through a data cable from another box.
    Cable {
        /// The cable.
        cable: usize,
        /// The box that gives.
        giver: usize,
    },
}

/// A device or a switch.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Unit {
    /// It runs while any of these does; with none it hangs on nothing that can be lost.
    pub sources: Vec<Source>,
}

/// One network's way through a cable, between two spots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Strand {
    /// The cable.
    pub cable: usize,
    /// The spots at its ends.
    pub spots: [usize; 2],
}

/// One leg of a wish: a spot of the sender and a spot of the receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WishLeg {
    /// Where the sender's packets start.
    pub from: usize,
    /// Where the receiver listens.
    pub to: usize,
}

/// A stream that one receiver wants to hear.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wish {
    /// Boxes of sender and receiver.
    pub ends: [usize; 2],
    /// Any one leg is enough.
    pub legs: Vec<WishLeg>,
}

/// A whole installation. **Invariant**: every number names something that is there.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Site {
    /// Devices and switches.
    pub units: Vec<Unit>,
    /// The box of each spot. A spot is where frames are passed on or end: a switch on one network, a chained device, one
    /// interface of another.
    pub spots: Vec<usize>,
    /// Routes that each cable lies in.
    pub cables: Vec<Vec<usize>>,
    /// Hazards that each route shares.
    pub routes: Vec<Vec<usize>>,
    /// What joins spots.
    pub strands: Vec<Strand>,
    /// Who wants to hear whom.
    pub wishes: Vec<Wish>,
}

/// Something that is taken away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lost {
    /// A cable is cut.
    Cable(usize),
    /// A box has no power, or is gone.
    Unit(usize),
    /// A box passes nothing on, while its power goes on.
    Frozen(usize),
    /// A feed trips.
    Feed(usize),
    /// Everything in a route is cut.
    Route(usize),
    /// Every route that shares a hazard is cut.
    Hazard(usize),
}

/// Who is worse off than before, as indexes into [`Site::wishes`], in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verdict {
    /// Heard before, and no leg left. A wish whose own sender or receiver is what was taken away is left out.
    pub silent: Vec<usize>,
    /// Fewer legs than before, but heard.
    pub one_leg_left: Vec<usize>,
}

impl Site {
    /// What taking all of `losses` away does, once every way that is left may be used.
    pub fn judge(&self, losses: &[Lost]) -> Verdict {
        self.compare(&self.legs_standing(losses, &[]), losses)
    }

    /// Wishes that are heard with nothing lost and silent at once, while the strands in `shut` still pass nothing.
    pub fn silent_at_once(&self, losses: &[Lost], shut: &[usize]) -> Vec<usize> {
        self.compare(&self.legs_standing(losses, shut), losses).silent
    }

    fn compare(&self, after: &[usize], losses: &[Lost]) -> Verdict {
        let before = self.legs_standing(&[], &[]);
        let mut verdict = Verdict::default();
        for (at, wish) in self.wishes.iter().enumerate() {
            let is_own = wish.ends.iter().any(|end| losses.contains(&Lost::Unit(*end)));
            if before[at] == 0 || is_own {
                continue;
            }
            if after[at] == 0 {
                verdict.silent.push(at);
            } else if after[at] < before[at] {
                verdict.one_leg_left.push(at);
            }
        }
        verdict
    }

    /// How many legs of each wish stand.
    pub fn legs_standing(&self, losses: &[Lost], shut: &[usize]) -> Vec<usize> {
        let cut = self.cut_cables(losses);
        let dark = self.dark_units(losses, &cut);
        let passes = |spot: usize| {
            let unit = self.spots[spot];
            !dark.contains(&unit) && !losses.contains(&Lost::Frozen(unit))
        };
        let mut next_to: Vec<Vec<usize>> = vec![Vec::new(); self.spots.len()];
        for (number, strand) in self.strands.iter().enumerate() {
            let [one, two] = strand.spots;
            if !cut.contains(&strand.cable) && !shut.contains(&number) && passes(one) && passes(two) {
                next_to[one].push(two);
                next_to[two].push(one);
            }
        }
        let mut reached: Vec<Option<Vec<bool>>> = vec![None; self.spots.len()];
        let mut stands = |leg: &WishLeg| {
            let known = reached[leg.from].get_or_insert_with(|| flood(&next_to, leg.from));
            passes(leg.from) && passes(leg.to) && known[leg.to]
        };
        self.wishes.iter().map(|wish| wish.legs.iter().filter(|leg| stands(leg)).count()).collect()
    }

    /// Cables that are cut themselves, or lie in a route that is.
    fn cut_cables(&self, losses: &[Lost]) -> BTreeSet<usize> {
        let is_cut = |route: &usize| {
            losses.contains(&Lost::Route(*route)) || self.routes[*route].iter().any(|hazard| losses.contains(&Lost::Hazard(*hazard)))
        };
        (0..self.cables.len()).filter(|cable| losses.contains(&Lost::Cable(*cable)) || self.cables[*cable].iter().any(is_cut)).collect()
    }

    /// Boxes without power: looked at again and again until nothing changes.
    fn dark_units(&self, losses: &[Lost], cut: &BTreeSet<usize>) -> BTreeSet<usize> {
        let mut dark: BTreeSet<usize> = BTreeSet::new();
        loop {
            let runs = |source: &Source| match source {
                Source::Feed(feed) => !losses.contains(&Lost::Feed(*feed)),
                Source::Cable { cable, giver } => !cut.contains(cable) && !dark.contains(giver),
            };
            let is_dark = |unit: usize| {
                let sources = &self.units[unit].sources;
                losses.contains(&Lost::Unit(unit)) || !(sources.is_empty() || sources.iter().any(runs))
            };
            let now: BTreeSet<usize> = (0..self.units.len()).filter(|unit| is_dark(*unit)).collect();
            if now == dark {
                return dark;
            }
            dark = now;
        }
    }
}

/// Every spot that hangs together with `from`.
fn flood(next_to: &[Vec<usize>], from: usize) -> Vec<bool> {
    let mut reached = vec![false; next_to.len()];
    let mut todo = vec![from];
    while let Some(spot) = todo.pop() {
        if !reached[spot] {
            reached[spot] = true;
            todo.extend(&next_to[spot]);
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sender 0 and receiver 1 on switches 2 and 3, one for each of two networks; every cable in a route of its own.
    fn two_networks() -> Site {
        let strand = |cable, spots| Strand { cable, spots };
        Site {
            units: (0..4).map(|feed| Unit { sources: vec![Source::Feed(feed)] }).collect(),
            // Sender A and B, receiver A and B, switch A, switch B.
            spots: vec![0, 0, 1, 1, 2, 3],
            cables: (0..4).map(|route| vec![route]).collect(),
            routes: vec![vec![0], vec![1], vec![0], vec![1]],
            strands: vec![strand(0, [0, 4]), strand(1, [1, 5]), strand(2, [2, 4]), strand(3, [3, 5])],
            wishes: vec![Wish { ends: [0, 1], legs: vec![WishLeg { from: 0, to: 2 }, WishLeg { from: 1, to: 3 }] }],
        }
    }

    fn verdict(silent: &[usize], one_leg_left: &[usize]) -> Verdict {
        Verdict { silent: silent.to_vec(), one_leg_left: one_leg_left.to_vec() }
    }

    #[test]
    fn one_network_goes_and_the_other_carries_on() {
        let site = two_networks();
        for loss in [Lost::Cable(0), Lost::Unit(2), Lost::Frozen(3), Lost::Feed(2), Lost::Route(3), Lost::Hazard(0)] {
            assert_eq!(site.judge(&[loss]), verdict(&[], &[0]), "{loss:?}");
        }
        assert_eq!(site.judge(&[Lost::Cable(0), Lost::Frozen(3)]), verdict(&[0], &[]));
        assert_eq!(site.judge(&[Lost::Hazard(0), Lost::Hazard(1)]), verdict(&[0], &[]));
    }

    #[test]
    fn nothing_at_all_loses_nothing() {
        assert_eq!(Site::default().judge(&[]), Verdict::default());
        assert_eq!(Site::default().judge(&[Lost::Unit(7), Lost::Feed(7)]), Verdict::default());
        assert_eq!(two_networks().judge(&[]), Verdict::default());
    }

    #[test]
    fn a_device_on_its_own_is_no_loss() {
        let mut site = two_networks();
        site.units.push(Unit::default());
        site.spots.push(4);
        site.wishes.push(Wish { ends: [4, 1], legs: vec![WishLeg { from: 6, to: 2 }] });
        site.wishes.push(Wish { ends: [4, 1], legs: vec![] });
        assert_eq!(site.legs_standing(&[], &[]), [2, 0, 0]);
        assert_eq!(site.judge(&[Lost::Unit(4)]), Verdict::default());
        assert_eq!(site.judge(&[Lost::Unit(2)]), verdict(&[], &[0]));
    }

    #[test]
    fn ones_own_end_is_no_news_but_its_feed_is() {
        let site = two_networks();
        assert_eq!(site.judge(&[Lost::Unit(0)]), Verdict::default());
        assert_eq!(site.judge(&[Lost::Feed(0)]), verdict(&[0], &[]));
    }

    #[test]
    fn who_hears_itself_needs_only_itself() {
        let mut site = two_networks();
        site.wishes = vec![Wish { ends: [0, 0], legs: vec![WishLeg { from: 0, to: 0 }] }];
        assert_eq!(site.judge(&[Lost::Cable(0), Lost::Unit(2), Lost::Unit(3)]), Verdict::default());
        assert_eq!(site.judge(&[Lost::Feed(0)]), verdict(&[0], &[]));
    }

    #[test]
    fn everything_on_one_feed_goes_together() {
        let mut site = two_networks();
        site.units.iter_mut().for_each(|unit| unit.sources = vec![Source::Feed(9)]);
        assert_eq!(site.judge(&[Lost::Feed(9)]), verdict(&[0], &[]));
        site.units.iter_mut().for_each(|unit| unit.sources.push(Source::Feed(8)));
        assert_eq!(site.judge(&[Lost::Feed(9)]), Verdict::default());
        assert_eq!(site.judge(&[Lost::Feed(9), Lost::Feed(8)]), verdict(&[0], &[]));
    }

    #[test]
    fn a_hazard_that_names_everything_takes_everything() {
        let mut site = two_networks();
        site.routes.iter_mut().for_each(|route| route.push(5));
        assert_eq!(site.judge(&[Lost::Hazard(5)]), verdict(&[0], &[]));
        assert_eq!(site.judge(&[Lost::Hazard(4)]), Verdict::default());
    }

    #[test]
    fn power_through_a_cable_goes_with_the_switch_and_with_the_cable() {
        let mut site = two_networks();
        site.units[1].sources = vec![Source::Cable { cable: 2, giver: 2 }, Source::Cable { cable: 3, giver: 3 }];
        assert_eq!(site.judge(&[Lost::Feed(2)]), verdict(&[], &[0]));
        site.units[1].sources.pop();
        assert_eq!(site.judge(&[Lost::Feed(2)]), verdict(&[0], &[]));
        assert_eq!(site.judge(&[Lost::Frozen(2)]), verdict(&[], &[0]), "a frozen switch still gives power");
    }

    #[test]
    fn a_shut_strand_is_used_only_later() {
        let mut site = two_networks();
        site.wishes[0].legs.pop();
        site.cables.push(vec![]);
        site.strands.push(Strand { cable: 4, spots: [2, 4] });
        assert_eq!(site.judge(&[Lost::Cable(2)]), Verdict::default());
        assert_eq!(site.silent_at_once(&[Lost::Cable(2)], &[4]), [0]);
    }
}
