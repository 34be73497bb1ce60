//! `wiring/port-used-twice`.

use super::*;

rule! {
    /// Two cables claim the same port.
    ///
    /// One of them cannot be plugged in. Which one is anybody's guess at load-in.
    ///
    /// **Example:** A-014 and A-015 both end at port 3 of the stage switch.
    ///
    /// **Source**: a jack takes one plug.
    "wiring/port-used-twice", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let mut by_port: IndexMap<&PortRef, Vec<&Id>> = IndexMap::new();
    for (id, cable) in &all.wiring.cables {
        cable.ends.iter().for_each(|end| by_port.entry(end).or_default().push(id));
    }
    by_port.into_iter().filter(|(_, cables)| cables.len() > 1).map(|(at, cables)| twice(at, &cables)).collect()
}

fn twice(at: &PortRef, cables: &[&Id]) -> Finding {
    let says = format!("{} all end at {at}.", list(cables)).replace(" all ", if cables.len() == 2 { " both " } else { " all " });
    let remedy = format!("Give {} another port.", cables[1]);
    let items = std::iter::once(port(at)).chain(cables.iter().copied().map(cable)).collect();
    let figures = count(cables.len(), "cable");
    Finding::new((RULE.code, Severity::Stop), items, says, remedy).with_figures(figures, "1 cable").with_source("a jack takes one plug")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.device("mono-1", "mono", "stage").cable("A-003", ["mono-1/1", "sw-a/1"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
