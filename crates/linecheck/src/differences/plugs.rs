//! What boxes on unplanned ports mean: two plugs exchanged, or one on a wrong port.

use super::difference::{Certainty, Difference, Sighting};
use super::names::Names;
use loomwright_model::{Id, Item, PortRef};
use std::collections::BTreeSet;

/// Ports of a box that are named where it is not known which of them was seen. Own choice: two legs are; a switch's trunks are not.
const FEW: usize = 2;

/// One box that was seen at a port where it is not planned.
pub(super) struct Stray {
    /// The port where it was seen.
    pub(super) at: PortRef,
    /// The box.
    pub(super) who: Id,
    /// Its own port, if it says which.
    pub(super) port: Option<PortRef>,
    /// Whether forwarding tables alone say so.
    pub(super) is_table: bool,
    /// Where it was seen.
    pub(super) sightings: Vec<Sighting>,
}

impl Stray {
    fn certainty(&self) -> Certainty {
        if self.is_table { Certainty::Likely } else { Certainty::Certain }
    }

    /// Whether it can be `far` that was seen.
    fn is(&self, names: &Names<'_>, far: &PortRef) -> bool {
        self.who == far.item && self.port.as_ref().is_none_or(|port| port == far || names.is_chained(&self.who))
    }
}

/// Two planned cables of which an end each is plugged where the other belongs: `at[0]` carries `far[1]`, and `at[1]` carries `far[0]`.
struct Exchange {
    cables: [Id; 2],
    at: [PortRef; 2],
    far: [PortRef; 2],
    certainty: Certainty,
    sightings: Vec<Sighting>,
}

/// Exchanged pairs first, then what hangs on a wrong port. What both ends of a cable say is one difference.
pub(super) fn differences(names: &Names<'_>, strays: &[Stray]) -> Vec<Difference> {
    let mut exchanges: Vec<Exchange> = Vec::new();
    for (n, one) in strays.iter().enumerate() {
        for other in &strays[n + 1..] {
            let Some(found) = exchange(names, one, other) else { continue };
            match exchanges.iter_mut().find(|known| known.cables.iter().any(|cable| found.cables.contains(cable))) {
                Some(known) if known.cables == found.cables => {
                    known.certainty = known.certainty.min(found.certainty);
                    known.sightings.extend(found.sightings);
                }
                Some(_) => {}
                None => exchanges.push(found),
            }
        }
    }
    let mut told: Vec<Difference> = exchanges.iter().map(|one| swapped(names, one)).collect();
    let rest: Vec<&Stray> = strays.iter().filter(|stray| !exchanges.iter().any(|one| explains(names, one, stray))).collect();
    for stray in &rest {
        let is_told = is_behind_another(names, &rest, stray) || told.iter().any(|one| is_other_end(one, stray));
        if !is_told {
            told.push(wrong_port(names, stray));
        }
    }
    told
}

/// The exchange that two strays show together, cables in the order of their names.
fn exchange(names: &Names<'_>, one: &Stray, other: &Stray) -> Option<Exchange> {
    let ((cable, far), (other_cable, other_far)) = names.cable(&one.at).zip(names.cable(&other.at))?;
    let is_so = one.at != other.at && one.is(names, other_far) && other.is(names, far);
    // The two ends of one chain of boxes are no exchange, and one cable is no pair.
    if !is_so || cable == other_cable {
        return None;
    }
    let mut pair = [(cable.clone(), one.at.clone(), far.clone()), (other_cable.clone(), other.at.clone(), other_far.clone())];
    pair.sort();
    let is_device = |port: &PortRef| !names.wiring.switches.contains_key(&port.item);
    let (near, beyond) = (pair[0].1.item == pair[1].1.item, pair[0].2.item == pair[1].2.item);
    // Whoever goes there swaps the two plugs of one box, or those of switches, where labels are.
    let is_turned = if near == beyond { is_device(&pair[0].1) && !is_device(&pair[0].2) } else { beyond };
    let [(one_cable, one_at, one_far), (two_cable, two_at, two_far)] = pair;
    let (at, far) = if is_turned { ([one_far, two_far], [one_at, two_at]) } else { ([one_at, two_at], [one_far, two_far]) };
    let sightings = one.sightings.iter().chain(&other.sightings).cloned().collect();
    Some(Exchange { cables: [one_cable, two_cable], at, far, certainty: one.certainty().min(other.certainty()), sightings })
}

/// Whether a stray says no more than an exchange does: one of its four ends, or what hangs behind one.
fn explains(names: &Names<'_>, exchange: &Exchange, stray: &Stray) -> bool {
    (0..2).any(|n| {
        let (at, far) = (&exchange.at[n], &exchange.far[n]);
        let (now_at, now_far) = (&exchange.far[1 - n], &exchange.at[1 - n]);
        let is_behind = |port: &PortRef| names.behind(port).is_some_and(|all| all.iter().any(|one| one.item == stray.who));
        (stray.at == *at && (stray.who == now_at.item || is_behind(&exchange.at[1 - n])))
            || (stray.at == *far && (stray.who == now_far.item || is_behind(&exchange.far[1 - n])))
    })
}

fn swapped(names: &Names<'_>, one: &Exchange) -> Difference {
    let [at, other_at] = &one.at;
    let [far, other_far] = &one.far;
    let is_switch = |id: &Id| names.wiring.switches.contains_key(id);
    let says = match (at.item == other_at.item, far.item == other_far.item) {
        (true, true) => format!(
            "cables {} and {} between `{}` and `{}` are crossed: {other_far} is on {at}, {far} on {other_at}",
            one.cables[0], one.cables[1], at.item, far.item
        ),
        (true, false) if !is_switch(&at.item) => {
            format!("the two plugs of `{}` are swapped: {at} is on {other_far}, {other_at} on {far}", at.item)
        }
        _ => {
            format!("`{}` and `{}` are swapped: {} is on {other_at}, {} on {at}", far.item, other_far.item, far.item, other_far.item)
        }
    };
    let mut items = vec![Item::Port(at.clone()), Item::Port(other_at.clone())];
    let boxes: BTreeSet<&Id> = [&far.item, &other_far.item].into();
    items.extend(boxes.into_iter().map(|id| Item::Device(id.clone())));
    items.extend(one.cables.iter().cloned().map(Item::Cable));
    Difference::new("seen/swapped", one.certainty, items, says)
        .told(format!("{far} on {at}, {other_far} on {other_at}"), format!("Swap the two plugs at {at} and {other_at}."))
        .seen(one.sightings.iter().cloned())
        .loud()
}

/// Whether tables show the box only because another one, nearer to the port, brought it along.
fn is_behind_another(names: &Names<'_>, all: &[&Stray], stray: &Stray) -> bool {
    let brings = |other: &&&Stray| {
        let home = names.ends_of(&other.who).map(|(_, far)| far).find(|far| names.wiring.switches.contains_key(&far.item));
        home.and_then(|home| names.behind(home)).is_some_and(|behind| behind.iter().any(|one| one.item == stray.who))
    };
    stray.is_table && all.iter().filter(|other| other.at == stray.at && other.who != stray.who).any(|other| brings(&other))
}

fn is_other_end(told: &Difference, stray: &Stray) -> bool {
    told.code == "seen/wrong-port"
        && told.items.contains(&Item::Device(stray.at.item.clone()))
        && told.items.first().is_some_and(|item| matches!(item, Item::Port(port) if port.item == stray.who))
}

fn wrong_port(names: &Names<'_>, stray: &Stray) -> Difference {
    let at = &stray.at;
    let is_its_own = |port: &PortRef| stray.port.as_ref().is_none_or(|own| own == port || names.is_chained(&stray.who));
    let home: Vec<(&PortRef, &PortRef)> = names.ends_of(&stray.who).filter(|(port, _)| is_its_own(port)).collect();
    let here = names.cable(at).map_or_else(|| format!("nothing on {at}"), |(cable, far)| format!("{far} on {at} (cable {cable})"));
    let seen_port = stray.port.as_ref().map_or_else(|| stray.who.to_string(), ToString::to_string);
    let mut items = vec![Item::Port(at.clone()), Item::Device(stray.who.clone())];
    items.extend(names.cable(at).map(|(cable, _)| Item::Cable(cable.clone())));
    let (planned, remedy) = match home.as_slice() {
        [] => (here, format!("Unplug it from {at}: {seen_port} has no cable in the plan. Or change the wiring.")),
        few if few.len() <= FEW => {
            let cables: Vec<Id> = few.iter().filter_map(|(port, _)| names.cable(port)).map(|(cable, _)| cable.clone()).collect();
            let places: Vec<String> =
                few.iter().zip(&cables).map(|((port, far), cable)| format!("{port} on {far} (cable {cable})")).collect();
            let to: Vec<String> = few.iter().map(|(_, far)| far.to_string()).collect();
            items.extend(cables.into_iter().map(Item::Cable).filter(|cable| !items.contains(cable)).collect::<Vec<_>>());
            (format!("{here}; {}", places.join(", ")), format!("Move the plug from {at} to {}, or change the wiring.", to.join(" or ")))
        }
        many => {
            let says = format!("{here}; {} has {} planned cables, none of them there", stray.who, many.len());
            (says, format!("See which of {}'s plugs is on {at}, and move it to its planned port, or change the wiring.", stray.who))
        }
    };
    Difference::new("seen/wrong-port", stray.certainty(), items, format!("{seen_port} is on {at}"))
        .told(planned, remedy)
        .seen(stray.sightings.iter().cloned())
        .loud()
}
