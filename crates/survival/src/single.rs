//! Every single failure, exactly, in near-linear time.

use crate::Survival;
use crate::blocks::Forest;
use crate::cut::{Cutter, Tally};
use crate::graph::{Lists, NONE};
use crate::loss::{Loss, Wreck};
use crate::whatif::Effect;
use loomwright_model::Item;

/// Every single failure and whom it silences. Failures are indexes into [`Singles::losses`], demands into
/// [`Survival::demands`].
#[derive(Debug, Clone, Default)]
pub struct Singles {
    losses: Vec<Loss>,
    /// Vertices of each failure, and the reverse.
    pub(crate) members: Lists,
    pub(crate) at_vertex: Lists,
    /// Demands by failure.
    pub(crate) silent: Lists,
    pub(crate) one_leg_left: Lists,
    at_once: Lists,
    /// The device that a failure takes away; [`NONE`] for all others.
    pub(crate) device: Vec<u32>,
    pub(crate) forest: Forest,
}

impl Singles {
    /// All of them: cables, switches, frozen switches, devices, then the feeds, routes and hazards in use.
    pub fn losses(&self) -> &[Loss] {
        &self.losses
    }

    /// Demands that `failure` silences, in order.
    pub fn silent(&self, failure: usize) -> &[u32] {
        self.silent.of(failure as u32)
    }

    /// Demands that lose a leg to `failure` and are still heard, in order.
    pub fn one_leg_left(&self, failure: usize) -> &[u32] {
        self.one_leg_left.of(failure as u32)
    }
}

impl Survival {
    /// Every single failure with its lists. O(graph + failures + all lists), plus one search of a block for
    /// each failure that takes two or more vertices of one block with a cycle.
    pub fn single_failures(&self) -> Singles {
        let losses = self.things.single_losses();
        let mut wreck = Wreck::default();
        let mut members = Vec::new();
        for (failure, loss) in losses.iter().enumerate() {
            self.things.lose(std::slice::from_ref(loss), &mut wreck);
            members.extend(wreck.vertices.iter().map(|&vertex| (failure as u32, vertex)));
        }
        let members = Lists::group(losses.len(), &members);
        let device = losses.iter().map(|loss| self.device_of(loss)).collect();
        let forest = Forest::new(&self.graph, &vec![false; self.graph.len()]);
        let at_vertex = members.turned(self.graph.len());
        let mut singles = Singles { losses, members, at_vertex, device, forest, ..Singles::default() };
        let (silent, one_leg_left) = self.cut_all(&singles, &singles.forest);
        (singles.silent, singles.one_leg_left) = (silent, one_leg_left);
        if self.blocked.contains(&true) {
            singles.at_once = self.cut_all(&singles, &Forest::new(&self.graph, &self.blocked)).0;
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

    /// Silenced demands and demands with a leg less, by failure.
    fn cut_all(&self, singles: &Singles, forest: &Forest) -> (Lists, Lists) {
        let cutter = Cutter::new((&self.graph, forest), &singles.members, &singles.at_vertex);
        let mut tally = Tally::new(singles.losses.len());
        // Lists of silenced demands first, then those of demands with a leg less: grouped in one go.
        let failures = singles.losses.len() as u32;
        let mut found: Vec<(u32, u32)> = Vec::new();
        for (demand, ends) in self.demands.all.iter().map(|demand| demand.ends).enumerate() {
            let standing = cutter.cut(self.demands.legs_of(demand as u32), &mut tally, None);
            for &failure in tally.touched.iter().filter(|&&failure| !ends.contains(&singles.device[failure as usize])) {
                let key = if tally.legs_cut(failure) == standing { failure } else { failures + failure };
                found.push((key, demand as u32));
            }
        }
        Lists::group(2 * failures as usize, &found).split(failures as usize)
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

    fn read_effect(&self, singles: &Singles, failure: usize, wreck: &mut Wreck) -> Effect {
        let losses = std::slice::from_ref(&singles.losses[failure]);
        self.things.lose(losses, wreck);
        let mut effect = self.named_effect(losses, wreck);
        effect.silent = singles.silent(failure).to_vec();
        effect.one_leg_left = singles.one_leg_left(failure).to_vec();
        if singles.at_once.len() > 0 && !singles.at_once.of(failure as u32).is_empty() {
            effect.gaps = self.gaps(wreck, singles.at_once.of(failure as u32), &effect.silent);
        }
        effect
    }

    /// What all legs of a demand share: single failures, other than of its own two ends, that silence it at
    /// once on the ways it takes now. Empty for a demand that is nowhere heard.
    pub fn shared_by_legs(&self, singles: &Singles, demand: u32) -> Vec<Loss> {
        let lists = if singles.at_once.len() > 0 { &singles.at_once } else { &singles.silent };
        let hit = (0..singles.losses.len()).filter(|&failure| lists.of(failure as u32).binary_search(&demand).is_ok());
        hit.map(|failure| singles.losses[failure].clone()).collect()
    }
}
