//! Storms: so many frames for everybody that the rest does not get through, alike or not.

use super::difference::{Certainty, Difference, Sighting};
use super::loops;
use super::names::Names;
use loomwright_evidence::facts::Flood;
use loomwright_model::Item;

/// Frames for everybody in a second that no quiet network makes. **Source**: own choice, between 7,563 a second measured in a loop and
/// the 200 that 1,000 devices make which ask for an address every 5 s.
const STORM: u64 = 1_000;
/// Share of one sender from which it is the one that floods, in percent. **Source**: own choice.
const ONE_SENDER: u64 = 80;

/// The storm, if there is one that is not told as a loop already.
pub fn differences(names: &Names<'_>) -> Option<Difference> {
    let floods: Vec<&Flood> = names.evidence.floods.iter().filter(|flood| flood.most_per_second >= STORM).collect();
    let worst = floods.iter().max_by_key(|flood| flood.most_per_second).filter(|_| loops::repeats(names).next().is_none())?;
    let (says, items, remedy) = match busiest(worst) {
        Some((mac, frames)) => {
            let known = names.by_mac(mac);
            let called = known.map_or_else(|| mac.to_string(), |id| format!("`{id}`"));
            let says = format!("{called} floods the network: {frames} frames for everybody in one second");
            let remedy = format!("Unplug {called} and see whether it ends. If it does not, the frames circle: look for a loop.");
            (says, known.cloned().map(Item::Device).into_iter().collect(), remedy)
        }
        None => {
            let says = format!("Broadcast storm: {} frames for everybody in one second, from {}", worst.most_per_second, senders(worst));
            let remedy = "Frames of many senders at once mostly circle: look for a chained device with both ports in one network, or a \
                          cable between two ports of one switch; unplug one end. Right after a start of all boxes look again a minute later.";
            (says, Vec::new(), remedy.to_owned())
        }
    };
    let sightings = floods.iter().map(|flood| {
        let says = format!("{} frames for everybody in one second, from {}", flood.most_per_second, senders(flood));
        Sighting::new(names.evidence, &flood.seen, says)
    });
    let planned = format!("below {STORM} frames for everybody in a second");
    Some(Difference::new("seen/storm", Certainty::Likely, items, says).told(planned, remedy).seen(sightings).loud())
}

/// The sender that made most of it.
fn busiest(flood: &Flood) -> Option<(loomwright_evidence::Mac, u64)> {
    flood.busiest.filter(|(_, frames)| frames.saturating_mul(100) >= flood.most_per_second.saturating_mul(ONE_SENDER))
}

fn senders(flood: &Flood) -> String {
    match (flood.senders, flood.busiest) {
        (1, _) => "one sender".to_owned(),
        (many, Some(_)) => format!("{many} senders"),
        (many, None) => format!("more than {many} senders"),
    }
}
