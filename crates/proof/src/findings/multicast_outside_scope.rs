//! `multicast/outside-scope`.

use super::*;
use loomwright_model::multicast::Scope;

rule! {
    /// Groups lie outside the block that is meant for an organisation's own plans.
    ///
    /// It works on a network of its own. But other blocks have owners or no rule at all, and the day the network
    /// meets another, the same group may mean two things. An address that is no multicast address cannot work at all.
    ///
    /// **Example:** streams on 239.1.x.x instead of 239.192.0.0 to 239.195.255.255.
    ///
    /// **Source**: RFC 2365 section 6.2 (239.192.0.0/14, organisation-local scope).
    "multicast/outside-scope", check, tests::firing
}

fn check(all: &Analysis) -> Vec<Finding> {
    let groups = all.wiring.groups.iter().flat_map(|(stream, groups)| groups.values().map(move |group| (&stream.0, *group)));
    let outside = groups.filter(|(_, group)| Scope::of(*group) != Scope::Organization);
    let (none, elsewhere): (Vec<_>, Vec<_>) = outside.partition(|(_, group)| !group.is_multicast());
    [(Severity::Stop, none), (Severity::Note, elsewhere)].into_iter().filter_map(|(severity, groups)| outside_scope(severity, &groups)).collect()
}

fn outside_scope(severity: Severity, groups: &[(&Id, std::net::Ipv4Addr)]) -> Option<Finding> {
    let (stream, first) = groups.first()?;
    let what = if severity == Severity::Stop { "no multicast address" } else { "outside 239.192.0.0/14" };
    let says = format!("{} of streams {} {what}; the first is {first} of {stream}.", count(groups.len(), "group"), if groups.len() == 1 { "is" } else { "are" });
    let streams: IndexSet<&Id> = groups.iter().map(|(stream, _)| *stream).collect();
    let items = streams.into_iter().map(|id| Item::Stream(id.clone())).collect();
    let remedy = "Take groups from 239.192.0.0 to 239.195.255.255.";
    Some(Finding::new((RULE.code, severity), items, says, remedy).with_figures(first, "239.192.0.0/14").with_source("RFC 2365 section 6.2"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Trial, fires};

    pub(super) fn firing(trial: &mut Trial) {
        trial.group(("mics", 1), "a", "239.1.1.1");
    }

    #[test]
    fn fires_on_the_spoilt_plan_only() {
        fires(&RULE);
    }

    #[test]
    fn an_ordinary_address_stops_the_show() {
        let mut trial = Trial::good();
        trial.group(("mics", 1), "a", "10.1.0.99");
        assert_eq!(check(&Analysis::new(&trial.plan, &trial.wiring))[0].severity, Severity::Stop);
    }
}
