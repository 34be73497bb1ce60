//! Hardware addresses, in every shape people and tables write them.

use std::fmt;
use std::str::FromStr;

/// The hardware address of a network interface. **Shape**: written `02:00:5e:10:00:01`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Mac(pub [u8; 6]);

/// A text that is no hardware address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MacError {
    /// What stood there.
    pub found: String,
}

impl Mac {
    /// Reaches everybody.
    pub const BROADCAST: Self = Self([0xff; 6]);
    /// No address at all.
    pub const ZERO: Self = Self([0; 6]);

    /// From exactly six octets.
    #[inline]
    pub fn from_octets(octets: &[u8]) -> Option<Self> {
        Some(Self(octets.try_into().ok()?))
    }

    /// Whether it names a group (the lowest bit of the first octet). **Source**: IEEE 802.
    pub const fn is_group(self) -> bool {
        self.0[0] & 1 == 1
    }
}

impl fmt::Display for MacError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}`: expected a hardware address such as 02:00:5e:10:00:01", self.found)
    }
}

impl std::error::Error for MacError {}

impl FromStr for Mac {
    type Err = MacError;

    /// Reads `02:00:5e:10:00:01`, `2:0:5e:10:0:1`, `02-00-5E-10-00-01`, `02 00 5E 10 00 01`, `0200.5e10.0001`, `02005e-100001`
    /// and `02005e100001`.
    fn from_str(text: &str) -> Result<Self, MacError> {
        octets(text.trim()).map(Self).ok_or_else(|| MacError { found: text.to_owned() })
    }
}

fn octets(text: &str) -> Option<[u8; 6]> {
    let parts: Vec<&str> = text.split([':', '-', '.', ' ']).collect();
    match parts.len() {
        6 => {
            let mut address = [0; 6];
            for (octet, part) in address.iter_mut().zip(&parts) {
                *octet = (1..=2).contains(&part.len()).then(|| hexadecimal(part)).flatten()?.try_into().ok()?;
            }
            Some(address)
        }
        1..=3 => {
            let digits = parts.concat();
            let even = parts.iter().all(|part| part.len() == 12 / parts.len());
            let value = (even && digits.len() == 12).then(|| hexadecimal(&digits)).flatten()?;
            let [_, _, octets @ ..] = value.to_be_bytes();
            Some(octets)
        }
        _ => None,
    }
}

/// Digits only: the standard reader would take a sign as well.
fn hexadecimal(text: &str) -> Option<u64> {
    text.bytes().all(|b| b.is_ascii_hexdigit()).then(|| u64::from_str_radix(text, 16).ok()).flatten()
}

impl fmt::Display for Mac {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&loomwright_model::multicast::hardware_text(self.0))
    }
}

impl serde::Serialize for Mac {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_every_usual_shape() {
        let address = Mac([0x02, 0x00, 0x5e, 0x10, 0x00, 0x01]);
        for text in [
            "02:00:5e:10:00:01",
            "2:0:5e:10:0:1",
            "02-00-5E-10-00-01",
            "02 00 5E 10 00 01 ",
            "0200.5e10.0001",
            "02005e-100001",
            "02005E100001",
        ] {
            assert_eq!(text.parse(), Ok(address), "{text}");
        }
        for text in
            ["", "02:00:5e:10:00", "02:00:5e:10:00:01:02", "+2:00:5e:10:00:01", "02:00:5e:10:00:123", "0200.5e1.00001", "zz005e100001"]
        {
            assert!(text.parse::<Mac>().is_err(), "{text}");
        }
    }
}
