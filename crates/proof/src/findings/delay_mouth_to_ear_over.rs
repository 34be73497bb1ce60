//! `delay/mouth-to-ear-over`.

use super::*;
use crate::listening::{Way, air, needs, ways};

rule! {
    /// The whole way of a sound through several devices may take longer than the plan allows.
    ///
    /// Every device in the middle takes its processing time, and every stream a packet, the network, and the
    /// receiver's setting. A singer hears it in the ears as a comb filter against the bone; an audience sees lips
    /// before it hears words; a stage hears the hall late.
    ///
    /// **Example:** radio receiver, console, processor and amplifier with 2 ms of setting each: four devices and
    /// three streams, 9 ms, as far as 3 m of air.
    ///
    /// **Source**: the plan's own target `mouth-to-ear`, or the journey's `limit`.
    "delay/mouth-to-ear-over", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    ways(all, &needs(all)).iter().filter_map(|way| over(all, way)).collect()
}

fn over(all: &Analysis, way: &Way<'_>) -> Option<Finding> {
    let (whole, limit) = (way.whole()?, way.limit?);
    if whole <= limit {
        return None;
    }
    let longest = way.parts.iter().max_by_key(|part| part.time)?;
    let says = format!("{} takes up to {whole} to {}, as far as {} of air, and {limit} is allowed.", way.name, way.to, air(whole));
    let remedy = format!("Use shorter packets and shorter settings along {}, or leave out a device; {} alone takes {}.", way.name, longest.at, longest.time);
    let own = all.plan.listening.journeys.get(way.name).is_some_and(|journey| journey.limit.is_some());
    let source = if own { "limit of the journey" } else { "your target mouth-to-ear" };
    let through = all.plan.listening.journeys.get(way.name).into_iter().flat_map(|journey| &journey.through);
    let items = through.map(|stream| Item::Stream(stream.clone())).chain([device(way.to)]).collect();
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(whole, limit).with_source(source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires, id};
    use loomwright_model::Time;
    use loomwright_model::plan::Journey;

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.targets.mouth_to_ear = Some(Time::from_microseconds(100));
        trial.plan.listening.journeys.insert(id("voice"), Journey { through: vec![id("mics")], to: None, limit: None });
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_journeys_own_limit_goes_first() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.listening.journeys["voice"].limit = Some(Time::from_milliseconds(50));
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
