//! One name for anything a finding or a failure can speak of.

use crate::id::{Id, IdError, PortRef};
use std::fmt;
use std::str::FromStr;

/// An item of a plan or its wiring, written `kind:name` (`cable:A-001`, `port:box-sl/1`).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Item {
    /// The plan as a whole.
    Plan,
    /// A cable of the wiring.
    Cable(Id),
    /// A switch of the wiring.
    Switch(Id),
    /// A device of the plan.
    Device(Id),
    /// A port of a device or switch.
    Port(PortRef),
    /// A power feed.
    Feed(Id),
    /// A way a cable can lie.
    Route(Id),
    /// A hazard that routes share.
    Hazard(Id),
    /// A stream of the plan.
    Stream(Id),
    /// A network.
    Network(Id),
    /// A place.
    Place(Id),
    /// A gear type.
    Gear(Id),
}

impl Item {
    /// The word before the colon.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Plan => "plan",
            Self::Cable(_) => "cable",
            Self::Switch(_) => "switch",
            Self::Device(_) => "device",
            Self::Port(_) => "port",
            Self::Feed(_) => "feed",
            Self::Route(_) => "route",
            Self::Hazard(_) => "hazard",
            Self::Stream(_) => "stream",
            Self::Network(_) => "network",
            Self::Place(_) => "place",
            Self::Gear(_) => "gear",
        }
    }

    /// The bare name, without its kind.
    pub fn name(&self) -> String {
        match self {
            Self::Plan => String::new(),
            Self::Port(port) => port.to_string(),
            Self::Cable(id)
            | Self::Switch(id)
            | Self::Device(id)
            | Self::Feed(id)
            | Self::Route(id)
            | Self::Hazard(id)
            | Self::Stream(id)
            | Self::Network(id)
            | Self::Place(id)
            | Self::Gear(id) => id.to_string(),
        }
    }
}

impl fmt::Display for Item {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plan => f.write_str("plan"),
            _ => write!(f, "{}:{}", self.kind(), self.name()),
        }
    }
}

impl FromStr for Item {
    type Err = IdError;
    fn from_str(text: &str) -> Result<Self, IdError> {
        if text == "plan" {
            return Ok(Self::Plan);
        }
        let Some((kind, name)) = text.split_once(':') else {
            return Err(IdError {
                found: text.to_owned(),
                reason: "has no kind: write `cable:A-001`, `switch:..`, `device:..`, `port:..`, `feed:..`, `route:..` or `hazard:..`",
            });
        };
        if kind == "port" {
            return Ok(Self::Port(name.parse()?));
        }
        let id = Id::new(name)?;
        Ok(match kind {
            "cable" => Self::Cable(id),
            "switch" => Self::Switch(id),
            "device" => Self::Device(id),
            "feed" => Self::Feed(id),
            "route" => Self::Route(id),
            "hazard" => Self::Hazard(id),
            "stream" => Self::Stream(id),
            "network" => Self::Network(id),
            "place" => Self::Place(id),
            "gear" => Self::Gear(id),
            _ => return Err(IdError { found: text.to_owned(), reason: "begins with a kind that is not known" }),
        })
    }
}

impl serde::Serialize for Item {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_form_round_trips() {
        for text in ["plan", "cable:A-001", "port:box-sl/1", "hazard:fly-loft", "stream:sl-mics"] {
            assert_eq!(text.parse::<Item>().map(|item| item.to_string()).as_deref(), Ok(text));
        }
        assert!("A-001".parse::<Item>().is_err() && "cabel:A-001".parse::<Item>().is_err());
    }
}
