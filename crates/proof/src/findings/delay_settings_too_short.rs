//! `delay/settings-too-short`.

use super::*;
use crate::listening::{needs, settings};
use loomwright_delay::next_setting;
use loomwright_model::Time;

rule! {
    /// A receiver has no setting long enough for what it receives.
    ///
    /// It has to wait for the latest packet: one packet time, the sender's jitter and the worst delay in the
    /// network. With a shorter setting it plays before that packet is there, and that is a click. It may take
    /// weeks until it happens, and then on a full show.
    ///
    /// **Example:** packets of 1 ms, 0.3 ms of network, and an amplifier whose longest setting is 1 ms.
    ///
    /// **Source**: `receive-delays` of the gear type; the rule is AES67's link offset, from memory.
    "delay/settings-too-short", check, tests::firing
}

/// Stream and what it needs, by receiver.
type Short<'a> = IndexMap<&'a Id, Vec<(Time, &'a Id)>>;

fn check(all: &Analysis) -> Vec<Finding> {
    let mut short: Short<'_> = IndexMap::new();
    for ((stream, receiver), need) in needs(all) {
        let Some((id, stream)) = all.plan.streams.get_index(stream as usize) else { continue };
        let (Some(to), Some(need)) = (stream.to.get(receiver as usize), need) else { continue };
        let has = settings(all, to);
        if !has.is_empty() && next_setting(need.receive_delay(), has).is_none() {
            short.entry(to).or_default().push((need.receive_delay(), id));
        }
    }
    short.into_iter().filter_map(|(to, streams)| too_short(all, to, streams)).collect()
}

fn too_short(all: &Analysis, to: &Id, mut streams: Vec<(Time, &Id)>) -> Option<Finding> {
    streams.sort_by_key(|(needed, _)| std::cmp::Reverse(*needed));
    let ((needed, id), longest) = (*streams.first()?, *settings(all, to).last()?);
    let more = if streams.len() > 1 { format!(" (and {} more)", streams.len() - 1) } else { String::new() };
    let says = format!("{to} needs {needed} for {id}{more}, and its longest setting is {longest}.");
    let remedy = format!("Send {id} with shorter packets, shorten its way, or take a receiver with a setting of {needed} or more.");
    let items = std::iter::once(device(to)).chain(streams.iter().map(|(_, id)| Item::Stream((*id).clone()))).collect();
    Some(Finding::new((RULE.code, Severity::Warn), items, says, remedy).with_figures(needed, longest).with_source("receive-delays of the gear type"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.gear["box"].receive_delays = vec![Time::from_microseconds(250), Time::from_milliseconds(1)];
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn shorter_packets_help() {
        let mut trial = Trial::good();
        firing(&mut trial);
        trial.plan.streams["mics"].format.packet_time = Time::from_microseconds(125);
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring)), vec![]);
    }
}
