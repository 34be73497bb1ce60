//! One thing that somebody said or did.

use serde::{Deserialize, Serialize};

/// One line of the log.
///
/// **Invariant**: `id` is the same however often the same thing is sent, and different for different things.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Names it; given by the phone, so that a second sending is recognised.
    pub id: String,
    /// When it was written down: `2026-05-02T14:03:22Z`.
    pub time: String,
    /// When it was tapped, by the phone's own clock; only if it waited for a connection.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<String>,
    /// Who, as they call themselves; empty if they did not say.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub who: String,
    /// Which phone or computer; empty if it has no name yet.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub hand: String,
    /// How many entries the page had shown on which it was done: what came after was not known.
    #[serde(default)]
    pub knew: usize,
    /// What.
    #[serde(flatten)]
    pub deed: Deed,
}

impl Entry {
    /// Who and with what, to tell people apart.
    pub fn person(&self) -> (&str, &str) {
        (&self.who, &self.hand)
    }

    /// When it was done, as far as is known.
    pub fn when(&self) -> &str {
        self.made.as_deref().unwrap_or(&self.time)
    }
}

/// What was said or done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "does", rename_all = "kebab-case")]
pub enum Deed {
    /// An end of a cable is plugged, or is not after all.
    Plug {
        /// The cable.
        cable: String,
        /// The port that it was to go into, `device/port`.
        port: String,
        /// Whether it is plugged.
        is: bool,
    },
    /// A cable was tested and is good, or is not.
    Test {
        /// The cable.
        cable: String,
        /// Whether it was tested and found good.
        is: bool,
    },
    /// Words about a cable.
    Note {
        /// The cable.
        cable: String,
        /// The words.
        text: String,
    },
    /// A picture of a cable.
    Photo {
        /// The cable.
        cable: String,
        /// The picture's file in the folder beside the log.
        file: String,
        /// Its size. **Unit**: octet.
        octets: u64,
        /// Its SHA-256, in hexadecimal digits.
        sha256: String,
    },
    /// A file of what was seen on the network came in.
    Evidence(SeenFile),
    /// A file of what was seen no longer counts; it is kept.
    SetAside {
        /// The file.
        file: String,
    },
    /// Somebody signed.
    Sign(Box<Record>),
}

impl Deed {
    /// The cable it is about.
    pub fn cable(&self) -> Option<&str> {
        match self {
            Self::Plug { cable, .. } | Self::Test { cable, .. } | Self::Note { cable, .. } | Self::Photo { cable, .. } => Some(cable),
            Self::Evidence(_) | Self::SetAside { .. } | Self::Sign(_) => None,
        }
    }
}

/// A file of what was seen on the network.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SeenFile {
    /// Its name in the folder beside the plan.
    pub file: String,
    /// Its size. **Unit**: octet.
    pub octets: u64,
    /// Its SHA-256, in hexadecimal digits.
    pub sha256: String,
}

/// What was signed: how everything stood at that moment.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    /// The plan's name and revision.
    pub plan: String,
    /// SHA-256 of the plan file, in hexadecimal digits.
    pub plan_sha256: String,
    /// SHA-256 of the wiring file; empty if there was none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub wiring_sha256: String,
    /// What the proof said, in one sentence.
    pub proof: String,
    /// Cable ends ticked, and all of them.
    pub ends: (usize, usize),
    /// Cables tested, and all of them.
    pub tested: (usize, usize),
    /// Files of what was seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub evidence: Vec<SeenFile>,
    /// What the line check said, in one sentence.
    pub line_check: String,
    /// Everything that was open.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<Open>,
    /// What the person who signed adds.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remark: String,
}

/// Something that was open when somebody signed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Open {
    /// Its kind: `seen/..`, `crew/..` or the code of a finding.
    pub code: String,
    /// What it is.
    pub says: String,
}
