//! `multicast/wifi-flooded`.

use super::*;

rule! {
    /// Streams are sent into the air by a Wi-Fi router.
    ///
    /// A router without snooping passes every stream on, and over the air multicast goes at the slowest rate,
    /// without repeats. A handful of streams fill the air: the tablet loses control, and the router may stall.
    ///
    /// **Example:** the router for the remote-control tablet plugged into the switch of network A.
    ///
    /// **Source**: common practice, no source (multicast over Wi-Fi goes at a base rate without repeats).
    "multicast/wifi-flooded", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    all.geared().filter(|(_, _, gear)| gear.kind == GearKind::WifiRouter).filter_map(|(id, _, gear)| flooded(all, id, gear)).collect()
}

fn flooded(all: &Analysis, id: &Id, gear: &Gear) -> Option<Finding> {
    let into = |at: &loomwright_forwarding::Direction| all.fabric.to_port(*at).item == *id;
    let arriving = all.loads().filter(|(direction, load)| into(direction) && load.unwanted.bits_per_second() > 0);
    let unwanted: loomwright_model::BitRate = arriving.map(|(_, load)| load.unwanted).sum();
    if unwanted.bits_per_second() == 0 {
        return None;
    }
    let air = gear.radio_rate;
    let severity = if air.is_some_and(|rate| unwanted > rate) { Severity::Stop } else { Severity::Warn };
    let most = air.map_or_else(|| "none".to_owned(), |rate| rate.to_string());
    let carries = air.map_or_else(String::new, |rate| format!(", which carries {rate} of multicast"));
    let says = format!("{id} sends {unwanted} of streams into the air{carries}.");
    let remedy = format!("Move {id} to the control network, or put a switch port that blocks multicast in front of it.");
    Some(Finding::new((RULE.code, severity), vec![device(id)], says, remedy).with_figures(unwanted, most).with_source(PRACTICE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.wiring.switches["sw-a"].gear = crate::trial::id("plain-switch");
        trial.router("tablet-wifi", RouterMode::AccessPoint).cable("A-008", ["tablet-wifi/1", "sw-a/8"], "a");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn a_snooping_switch_keeps_streams_out_of_the_air() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.wiring.switches["sw-a"].gear = crate::trial::id("switch");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
