//! `safety/life-safety-stream`.

use super::*;

rule! {
    /// A stream feeds a voice-alarm or other life-safety system.
    ///
    /// Such systems fall under law and product approval. This tool does not judge them and a clean proof says
    /// nothing about them: the responsible designer, the local code and licensed practice decide. Never mute,
    /// re-patch or test such a route without the permission of who is responsible for it.
    ///
    /// **Example:** a stream from the stage to the building's voice-alarm rack.
    ///
    /// **Source**: EN 54-16 and CEN/TS 54-32 (scope read), NFPA 72 in the United States; local code decides.
    "safety/life-safety-stream", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let marked = all.plan.streams.iter().filter(|(_, stream)| stream.life_safety);
    marked
        .map(|(id, stream)| {
            let says = format!("{id} from {} feeds a life-safety system: it is outside the judgement of this proof.", stream.from);
            let remedy = "Hand this route to the designer responsible for the life-safety system, and follow the local code and licensed practice.";
            Finding::new((RULE.code, Severity::Warn), vec![Item::Stream(id.clone())], says, remedy).with_source("EN 54-16, CEN/TS 54-32; local code decides")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.streams["mics"].life_safety = true;
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
