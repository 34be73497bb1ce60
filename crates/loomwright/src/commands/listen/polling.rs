//! Switches that `listen` asks for their tables, beside listening.

use super::asking::ALL;
use crate::arguments;
use crate::outcome::Failure;
use crate::text::count;
use loomwright_evidence::{Complaint, Evidence, Source, Spot, read};
use loomwright_listening::poll::{Cipher, PORT, Secret, Signature, walk};
use loomwright_model::{Id, Wiring};
use std::net::Ipv4Addr;
use std::sync::mpsc::{self, Receiver};
use std::thread;

/// The passwords of version 3 come from here, where no list of processes shows them.
const SIGNED: &str = "LOOMWRIGHT_SNMP_AUTH";
const ENCRYPTED: &str = "LOOMWRIGHT_SNMP_PRIV";

/// Memory for the work of one thread that asks. **Unit**: octet. Own choice: four times what Linux gives a program's threads here.
const STACK: usize = 16 * 1024 * 1024;

/// One switch to ask.
pub struct Agent {
    switch: Id,
    address: Ipv4Addr,
}

/// The switches to ask.
///
/// **Errors**: one is not in the plan, or has no address there.
pub fn agents(arguments: &arguments::Listen, wiring: &Wiring) -> Result<Vec<Agent>, Failure> {
    let address = |id: &Id| wiring.switches.get(id).and_then(|switch| switch.address).map(|address| address.address);
    if arguments.poll.iter().any(|name| name == ALL) {
        let all = wiring.switches.keys().filter_map(|id| Some(Agent { switch: id.clone(), address: address(id)? }));
        return Ok(all.collect());
    }
    let one = |name: &String| {
        let id = Id::new(name).ok().filter(|id| wiring.switches.contains_key(id));
        let id =
            id.ok_or_else(|| Failure::new(format!("no switch is called `{name}`"), format!("Name switches of the plan, or `{ALL}`.")))?;
        let address = address(&id);
        let none = || Failure::new(format!("switch {id} has no address in the plan"), "Give it one, or walk it by hand and use `compare`.");
        Ok(Agent { address: address.ok_or_else(none)?, switch: id })
    };
    arguments.poll.iter().map(one).collect()
}

/// How they are asked.
///
/// **Errors**: a user is named and its password is not there.
pub fn secret(arguments: &arguments::Listen) -> Result<Secret, Failure> {
    let Some(name) = &arguments.snmp_user else { return Ok(Secret::Community(arguments.community.clone())) };
    let password = |variable: &str| {
        let none = || Failure::new(format!("the password in {variable} is missing"), format!("Set the environment variable {variable}."));
        std::env::var(variable).ok().filter(|password| !password.is_empty()).ok_or_else(none)
    };
    let signature = match arguments.snmp_auth {
        arguments::Auth::Md5 => Signature::Md5,
        arguments::Auth::Sha => Signature::Sha1,
        arguments::Auth::Sha256 => Signature::Sha256,
        arguments::Auth::Sha512 => Signature::Sha512,
    };
    let cipher = match arguments.snmp_priv {
        arguments::Privacy::None => None,
        arguments::Privacy::Des => Some(Cipher::Des),
        arguments::Privacy::Aes => Some(Cipher::Aes128),
    };
    let encrypted = cipher.map(|cipher| Ok((cipher, password(ENCRYPTED)?))).transpose()?;
    Ok(Secret::User { name: name.clone(), signed: (signature, password(SIGNED)?), encrypted })
}

/// What will be sent, in words.
pub fn sends(agents: &[Agent]) -> Option<String> {
    let listed: Vec<String> = agents.iter().map(|agent| format!("{} ({})", agent.switch, agent.address)).collect();
    let switches = count(agents.len(), "switch", "switches");
    (!agents.is_empty()).then(|| format!("questions (SNMP, reading only) to {switches}: {}", listed.join(", ")))
}

/// Answers as they come.
pub struct Polling {
    answers: Receiver<Evidence>,
    missing: usize,
    seen: Vec<Evidence>,
}

impl Polling {
    /// Asks every switch, each in a thread of its own.
    pub fn begin(agents: &[Agent], secret: &Secret) -> Self {
        let (answer, answers) = mpsc::channel();
        let mut missing = 0;
        for agent in agents {
            let (answer, secret) = (answer.clone(), secret.clone());
            let (switch, address) = (agent.switch.clone(), agent.address);
            let ask = move || answer.send(seen(&switch, address, walk((address, PORT), &secret))).is_ok();
            // Signed and encrypted answers are unpacked on the stack, more than a thread usually has.
            missing += usize::from(thread::Builder::new().stack_size(STACK).spawn(ask).is_ok());
        }
        Self { answers, missing, seen: Vec::new() }
    }

    /// Takes what came since.
    pub fn take(&mut self) {
        while let Ok(one) = self.answers.try_recv() {
            self.missing = self.missing.saturating_sub(1);
            self.seen.push(one);
        }
    }

    /// Whether every switch answered or was given up.
    pub const fn is_done(&self) -> bool {
        self.missing == 0
    }

    /// What the switches said so far.
    pub fn seen(&self) -> &[Evidence] {
        &self.seen
    }

    /// What the switches said; a switch that had no time to answer is told.
    pub fn finish(self) -> Evidence {
        let mut all = Evidence::merged(self.seen);
        if self.missing > 0 {
            let says = format!("{} had no time to answer", count(self.missing, "switch", "switches"));
            all.merge(not_read("polled switches", says));
        }
        all
    }
}

fn seen(switch: &Id, address: Ipv4Addr, answer: Result<String, String>) -> Evidence {
    let name = format!("{switch} ({address})");
    match answer {
        Ok(record) => {
            let mut seen = read(&format!("{name}.snmprec"), record.as_bytes());
            // Whatever the box calls itself, it was asked under the switch's address.
            for source in &mut seen.sources {
                source.name.clone_from(&name);
                source.system = Some(switch.to_string());
            }
            seen
        }
        Err(why) => not_read(&name, why),
    }
}

fn not_read(name: &str, says: String) -> Evidence {
    let source = Source { name: name.to_owned(), format: None, system: None, octets: 0, capture: None };
    let complaint = Complaint { source: 0, spot: Spot::Whole, says, times: 1 };
    Evidence { sources: vec![source], complaints: vec![complaint], ..Evidence::default() }
}
