//! Every single failure, exactly, in near-linear time.

use crate::Survival;
use crate::blocks::Forest;
use crate::cut::{Cutter, Tally};
use crate::gap::Gap;
use crate::graph::{Lists, NONE};
use crate::loss::{Loss, Work, Wreck};
use crate::whatif::Effect;
use loomwright_model::Item;

/// Every single failure and whom it silences. Failures are indexes into [`Singles::losses`], demands into
/// [`Survival::demands`].
#[derive(Debug, Clone, Default)]
pub struct Singles {
    losses: Vec<Loss>,
    /// Where each of them starts.
    pub(crate) steps: Vec<Work>,
    /// Vertices of each failure, and the reverse.
    pub(crate) members: Lists,
    pub(crate) at_vertex: Lists,
    classes: Classes,
    /// Demands by class of failures: those that are silenced, then, counted on, those with a leg less.
    cut: Lists,
    /// Demands silenced until the network has found itself again, by class; nothing where there is no other tree to find.
    at_once: Lists,
    /// The device that a failure takes away; [`NONE`] for all others.
    pub(crate) device: Vec<u32>,
    pub(crate) forest: Forest,
}

/// Failures of one and the same vertex, such as a cable and the route that nothing else lies in, do the same: they
/// share one list.
#[derive(Debug, Clone, Default)]
struct Classes {
    /// The class of each failure.
    of: Vec<u32>,
    /// A failure of each class.
    first: Vec<u32>,
}

impl Classes {
    /// A lost device stands alone: its own streams are no news.
    fn new(members: &Lists, device: &[u32], vertices: usize) -> Self {
        let mut at_vertex = vec![NONE; vertices];
        let mut classes = Self::default();
        for (failure, device) in (0u32..).zip(device) {
            let next = classes.first.len() as u32;
            let class = match members.of(failure) {
                [vertex] if *device == NONE => match &mut at_vertex[*vertex as usize] {
                    known if *known == NONE => {
                        *known = next;
                        next
                    }
                    known => *known,
                },
                _ => next,
            };
            classes.of.push(class);
            if class == next {
                classes.first.push(failure);
            }
        }
        classes
    }

    fn len(&self) -> usize {
        self.first.len()
    }

    /// Vertices of each class.
    fn members(&self, members: &Lists) -> Lists {
        let pairs = (0u32..).zip(&self.first).flat_map(|(class, &failure)| members.of(failure).iter().map(move |&vertex| (class, vertex)));
        Lists::group(self.len(), &pairs.collect::<Vec<_>>())
    }
}

impl Singles {
    /// All of them: cables, switches, frozen switches, devices, then the feeds, routes and hazards in use.
    pub fn losses(&self) -> &[Loss] {
        &self.losses
    }

    /// Demands that `failure` silences, in order.
    pub fn silent(&self, failure: usize) -> &[u32] {
        self.cut.of(self.classes.of[failure])
    }

    /// Demands that lose a leg to `failure` and are still heard, in order.
    pub fn one_leg_left(&self, failure: usize) -> &[u32] {
        self.cut.of(self.classes.len() as u32 + self.classes.of[failure])
    }

    /// Demands that `failure` silences until the network has found itself again, in order.
    fn at_once(&self, failure: usize) -> &[u32] {
        if self.at_once.len() > 0 { self.at_once.of(self.classes.of[failure]) } else { &[] }
    }

    /// Failures that silence each of `demands` demands alone, in order.
    pub(crate) fn by_demand(&self, demands: usize) -> Lists {
        let failures = 0..self.losses.len();
        let pairs = failures.flat_map(|failure| self.silent(failure).iter().map(move |&demand| (demand, failure as u32)));
        Lists::group(demands, &pairs.collect::<Vec<_>>())
    }
}

/// Which of the two lists are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kept {
    Both,
    Silent,
}

impl Survival {
    /// Every single failure with its lists. O(graph + failures + all lists), plus one search of a block for
    /// each failure that takes two or more vertices of one block with a cycle.
    pub fn single_failures(&self) -> Singles {
        let (losses, steps) = (self.things.single_losses(), self.things.single_steps());
        let mut wreck = Wreck::default();
        let mut members = Lists::empty();
        for &step in &steps {
            self.things.lose_from([step], &mut wreck);
            members.items.extend(&wreck.vertices);
            members.close();
        }
        let device: Vec<u32> = losses.iter().map(|loss| self.device_of(loss)).collect();
        let forest = Forest::new(&self.graph, &vec![false; self.graph.len()]);
        let at_vertex = members.turned(self.graph.len());
        let classes = Classes::new(&members, &device, self.graph.len());
        let mut singles = Singles { losses, steps, members, at_vertex, classes, device, forest, ..Singles::default() };
        singles.cut = self.cut_all(&singles, &singles.forest, Kept::Both);
        if self.blocked.contains(&true) {
            singles.at_once = self.cut_all(&singles, &Forest::new(&self.graph, &self.blocked), Kept::Silent);
        }
        singles
    }

    /// Nodes and links of the fabric whose loss parts others that hung together, streams or not: cut vertices and bridges.
    /// Nodes first, each in order.
    pub fn parting(&self, singles: &Singles) -> [Vec<u32>; 2] {
        let nodes = self.healing.nodes() as u32;
        let [nodes, links] = [0..nodes, nodes..self.graph.len() as u32];
        let cuts = singles.forest.cuts();
        let first = links.start;
        [nodes.filter(|at| cuts[*at as usize]).collect(), links.filter(|at| cuts[*at as usize]).map(|at| at - first).collect()]
    }

    fn device_of(&self, loss: &Loss) -> u32 {
        match loss {
            Loss::Gone(Item::Device(id)) => self.things.devices.get_index_of(id).map_or(NONE, |at| at as u32),
            _ => NONE,
        }
    }

    /// Silenced demands by class of failures, then demands with a leg less.
    fn cut_all(&self, singles: &Singles, forest: &Forest, kept: Kept) -> Lists {
        let classes = &singles.classes;
        let members = classes.members(&singles.members);
        let at_vertex = members.turned(self.graph.len());
        let cutter = Cutter::new((&self.graph, forest), &members, &at_vertex);
        let device: Vec<u32> = classes.first.iter().map(|&failure| singles.device[failure as usize]).collect();
        let mut tally = Tally::new(classes.len());
        let count = classes.len() as u32;
        // What cuts each demand: a class, or one beyond the last for a leg less.
        let mut cut_by = Lists::empty();
        for (demand, ends) in (0u32..).zip(self.demands.all.iter().map(|demand| demand.ends)) {
            let standing = cutter.cut(self.demands.legs_of(demand), &mut tally, None);
            for &class in tally.touched.iter().filter(|&&class| !ends.contains(&device[class as usize])) {
                match tally.legs_cut(class) == standing {
                    true => cut_by.items.push(class),
                    false if kept == Kept::Both => cut_by.items.push(count + class),
                    false => {}
                }
            }
            cut_by.close();
        }
        let lists = if kept == Kept::Both { 2 * count } else { count };
        cut_by.turned(lists as usize)
    }

    /// One single failure with everything that [`Survival::whatif`] would say of it.
    pub fn effect_of(&self, singles: &Singles, failure: usize) -> Effect {
        self.read_effect(singles, failure, &mut Wreck::default())
    }

    /// Every single failure's effect in turn, in the order of [`Singles::losses`]. Cheaper than asking for them
    /// one by one.
    pub fn effects<'a>(&'a self, singles: &'a Singles) -> impl Iterator<Item = Effect> + 'a {
        let mut wreck = Wreck::default();
        (0..singles.losses.len()).map(move |failure| self.read_effect(singles, failure, &mut wreck))
    }

    /// Every single failure after which demands are silent and then heard again, with those gaps; in order.
    pub fn interruptions<'a>(&'a self, singles: &'a Singles) -> impl Iterator<Item = (usize, Vec<(u32, Gap)>)> + 'a {
        let mut wreck = Wreck::default();
        let interrupting = (0..singles.losses.len()).filter(|&failure| !singles.at_once(failure).is_empty());
        interrupting.map(move |failure| {
            self.things.lose_from([singles.steps[failure]], &mut wreck);
            (failure, self.gaps(&wreck, singles.at_once(failure), singles.silent(failure)))
        })
    }

    fn read_effect(&self, singles: &Singles, failure: usize, wreck: &mut Wreck) -> Effect {
        let losses = std::slice::from_ref(&singles.losses[failure]);
        self.things.lose_from([singles.steps[failure]], wreck);
        let mut effect = self.named_effect(losses, wreck);
        effect.silent = singles.silent(failure).to_vec();
        effect.one_leg_left = singles.one_leg_left(failure).to_vec();
        if !singles.at_once(failure).is_empty() {
            effect.gaps = self.gaps(wreck, singles.at_once(failure), &effect.silent);
        }
        effect
    }

    /// What all legs of a demand share: single failures, other than of its own two ends, that silence it at
    /// once on the ways it takes now. Empty for a demand that is nowhere heard.
    pub fn shared_by_legs(&self, singles: &Singles, demand: u32) -> Vec<Loss> {
        let list = |failure: usize| if singles.at_once.len() > 0 { singles.at_once(failure) } else { singles.silent(failure) };
        let hit = (0..singles.losses.len()).filter(|&failure| list(failure).binary_search(&demand).is_ok());
        hit.map(|failure| singles.losses[failure].clone()).collect()
    }
}
