//! Timers that decide how long a network needs to find itself again.

use loomwright_model::Time;

/// Every constant of the gap, in one place. Change a field where the switches are set otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Timers {
    /// Classic spanning tree: how long the word of a lost root is believed. **Source**: IEEE 802.1D-1998
    /// default 20 s (read second-hand, switch manuals).
    pub max_age: Time,
    /// Time in each of listening and learning. **Source**: IEEE 802.1D default 15 s (read second-hand).
    pub forward_delay: Time,
    /// Rapid tree: three missed hellos of 2 s. **Source**: IEEE 802.1D-2004, from memory.
    pub three_hellos: Time,
    /// How long a copper port may take to see that its link is gone: 750 ms. **Source**: 1000BASE-T
    /// master-slave timing 350 to 750 ms, from memory. Fibre is quicker.
    pub link_loss: Time,
    /// Rapid tree: one pair of switches agreeing. 5 ms as in the worked example of Pustylnik et al.,
    /// "Performance of RSTP in ring topology"; illustrative, switches differ.
    pub agreement: Time,
    /// How long a box believes where an address is that it no longer hears. **Source**: IEEE 802.1D default 300 s (from memory). Boxes
    /// that run a tree forget sooner when it changes; plain ones do not.
    pub ageing: Time,
    /// Time between membership queries. **Source**: RFC 2236 and RFC 3376 default 125 s.
    pub query_interval: Time,
    /// Time members may take to answer. **Source**: RFC 2236 and RFC 3376 default 10 s.
    pub query_response: Time,
}

impl Default for Timers {
    fn default() -> Self {
        const SECOND: u64 = 1_000;
        Self {
            max_age: Time::from_milliseconds(20 * SECOND),
            forward_delay: Time::from_milliseconds(15 * SECOND),
            three_hellos: Time::from_milliseconds(6 * SECOND),
            link_loss: Time::from_milliseconds(750),
            agreement: Time::from_milliseconds(5),
            ageing: Time::from_milliseconds(300 * SECOND),
            query_interval: Time::from_milliseconds(125 * SECOND),
            query_response: Time::from_milliseconds(10 * SECOND),
        }
    }
}

impl Timers {
    /// Longest a ring of `switches` needs with the rapid tree once one of them saw a link go.
    ///
    /// **Source**: Pustylnik et al., "Performance of RSTP in ring topology": T_L + (N - 3) T_PA for even N,
    /// T_L + (N - 2) T_PA for odd N.
    pub fn rapid_ring(&self, switches: u32) -> Time {
        let even = u32::from(switches.is_multiple_of(2));
        self.link_loss + self.agreement.times(u64::from(switches.saturating_sub(2 + even)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_ring_times_agree() {
        let mut seen = 0;
        for row in csv::Reader::from_reader(include_str!("../../../checks/healing.csv").as_bytes()).records() {
            let row = row.expect("a row");
            assert_eq!(&row[1], "rstp.ring_failover", "no one knows this topic");
            let input = |key: &str| {
                let mut parts = row[2].split(';').filter_map(|part| part.split_once('='));
                parts.find(|(name, _)| *name == key).and_then(|(_, value)| value.parse::<u64>().ok()).expect("a number")
            };
            let timers = Timers {
                link_loss: Time::from_milliseconds(input("T_L_ms")),
                agreement: Time::from_milliseconds(input("T_PA_ms")),
                ..Timers::default()
            };
            let expected = Time::from_milliseconds(row[3].parse().expect("a number"));
            assert_eq!(timers.rapid_ring(input("N") as u32), expected, "{}", &row[0]);
            seen += 1;
        }
        assert!(seen >= 2, "only {seen} rows");
    }
}
