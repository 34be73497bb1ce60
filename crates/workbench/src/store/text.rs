//! The two texts of a plan, and a digest that names one state of both.

use crate::crew::hex;
use sha2::{Digest, Sha256};

/// What stands in the plan file and in the wiring file beside it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Texts {
    /// The plan.
    pub plan: String,
    /// The wiring; `None` while there is no such file.
    pub wiring: Option<String>,
}

impl Texts {
    /// Names this state: the first 16 hexadecimal digits of SHA-256 over both texts.
    pub fn digest(&self) -> String {
        let mut hash = Sha256::new();
        hash.update(self.plan.as_bytes());
        if let Some(wiring) = &self.wiring {
            hash.update([0]);
            hash.update(wiring.as_bytes());
        }
        hash.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
    }

    /// SHA-256 of the plan file, in hexadecimal digits.
    pub fn plan_digest(&self) -> String {
        hex(&Sha256::digest(self.plan.as_bytes()))
    }

    /// SHA-256 of the wiring file, in hexadecimal digits; empty where there is none.
    pub fn wiring_digest(&self) -> String {
        self.wiring.as_ref().map_or_else(String::new, |wiring| hex(&Sha256::digest(wiring.as_bytes())))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digest_tells_states_apart() {
        let digest = |plan: &str, wiring: Option<&str>| Texts { plan: plan.into(), wiring: wiring.map(str::to_owned) }.digest();
        assert_eq!(digest("a", None).len(), 16);
        assert_ne!(digest("a", None), digest("a", Some("")));
        assert_ne!(digest("a", Some("b")), digest("ab", Some("")));
        assert_eq!(digest("a", Some("b")), digest("a", Some("b")));
    }
}
