//! What the proof says that a line check can measure.

use crate::progress;
use loomwright_evidence::Evidence;
use loomwright_linecheck::Proved;
use loomwright_model::Id;
use loomwright_planfile::Loaded;
use loomwright_proof::prove;

/// Proves the plan, if jitter was measured at all, and takes what jitter its network can make.
pub fn proved(loaded: &Loaded, seen: &Evidence) -> Proved {
    let mut proved = Proved::default();
    let is_measured = seen.received.iter().any(|row| row.jitter.is_some()) || seen.flows.iter().any(|flow| !flow.rtp.is_empty());
    if !is_measured {
        return proved;
    }
    let report = progress::during("proving", || prove(&loaded.plan, &loaded.wiring, &loaded.source_map));
    for line in &report.streams {
        let ids = [&line.id, &line.to, &line.network].map(|name| Id::new(name).ok());
        let ([Some(stream), Some(receiver), Some(network)], Some(delay)) = (ids, &line.delay) else { continue };
        let jitter = delay.hold.variation_ns.saturating_add(delay.hold.jitter_ns);
        let most = proved.jitter.entry((stream, receiver, network)).or_default();
        *most = jitter.max(*most);
    }
    proved
}
