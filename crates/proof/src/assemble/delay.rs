//! Where each nanosecond of a worst case goes.

use super::names::Names;
use crate::analysis::Analysis;
use crate::listening::settings;
use crate::report::{DelayLine, HoldLine, HopLine};
use loomwright_delay::{HopDelay, next_setting};
use loomwright_model::{Id, Time};

/// Delay of flow `flow` to the far end of its hop `hop`; `None` where no bound exists.
pub(super) fn line((analysis, names): (&Analysis, &Names), (flow, hop): (usize, u32), receiver: &Id) -> Option<DelayLine> {
    let bound = analysis.delays.bound(flow, hop).ok()?;
    let mut shares = Shares::default();
    let per_hop = analysis.delays.hops(flow, hop).iter().map(|hop| hop_line(names, hop, &mut shares)).collect();
    Some(DelayLine {
        least_ns: bound.least.picoseconds() / 1_000,
        worst_ns: bound.worst.nanoseconds_up(),
        reached_ns: analysis.delays.reached(flow, hop).map(|reached| reached.picoseconds() / 1_000),
        known_tight: analysis.delays.is_known_tight(flow, hop),
        hold: hold_line(analysis, (flow, hop), receiver)?,
        per_hop,
    })
}

fn hold_line(analysis: &Analysis, (flow, hop): (usize, u32), receiver: &Id) -> Option<HoldLine> {
    let hold = analysis.delays.hold(flow, hop).ok()?;
    let setting = next_setting(hold.receive_delay(), settings(analysis, receiver));
    Some(HoldLine {
        variation_ns: hold.network.variation().nanoseconds_up(),
        jitter_ns: hold.jitter.nanoseconds_up(),
        packet_ns: hold.packet.nanoseconds_up(),
        buffer_ns: hold.buffer().nanoseconds_up(),
        receive_delay_ns: hold.receive_delay().nanoseconds_up(),
        setting_ns: setting.map(Time::nanoseconds_up),
    })
}

/// Rounds a running sum up, so that the printed parts add up to the printed whole.
#[derive(Default)]
struct Shares {
    exact: Time,
    printed: u64,
}

impl Shares {
    fn next(&mut self, part: Time) -> u64 {
        self.exact = self.exact + part;
        let share = self.exact.nanoseconds_up() - self.printed;
        self.printed += share;
        share
    }
}

fn hop_line(names: &Names, hop: &HopDelay, shares: &mut Shares) -> HopLine {
    HopLine {
        at: names.leaving_port(hop.direction),
        wait_ns: shares.next(hop.wait),
        serialise_ns: shares.next(hop.serialise),
        propagate_ns: shares.next(hop.propagate),
        forward_ns: shares.next(hop.forward),
        blocked_ns: hop.blocked.picoseconds() / 1_000,
        behind: hop.behind.iter().map(|&packet| names.packet(packet)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::Trial;

    #[test]
    fn parts_add_up_to_the_whole() {
        let mut trial = Trial::good();
        trial.stream("more", "box-1", &["desk"], 64).chain("sw-a/3", 3).stream("end", "c3", &["desk"], 16);
        let report = crate::prove(&trial.plan, &trial.wiring, &loomwright_model::Nowhere);
        assert_eq!(report.streams.len(), 2 * (1 + 8) + 2);
        for stream in &report.streams {
            let delay = stream.delay.as_ref().expect("a bound");
            let parts = delay.per_hop.iter().map(|hop| hop.serialise_ns + hop.wait_ns + hop.forward_ns + hop.propagate_ns);
            assert_eq!(parts.sum::<u64>(), delay.worst_ns, "{} {}", stream.id, stream.network);
            assert!(delay.least_ns <= delay.worst_ns && delay.per_hop.len() == stream.hops as usize);
        }
    }
}
