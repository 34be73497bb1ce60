//! Protocols, one to a file: octets in, what they say out. Damaged octets give `None` or a shorter answer, never a panic.

pub mod arp;
pub mod bpdu;
pub mod dhcp;
pub mod dns;
pub mod igmp;
pub mod lldp;
pub mod mau;
pub mod pause;
pub mod ptp;
pub mod rtp;
pub mod sap;
pub mod sdp;
