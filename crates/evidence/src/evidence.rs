//! Everything that was seen, in one value.

use crate::facts::{
    Announcement, Binding, BridgeSender, ClockSender, ClockState, DhcpSaid, Flood, Flow, Hearing, Learned, Member, Membership, Neighbour,
    PauseSender, Port, Querier, Received, Repeat, Service, System, VlanRow,
};
use crate::seen::{Complaint, Moment};
use crate::sniff::Format;
use std::collections::BTreeMap;

/// One file or recording that evidence came from.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Source {
    /// Its name, as the person gave it.
    pub name: String,
    /// What it turned out to be; `None` if nothing here can read it.
    pub format: Option<Format>,
    /// The box that it speaks for, if it says so itself.
    pub system: Option<String>,
    /// Its size. **Unit**: octet.
    pub octets: u64,
    /// What a capture holds.
    pub capture: Option<Capture>,
}

impl Source {
    /// The words of the file's name, without folders and ending: `lldp`, `sw1` for `lldp_sw1.json`. People name files after boxes;
    /// whoever knows the boxes can look for them here. It is a hint, no evidence.
    pub fn name_words(&self) -> impl Iterator<Item = &str> {
        let file = self.name.rsplit(['/', '\\']).next().unwrap_or_default();
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
        stem.split(['_', ' ', '@', '.', '+']).filter(|word| !word.is_empty())
    }
}

/// What a capture holds, frame by frame added up.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct Capture {
    /// Its interfaces, by number.
    pub interfaces: Vec<CaptureInterface>,
    /// Frames.
    pub frames: u64,
    /// Octets on the wire, without preamble and check sequence.
    pub octets: u64,
    /// Frames that were stored shortened.
    pub shortened: u64,
    /// First and last time.
    pub time: Option<(Moment, Moment)>,
    /// Frames by what they carry. A frame counts once for each layer named here.
    pub carried: BTreeMap<&'static str, u64>,
}

/// One interface that a capture was taken at.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
pub struct CaptureInterface {
    /// Its name, in the newer format only.
    pub name: Option<String>,
    /// Its kind, by the number of the capture formats' common list (1 is Ethernet).
    pub link_type: u32,
    /// Longest stored frame. **Unit**: octet; 0 is no limit.
    pub longest_stored: u32,
}

macro_rules! evidence {
    ($($(#[$doc:meta])* $name:ident: $kind:ty,)*) => {
        /// Everything that was seen: a list for each kind of observation, in the order of the sources.
        ///
        /// **Invariant**: every `seen.source` and `complaint.source` is an index of `sources`.
        #[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize)]
        pub struct Evidence {
            /// Where it came from.
            pub sources: Vec<Source>,
            /// What could not be read.
            pub complaints: Vec<Complaint>,
            $($(#[$doc])* pub $name: Vec<$kind>,)*
        }

        impl Evidence {
            /// Adds what other sources saw, after what is here.
            pub fn merge(&mut self, other: Self) {
                let offset = self.sources.len();
                self.sources.extend(other.sources);
                self.complaints.extend(other.complaints.into_iter().map(|mut complaint| {
                    complaint.source = complaint.source.saturating_add(offset);
                    complaint
                }));
                $(self.$name.extend(other.$name.into_iter().map(|mut one| {
                    one.seen.source = one.seen.source.saturating_add(offset);
                    one
                }));)*
            }

            /// How many observations there are of each kind.
            pub fn counts(&self) -> Vec<(&'static str, usize)> {
                vec![$((stringify!($name), self.$name.len()),)*]
            }
        }
    };
}

evidence! {
    /// Boxes that reported about themselves.
    systems: System,
    /// Ports that boxes reported.
    ports: Port,
    /// Neighbours heard, by frame or table.
    neighbours: Neighbour,
    /// Forwarding tables.
    learned: Learned,
    /// Groups by port, as switches keep them.
    members: Member,
    /// VLANs of switches.
    vlans: VlanRow,
    /// Addresses and who has them.
    bindings: Binding,
    /// What DHCP servers and clients said.
    dhcp: DhcpSaid,
    /// Services that devices announce.
    services: Service,
    /// Boxes that ask about groups.
    queriers: Querier,
    /// Hosts that want groups.
    memberships: Membership,
    /// Clocks that send.
    clocks: ClockSender,
    /// Clocks, as their own management sees them.
    clock_states: ClockState,
    /// Streams announced.
    announcements: Announcement,
    /// Packets that flow.
    flows: Flow,
    /// Bridge ports that send spanning-tree messages.
    bridges: BridgeSender,
    /// Ports that ask others to pause.
    pauses: PauseSender,
    /// Frames that came again and again.
    repeats: Repeat,
    /// Many frames for everybody at once.
    floods: Flood,
    /// What receivers counted.
    received: Received,
    /// What people heard and missed.
    hearings: Hearing,
}

impl Evidence {
    /// All of several, in order.
    pub fn merged(all: impl IntoIterator<Item = Self>) -> Self {
        all.into_iter().fold(Self::default(), |mut whole, one| {
            whole.merge(one);
            whole
        })
    }

    /// The source of an observation.
    pub fn source_of(&self, seen: &crate::Seen) -> Option<&Source> {
        self.sources.get(seen.source)
    }

    /// Where an observation stands, in words: `edge.pcap, frame 12`.
    pub fn place_of(&self, seen: &crate::Seen) -> String {
        let name = self.source_of(seen).map_or("?", |source| source.name.as_str());
        match seen.spot {
            crate::Spot::Whole => name.to_owned(),
            spot => format!("{name}, {spot}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::Hearing;
    use crate::{Seen, Spot, Trust};

    fn one(name: &str) -> Evidence {
        let source = Source { name: name.to_owned(), format: None, system: None, octets: 0, capture: None };
        let seen = Seen::at(Spot::Line(3), Trust::Noted);
        let hearing = Hearing { seen, receiver: name.to_owned(), stream: None, is_heard: true };
        Evidence { sources: vec![source], hearings: vec![hearing], ..Evidence::default() }
    }

    #[test]
    fn merging_keeps_every_observation_at_its_source() {
        let all = Evidence::merged([one("a.csv"), one("b.csv"), one("c.csv")]);
        for (hearing, place) in all.hearings.iter().zip(["a.csv, line 3", "b.csv, line 3", "c.csv, line 3"]) {
            assert_eq!(all.place_of(&hearing.seen), place);
            assert_eq!(all.source_of(&hearing.seen).map(|source| source.name.as_str()), Some(hearing.receiver.as_str()));
        }
    }

    #[test]
    fn file_names_give_their_words() {
        let all = one("rig/trunk_sw1_p24.pcap");
        assert_eq!(all.sources[0].name_words().collect::<Vec<_>>(), ["trunk", "sw1", "p24"]);
    }
}
