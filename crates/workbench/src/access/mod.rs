//! The crew's door: a second address on the show's own network, for phones.
//!
//! Without it the workbench listens on this machine alone. With it, a phone needs a link with a secret and a PIN, gets one of two
//! roles, and may never edit the plan. The engineer's own pages stay on the loopback address. Deliberately absent: encryption. Whoever
//! can listen on that network can read what the phones send; it is the show's own network or it is not opened.

mod door;
mod guesses;
mod join;
mod page;

pub use door::{ROLE, door, routes as crew_routes};
pub use page::routes as owner_routes;

use crate::crew::{Who, hex};
use guesses::Guesses;
use std::collections::BTreeMap;
use std::io;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

/// Most phones at once. Own choice: far above a crew of twenty.
const MOST_GUESTS: usize = 200;

/// What a guest may do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Read.
    Look,
    /// Read, tick, note and photograph.
    Tick,
}

impl Role {
    /// Its word in pages.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Look => "look",
            Self::Tick => "crew",
        }
    }
}

/// One phone that was let in.
#[derive(Debug, Clone)]
pub struct Guest {
    /// What it may do.
    pub role: Role,
    /// Who it is.
    pub who: Who,
}

/// Who may come in, and who did.
pub struct Access {
    host: String,
    keys: Mutex<Keys>,
    opened: Instant,
}

struct Keys {
    secrets: [String; 2],
    pin: String,
    guesses: Guesses,
    guests: BTreeMap<String, Guest>,
}

/// What the engineer hands out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invitation {
    /// The link for those who tick.
    pub tick: String,
    /// The link for those who only look.
    pub look: String,
    /// The PIN for both.
    pub pin: String,
}

/// Why somebody was not let in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotIn {
    /// No link of ours.
    Link,
    /// The PIN is wrong.
    Pin,
    /// Too many guesses: seconds to wait.
    Wait(u64),
    /// So many guesses that the engineer must open the door anew.
    Shut,
}

impl Access {
    /// A door at `host`, the address with its port, with fresh secrets.
    ///
    /// **Errors**: the system gives no chance.
    pub fn new(host: String) -> io::Result<Self> {
        Ok(Self { host, keys: Mutex::new(Keys::fresh()?), opened: Instant::now() })
    }

    /// The address with its port: the only name that the door answers to.
    pub fn host(&self) -> &str {
        &self.host
    }

    /// What to hand out.
    pub fn invitation(&self) -> Invitation {
        let keys = self.keys();
        let link = |role: Role| format!("http://{}/join/{}", self.host, keys.secrets[role as usize]);
        Invitation { tick: link(Role::Tick), look: link(Role::Look), pin: keys.pin.clone() }
    }

    /// Sends everybody away and makes new links and a new PIN.
    ///
    /// **Errors**: the system gives no chance; then everything stays.
    pub fn renew(&self) -> io::Result<()> {
        *self.keys() = Keys::fresh()?;
        Ok(())
    }

    /// The role that a link gives, before the PIN.
    pub fn role_of(&self, secret: &str) -> Option<Role> {
        let keys = self.keys();
        [Role::Look, Role::Tick].into_iter().find(|role| is_same(&keys.secrets[*role as usize], secret))
    }

    /// Lets somebody in: gives the token for the cookie.
    pub fn join(&self, secret: &str, pin: &str, name: &str) -> Result<String, NotIn> {
        let role = self.role_of(secret).ok_or(NotIn::Link)?;
        let now = self.opened.elapsed().as_secs();
        let mut keys = self.keys();
        keys.guesses.may_try(now)?;
        if !is_same(&keys.pin, pin.trim()) {
            keys.guesses.was_wrong(now);
            return Err(NotIn::Pin);
        }
        let (token, hand) = (chance(16).map_err(|_| NotIn::Shut)?, chance(2).map_err(|_| NotIn::Shut)?);
        if keys.guests.len() >= MOST_GUESTS {
            return Err(NotIn::Shut);
        }
        keys.guests.insert(token.clone(), Guest { role, who: Who { name: name.to_owned(), hand } });
        Ok(token)
    }

    /// Who has this token.
    pub fn guest(&self, token: &str) -> Option<Guest> {
        self.keys().guests.get(token).cloned()
    }

    /// Everybody who was let in.
    pub fn guests(&self) -> Vec<Guest> {
        self.keys().guests.values().cloned().collect()
    }

    fn keys(&self) -> MutexGuard<'_, Keys> {
        self.keys.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Keys {
    fn fresh() -> io::Result<Self> {
        let mut four = [0; 4];
        getrandom::fill(&mut four).map_err(|error| io::Error::other(error.to_string()))?;
        // Six digits; the bias of the remainder is below one in four thousand.
        let pin = format!("{:06}", u32::from_le_bytes(four) % 1_000_000);
        Ok(Self { secrets: [chance(16)?, chance(16)?], pin, guesses: Guesses::default(), guests: BTreeMap::new() })
    }
}

/// So many random octets as hexadecimal digits.
fn chance(octets: usize) -> io::Result<String> {
    let mut all = vec![0; octets];
    getrandom::fill(&mut all).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(hex(&all))
}

/// Compares without telling by the time it takes how much is right.
fn is_same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |differs, (a, b)| differs | (a ^ b)) == 0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn secret(link: &str) -> &str {
        link.rsplit('/').next().unwrap_or_default()
    }

    #[test]
    fn a_link_and_the_pin_let_in_with_the_link_s_role() {
        let access = Access::new("10.0.0.5:8750".to_owned()).expect("chance");
        let given = access.invitation();
        assert!(given.tick.starts_with("http://10.0.0.5:8750/join/") && given.tick != given.look && given.pin.len() == 6, "{given:?}");
        for (link, role) in [(&given.tick, Role::Tick), (&given.look, Role::Look)] {
            let token = access.join(secret(link), &given.pin, "Ana").expect("let in");
            let guest = access.guest(&token).expect("known");
            assert_eq!((guest.role, guest.who.name.as_str(), guest.who.hand.len()), (role, "Ana", 4));
        }
        assert_eq!(access.join("0123", &given.pin, ""), Err(NotIn::Link));
        assert!(access.guest("").is_none() && access.guest("x").is_none());
        access.renew().expect("chance");
        assert!(access.guests().is_empty(), "everybody is sent away");
        assert_eq!(access.join(secret(&given.tick), &given.pin, ""), Err(NotIn::Link), "the old link is dead");
    }

    #[test]
    fn guessing_is_slow_and_then_over() {
        let access = Access::new("h:1".to_owned()).expect("chance");
        let given = access.invitation();
        let wrong = if given.pin == "000000" { "000001" } else { "000000" };
        for _ in 0..guesses::FREE {
            assert_eq!(access.join(secret(&given.tick), wrong, ""), Err(NotIn::Pin));
        }
        assert!(matches!(access.join(secret(&given.tick), &given.pin, ""), Err(NotIn::Wait(_))), "even the right one has to wait");
    }

    #[test]
    fn comparing_is_exact() {
        assert!(is_same("abc", "abc") && !is_same("abc", "abd") && !is_same("abc", "ab") && !is_same("", "a"));
    }
}
