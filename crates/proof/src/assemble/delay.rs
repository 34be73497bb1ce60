//! Where each nanosecond of a worst case goes.

use crate::analysis::Analysis;
use crate::report::{DelayLine, HopLine};
use loomwright_delay::HopDelay;
use loomwright_model::Time;

/// Delay of flow `flow` to the far end of its hop `hop`; `None` where no bound exists.
pub(super) fn line(analysis: &Analysis, flow: usize, hop: u32) -> Option<DelayLine> {
    let bound = analysis.delays.bound(flow, hop).ok()?;
    let mut shares = Shares::default();
    let per_hop = analysis.delays.hops(flow, hop).iter().map(|hop| hop_line(analysis, hop, &mut shares)).collect();
    Some(DelayLine {
        least_ns: bound.least.picoseconds() / 1_000,
        worst_ns: bound.worst.nanoseconds_up(),
        known_tight: analysis.delays.is_known_tight(flow, hop),
        per_hop,
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

fn hop_line(analysis: &Analysis, hop: &HopDelay, shares: &mut Shares) -> HopLine {
    let packets = &analysis.forwarding.packets.all;
    let name = |packet: &u32| {
        let packet = &packets[*packet as usize];
        let stream = analysis.plan.streams.get_index(packet.stream as usize);
        stream.map_or_else(String::new, |(id, _)| format!("{id}.{}", packet.number))
    };
    HopLine {
        at: format!("port:{}", analysis.fabric.from_port(hop.direction)),
        wait_ns: shares.next(hop.wait),
        serialise_ns: shares.next(hop.serialise),
        propagate_ns: shares.next(hop.propagate),
        forward_ns: shares.next(hop.forward),
        blocked_ns: hop.blocked.picoseconds() / 1_000,
        behind: hop.behind.iter().map(name).collect(),
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
