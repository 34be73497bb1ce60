//! Protocols, one to a file: octets in, what they say out. Damaged octets give `None` or a shorter answer, never a panic.

pub mod lldp;
pub mod mau;
