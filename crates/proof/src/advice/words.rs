//! Advice as orders for a person in a hurry.

use super::{Advice, Move, Spare};
use crate::analysis::Analysis;
use crate::wording::list;
use loomwright_model::{Id, Item};

/// What to keep in mind at every step. **Source**: common practice, no source; local code and licensed people decide.
pub const CAUTIONS: [&str; 4] = [
    "Sound comes back at full level: mute amplifiers and ears first, bring them up slowly.",
    "PoE: a device that gets its power back restarts; switch the port off before you unplug, where there is time.",
    "Mains: a tripped breaker or a hot plug is for a licensed electrician; local code decides.",
    "Fibre: invisible laser light; never look into an end.",
];
/// Where a life-safety stream is concerned. **Source**: common practice, no source; local code decides.
pub const LIFE_SAFETY: &str = "A life-safety stream hangs on this: call its responsible person now. Do not re-patch, mute or test it without permission; local code and licensed practice decide.";

impl Advice {
    /// One sentence: what falls silent and what carries on.
    pub fn says(&self, analysis: &Analysis) -> String {
        match (self.silent.len(), self.one_leg_left) {
            (0, 0) => "Nothing falls silent.".to_owned(),
            (0, left) => format!("Nothing falls silent; {} {} on with one leg less.", count_of(left), carries(left)),
            (n, _) => {
                let essential = self.silent.iter().filter(|&&demand| analysis.survival.demands()[demand as usize].essential).count();
                let grave = if essential > 0 { format!(", {essential} essential") } else { String::new() };
                format!("{} {} silent{grave}.", count_of(n), if n == 1 { "falls" } else { "fall" })
            }
        }
    }

    /// What to do, in order.
    pub fn steps(&self, analysis: &Analysis) -> Vec<String> {
        if self.touches_life_safety {
            return vec![LIFE_SAFETY.to_owned(), self.spare_step(analysis)];
        }
        if self.silent.is_empty() {
            let mut steps = vec!["Leave it alone while the show runs.".to_owned()];
            if self.one_leg_left > 0 {
                steps.push("Until it is mended one more failure can silence what now runs on one leg.".to_owned());
            }
            steps.push(self.spare_step(analysis));
            return steps;
        }
        let mut steps = vec!["Mute what will come back.".to_owned(), self.look(analysis)];
        steps.extend(self.moves.iter().map(|one| one.says(analysis)));
        match (self.moves.is_empty(), self.waiting.len()) {
            (true, _) => steps.push("No other port within reach can help.".to_owned()),
            (false, 0) => steps.push(format!("{} back with that: all of it.", are(self.back.len()))),
            (false, left) => steps.push(format!("{} back with that; {} silent until the spare is in.", are(self.back.len()), stay(left))),
        }
        steps.extend(self.asked_for.iter().map(|network| {
            format!("It asked for the multicast members of network {network}: see that another switch there does, or audio may stop again within minutes.")
        }));
        steps.push(self.spare_step(analysis));
        steps
    }

    /// Where to look before anything is moved.
    fn look(&self, analysis: &Analysis) -> String {
        let wiring = &analysis.wiring;
        match &self.item {
            Item::Cable(id) => match wiring.cables.get(id) {
                Some(cable) => format!("Push both plugs home, {} and {}, and look at their lights.", cable.ends[0], cable.ends[1]),
                None => String::new(),
            },
            Item::Switch(id) | Item::Device(id) => {
                let own = wiring.switches.get(id).map(|switch| (&switch.feeds, &switch.place));
                let own = own.or_else(|| analysis.plan.devices.get(id).map(|device| (&device.feeds, &device.place)));
                let feeds = own.map(|(feeds, place)| analysis.plan.feeds_of(feeds, place)).unwrap_or_default();
                let feed = if feeds.is_empty() { "its power".to_owned() } else { format!("its power, {}", list(feeds)) };
                format!(
                    "Look at {id}. Dark: check {feed}. Lights on but nothing passes: take its power away, wait 10 s, give it back, once."
                )
            }
            _ => String::new(),
        }
    }

    fn spare_step(&self, analysis: &Analysis) -> String {
        match &self.spare {
            Spare::Cable { medium, length, is_short: true } => format!("Spare: {medium} cable, {length}, into the same two ports."),
            Spare::Cable { medium, length, is_short: false } => {
                let routes = match &self.item {
                    Item::Cable(id) => analysis.wiring.cables.get(id).map(|cable| list(&cable.routes)).unwrap_or_default(),
                    _ => String::new(),
                };
                format!("Spare: {medium} cable, {length}, along {routes}, into the same two ports; cover it and keep ways out free.")
            }
            Spare::Gear { .. } => {
                let says = self.spare.says();
                format!("{}, set up as {} was, every cable into the port of the same number.", says.trim_end_matches('.'), self.item.name())
            }
        }
    }

    /// Ports to open and set before the show, with the networks they are to carry.
    pub fn preparations(&self) -> Vec<(String, Vec<Id>)> {
        self.moves.iter().filter_map(|one| Some((one.to.to_string(), one.prepare.clone()?))).collect()
    }
}

impl Spare {
    /// What to fetch, in one short sentence.
    pub fn says(&self) -> String {
        match self {
            Self::Cable { medium, length, .. } => format!("Spare: {medium}, {length}."),
            Self::Gear { title, left, .. } => match left {
                None => format!("Spare: {title}."),
                Some(0) => format!("Spare: {title} (none left in the stock list)."),
                Some(n) => format!("Spare: {title} ({n} left in the stock list)."),
            },
        }
    }
}

impl Move {
    /// The order.
    pub fn says(&self, analysis: &Analysis) -> String {
        let Self { cable, from, to, other, .. } = self;
        let mut text = match self.is_lead {
            true => format!("Put a short lead from {other} into {to}, in place of {cable}"),
            false => format!("Move {cable} (to {}) from {from} to {to}", other.item),
        };
        if let Some(pull) = &self.pull {
            text += &format!("; take {pull} out there first");
        }
        if let Some(networks) = &self.prepare {
            text += &format!(". Works only if {to} was opened and set for {} before", settings(analysis, networks));
        }
        text + "."
    }
}

/// `network a, VLAN 10`, or several.
pub fn settings(analysis: &Analysis, networks: &[Id]) -> String {
    let one = |id: &Id| match analysis.plan.networks.get(id).and_then(|network| network.vlan) {
        Some(vlan) => format!("network {id}, VLAN {vlan}"),
        None => format!("network {id}"),
    };
    list(networks.iter().map(one))
}

fn count_of(n: usize) -> String {
    if n == 1 { "1 delivery".to_owned() } else { format!("{n} deliveries") }
}

fn carries(n: usize) -> &'static str {
    if n == 1 { "carries" } else { "carry" }
}

fn are(n: usize) -> String {
    if n == 1 { "1 delivery is".to_owned() } else { format!("{n} deliveries are") }
}

fn stay(n: usize) -> String {
    if n == 1 { "1 stays".to_owned() } else { format!("{n} stay") }
}
