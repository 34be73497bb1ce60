//! How long it takes to get there and look.

use super::{Ask, Trouble};
use loomwright_model::{Id, Item, Plan};

/// A walking crew member, millimetres a minute: 60 m. Own choice, slower than a free walk, for stairs of a dark stage.
const PACE: f64 = 60_000.0;
/// One metre of height counts as this many of walking. Own choice: stairs.
const CLIMB: f64 = 5.0;
/// Minutes to another place when the plan does not say where it is. Own choice.
const SOMEWHERE: f64 = 2.0;

/// Minutes between two places; `None` stands for where one is now.
fn minutes(plan: &Plan, from: Option<&Id>, to: Option<&Id>) -> f64 {
    let (Some(from), Some(to)) = (from, to) else { return 0.0 };
    if from == to {
        return 0.0;
    }
    let at = |place: &Id| plan.places.get(place).and_then(|place| place.at);
    let (Some(a), Some(b)) = (at(from), at(to)) else { return SOMEWHERE };
    let along = |a: i64, b: i64| (a - b).unsigned_abs() as f64;
    (along(a.x, b.x) + along(a.y, b.y) + CLIMB * along(a.z, b.z)) / PACE
}

impl Trouble<'_> {
    /// Minutes for a test by somebody who stands at `at`: the walk, then the look. Looks are our own guesses:
    /// half a minute for a light, one for listening, five for another cable.
    pub(super) fn cost(&self, ask: &Ask, at: Option<&Id>) -> f64 {
        let look = match ask {
            Ask::Lights(_) | Ask::Power(_) => 0.5,
            Ask::Heard(_) | Ask::Leg(_) => 1.0,
            Ask::Sound(_) => 5.0,
        };
        let walks = self.places_of(ask).into_iter().map(|place| minutes(self.plan, at, Some(place)));
        look + walks.min_by(f64::total_cmp).unwrap_or(0.0)
    }

    /// Where a test can be done.
    pub(super) fn places_of(&self, ask: &Ask) -> Vec<&Id> {
        let receiver = |demand: u32| self.survival.demands().get(demand as usize).map(|demand| Item::Device(demand.to.clone()));
        let items: Vec<Item> = match ask {
            Ask::Heard(demand) => receiver(*demand).into_iter().collect(),
            Ask::Leg(leg) => self.legs.get(*leg as usize).and_then(|leg| receiver(leg.demand)).into_iter().collect(),
            Ask::Lights(cable) | Ask::Sound(cable) => self.ends_of(cable),
            Ask::Power(item) => vec![item.clone()],
        };
        items.iter().filter_map(|item| self.place_of(item)).collect()
    }

    fn place_of(&self, item: &Item) -> Option<&Id> {
        match item {
            Item::Device(id) => self.plan.devices.get(id).map(|device| &device.place),
            Item::Switch(id) => self.wiring.switches.get(id).map(|switch| &switch.place),
            _ => None,
        }
    }
}
