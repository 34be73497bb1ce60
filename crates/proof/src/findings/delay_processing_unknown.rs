//! `delay/processing-unknown`.

use super::*;
use crate::listening::{needs, ways};

rule! {
    /// A device on a way of sound does not say how long it takes inside.
    ///
    /// It is counted as nothing, so the printed time of the whole way is too short by what the device takes:
    /// a converter a few tenths of a millisecond, a processor with long filters many milliseconds.
    ///
    /// **Example:** a loudspeaker with its own processor, written into the plan without `processing-delay`.
    ///
    /// **Source**: common practice, no source.
    "delay/processing-unknown", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let ways = ways(all, &needs(all));
    let silent: IndexSet<&Id> = ways.iter().flat_map(|way| way.silent_about.iter().copied()).collect();
    let Some(first) = silent.first() else { return Vec::new() };
    let journeys: IndexSet<&Id> = ways.iter().filter(|way| !way.silent_about.is_empty()).map(|way| way.name).collect();
    let says = match silent.len() {
        1 => format!("{first} does not say how long it takes inside; {} counts it as nothing.", list(&journeys)),
        n => format!("{n} devices do not say how long they take inside; {} counts them as nothing.", list(&journeys)),
    };
    let remedy = "Write `processing-delay` of their gear types from the data sheets into the plan.";
    let items = silent.iter().map(|id| device(id)).collect();
    let figure = list(&silent);
    vec![Finding::new((RULE.code, Severity::Note), items, says, remedy).with_figures(figure, "stated").with_source(PRACTICE)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires, id};
    use loomwright_model::plan::Journey;

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.listening.journeys.insert(id("voice"), Journey { through: vec![id("mics")], to: None, limit: None });
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn silent_once_stated() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.gear["box"].processing_delay = Some(loomwright_model::Time::ZERO);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
