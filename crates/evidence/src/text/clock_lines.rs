//! What a clock daemon answers when asked for its data sets. **Source**: names of IEEE 1588-2008 clause 8.2, as such a daemon prints
//! them.

use super::{complain, line_number};
use crate::evidence::Evidence;
use crate::facts::{ClockIdentity, ClockState};
use crate::seen::{Seen, Trust};

/// Reads the answers: a line `CLOCK-PORT seq N RESPONSE MANAGEMENT SET` begins one, then `name value` lines.
pub fn read(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    let mut at: Option<usize> = None;
    for (n, line) in text.lines().enumerate() {
        let words: Vec<&str> = line.split_whitespace().collect();
        match words[..] {
            [clock, "seq", .., "MANAGEMENT", _] => {
                let identity = clock.rsplit_once('-').and_then(|(identity, _)| identity.parse::<ClockIdentity>().ok());
                let Some(identity) = identity else {
                    complain(&mut evidence, line_number(n), "an answer of a clock whose identity makes no sense");
                    at = None;
                    continue;
                };
                let known = evidence.clock_states.iter().position(|state| state.identity == identity);
                at = Some(known.unwrap_or_else(|| {
                    evidence.clock_states.push(begin(Seen::at(line_number(n), Trust::Reported), identity));
                    evidence.clock_states.len().saturating_sub(1)
                }));
            }
            [name, value] => {
                if let Some(state) = at.and_then(|at| evidence.clock_states.get_mut(at)) {
                    set(state, name, value);
                }
            }
            _ => {}
        }
    }
    if evidence.clock_states.is_empty() {
        complain(&mut evidence, crate::Spot::Whole, "questions to a clock, but no answer");
    }
    evidence
}

fn begin(seen: Seen, identity: ClockIdentity) -> ClockState {
    ClockState {
        seen,
        identity,
        domain: None,
        port_state: None,
        parent: None,
        leader: None,
        priority1: None,
        steps: None,
        offset: None,
        path_delay: None,
    }
}

fn set(state: &mut ClockState, name: &str, value: &str) {
    // Fractions of a nanosecond are below what such a daemon can measure.
    let whole = || value.split('.').next().and_then(|value| value.parse().ok());
    match name {
        "domainNumber" => state.domain = value.parse().ok(),
        "portState" => state.port_state = Some(value.to_owned()),
        "parentPortIdentity" => state.parent = value.rsplit_once('-').and_then(|(identity, _)| identity.parse().ok()),
        "grandmasterIdentity" => state.leader = value.parse().ok(),
        "priority1" => state.priority1 = value.parse().ok(),
        "stepsRemoved" => state.steps = value.parse().ok(),
        "offsetFromMaster" => state.offset = whole(),
        "meanPathDelay" => state.path_delay = whole(),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn several_answers_make_one_state() {
        let text = "sending: GET X\n\t02a6de.fffe.3fdb87-0 seq 0 RESPONSE MANAGEMENT CURRENT_DATA_SET \n\t\tstepsRemoved     1\n\
                    \t\toffsetFromMaster -5333.0\n\t02a6de.fffe.3fdb87-1 seq 2 RESPONSE MANAGEMENT PORT_DATA_SET \n\t\tportState  SLAVE\n";
        let states = read(text).clock_states;
        assert_eq!(states.len(), 1);
        assert_eq!((states[0].offset, states[0].port_state.as_deref(), states[0].steps), (Some(-5_333), Some("SLAVE"), Some(1)));
        assert_eq!(states[0].identity.mac(), "02:a6:de:3f:db:87".parse().ok());
        assert_eq!(read("sending: GET X\n").complaints.len(), 1);
    }
}
