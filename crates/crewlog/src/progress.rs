//! How far the crew is, place by place.

use crate::book::Book;
use loomwright_model::{Id, Plan, PortRef, Wiring};
use std::collections::BTreeMap;

/// So many of so many.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Count {
    /// Done.
    pub done: usize,
    /// All.
    pub of: usize,
}

impl Count {
    /// Whether nothing is left to do.
    pub const fn is_complete(self) -> bool {
        self.done >= self.of
    }

    fn add(&mut self, is_done: bool) {
        self.of += 1;
        self.done += usize::from(is_done);
    }
}

/// One end of a cable, where it is to be plugged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct End {
    /// The cable.
    pub cable: Id,
    /// Which of its ends, 0 or 1, as the wiring lists them.
    pub n: usize,
    /// The port that this end goes into.
    pub port: PortRef,
    /// The port at the other end.
    pub other: PortRef,
}

/// The work at one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stop {
    /// The place; `None` for ends whose item is in neither plan nor wiring.
    pub place: Option<Id>,
    /// The ends there: cables that stay, then those that leave, each in the order of the wiring.
    pub ends: Vec<End>,
    /// Ends that are plugged.
    pub count: Count,
    /// Ends about which people disagree.
    pub disputed: usize,
}

/// How far everything is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Progress {
    /// Cable ends plugged.
    pub ends: Count,
    /// Cables tested.
    pub tested: Count,
    /// Cables of which both ends are plugged.
    pub cables: Count,
    /// Ends and tests about which people disagree.
    pub disputed: usize,
    /// Places with work, in the order given.
    pub stops: Vec<Stop>,
}

/// How far the crew is; `order` is the way they walk. Places that it does not name come last.
///
/// ```
/// let loaded = loomwright_planfile::read_bytes(("p.toml", b"[plan]\nname = \"x\"\n"), None).expect("a plan");
/// let far = loomwright_crewlog::progress(&Default::default(), (&loaded.plan, &loaded.wiring), &[]);
/// assert!(far.ends.is_complete() && far.stops.is_empty());
/// ```
pub fn progress(book: &Book, (plan, wiring): (&Plan, &Wiring), order: &[&Id]) -> Progress {
    let mut all = Progress::default();
    let mut stops: BTreeMap<(usize, Option<&Id>), [Vec<End>; 2]> = BTreeMap::new();
    for (id, cable) in &wiring.cables {
        let places = [0, 1].map(|n| wiring.place_of(plan, &cable.ends[n].item));
        for n in [0, 1] {
            let rank = places[n].and_then(|place| order.iter().position(|id| *id == place)).unwrap_or(usize::MAX);
            let [stay, leave] = stops.entry((rank, places[n])).or_default();
            let end = End { cable: id.clone(), n, port: cable.ends[n].clone(), other: cable.ends[1 - n].clone() };
            if places[0] == places[1] { stay.push(end) } else { leave.push(end) }
        }
        let is_plugged = |end: &PortRef| book.plugged(id.as_str(), &end.to_string()).is_done();
        all.cables.add(cable.ends.iter().all(is_plugged));
        let test = book.tested(id.as_str());
        all.tested.add(test.is_done());
        all.disputed += usize::from(test.is_disputed());
    }
    all.stops = stops.into_iter().map(|((_, place), ends)| stop(book, place, ends.concat())).collect();
    for stop in &all.stops {
        all.ends = Count { done: all.ends.done + stop.count.done, of: all.ends.of + stop.count.of };
        all.disputed += stop.disputed;
    }
    all
}

fn stop(book: &Book, place: Option<&Id>, ends: Vec<End>) -> Stop {
    let (mut count, mut disputed) = (Count::default(), 0);
    for end in &ends {
        let standing = book.plugged(end.cable.as_str(), &end.port.to_string());
        count.add(standing.is_done());
        disputed += usize::from(standing.is_disputed());
    }
    Stop { place: place.cloned(), ends, count, disputed }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::entry::{Deed, Entry};

    const PLAN: &str = "[plan]\nname = \"x\"\n[network.a]\nsubnet = \"10.0.0.0/24\"\n[place.far]\nname = \"Far\"\n[place.near]\nname = \"Near\"\n\
        [route.r]\nbetween = [\"far\", \"near\"]\nlength = \"9 m\"\n\
        [gear.box]\nkind = \"endpoint\"\naudio-ports = [{ name = \"1\", speed = \"1 Gb/s\", medium = \"copper\" }, { name = \"2\", speed = \"1 Gb/s\", medium = \"copper\" }]\n\
        [device.one]\ngear = \"box\"\nplace = \"near\"\n[device.two]\ngear = \"box\"\nplace = \"near\"\n[device.three]\ngear = \"box\"\nplace = \"far\"\n";
    const WIRING: &str = "[cable.L]\nends = [\"two/2\", \"three/1\"]\nnetwork = \"a\"\nmedium = \"copper\"\nlength = \"12 m\"\nroutes = [\"r\"]\n\
        [cable.S]\nends = [\"one/1\", \"two/1\"]\nnetwork = \"a\"\nmedium = \"copper\"\nlength = \"2 m\"\nroutes = []\n";

    fn plug(id: &str, port: &str) -> Entry {
        let deed = Deed::Plug { cable: "S".into(), port: port.into(), is: true };
        Entry { id: id.into(), time: crate::utc(0), made: None, who: String::new(), hand: String::new(), knew: 0, deed }
    }

    #[test]
    fn ends_are_listed_where_they_are_plugged() {
        let loaded = loomwright_planfile::read_bytes(("p.toml", PLAN.as_bytes()), Some(("w.toml", WIRING.as_bytes()))).expect("a plan");
        let mut book = Book::default();
        let (near, far) = (Id::new("near").expect("a name"), Id::new("far").expect("a name"));
        let at = |book: &Book| progress(book, (&loaded.plan, &loaded.wiring), &[&near, &far]);
        let first = at(&book);
        let listed: Vec<(String, Vec<String>)> = first
            .stops
            .iter()
            .map(|stop| {
                (
                    stop.place.clone().expect("a place").to_string(),
                    stop.ends.iter().map(|end| format!("{} {}", end.cable, end.port)).collect(),
                )
            })
            .collect();
        assert_eq!(
            listed[0],
            ("near".to_owned(), vec!["S one/1".to_owned(), "S two/1".to_owned(), "L two/2".to_owned()]),
            "what stays first"
        );
        assert_eq!(listed[1], ("far".to_owned(), vec!["L three/1".to_owned()]));
        assert_eq!((first.ends, first.cables), (Count { done: 0, of: 4 }, Count { done: 0, of: 2 }));
        book.add(plug("1", "one/1"));
        book.add(plug("2", "two/1"));
        let then = at(&book);
        assert_eq!((then.ends, then.cables, then.tested), (Count { done: 2, of: 4 }, Count { done: 1, of: 2 }, Count { done: 0, of: 2 }));
        assert_eq!(then.stops[0].count, Count { done: 2, of: 3 });
    }
}
