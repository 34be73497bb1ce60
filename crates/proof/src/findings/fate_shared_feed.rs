//! `fate/shared-feed`.

use super::*;

rule! {
    /// One power feed keeps switches of both audio networks alive.
    ///
    /// When that feed trips, both networks go with it. A switch that hangs on two feeds does not count: it
    /// survives either.
    ///
    /// **Example:** both front-of-house switches in one outlet strip.
    ///
    /// **Source**: common practice, no source (power for A and B from different phases or supplies).
    "fate/shared-feed", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut on_feed: IndexMap<&Id, Vec<&Id>> = IndexMap::new();
    for (id, found) in &all.wiring.switches {
        if let [only] = all.plan.feeds_of(&found.feeds, &found.place) {
            on_feed.entry(only).or_default().push(id);
        }
    }
    on_feed.into_iter().filter_map(|(feed, switches)| shared(all, feed, &switches)).collect()
}

fn shared(all: &Analysis, feed: &Id, switches: &[&Id]) -> Option<Finding> {
    let carries = |id: &Id, network: &Id| all.wiring.switches.get(id).is_some_and(|found| found.networks.contains(network));
    let audio: Vec<&Id> = all.audio_networks().filter(|network| switches.iter().any(|id| carries(id, network))).collect();
    if switches.len() < 2 || audio.len() < 2 {
        return None;
    }
    let says = format!("{feed} alone feeds {}, which carry networks {}.", list(switches), list(&audio));
    let remedy = format!("Move {} to another feed, or give it a second one. Mains work is for licensed people.", switches[switches.len() - 1]);
    let items = std::iter::once(Item::Feed(feed.clone())).chain(switches.iter().copied().map(switch)).collect();
    let figures = (count(audio.len(), "audio network"), "1 audio network");
    Some(Finding::new((RULE.code, all.fate()), items, says, remedy).with_figures(figures.0, figures.1).with_source(PRACTICE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires, id};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.switches["sw-b"].feeds = vec![id("mains-stage")];
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_second_feed_keeps_them_apart() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.wiring.switches["sw-b"].feeds.push(id("mains-foh"));
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
