//! Tries moves: wires them up in memory and proves the whole.

use super::ports::gives;
use super::{Advice, Emergency, Move};
use crate::analysis::Analysis;
use crate::findings_of;
use loomwright_forwarding::{Fabric, forward};
use loomwright_model::{Finding, Id, Item, Supply, Wiring, supplies};
use loomwright_survival::{Loss, Survival};
use std::collections::BTreeSet;

/// Troubles that a move must never bring. Others follow from the failure itself: what is unplugged is not reached.
const HARMFUL: [&str; 14] = [
    "delay/no-bound",
    "delay/over-target",
    "load/link-over",
    "multicast/slow-port-drowns",
    "multicast/wifi-flooded",
    "power/poe-class-too-low",
    "power/poe-over-budget",
    "wiring/chained-twice",
    "wiring/loop",
    "wiring/networks-joined",
    "wiring/no-such-port",
    "wiring/port-used-twice",
    "wiring/same-network-twice",
    "wiring/wrong-network",
];
/// All codes of this area are harmful too: length, medium, speed.
const PHYSICAL: &str = "physical/";

/// Harmful troubles that were there before anybody moved a plug.
#[derive(Debug, Clone, Default)]
pub(super) struct Before(BTreeSet<(&'static str, Vec<Item>)>);

impl Before {
    pub(super) fn new(analysis: &Analysis) -> Self {
        Self(findings_of(analysis).into_iter().filter(is_harmful).map(|finding| (finding.code, finding.items)).collect())
    }

    fn holds(&self, finding: &Finding) -> bool {
        self.0.contains(&(finding.code, finding.items.clone()))
    }
}

fn is_harmful(finding: &Finding) -> bool {
    HARMFUL.contains(&finding.code) || finding.code.starts_with(PHYSICAL)
}

impl Emergency<'_> {
    /// Keeps of `moves` what helps and harms nothing, and fills in what comes back.
    pub(super) fn settle(&self, advice: &mut Advice, mut moves: Vec<Move>, dark: &BTreeSet<Item>) {
        let item = advice.item.clone();
        self.prune(&item, (&mut moves, dark), &advice.silent);
        while !moves.is_empty() {
            let wiring = self.rewired(&item, &moves);
            let after = Analysis::new(&self.analysis.plan, &wiring);
            let heard = self.heard_in(&after.survival, &wiring, dark);
            if self.is_harmless(&item, &after) && self.silences_nobody(&item, &heard) {
                (advice.back, advice.waiting) = advice.silent.iter().partition(|&&demand| heard[demand as usize]);
                advice.moves = moves;
                break;
            }
            moves.pop();
            self.prune(&item, (&mut moves, dark), &advice.silent);
        }
    }

    /// Drops moves without which as much is heard, the least useful first.
    fn prune(&self, item: &Item, (moves, dark): (&mut Vec<Move>, &BTreeSet<Item>), silent: &[u32]) {
        let back = |moves: &[Move]| {
            let heard = self.quickly_heard(item, moves, dark);
            silent.iter().filter(|&&demand| heard[demand as usize]).count()
        };
        if moves.is_empty() {
            return;
        }
        let all = back(moves);
        for at in (0..moves.len()).rev() {
            let mut fewer = moves.clone();
            fewer.remove(at);
            if back(&fewer) == all {
                *moves = fewer;
            }
        }
    }

    /// Who is heard after `moves`, without a look at load and delay.
    fn quickly_heard(&self, item: &Item, moves: &[Move], dark: &BTreeSet<Item>) -> Vec<bool> {
        let wiring = self.rewired(item, moves);
        let fabric = Fabric::new(&self.analysis.plan, &wiring);
        let blocked = forward(&self.analysis.plan, &wiring, &fabric).blocked;
        self.heard_in(&Survival::new(&self.analysis.plan, &wiring, &fabric, &blocked), &wiring, dark)
    }

    /// Who is heard in a changed wiring, while what went dark stays dark unless a moved plug powers it.
    fn heard_in(&self, survival: &Survival, wiring: &Wiring, dark: &BTreeSet<Item>) -> Vec<bool> {
        let supplies = supplies(&self.analysis.plan, wiring);
        let is_powered = |id: &Id| {
            let asks = self.analysis.wiring.gear_at(&self.analysis.plan, id).and_then(|gear| gear.poe);
            match (supplies.get(id), asks) {
                (Some(Supply::Poe(links)), Some(asks)) => {
                    links.iter().any(|link| gives(link.class, asks) && !is_dark(dark, &link.from.item))
                }
                _ => false,
            }
        };
        let still_dark = dark.iter().filter(|item| match item {
            Item::Device(id) | Item::Switch(id) => !is_powered(id),
            _ => false,
        });
        let losses: Vec<Loss> = still_dark.cloned().map(Loss::from).collect();
        survival.heard_without(&losses)
    }

    fn silences_nobody(&self, item: &Item, heard: &[bool]) -> bool {
        let without = self.analysis.survival.heard_without(&[Loss::from(item.clone())]);
        without.iter().zip(heard).all(|(before, after)| *after || !before)
    }

    /// Whether the moves bring no trouble that neither the plan nor the bare failure had.
    fn is_harmless(&self, item: &Item, after: &Analysis) -> bool {
        let known = self.before.get_or_init(|| Before::new(self.analysis));
        let new: Vec<Finding> = findings_of(after).into_iter().filter(|finding| is_harmful(finding) && !known.holds(finding)).collect();
        if new.is_empty() {
            return true;
        }
        let failed = Before::new(&Analysis::new(&self.analysis.plan, &self.rewired(item, &[])));
        new.iter().all(|finding| failed.holds(finding))
    }

    /// The wiring without what failed, with the plugs moved.
    pub(crate) fn rewired(&self, item: &Item, moves: &[Move]) -> Wiring {
        let mut wiring = self.analysis.wiring.clone();
        let is_lost = |id: &Id| matches!(item, Item::Switch(lost) | Item::Device(lost) if lost == id);
        wiring.switches.retain(|id, _| !is_lost(id));
        for one in moves {
            let length = wiring.cables.get(&one.cable).map(|cable| self.lead_length(cable));
            let Some(cable) = wiring.cables.get_mut(&one.cable) else { continue };
            cable.ends = [one.other.clone(), one.to.clone()];
            if one.is_lead {
                cable.routes.clear();
                cable.length = length.unwrap_or(cable.length);
            }
        }
        let is_moved = |id: &Id| moves.iter().any(|one| one.cable == *id);
        let is_failed = |id: &Id| matches!(item, Item::Cable(lost) if lost == id);
        let is_pulled = |id: &Id| moves.iter().any(|one| one.pull.as_ref() == Some(id));
        wiring
            .cables
            .retain(|id, cable| is_moved(id) || !(is_failed(id) || is_pulled(id) || cable.ends.iter().any(|end| is_lost(&end.item))));
        wiring
    }
}

fn is_dark(dark: &BTreeSet<Item>, id: &Id) -> bool {
    dark.contains(&Item::Switch(id.clone())) || dark.contains(&Item::Device(id.clone()))
}
