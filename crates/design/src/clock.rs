//! Chooses who leads the clock, and who takes over.

use crate::draft::Draft;
use crate::load;
use crate::switches::Placed;
use loomwright_model::{GearKind, Id, Item};
use std::cmp::Reverse;

/// Priority 1 of leader and backup; followers keep 128 (IEEE 1588 default). **Source**: common practice.
const LEADER: u8 = 10;
const BACKUP: u8 = 20;

/// How good a candidate is: smaller is better, compared from the first part on.
type Rank = (u8, bool, u8, Reverse<usize>, Reverse<usize>, bool, usize);

/// One device that can lead.
struct Candidate {
    id: Id,
    /// Held priority first, then quality, networks, essential streams, nearness to the core, plan order.
    rank: Rank,
    place: Id,
    feeds: Vec<Id>,
}

/// Chooses leader and backup and sets their priorities.
pub(crate) fn decide(draft: &mut Draft, placed: &Placed) {
    let mut candidates = candidates(draft, placed);
    if candidates.is_empty() {
        if draft.plan.devices.len() > 1 {
            let says = "No device of the plan can lead the clock.".to_owned();
            let remedy = "Add a device that can, or say so in its gear type (`clock = { can-lead = true }`).".to_owned();
            draft.stop("design/no-clock-leader", vec![Item::Plan], [says, remedy]);
        }
        return;
    }
    candidates.sort_by_key(|candidate| candidate.rank);
    let leader = candidates.remove(0);
    let apart = |candidate: &Candidate| {
        let shares_feed = candidate.feeds.iter().all(|feed| leader.feeds.contains(feed));
        let (best, rest) = ((candidate.rank.0, candidate.rank.1, candidate.rank.2), candidate.rank);
        (best, shares_feed, candidate.place == leader.place, rest)
    };
    candidates.sort_by_key(apart);
    draft.done.wiring.clock.leader = Some(leader.id.clone());
    set(draft, &leader.id, LEADER);
    let says = format!("{} leads the clock.", leader.id);
    draft.decide(
        Item::Device(leader.id.clone()),
        says,
        "of those that can lead it has the best clock, the most networks and the most essential streams",
    );
    match candidates.into_iter().next() {
        Some(backup) => {
            draft.done.wiring.clock.backup = Some(backup.id.clone());
            set(draft, &backup.id, BACKUP);
            let because = match (backup.feeds == leader.feeds, backup.place == leader.place) {
                (false, false) => "it stands elsewhere and hangs on another feed",
                (true, false) => "it stands elsewhere",
                (false, true) => "it hangs on another feed",
                (true, true) => "it is the next best clock",
            };
            draft.decide(Item::Device(backup.id.clone()), format!("{} takes over the clock.", backup.id), because);
        }
        None => {
            let says = format!("Only {} can lead the clock: if it fails, nobody does.", leader.id);
            let remedy = "Add a second device that can lead.".to_owned();
            draft.warn("design/no-clock-backup", vec![Item::Device(leader.id)], [says, remedy]);
        }
    }
}

fn candidates(draft: &Draft, placed: &Placed) -> Vec<Candidate> {
    let networks = load::device_networks(draft);
    let core = placed.cores.first().copied().flatten().map(|place| draft.place(place).clone());
    let mut candidates = Vec::new();
    for (index, (id, device)) in draft.plan.devices.iter().enumerate() {
        let Some(gear) = draft.plan.gear_of(device) else { continue };
        if !gear.clock.can_lead || gear.kind != GearKind::Endpoint || networks[index].is_empty() {
            continue;
        }
        let setting = draft.done.wiring.settings.get(id);
        let held = setting.filter(|setting| setting.hold).map(|setting| setting.clock_priority.unwrap_or(128));
        let essential =
            draft.plan.streams.values().filter(|stream| stream.essential && (stream.from == *id || stream.to.contains(id))).count();
        let rank = (
            held.unwrap_or(LEADER),
            held.is_none(),
            gear.clock.quality,
            Reverse(networks[index].len()),
            Reverse(essential),
            core.as_ref() != Some(&device.place),
            index,
        );
        let feeds = draft.plan.feeds_of(&device.feeds, &device.place).to_vec();
        candidates.push(Candidate { id: id.clone(), rank, place: device.place.clone(), feeds });
    }
    candidates
}

fn set(draft: &mut Draft, device: &Id, priority: u8) {
    let setting = draft.done.wiring.settings.entry(device.clone()).or_default();
    if !setting.hold {
        setting.clock_priority = Some(priority);
    }
}
