//! Gear types: what a device or switch of that type can do. Values of the shipped catalogue are typical.

use crate::id::Id;
use crate::units::{BitRate, ByteCount, Hours, Money, Power, Time};
use std::fmt;
use std::str::FromStr;

/// Declares an enum with one written word per value, its parser and its printer.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
        pub enum $name { $($(#[$vdoc])* #[serde(rename = $word)] $variant),+ }

        impl $name {
            /// Every value, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// As written in a plan.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }

        impl FromStr for $name {
            type Err = UnknownWord;
            fn from_str(text: &str) -> Result<Self, UnknownWord> {
                match text {
                    $($word => Ok(Self::$variant),)+
                    _ => Err(UnknownWord { found: text.to_owned(), known: vec![$($word),+] }),
                }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.word())
            }
        }
    };
}
pub(crate) use words;

/// A word that is none of the ones a field takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownWord {
    /// What stood there.
    pub found: String,
    /// What it could have been.
    pub known: Vec<&'static str>,
}

impl fmt::Display for UnknownWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is not one of: {}", self.found, self.known.join(", "))
    }
}

impl std::error::Error for UnknownWord {}

words!(
    /// What sort of thing a gear type is.
    GearKind {
        /// Sends or receives audio.
        Endpoint = "endpoint",
        /// Forwards frames between its ports.
        Switch = "switch",
        /// Forwards frames between its ports and the air; may serve addresses.
        WifiRouter = "wifi-router",
        /// A general computer: may send and receive, should never lead the clock.
        Computer = "computer",
    }
);

words!(
    /// What a port or cable is made of.
    Medium {
        /// Twisted pair.
        Copper = "copper",
        /// Optical fibre.
        Fibre = "fibre",
        /// A pluggable port: takes a fibre or copper module. Ports only, never cables. 1 Gb/s and less.
        Sfp = "sfp",
        /// A pluggable port for 10 Gb/s modules. Ports only, never cables.
        SfpPlus = "sfp+",
    }
);

impl Medium {
    /// Whether a port of this medium takes a cable of medium `cable`.
    pub fn takes(self, cable: Self) -> bool {
        match self {
            Self::Copper => cable == Self::Copper,
            Self::Fibre => cable == Self::Fibre,
            Self::Sfp | Self::SfpPlus => matches!(cable, Self::Copper | Self::Fibre),
        }
    }
}

words!(
    /// How a device with two audio ports uses them.
    Pairing {
        /// An internal switch joins both ports and the device's own interface.
        Chained = "chained",
        /// Two interfaces on two separate networks.
        Independent = "independent",
    }
);

words!(
    /// Which spanning-tree protocol a switch (or a device's internal switch) runs.
    SpanningTree {
        /// None: a loop is a storm.
        None = "none",
        /// IEEE 802.1D-1998, tens of seconds to recover.
        Classic = "classic",
        /// IEEE 802.1D-2004 (RSTP).
        Rapid = "rapid",
    }
);

words!(
    /// What a switch does with precision-time messages that pass through it.
    ClockSupport {
        /// Treats them as any frame.
        Unaware = "unaware",
        /// Adds its residence time to the correction field.
        Transparent = "transparent",
        /// Ends them and leads on the far side.
        Boundary = "boundary",
    }
);

words!(
    /// Power over Ethernet: what a device needs or a port can give.
    PoeClass {
        /// Class 0. Type 1.
        Class0 = "class-0",
        /// Class 1. Type 1.
        Class1 = "class-1",
        /// Class 2. Type 1.
        Class2 = "class-2",
        /// Class 3. Type 1.
        Class3 = "class-3",
        /// Class 4. Type 2.
        Class4 = "class-4",
        /// Class 5. Type 3.
        Class5 = "class-5",
        /// Class 6. Type 3.
        Class6 = "class-6",
        /// Class 7. Type 4.
        Class7 = "class-7",
        /// Class 8. Type 4.
        Class8 = "class-8",
    }
);

/// How long a box may take to forward a frame, from its last bit in to being ready to send it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct LatencyRange {
    /// At least.
    pub least: Time,
    /// At most.
    pub most: Time,
}

/// One audio port of an endpoint, in the order written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AudioPort {
    /// Its name on the panel.
    pub name: Id,
    /// Its speed.
    pub speed: BitRate,
    /// What plugs in.
    pub medium: Medium,
}

/// Where a device's control function is reached. It always has an address of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Control {
    /// Shares an audio port.
    MergedWith(Id),
    /// Has its own jack.
    Own {
        /// The jack's name.
        port: Id,
        /// Its speed.
        speed: BitRate,
    },
}

/// A run of equal switch ports.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortGroup {
    /// How many.
    pub count: u32,
    /// Their speed.
    pub speed: BitRate,
    /// What plugs in.
    pub medium: Medium,
    /// The highest power class each can feed.
    pub poe: Option<PoeClass>,
}

/// Whether and how well a device can lead the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ClockAbility {
    /// Whether it may lead at all.
    pub can_lead: bool,
    /// Its clock class (IEEE 1588 clockClass; 248 is the default, lower is better, 255 follows only).
    pub quality: u8,
}

/// How many packet streams a device can carry at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StreamCapacity {
    /// Sending.
    pub send: u32,
    /// Receiving.
    pub receive: u32,
}

/// A gear type. Fields that its kind does not use keep their defaults.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gear {
    /// What sort of thing it is.
    pub kind: GearKind,
    /// What people call it.
    pub title: String,
    /// True for types that come with the tool, whose values are typical, not measured.
    pub shipped: bool,
    /// Audio ports (endpoints and computers).
    pub audio_ports: Vec<AudioPort>,
    /// What two audio ports can be set to; the first is how it leaves the factory. Empty with one port.
    pub pairing: Vec<Pairing>,
    /// Control function, if any.
    pub control: Option<Control>,
    /// From a packet's last bit to sound ready to leave, or the reverse, inside the device.
    pub processing_delay: Option<Time>,
    /// Receive delays that can be set, shortest first: from a sample's entry at the sender to its leaving the
    /// receiver's buffer. Empty where the plan does not say.
    pub receive_delays: Vec<Time>,
    /// How much later than nominal it may send a packet; `None` where the plan does not say.
    pub release_jitter: Option<Time>,
    /// Mains or PoE draw.
    pub draws: Option<Power>,
    /// The PoE class it is powered by, if it is.
    pub poe: Option<PoeClass>,
    /// Clock leadership.
    pub clock: ClockAbility,
    /// Stream capacity; `None` where the plan does not say.
    pub streams: Option<StreamCapacity>,
    /// Forwarding through the internal switch of a chained device, or through a switch.
    pub latency: LatencyRange,
    /// Mean time between failures.
    pub mtbf: Option<Hours>,
    /// Mean time to repair.
    pub mttr: Option<Hours>,
    /// Switch ports in order (switches and Wi-Fi routers); ports are numbered from 1 through all groups.
    pub ports: Vec<PortGroup>,
    /// What all PoE ports together may give.
    pub poe_budget: Option<Power>,
    /// Whether multicast goes only where it was asked for.
    pub snooping: bool,
    /// Whether it can ask who wants which group.
    pub querier: bool,
    /// Spanning tree that it runs; for endpoints, that of the internal switch.
    pub spanning_tree: SpanningTree,
    /// What it does with clock messages.
    pub clock_support: ClockSupport,
    /// Whether energy-saving Ethernet is on and stays on.
    pub energy_saving: bool,
    /// Whether it gives out addresses unless told not to.
    pub dhcp_server: bool,
    /// What the air of a Wi-Fi router carries for multicast.
    pub radio_rate: Option<BitRate>,
    /// Queue memory shared by all ports.
    pub buffer: Option<ByteCount>,
    /// What one costs.
    pub price: Option<Money>,
}

/// What a port is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PortRole {
    /// The n-th audio port of an endpoint, from 0.
    Audio(usize),
    /// A control jack of its own.
    Control,
    /// A port of a switch or Wi-Fi router.
    Switch,
}

/// One physical port of a gear type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortSpec {
    /// Its name: as written for endpoints, its number for switches.
    pub name: Id,
    /// Its speed.
    pub speed: BitRate,
    /// What plugs in.
    pub medium: Medium,
    /// What it is for.
    pub role: PortRole,
    /// The highest power class it can feed.
    pub poe: Option<PoeClass>,
}

impl Gear {
    /// Forwarding time assumed where a gear type does not say: 1 to 10 us. Common practice for small
    /// gigabit switches, no source.
    pub const LATENCY: LatencyRange = LatencyRange { least: Time::from_microseconds(1), most: Time::from_microseconds(10) };

    /// A type of `kind` with nothing but defaults.
    pub fn plain(kind: GearKind, title: impl Into<String>) -> Self {
        Self {
            kind,
            title: title.into(),
            shipped: false,
            audio_ports: Vec::new(),
            pairing: Vec::new(),
            control: None,
            processing_delay: None,
            receive_delays: Vec::new(),
            release_jitter: None,
            draws: None,
            poe: None,
            clock: ClockAbility { can_lead: false, quality: 248 },
            streams: None,
            latency: Self::LATENCY,
            mtbf: None,
            mttr: None,
            ports: Vec::new(),
            poe_budget: None,
            snooping: false,
            querier: false,
            spanning_tree: SpanningTree::None,
            clock_support: ClockSupport::Unaware,
            energy_saving: false,
            dhcp_server: false,
            radio_rate: None,
            buffer: None,
            price: None,
        }
    }

    /// Whether it forwards between its numbered ports as a switch does.
    pub fn is_switching(&self) -> bool {
        matches!(self.kind, GearKind::Switch | GearKind::WifiRouter)
    }

    /// Every physical port, in the order of the panel: audio, then control, or switch ports from 1.
    pub fn port_specs(&self) -> Vec<PortSpec> {
        let audio = self.audio_ports.iter().enumerate().map(|(n, port)| PortSpec {
            name: port.name.clone(),
            speed: port.speed,
            medium: port.medium,
            role: PortRole::Audio(n),
            poe: None,
        });
        let control = self.control.iter().filter_map(|control| match control {
            Control::Own { port, speed } => {
                Some(PortSpec { name: port.clone(), speed: *speed, medium: Medium::Copper, role: PortRole::Control, poe: None })
            }
            Control::MergedWith(_) => None,
        });
        let groups = self.ports.iter().flat_map(|group| std::iter::repeat_n(group, group.count as usize));
        let switch = groups.enumerate().map(|(n, group)| PortSpec {
            name: port_number(n + 1),
            speed: group.speed,
            medium: group.medium,
            role: PortRole::Switch,
            poe: group.poe,
        });
        audio.chain(control).chain(switch).collect()
    }

    /// How many numbered ports it has.
    pub fn switch_port_count(&self) -> u32 {
        self.ports.iter().map(|group| group.count).sum()
    }
}

/// The name of the `n`-th switch port.
pub fn port_number(n: usize) -> Id {
    Id::new(&n.to_string()).expect("digits are a valid name")
}
