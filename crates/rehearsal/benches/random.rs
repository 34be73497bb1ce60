//! Random small networks, rehearsed in full: where do kernel and prediction differ?
//!
//! `cargo bench -p loomwright-rehearsal --bench random -- NETWORKS SEED`. Rings, meshes, chains of plain boxes between switches, switches
//! that cannot be set up, odd priorities and path costs, with and without querier. Prints a line for each network and its text
//! where something differs.

#![allow(clippy::disallowed_methods, reason = "a measurement reads its arguments and the machine's load")]

use loomwright_forwarding::{Fabric, forward};
use loomwright_planfile::Source;
use loomwright_rehearsal::kernel::prepare;
use loomwright_rehearsal::script::{as_rehearsed, survival};
use loomwright_rehearsal::{Blueprint, Cast, Options, Progress, Report, Script, rehearse};
use oorandom::Rand32;
use std::fmt::Write;
use std::sync::Mutex;
use std::thread;

/// Networks at work at once. Own choice: rehearsing is mostly waiting.
const AT_ONCE: usize = 2;

struct Quiet;

impl Progress for Quiet {
    fn says(&self, _: &str) {}
}

/// A network under construction: wiring text, and how many ports of each switch are taken from either end.
struct Maker {
    dice: Rand32,
    wiring: String,
    low: Vec<u32>,
    high: Vec<u32>,
    cables: u32,
}

impl Maker {
    fn roll(&mut self, sides: u32) -> u32 {
        self.dice.rand_range(0..sides)
    }

    /// A port for an endpoint, from 1 up.
    fn endpoint_port(&mut self, switch: u32) -> String {
        self.low[switch as usize] += 1;
        format!("sw-{switch}/{}", self.low[switch as usize])
    }

    /// A port for a trunk, from the last down.
    fn trunk_port(&mut self, switch: u32) -> String {
        self.high[switch as usize] -= 1;
        format!("sw-{switch}/{}", self.high[switch as usize] + 1)
    }

    fn cable(&mut self, one: &str, two: &str) {
        self.cables += 1;
        let at = self.cables;
        let _ = writeln!(
            self.wiring,
            "[cable.C-{at:03}]\nends = [\"{one}\", \"{two}\"]\nnetwork = \"a\"\nmedium = \"copper\"\nlength = \"5 m\"\nroutes = []"
        );
    }

    fn trunk(&mut self, one: u32, two: u32) {
        let (one, two) = (self.trunk_port(one), self.trunk_port(two));
        self.cable(&one, &two);
    }
}

/// Plan and wiring of the network with this seed.
fn texts(seed: u64) -> [String; 2] {
    let mut maker = Maker { dice: Rand32::new(seed), wiring: String::new(), low: Vec::new(), high: Vec::new(), cables: 0 };
    let switches = 2 + maker.roll(4);
    for at in 0..switches {
        let is_plain = at > 0 && maker.roll(8) == 0;
        let gear = if is_plain { "switch-5-plain" } else { "switch-16" };
        let _ = writeln!(maker.wiring, "[switch.sw-{at}]\ngear = \"{gear}\"\nplace = \"hall\"\nnetworks = [\"a\"]");
        if !is_plain && maker.roll(2) == 0 {
            let priority = 4_096 * (1 + maker.roll(3));
            let _ = writeln!(maker.wiring, "bridge-priority = {priority}");
        }
        maker.low.push(0);
        maker.high.push(if is_plain { 5 } else { 16 });
    }
    for at in 1..switches {
        let to = maker.roll(at);
        maker.trunk(at, to);
    }
    for _ in 0..maker.roll(3) {
        let (one, two) = (maker.roll(switches), maker.roll(switches));
        if one != two {
            maker.trunk(one, two);
        }
    }
    let devices = 3 + maker.roll(3);
    let mut at = 0;
    while at < devices {
        let length = 1 + if maker.roll(3) == 0 { 1 + maker.roll(2) } else { 0 };
        let (from, to) = (maker.roll(switches), maker.roll(switches));
        let port = maker.endpoint_port(from);
        maker.cable(&port, &format!("d-{at}/1"));
        for next in at + 1..at + length {
            maker.cable(&format!("d-{}/2", next - 1), &format!("d-{next}/1"));
        }
        at += length;
        if length > 1 && maker.roll(2) == 0 {
            let port = maker.endpoint_port(to);
            maker.cable(&format!("d-{}/2", at - 1), &port);
        }
    }
    if maker.roll(4) > 0 {
        maker.wiring.push_str("[querier]\na = \"sw-0\"\n");
    }
    let mut plan =
        "[plan]\nname = \"random\"\n[network.a]\nsubnet = \"10.60.0.0/24\"\naddresses = \"fixed\"\n[place.hall]\nname = \"Hall\"\n"
            .to_owned();
    for at in 0..at {
        let _ = writeln!(plan, "[device.d-{at}]\ngear = \"amplifier-4\"\nplace = \"hall\"\npairing = \"chained\"");
    }
    for stream in 0..at {
        let (one, two) = (1 + maker.roll(at - 1), maker.roll(4));
        let mode = if two == 0 { "unicast" } else { "multicast" };
        let to = (stream + one) % at;
        let _ = writeln!(plan, "[stream.s-{stream}]\nfrom = \"d-{stream}\"\nto = [\"d-{to}\"]\nchannels = 2\nmode = \"{mode}\"");
    }
    [plan, maker.wiring]
}

/// Rehearses one; `None` where frames would circle.
fn one([plan, wiring]: &[String; 2]) -> Result<Option<Report>, String> {
    let source = |name, text| Source { name, text };
    let loaded =
        loomwright_planfile::read(source("plan", plan), Some(source("wiring", wiring))).map_err(|problems| format!("{problems:?}"))?;
    let (plan, wiring) = (as_rehearsed(&loaded.plan), &loaded.wiring);
    let fabric = Fabric::new(&plan, wiring);
    if !forward(&plan, wiring, &fabric).storms.is_empty() {
        return Ok(None);
    }
    let survival = survival(&plan, wiring, &fabric);
    let blueprint = Blueprint::new(&plan, wiring, &fabric);
    let cast = Cast::new((&plan, wiring), &fabric, &survival, &blueprint);
    let mut script = Script::new((&plan, wiring), &fabric, &survival, &blueprint);
    script.keep_only(&[]);
    rehearse((&blueprint, &cast), &script, &Options::default(), &Quiet).map(Some).map_err(|trouble| trouble.to_string())
}

fn tell(seed: u64) {
    let texts = texts(seed);
    let line = match one(&texts) {
        Ok(None) => format!("{seed}: frames would circle, not rehearsed"),
        Err(trouble) => format!("{seed}: {trouble}"),
        Ok(Some(report)) => {
            let differs: Vec<_> = report.steps.iter().filter(|step| !step.agrees).collect();
            let agree = report.steps.len() - differs.len();
            let mut line = format!("{seed}: {agree} of {} agree, {} s", report.steps.len() + report.not_tried.len(), report.built.seconds);
            let longest = report.steps.iter().flat_map(|step| &step.outages).map(|outage| (outage.silent_ms, outage.at_most_ms)).max();
            if let Some((silent, bound)) = longest {
                let _ = write!(line, "; longest silence that ended {silent} ms, bound {bound:?}");
            }
            if !report.agrees {
                let whole = (&report.intact.differences, &report.tree_differences, &report.not_tried);
                let _ = write!(line, "\n{whole:#?}\n{differs:#?}\n{}\n{}", texts[0], texts[1]);
            }
            line
        }
    };
    println!("{line}");
}

fn main() {
    let numbers: Vec<u64> = std::env::args().filter_map(|argument| argument.parse().ok()).collect();
    let (count, first) = (numbers.first().copied().unwrap_or(4), numbers.get(1).copied().unwrap_or(1));
    if let Err(trouble) = prepare() {
        println!("not rehearsed: {trouble}");
        return;
    }
    println!("load {}", std::fs::read_to_string("/proc/loadavg").unwrap_or_default().trim());
    let next = Mutex::new(first);
    let take = || {
        let mut next = next.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        let seed = *next;
        *next += 1;
        (seed < first + count).then_some(seed)
    };
    thread::scope(|scope| {
        for _ in 0..AT_ONCE {
            scope.spawn(|| {
                while let Some(seed) = take() {
                    tell(seed);
                }
            });
        }
    });
}
