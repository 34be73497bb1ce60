//! `wiring/no-such-port`.

use super::*;

rule! {
    /// A cable ends at a port that the device or switch does not have.
    ///
    /// Nobody can plug it in, and nothing behind it is proved.
    ///
    /// **Example:** a cable to port 25 of a switch with 24 ports.
    ///
    /// **Source**: the gear type in the plan.
    "wiring/no-such-port", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let ends = all.wiring.cables.iter().flat_map(|(id, cable)| cable.ends.iter().map(move |end| (id, end)));
    ends.filter(|(_, end)| all.layout.spec(end).is_none()).map(|(id, end)| missing(all, id, end)).collect()
}

fn missing(all: &Analysis, id: &Id, end: &PortRef) -> Finding {
    let ports = all.layout.ports(&end.item);
    let (says, has) = match ports {
        [] => (format!("{id} ends at {end}, but there is no {} with ports.", end.item), "no ports".to_owned()),
        [first, .., last] => (format!("{id} ends at {end}, but {} has ports {} to {}.", end.item, first.name, last.name), count(ports.len(), "port")),
        [only] => (format!("{id} ends at {end}, but {} has only port {}.", end.item, only.name), "1 port".to_owned()),
    };
    let remedy = format!("Give {id} a port that {} has.", end.item);
    Finding::new((RULE.code, Severity::Stop), vec![cable(id), port(end)], says, remedy).with_figures(end, has).with_source("the gear type in the plan")
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.cable("A-002", ["desk/1", "sw-a/11"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
