//! `loomwright listen PLAN --on IFACE`: the line check from the wire.
//!
//! Nothing is sent unless it is asked for, and what is asked for is said before it is sent.

mod asking;
mod polling;
mod serving;
mod watching;

use super::load;
use super::proved::proved;
use crate::arguments;
use crate::outcome::{Failure, Outcome};
use crate::{output, text};
use asking::Asking;
use loomwright_evidence::{Evidence, Wire};
use loomwright_linecheck::compare_proved;
use loomwright_listening::{CannotListen, Ear, Interface, Stop};
use loomwright_model::{Id, Plan, PortRef, Wiring};
use loomwright_planfile::Loaded;
use polling::Polling;
use serving::Pages;
use std::fs::File;
use std::io::BufWriter;
use std::time::{Duration, Instant};
use watching::Watching;

/// How long one round of listening takes. Own choice: Ctrl-C is noticed within it.
const ROUND: Duration = Duration::from_millis(100);

/// Where is listened: what the evidence is called, and the networks that are there.
struct Place {
    name: String,
    at: Option<Id>,
    networks: Vec<Id>,
}

/// Listens, and then prints what `compare` prints.
pub fn run(arguments: &arguments::Listen) -> Result<Outcome, Failure> {
    let opened = load::open(&arguments.plan)?;
    let (plan, wiring) = (&opened.loaded.plan, &opened.loaded.wiring);
    let interface = Interface::find(&arguments.on).map_err(|error| cannot(&arguments.on, &error))?;
    let place = place(arguments, (plan, wiring), &interface)?;
    let asking = Asking::new(arguments, (plan, wiring), &place)?;
    let polls = polling::agents(arguments, wiring)?;
    let secret = polling::secret(arguments)?;
    let tap = loomwright_listening::open(&interface).map_err(|error| cannot(&arguments.on, &error))?;
    let wire = Wire::new(&place.name, &interface.name);
    let wire = place.at.iter().fold(wire, |wire, at| wire.at(at.as_str()));
    let mut ear = Ear::new(tap, wire);
    if let Some(path) = &arguments.keep {
        let fail = |error: std::io::Error| Failure::of_file("write", path, &error);
        ear = ear.keeping(BufWriter::new(File::create_new(path).map_err(fail)?)).map_err(fail)?;
    }
    let fail = |error: std::io::Error| Failure::new(format!("cannot listen on {}: {error}", interface.name), "");
    let mut stop = Stop::new().map_err(fail)?;
    // After the wish to stop is kept: the threads of the pages keep it too.
    let mut pages = Pages::open(arguments)?;
    say(arguments, &place, &asking, &polls);
    let mut polling = Polling::begin(&polls, &secret);
    let joined = asking.join(&interface)?;
    let mut waiting = asking.frames(&interface).into_iter();
    let mut watching = Watching::new((plan, wiring), &place.networks);
    let begun = Instant::now();
    loop {
        let goes_on = ear.listen(ROUND).map_err(fail)?;
        for frame in waiting.by_ref().take(asking::AT_A_TIME) {
            ear.send(&frame).map_err(fail)?;
        }
        let is_over = arguments.seconds.is_some_and(|seconds| begun.elapsed() >= Duration::from_secs(seconds));
        polling.take();
        if stop.is_wished() || !goes_on || is_over && polling.is_done() {
            break;
        }
        watching.show(&ear, polling.seen());
        if let Some(pages) = &mut pages {
            pages.show(&place, &ear, polling.seen());
        }
    }
    watching.end();
    drop(joined);
    let heard =
        ear.finish().map_err(|error| Failure::new(format!("cannot write what was heard: {error}"), "See whether the disk is full."))?;
    finish(arguments, &opened.loaded, &Evidence::merged([heard, polling.finish()]))
}

fn finish(arguments: &arguments::Listen, loaded: &Loaded, seen: &Evidence) -> Result<Outcome, Failure> {
    let (plan, wiring) = (&loaded.plan, &loaded.wiring);
    let comparison = compare_proved((plan, wiring), seen, &proved(loaded, seen));
    if arguments.json {
        output::json(&comparison)?
    } else {
        output::data(&text::differences::comparison(&comparison, plan))?
    }
    Ok(Outcome::ready_if(comparison.is_as_planned() && comparison.is_whole()))
}

/// Says where is listened, for how long, and everything that will be sent.
fn say(arguments: &arguments::Listen, place: &Place, asking: &Asking, polls: &[polling::Agent]) {
    let networks: Vec<&str> = place.networks.iter().map(Id::as_str).collect();
    let whose = if networks.is_empty() { String::new() } else { format!(", network {}", networks.join(" and ")) };
    let long = arguments.seconds.map_or_else(|| "until Ctrl-C".to_owned(), |seconds| format!("for {seconds} s"));
    output::talk(&format!("listening on {}{whose}, {long}", arguments.on));
    let mut sends = asking.sends();
    sends.extend(polling::sends(polls));
    if sends.is_empty() {
        output::talk("nothing is sent");
    }
    for line in sends {
        output::talk(&format!("will send: {line}"));
    }
    if asking.is_empty() && polls.is_empty() {
        output::talk("a switch that snoops sends only what somebody here asked for: `--join` asks");
    }
}

fn place(arguments: &arguments::Listen, (plan, wiring): (&Plan, &Wiring), interface: &Interface) -> Result<Place, Failure> {
    let own = &interface.name;
    if let Some(at) = &arguments.at {
        let (item, port) = at.split_once('/').map_or((at.as_str(), None), |(item, port)| (item, Some(port)));
        let id = Id::new(item).ok().filter(|id| plan.devices.contains_key(id) || wiring.switches.contains_key(id));
        let id =
            id.ok_or_else(|| Failure::new(format!("no device or switch is called `{item}`"), "Name one of the plan, as `sw-a/23`."))?;
        let port = port.and_then(|port| Id::new(port).ok()).map(|port| PortRef::new(id.clone(), port));
        let is_there = |end: &PortRef| port.as_ref().map_or(end.item == id, |port| port == end);
        let cables = wiring.cables.values().filter(|cable| cable.ends.iter().any(is_there));
        let mut networks: Vec<Id> = cables.flat_map(|cable| cable.networks.iter().cloned()).collect();
        networks.sort();
        networks.dedup();
        return Ok(Place { name: format!("{own} at {at}"), at: Some(id), networks });
    }
    let network = match &arguments.network {
        Some(name) => {
            let known = || plan.networks.keys().map(Id::as_str).collect::<Vec<_>>().join(", ");
            let id = Id::new(name).ok().filter(|id| plan.networks.contains_key(id));
            Some(id.ok_or_else(|| Failure::new(format!("no network is called `{name}`"), format!("Name one of {}.", known())))?)
        }
        None => by_address(plan, interface),
    };
    let name = network.as_ref().map_or_else(|| format!("{own}.live"), |id| format!("network-{id} {own}.live"));
    Ok(Place { name, at: None, networks: network.into_iter().collect() })
}

/// The one network whose range holds an address of the interface.
fn by_address(plan: &Plan, interface: &Interface) -> Option<Id> {
    let is_here = |address: &std::net::Ipv4Addr| {
        plan.networks.iter().find(|(_, network)| network.subnet.is_some_and(|subnet| subnet.contains(*address))).map(|(id, _)| id.clone())
    };
    interface.addresses.iter().find_map(is_here)
}

/// In words, with what to do.
fn cannot(name: &str, error: &CannotListen) -> Failure {
    let remedy = match error {
        CannotListen::NoSuchInterface(_) => "Name the interface that is plugged into the network.".to_owned(),
        CannotListen::NotAllowed => rights(),
        CannotListen::IsDown => format!("Switch it on: sudo ip link set {name} up"),
        CannotListen::NotBuilt => "Record with a capture program and use `loomwright compare`.".to_owned(),
        CannotListen::Other(_) => String::new(),
    };
    Failure::new(format!("cannot listen on {name}: {error}"), remedy)
}

fn rights() -> String {
    let program = std::env::current_exe().map_or_else(|_| "/path/to/loomwright".to_owned(), |path| path.display().to_string());
    format!(
        "Give the right once: sudo setcap cap_net_raw=ep {program} (everybody who may start it can then listen; `sudo setcap -r` takes \
         it away). Or start it with sudo."
    )
}
