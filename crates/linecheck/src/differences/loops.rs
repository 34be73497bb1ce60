//! Loops: the same frame again and again.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_evidence::facts::Repeat;
use loomwright_model::Item;

/// Copies of one frame in a second that only a loop makes. **Source**: own choice, between 7,563 copies measured in a loop and
/// 2 with a spanning tree.
const LOOP: u64 = 100;

/// Frames that came again too often.
pub fn repeats<'a>(names: &'a Names<'_>) -> impl Iterator<Item = &'a Repeat> {
    names.evidence.repeats.iter().filter(|row| row.most_per_second >= LOOP)
}

/// The loop, if there is one.
pub fn differences(names: &Names<'_>) -> Option<Difference> {
    let repeats: Vec<_> = repeats(names).collect();
    let most = repeats.iter().map(|row| row.most_per_second).max()?;
    let sightings = repeats.iter().map(|row| {
        let says = format!("a frame of {} to {} comes {} times in a second", row.mac, row.to, row.most_per_second);
        Sighting::new(names.evidence, &row.seen, says)
    });
    let items: Vec<Item> = repeats.iter().filter_map(|row| names.by_mac(row.mac)).map(|id| Item::Device(id.clone())).collect();
    let what =
        Difference::new("seen/loop", Certainty::Certain, items, format!("Frames circle: the same one comes {most} times in a second"))
            .told(
                "no loop",
                "Look for a chained device with both ports in one network, or a cable between two ports of one switch; unplug one end.",
            )
            .seen(sightings)
            .loud();
    Some(what)
}
