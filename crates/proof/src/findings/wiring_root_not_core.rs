//! `wiring/root-not-core`.

use super::*;

rule! {
    /// Switches are joined in a ring, and nothing says which of them is the root of the spanning tree.
    ///
    /// With the same priority everywhere, the root is the switch with the lowest hardware address, often the
    /// oldest one in the smallest rack. Traffic then takes long ways, and when that switch is unplugged the
    /// whole network thinks again.
    ///
    /// **Example:** three switches in a triangle, all on priority 32768, and the root turns out to be the one in the bar.
    ///
    /// **Source**: IEEE 802.1D clause 17: the lowest priority, then the lowest address, is root (order read in the Linux bridge source); setting it at the core is common practice, no source.
    "wiring/root-not-core", check, tests::firing
}

/// Priority of a bridge that was not set. **Source**: IEEE 802.1D (read second-hand).
const DEFAULT: u16 = 32_768;

fn check(all: &Analysis) -> Vec<Finding> {
    let mut seen = IndexSet::new();
    let starts: Vec<&Id> = all.wiring.switches.keys().collect();
    starts.into_iter().filter_map(|id| (!seen.contains(id)).then(|| together(all, id, &mut seen)).and_then(|group| unset(all, &group))).collect()
}

/// Switches joined to `start` by trunks.
fn together<'a>(all: &'a Analysis, start: &'a Id, seen: &mut IndexSet<&'a Id>) -> Vec<&'a Id> {
    let mut group = IndexSet::from([start]);
    let mut next = 0;
    while let Some(&at) = group.get_index(next) {
        next += 1;
        group.extend(trunks(all, at).map(|plug| &plug.far.item));
    }
    seen.extend(group.iter().copied());
    group.into_iter().collect()
}

fn trunks<'a>(all: &'a Analysis, id: &Id) -> impl Iterator<Item = &'a Plug> {
    all.layout.plugs(id).iter().filter(|plug| all.wiring.switches.contains_key(&plug.far.item))
}

fn unset(all: &Analysis, group: &[&Id]) -> Option<Finding> {
    let runs_tree = |id: &Id| all.wiring.gear_at(&all.plan, id).is_some_and(|gear| gear.spanning_tree != SpanningTree::None);
    let ends: usize = group.iter().map(|id| trunks(all, id).count()).sum();
    if ends / 2 < group.len() || !group.iter().any(|id| runs_tree(id)) {
        return None;
    }
    let priority = |id: &Id| all.wiring.switches[id].bridge_priority.unwrap_or(DEFAULT);
    let core = *group.iter().max_by_key(|id| trunks(all, id).count())?;
    let lowest = group.iter().map(|id| priority(id)).min()?;
    let roots: Vec<&Id> = group.iter().copied().filter(|id| priority(id) == lowest).collect();
    let says = match roots.as_slice() {
        [root] if trunks(all, root).count() == trunks(all, core).count() => return None,
        [root] => format!("{root} is set to be the spanning-tree root, but {core} is where most trunks meet."),
        _ => format!("{} are in a ring and {} of them have the lowest spanning-tree priority, {lowest}: the oldest becomes root.", list(group), roots.len()),
    };
    let remedy = format!("Set {core} to bridge priority 4096 and a second core switch to 8192.");
    let items = std::iter::once(core).chain(group.iter().copied().filter(|id| *id != core)).map(switch).collect();
    let source = "IEEE 802.1D clause 17 (read second-hand); root at the core is common practice, no source";
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(lowest, "4096, at one switch").with_source(source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.switch("sw-a2", ("switch", "stage"), &["a"]).switch("sw-a3", ("switch", "stage"), &["a"]);
        trial.cable("T-1", ["sw-a/10", "sw-a2/10"], "a").cable("T-2", ["sw-a2/9", "sw-a3/10"], "a").cable("T-3", ["sw-a3/9", "sw-a/9"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_ring_with_a_root_is_well_set() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.wiring.switches["sw-a2"].bridge_priority = Some(4096);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }

    #[test]
    fn a_tree_needs_no_root_set() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.unplug("T-3");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
