//! Plain total-flow analysis with token buckets and rate-latency servers: the textbook form, kept to
//! compare with other tools. No line shaping, no packets; the bounds of [`crate::analyse`] are tighter.
//!
//! At a server the delay of all flows is its latency plus all bursts over its rate. A burst then grows
//! by the flow's rate times (latency + bursts of the flows that part from it, over the rate): flows that keep
//! together to the end count as one.

use crate::stairs::cap;
use loomwright_model::Time;

/// A server: so many units of data a second, after at most its latency.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Server {
    /// Units a second.
    pub rate: u64,
    /// Latency.
    pub latency: Time,
}

/// A flow through servers, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BucketFlow {
    /// Units a second.
    pub rate: u64,
    /// Units at once.
    pub burst: u64,
    /// Indexes of servers.
    pub path: Vec<usize>,
}

/// Units are kept in millionths.
const FINE: u128 = 1_000_000;
const SECOND: u128 = 1_000_000_000_000;

/// Worst delay of every flow, rounded up; `None` for a flow that meets an overloaded server, or
/// servers that feed each other in a circle.
pub fn token_bucket_delays(servers: &[Server], flows: &[BucketFlow]) -> Vec<Option<Time>> {
    let mut state = State { servers, flows, at: vec![0; flows.len()], burst: Vec::new(), delay: vec![Some(0); flows.len()] };
    state.burst = flows.iter().map(|flow| u128::from(flow.burst) * FINE).collect();
    let mut is_done = vec![false; servers.len()];
    while let Some(server) = (0..servers.len()).find(|server| !is_done[*server] && state.is_ready(*server)) {
        is_done[server] = true;
        state.serve(server);
    }
    let result = |(flow, delay): (usize, Option<u128>)| {
        let is_through = state.at[flow] == flows[flow].path.len();
        delay.filter(|_| is_through).map(|delay| Time::from_picoseconds(cap(delay)))
    };
    state.delay.iter().copied().enumerate().map(result).collect()
}

struct State<'a> {
    servers: &'a [Server],
    flows: &'a [BucketFlow],
    /// How many servers each flow has passed.
    at: Vec<usize>,
    burst: Vec<u128>,
    delay: Vec<Option<u128>>,
}

impl State<'_> {
    fn rest(&self, flow: usize) -> &[usize] {
        &self.flows[flow].path[self.at[flow]..]
    }

    /// Whether all flows that will pass the server are there.
    fn is_ready(&self, server: usize) -> bool {
        (0..self.flows.len()).all(|flow| !self.rest(flow).contains(&server) || self.rest(flow)[0] == server)
    }

    fn serve(&mut self, server: usize) {
        let here: Vec<usize> = (0..self.flows.len()).filter(|flow| self.rest(*flow).first() == Some(&server)).collect();
        let Server { rate, latency } = self.servers[server];
        let (rate, latency) = (u128::from(rate), u128::from(latency.picoseconds()));
        let wanted: u128 = here.iter().map(|flow| u128::from(self.flows[*flow].rate)).sum();
        let is_lost = wanted > rate || rate == 0 || here.iter().any(|flow| self.delay[*flow].is_none());
        let wait = |burst: u128| (burst * SECOND).div_ceil(rate.max(1) * FINE);
        let all = latency + wait(here.iter().map(|flow| self.burst[*flow]).sum());
        let grown: Vec<u128> = here
            .iter()
            .map(|flow| {
                let parting = here.iter().filter(|other| self.rest(**other) != self.rest(*flow)).map(|other| self.burst[*other]).sum();
                self.burst[*flow] + (u128::from(self.flows[*flow].rate) * (latency + wait(parting)) * FINE).div_ceil(SECOND)
            })
            .collect();
        for (flow, burst) in here.into_iter().zip(grown) {
            self.burst[flow] = burst;
            self.delay[flow] = self.delay[flow].filter(|_| !is_lost).map(|delay| delay + all);
            self.at[flow] += 1;
        }
    }
}
