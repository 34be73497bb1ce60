//! How likely the streams of the report stay up.

use crate::analysis::{Analysis, SHOW};
use crate::report::{Availability, ItemLine, SpareLine, UpLine};
use loomwright_model::{Id, Item};
use loomwright_survival::{Down, Importance};

/// How many things are named. Own choice: what fits a page.
const ITEMS_KEPT: usize = 20;

/// Chances for one show, nothing being repaired. The lower end is printed where only a range is known.
pub(super) fn line(analysis: &Analysis) -> Availability {
    let found = analysis.availability();
    let demands = analysis.survival.demands().iter().zip(&found.demands);
    let per_stream = demands.map(|(demand, down)| UpLine { stream: (&demand.stream).into(), to: (&demand.to).into(), up: down.up() });
    let (boxes, guard) = by_harm(analysis);
    let beside = |gear: &Id| {
        let is_one = |one: &&Importance| gear_of(analysis, &item(analysis, one)) == Some(gear);
        boxes.iter().find(is_one).map(|one| item(analysis, one).to_string())
    };
    let spares = found.spares.iter().map(|spare| SpareLine {
        gear: spare.gear.to_string(),
        gain: spare.gain,
        count: spare.count,
        beside: beside(&spare.gear),
    });
    let spares = spares.collect();
    let named = |all: &[Importance]| all.iter().take(ITEMS_KEPT).map(|one| line_of(analysis, one)).collect();
    Availability {
        essential: found.essential.as_ref().map(Down::up),
        per_stream: per_stream.collect(),
        spares,
        boxes: named(&boxes),
        guard: named(&guard),
        of: format!("a show of {SHOW}, nothing being repaired; cables, feeds and routes taken as perfect"),
        taken_as_perfect: found.taken_as_perfect.iter().map(ToString::to_string).collect(),
    }
}

/// Boxes that fail by what a spare buys; everything else by how much falls silent, then by how soon more does. What buys
/// nothing and what nothing hangs on are left out; ties in the order of the failures.
fn by_harm(analysis: &Analysis) -> (Vec<Importance>, Vec<Importance>) {
    let fails = |one: &Importance| one.gain > 0.0;
    let (mut boxes, mut guard): (Vec<Importance>, Vec<Importance>) = analysis.importance().into_iter().partition(fails);
    guard.retain(|one| one.silences > 0 || one.next > 0.0);
    boxes.sort_by(|one, two| two.gain.total_cmp(&one.gain));
    guard.sort_by(|one, two| two.silences.cmp(&one.silences).then(two.next.total_cmp(&one.next)));
    (boxes, guard)
}

fn item(analysis: &Analysis, one: &Importance) -> Item {
    analysis.singles.losses()[one.failure as usize].item()
}

fn line_of(analysis: &Analysis, one: &Importance) -> ItemLine {
    ItemLine { item: item(analysis, one).to_string(), silences: one.silences, next: one.next, gain: one.gain }
}

fn gear_of<'a>(analysis: &'a Analysis, item: &Item) -> Option<&'a Id> {
    match item {
        Item::Device(id) => analysis.plan.devices.get(id).map(|device| &device.gear),
        Item::Switch(id) => analysis.wiring.switches.get(id).map(|switch| &switch.gear),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::Trial;
    use loomwright_model::Hours;

    #[test]
    fn the_box_that_buys_most_is_named_and_so_is_what_to_guard() {
        let mut trial = Trial::good();
        trial.plan.streams.values_mut().for_each(|stream| stream.essential = true);
        for (gear, hours) in [("box", 100_000), ("switch", 50_000)] {
            trial.plan.gear[gear].mtbf = Some(Hours::from_seconds(3_600 * hours));
        }
        let report = crate::prove(&trial.plan, &trial.wiring, &loomwright_model::Nowhere);
        let chances = &report.availability;
        // Without its devices nothing plays; of the two switches one is enough.
        let names: Vec<&str> = chances.boxes.iter().map(|line| line.item.as_str()).collect();
        assert_eq!(names, ["device:box-1", "device:desk", "switch:sw-a", "switch:sw-b"]);
        let [device, .., switch] = chances.boxes.as_slice() else { panic!("{chances:?}") };
        assert!(device.silences > 0 && switch.silences == 0 && switch.next > 0.0, "{chances:?}");
        // A switch matters only while the other is down: 4 h of 50,000 each.
        assert!((switch.gain / 8e-5_f64.powi(2) - 1.0).abs() < 1e-3, "{switch:?}");
        assert_eq!(chances.spares[0].beside.as_deref(), Some("device:box-1"));
        assert!(chances.guard.iter().all(|line| line.gain == 0.0) && !chances.guard.is_empty());
        let by_harm = chances.guard.windows(2).all(|pair| pair[0].silences >= pair[1].silences);
        assert!(by_harm, "{chances:?}");
    }
}
