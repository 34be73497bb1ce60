//! The outer layers of a frame: Ethernet, tags, IP, UDP. Shortened frames are read as far as they go.

mod ip;
mod link;

pub use ip::{Packet, Udp, ipv4, ipv6, udp};
pub use link::{Frame, Inside, link};
