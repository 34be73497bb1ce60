//! What can be seen on a network, one kind of observation to a file.

pub mod address;
pub mod clock;
pub mod hearing;
pub mod membership;
pub mod neighbour;
pub mod port;
pub mod stream;
pub mod table;
pub mod tree;
pub mod trouble;

pub use address::{Binding, BindingSource, DhcpMessage, DhcpSaid, Service};
pub use clock::{Announce, ClockIdentity, ClockSender, ClockState, MessageCounts, Transport};
pub use hearing::{Hearing, Received};
pub use membership::{Membership, Querier};
pub use neighbour::{Advertisement, Capabilities, Identifier, IdentifierKind, LinkPower, Neighbour};
pub use port::{Counters, Port, PortPower, PowerStatus, System, TreeState};
pub use stream::{Announcement, Flow, Media, Rtp};
pub use table::{Learned, LearnedKind, Member, VlanRow};
pub use tree::{BridgeMessage, BridgeSender, MstInstance, PortDuty, TreeKind, priority_parts};
pub use trouble::{Flood, PauseSender, Repeat};
