//! `address/control-wrong`.

use super::*;

rule! {
    /// A device's control function is addressed or plugged in where control does not live.
    ///
    /// Audio and control are two settings with two addresses, even where they share a jack. A control function
    /// with an address of another network cannot be reached by the software that should run it, and the crew
    /// find out with the doors open.
    ///
    /// **Example:** a processor's own control jack on the control network, still set to an address of network A.
    ///
    /// **Source**: common practice, no source.
    "address/control-wrong", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.layout.slots().filter(|(_, slot)| slot.kind != InterfaceKind::Audio).filter_map(|(id, slot)| wrong(all, id, slot)).collect()
}

fn wrong(all: &Analysis, id: &Id, slot: &Slot) -> Option<Finding> {
    let Some(at) = &slot.network else { return unplugged(all, id, slot) };
    let subnet = all.plan.networks.get(at)?.subnet?;
    let set = all.wiring.interfaces.get(&slot.port)?.address;
    if subnet.contains(set.address) {
        return None;
    }
    let says = format!("The control function of {id} ({}) has address {}, but it is reached through network {at} ({subnet}).", slot.port, set.address);
    let remedy = format!("Set the control address of {id} to one of {subnet}; it is a setting apart from the audio address.");
    let items = vec![port(&slot.port), device(id), network(at)];
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(set, subnet).with_source(PRACTICE))
}

/// A control jack of its own with no cable, where a control network exists.
fn unplugged(all: &Analysis, id: &Id, slot: &Slot) -> Option<Finding> {
    let (control, _) = all.plan.networks.iter().find(|(_, network)| network.carries == Carries::Control)?;
    if slot.kind != InterfaceKind::Control || all.layout.plugs(id).is_empty() {
        return None;
    }
    let says = format!("The control jack of {id} ({}) has no cable: nobody can reach it on network {control}.", slot.port);
    let remedy = format!("Run a cable from {} to a switch of network {control}.", slot.port);
    let items = vec![port(&slot.port), device(id), network(control)];
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures("0 cables", "1 cable").with_source(PRACTICE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use loomwright_model::gear::Control;
    use crate::trial::{Trial, fires, id};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["mono"].control = Some(Control::MergedWith(id("1")));
        trial.device("mono-1", "mono", "stage").cable("A-003", ["mono-1/1", "sw-a/3"], "a");
        trial.address("mono-1/1", "10.1.0.13/24").address("mono-1/control", "10.3.0.13/24");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_merged_control_function_lives_in_its_ports_network() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.address("mono-1/control", "10.1.0.14/24");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }

    #[test]
    fn an_own_jack_wants_a_cable() {
        let mut trial = Trial::good();
        trial.plan.gear["box"].control = Some(Control::Own { port: id("control"), speed: loomwright_model::BitRate::from_bits_per_second(100_000_000) });
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)).len(), 2);
    }
}
