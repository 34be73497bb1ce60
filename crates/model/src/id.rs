//! Identifiers as people write them.

use std::borrow::Borrow;
use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

/// The name of a device, switch, place, route, stream, cable, network, gear type, feed or hazard.
///
/// **Invariant**: not empty; letters and digits of any script, `-`, `_` and `.` only. Cheap to clone.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(transparent)]
pub struct Id(Arc<str>);

/// A name that cannot be an [`Id`] or [`PortRef`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdError {
    /// What stood there.
    pub found: String,
    /// What is wrong with it.
    pub reason: &'static str,
}

impl fmt::Display for IdError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` {}", self.found, self.reason)
    }
}

impl std::error::Error for IdError {}

impl Id {
    /// Checks and keeps a name.
    ///
    /// **Errors**: an empty name, or a character other than letters, digits, `-`, `_`, `.`.
    pub fn new(text: &str) -> Result<Self, IdError> {
        let fail = |reason| Err(IdError { found: text.to_owned(), reason });
        match text {
            "" => fail("is empty: a name is needed"),
            _ if text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.')) => Ok(Self(text.into())),
            _ => fail("has a character that a name cannot have: use letters, digits, `-`, `_`, `.`"),
        }
    }

    /// As written.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// As written, sharing the letters.
    pub fn shared(&self) -> Arc<str> {
        Arc::clone(&self.0)
    }
}

impl FromStr for Id {
    type Err = IdError;
    fn from_str(text: &str) -> Result<Self, IdError> {
        Self::new(text)
    }
}

impl Borrow<str> for Id {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl AsRef<str> for Id {
    fn as_ref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// A port of a device or switch, written `item/port`. The pseudo port `control` of a device whose
/// control function is merged into a network port names that function's own address.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PortRef {
    /// The device or switch.
    pub item: Id,
    /// The port's name on it.
    pub port: Id,
}

impl PortRef {
    /// Joins an item and one of its ports.
    pub fn new(item: Id, port: Id) -> Self {
        Self { item, port }
    }

    /// The port as a number, for switches, whose ports are numbered from 1.
    pub fn number(&self) -> Option<u32> {
        self.port.as_str().parse().ok()
    }
}

impl FromStr for PortRef {
    type Err = IdError;
    fn from_str(text: &str) -> Result<Self, IdError> {
        let Some((item, port)) = text.split_once('/') else {
            return Err(IdError { found: text.to_owned(), reason: "is not a port: write `item/port`" });
        };
        Ok(Self { item: Id::new(item)?, port: Id::new(port)? })
    }
}

impl fmt::Display for PortRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.item, self.port)
    }
}

impl serde::Serialize for PortRef {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_names_of_any_script() {
        for name in ["foh-desk", "Bühne_2", "舞台", "A.001"] {
            assert_eq!(Id::new(name).map(|id| id.to_string()).as_deref(), Ok(name));
        }
        for name in ["", "a b", "a/b", "a:b", "a\"b"] {
            assert!(Id::new(name).is_err(), "{name}");
        }
    }

    #[test]
    fn port_names_round_trip() {
        let port: PortRef = "sw-a/24".parse().expect("a port");
        assert_eq!((port.to_string().as_str(), port.number()), ("sw-a/24", Some(24)));
        assert!("sw-a".parse::<PortRef>().is_err());
    }
}
