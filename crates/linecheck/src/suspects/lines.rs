//! Suspects and tests in words and whole numbers, for terminal, JSON and page alike.

use super::{Ask, Inquiry, Suspect, Test, Trouble};
use loomwright_model::{Id, Item};
use loomwright_survival::Loss;
use serde::Serialize;

/// An inquiry in words.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct InquiryLines {
    /// One sentence: how far we are.
    pub says: String,
    /// Most likely first.
    pub suspects: Vec<SuspectLine>,
    /// Best first.
    pub tests: Vec<TestLine>,
}

/// One suspect.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SuspectLine {
    /// What would be lost: `cable:A-001`.
    pub items: Vec<String>,
    /// Whether it is a switch that froze: lights lit, nothing forwarded.
    pub frozen: bool,
    /// Chance in parts per million.
    pub chance_ppm: u32,
    /// What to think of.
    pub says: String,
    /// How many answers it does not explain.
    pub misfits: u32,
}

/// One test.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TestLine {
    /// The question as it is answered: `lights:A-001`, `heard:main@amp`, `leg:main@amp/a`, `power:sw-a`, `sound:A-001`.
    pub ask: String,
    /// What to do.
    pub says: String,
    /// Places where it can be done.
    pub places: Vec<String>,
    /// Walk and look, in seconds.
    pub seconds: u32,
    /// What it tells, in thousandths of a bit.
    pub millibits: u32,
    /// Chance of the bad answer, in parts per million.
    pub bad_ppm: u32,
    /// What the good answer would mean.
    pub if_good: String,
    /// What the bad answer would mean.
    pub if_bad: String,
}

/// Suspects named in a sentence before it says how many more there are. Own choice.
const NAMED: usize = 3;

impl Trouble<'_> {
    /// The inquiry in words, with at most `tests` tests for somebody who stands at `at`.
    pub fn lines(&self, inquiry: &Inquiry, tests: usize, at: Option<&Id>) -> InquiryLines {
        let next = self.next_tests(inquiry, at);
        InquiryLines {
            says: says(inquiry, next.is_empty()),
            suspects: inquiry.suspects.iter().map(|suspect| self.suspect_line(suspect)).collect(),
            tests: next.iter().take(tests).map(|test| self.test_line(inquiry, test)).collect(),
        }
    }

    fn suspect_line(&self, suspect: &Suspect) -> SuspectLine {
        let says: Vec<String> = suspect.losses.iter().map(|loss| self.says_loss(loss)).collect();
        SuspectLine {
            items: suspect.losses.iter().map(|loss| loss.item().to_string()).collect(),
            frozen: suspect.losses.iter().any(Loss::is_frozen),
            chance_ppm: ppm(suspect.chance),
            says: says.join("; and at the same time "),
            misfits: suspect.misfits.len() as u32,
        }
    }

    fn test_line(&self, inquiry: &Inquiry, test: &Test) -> TestLine {
        let is_bad = |at: &usize| test.if_bad.binary_search(at).is_ok();
        let (bad, good): (Vec<usize>, Vec<usize>) = (0..inquiry.suspects.len()).partition(is_bad);
        let left = |which: &[usize]| in_short(which.iter().filter_map(|at| inquiry.suspects.get(*at)));
        TestLine {
            ask: self.name_of(&test.ask),
            says: self.says_ask(&test.ask),
            places: test.places.iter().map(ToString::to_string).collect(),
            seconds: (test.minutes * 60.0).ceil() as u32,
            millibits: (test.bits * 1_000.0).round() as u32,
            bad_ppm: ppm(test.chance_bad),
            if_good: left(&good),
            if_bad: left(&bad),
        }
    }

    fn says_loss(&self, loss: &Loss) -> String {
        match loss {
            Loss::Frozen(id) => {
                format!("{id} is frozen: lights lit, nothing forwarded. Restart it when nothing essential hangs on it any more")
            }
            Loss::Gone(Item::Cable(id)) => format!("cable {id}, one of its plugs, or the port at either end ({})", self.ports_of(id)),
            Loss::Gone(Item::Switch(id)) => format!("switch {id} is off or broken"),
            Loss::Gone(Item::Device(id)) => format!("{id} is off or broken"),
            Loss::Gone(Item::Feed(id)) => {
                format!("power feed {id} is off. Let a qualified person find out why before it is switched on again")
            }
            Loss::Gone(Item::Route(id)) => format!("all cables in route {id} are cut"),
            Loss::Gone(Item::Hazard(id)) => format!("{id} took every route that it shares"),
            Loss::Gone(item) => format!("{item} is gone"),
        }
    }

    fn ports_of(&self, cable: &Id) -> String {
        let ends = self.wiring.cables.get(cable).map(|cable| &cable.ends);
        ends.map_or_else(String::new, |[from, to]| format!("{from}, {to}"))
    }

    fn says_ask(&self, ask: &Ask) -> String {
        let at = |demand: u32| {
            let demand = self.survival.demands().get(demand as usize);
            demand.map_or_else(String::new, |demand| format!("{} at {}", demand.stream, demand.to))
        };
        match ask {
            Ask::Heard(demand) => format!("Is {} heard?", at(*demand)),
            Ask::Leg(leg) => {
                let leg = self.legs.get(*leg as usize);
                leg.map_or_else(String::new, |leg| match self.fabric.networks.get(usize::from(leg.network.0)) {
                    Some(network) if self.counts[leg.demand as usize] > 1 => {
                        format!("Does {} arrive over network {network}?", at(leg.demand))
                    }
                    _ => format!("Is {} heard?", at(leg.demand)),
                })
            }
            Ask::Lights(cable) => format!("Are the link lights of cable {cable} lit at both ends ({})?", self.ports_of(cable)),
            Ask::Power(item) => format!("Is {} on?", item.name()),
            Ask::Sound(cable) => format!(
                "Mute what it feeds, put another cable in place of {cable}, then raise the level slowly. Was {cable} sound, so that nothing changes?"
            ),
        }
    }

    /// The name under which [`TestLine::ask`] speaks of it and [`Trouble::ask`] finds it again.
    fn name_of(&self, ask: &Ask) -> String {
        let at = |demand: u32| {
            let demand = &self.survival.demands()[demand as usize];
            format!("{}@{}", demand.stream, demand.to)
        };
        match ask {
            Ask::Heard(demand) => format!("heard:{}", at(*demand)),
            Ask::Leg(leg) => {
                let leg = self.legs[*leg as usize];
                format!("heard:{}/{}", at(leg.demand), self.fabric.networks[usize::from(leg.network.0)])
            }
            Ask::Lights(cable) => format!("lights:{cable}"),
            Ask::Power(item) => format!("power:{}", item.name()),
            Ask::Sound(cable) => format!("sound:{cable}"),
        }
    }
}

fn says(inquiry: &Inquiry, is_done: bool) -> String {
    let fitting = inquiry.fitting().count();
    match (inquiry.suspects.first(), fitting) {
        (None, _) if inquiry.answers.iter().any(|answer| !answer.is_good) => {
            "No failure of the plan explains this. Look at settings: addresses, mutes, gains, subscriptions.".to_owned()
        }
        (None, _) => "Nothing is reported silent or dark, so there is nobody to suspect.".to_owned(),
        (Some(_), 0) => "No suspect explains every answer: one answer may be wrong, or the fault is one the plan does not know.".to_owned(),
        (Some(first), 1) if first.misfits.is_empty() => "One suspect explains everything.".to_owned(),
        (Some(_), n) if is_done => format!("{n} suspects explain everything, and no test from here tells them apart."),
        (Some(_), n) => format!("{n} suspects explain everything. Do the first test."),
    }
}

fn in_short<'s>(suspects: impl Iterator<Item = &'s Suspect>) -> String {
    let mut all: Vec<&Suspect> = suspects.collect();
    // Those that misfit already are worth a word only where nobody else is left.
    if all.iter().any(|suspect| suspect.misfits.is_empty()) {
        all.retain(|suspect| suspect.misfits.is_empty());
    }
    let named: Vec<String> =
        all.iter().take(NAMED).map(|suspect| suspect.losses.iter().map(ToString::to_string).collect::<Vec<_>>().join(" + ")).collect();
    match all.len() {
        0 => "a surprise: no suspect says so".to_owned(),
        n if n > NAMED => format!("{}, {} more", named.join(", "), n - NAMED),
        _ => named.join(", "),
    }
}

fn ppm(share: f64) -> u32 {
    (share * 1e6).round().clamp(0.0, 1e6) as u32
}
