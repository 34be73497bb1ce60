//! The rows of a walk by number.

use crate::bytes::text;
use crate::mac::Mac;
use crate::seen::Spot;
use std::collections::BTreeMap;

/// A value of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// A number or a count.
    Number(u64),
    /// Octets: text, an address, a set of bits.
    Octets(Vec<u8>),
    /// Anything else.
    Other,
}

impl Value {
    /// As a number.
    pub fn number(&self) -> Option<u64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::Octets(octets) => std::str::from_utf8(octets).ok()?.trim().parse().ok(),
            Self::Other => None,
        }
    }

    /// As octets.
    pub fn octets(&self) -> Option<&[u8]> {
        match self {
            Self::Octets(octets) => Some(octets),
            _ => None,
        }
    }

    /// As text with something in it.
    pub fn text(&self) -> Option<String> {
        let text = match self {
            Self::Octets(octets) => text(octets),
            Self::Number(number) => number.to_string(),
            Self::Other => return None,
        };
        Some(text).filter(|text| !text.is_empty())
    }

    /// As a hardware address: six octets, or its text, as some boxes write it.
    pub fn mac(&self) -> Option<Mac> {
        let octets = self.octets()?;
        Mac::from_octets(octets).or_else(|| text(octets).parse().ok())
    }
}

/// Rows by number, each with its place.
#[derive(Debug, Default)]
pub struct Tree(BTreeMap<Vec<u32>, (Value, Spot)>);

impl Tree {
    /// Adds a row; the first of two with one number stays.
    pub fn add(&mut self, number: Vec<u32>, value: Value, spot: Spot) {
        self.0.entry(number).or_insert((value, spot));
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The rows of a column: the rest of each number, its value and place.
    pub fn column<'a>(&'a self, column: &'a [u32]) -> impl Iterator<Item = (&'a [u32], &'a Value, Spot)> {
        let from = self.0.range(column.to_vec()..);
        from.map_while(move |(number, (value, spot))| Some((number.strip_prefix(column)?, value, *spot)))
    }

    /// One row of a column.
    pub fn get(&self, column: &[u32], index: &[u32]) -> Option<&Value> {
        self.0.get(&[column, index].concat()).map(|(value, _)| value)
    }

    /// A value that stands alone, `NUMBER.0`.
    pub fn single(&self, number: &[u32]) -> Option<&Value> {
        self.get(number, &[0])
    }

    /// Where a table, or any part of the tree, begins.
    pub fn place(&self, part: &[u32]) -> Option<Spot> {
        let (number, (_, spot)) = self.0.range(part.to_vec()..).next()?;
        number.starts_with(part).then_some(*spot)
    }
}

/// The numbers of a set of bits, where the first octet's top bit is 1. **Source**: RFC 4363 `PortList`.
pub fn port_list(octets: &[u8]) -> impl Iterator<Item = u32> {
    let bits = octets.iter().flat_map(|octet| (0..8).map(move |bit| octet >> (7 - bit) & 1 == 1));
    (1_u32..).zip(bits).filter(|&(_, is_in)| is_in).map(|(port, _)| port)
}

/// A hardware address written as six numbers of an index.
pub fn index_mac(index: &[u32]) -> Option<Mac> {
    let octets: Vec<u8> = index.iter().map(|&number| u8::try_from(number).ok()).collect::<Option<_>>()?;
    Mac::from_octets(&octets)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_top_bit_is_the_first_port() {
        assert_eq!(port_list(&[0b1000_0001, 0b0100_0000]).collect::<Vec<_>>(), [1, 8, 10]);
    }
}
