//! `clock/error-over-target`.

use super::*;
use loomwright_clock::Role;
use loomwright_model::Time;

rule! {
    /// A follower's clock may be further off than the plan allows.
    ///
    /// The figure is a bound for every single exchange of messages: a message may wait behind one long frame in each
    /// box that knows nothing of clocks, and the other way not. Followers average over many exchanges and do far
    /// better most of the time; but that nobody can promise.
    ///
    /// **Example:** three plain switches between leader and follower, and 1 us allowed.
    ///
    /// **Source**: the plan's own target `clock-error`; IEEE 1588-2008 clause 7.4.2: half the difference of the two ways.
    "clock/error-over-target", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let domains = all.clock.domains.iter().zip(&all.clock.followers);
    domains.filter_map(|(domain, followers)| over(all, domain, followers)).collect()
}

fn over(all: &Analysis, domain: &loomwright_clock::ClockDomain, followers: &[loomwright_clock::Follower]) -> Option<Finding> {
    let target = all.plan.targets.clock_error;
    let error = |follower: &loomwright_clock::Follower| follower.error().unwrap_or(Time::MAX);
    let off: Vec<_> = followers.iter().filter(|follower| follower.role == Role::Follows && error(follower) > target).collect();
    let worst = off.iter().max_by_key(|follower| error(follower))?;
    let id = &all.fabric.devices[worst.device.0 as usize];
    let networks: Vec<&Id> = domain.networks.iter().map(|at| &all.fabric.networks[at.0 as usize]).collect();
    let boxes = count(worst.terms.as_ref().map_or(0, |terms| terms.hops()) as usize, "box");
    let figure = worst.error().map_or_else(|| "no bound".to_owned(), |error| error.to_string());
    let how_far = worst.error().map_or_else(|| "any amount".to_owned(), |error| error.to_string());
    let says = format!(
        "On network {}, the clock of {id} may be off by {how_far} through {boxes}; {target} is not promised to {}.",
        list(&networks),
        count(off.len(), "device")
    );
    let remedy = "Use switches that know the clock (transparent or boundary) on the way, shorten the way, or allow more.";
    let items = off.iter().map(|follower| device(&all.fabric.devices[follower.device.0 as usize]));
    let items: IndexSet<Item> = std::iter::once(device(id)).chain(items).chain(networks.iter().copied().map(network)).collect();
    let source = "your target clock-error; IEEE 1588-2008 clause 7.4.2";
    Some(Finding::new((RULE.code, Severity::Warn), items.into_iter().collect(), says, remedy).with_figures(figure, target).with_source(source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.plan.targets.clock_error = Time::from_nanoseconds(10);
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }
}
