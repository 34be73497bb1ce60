//! Power over Ethernet: what each switch is asked for, and what the cable takes on the way.
//!
//! Only standard, negotiated power is meant. Passive power that is always on can destroy gear and is
//! not modelled.

use loomwright_model::supply::poe_offers;
use loomwright_model::{Id, Length, Plan, PoeClass, PoeLink, Power, Supply, Wiring, supplies};

/// What a class stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassPower {
    /// Most the port gives.
    pub source: Power,
    /// Most the device may take at the end of the cable.
    pub device: Power,
    /// Lowest voltage at the port.
    pub volts: f64,
    /// Pair sets that carry the power: 1 (two pairs) or 2 (four pairs).
    pub pair_sets: u32,
}

/// Power of a class. **Source**: IEEE 802.3 clauses 33 and 145 (af, at, bt), read second-hand.
pub const fn class_power(class: PoeClass) -> ClassPower {
    let (source, device, volts, pair_sets) = match class {
        PoeClass::Class0 | PoeClass::Class3 => (15_400, 12_950, 44.0, 1),
        PoeClass::Class1 => (4_000, 3_840, 44.0, 1),
        PoeClass::Class2 => (7_000, 6_490, 44.0, 1),
        PoeClass::Class4 => (30_000, 25_500, 50.0, 1),
        PoeClass::Class5 => (45_000, 40_000, 50.0, 2),
        PoeClass::Class6 => (60_000, 51_000, 50.0, 2),
        PoeClass::Class7 => (75_000, 62_000, 52.0, 2),
        PoeClass::Class8 => (90_000, 71_300, 52.0, 2),
    };
    ClassPower { source: Power::from_milliwatts(source), device: Power::from_milliwatts(device), volts, pair_sets }
}

/// Highest resistance of one conductor, ohms per 100 m. **Source**: TIA-568, from memory.
pub const OHMS_PER_100_METRES: f64 = 9.38;

/// Resistance there and back of a cable with power on `pair_sets` pair sets. In one pair set two
/// conductors lie side by side each way, so the loop has the resistance of one conductor.
pub fn loop_resistance(length: Length, pair_sets: u32) -> f64 {
    length.metres() / 100.0 * OHMS_PER_100_METRES / f64::from(pair_sets.max(1))
}

/// Voltage at a device that takes `watts` through `ohms` from `volts`; `None`: the voltage collapses.
///
/// **Source**: V = (V0 + sqrt(V0^2 - 4 P R)) / 2, Ohm's law for a constant-power load.
pub fn device_volts(volts: f64, watts: f64, ohms: f64) -> Option<f64> {
    let inside = volts * volts - 4.0 * watts * ohms;
    (inside >= 0.0).then(|| (volts + inside.sqrt()) / 2.0)
}

/// Watts that the cable itself takes; `None`: the voltage collapses.
pub fn cable_loss(volts: f64, watts: f64, ohms: f64) -> Option<f64> {
    let at_device = device_volts(volts, watts, ohms)?;
    let current = watts / at_device;
    Some(current * current * ohms)
}

/// Watts at the device when `amperes` flow from `volts` through `ohms`.
pub fn device_watts(volts: f64, amperes: f64, ohms: f64) -> f64 {
    (volts - amperes * ohms) * amperes
}

/// What one device asks of one port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PoePort {
    /// Which port gives what through which cable.
    pub link: PoeLink,
    /// The device's class.
    pub asks: PoeClass,
    /// What the device takes: its gear's draw, else the most its class allows.
    pub device: Power,
    /// What the cable takes on top; `None`: too long for that power, the voltage collapses.
    pub cable: Option<Power>,
    /// What a switch that reserves by class sets aside.
    pub reserved: Power,
    /// Whether the port's class is below the device's: the device stays dark or runs reduced.
    pub port_too_weak: bool,
    /// Whether the gear draws more than its class allows.
    pub beyond_class: bool,
}

impl PoePort {
    /// What the switch gives for it.
    pub fn draw(&self) -> Power {
        self.device + self.cable.unwrap_or(Power::ZERO)
    }
}

/// One switch's power over Ethernet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwitchPoe {
    /// The switch (or router).
    pub switch: Id,
    /// What all ports together may give; `None` where its gear does not say.
    pub budget: Option<Power>,
    /// What is asked of it: devices and cable loss.
    pub draw: Power,
    /// What it sets aside if it reserves by class.
    pub reserved: Power,
    /// Who asks.
    pub ports: Vec<PoePort>,
}

impl SwitchPoe {
    /// Whether the devices ask for more than it has.
    pub fn is_over(&self) -> bool {
        self.budget.is_some_and(|budget| self.draw > budget)
    }
}

/// Every switch that gives power or has a budget. A device that could be powered by two switches
/// counts in full at both: either must carry it alone when the other is gone.
pub fn power_of_switches(plan: &Plan, wiring: &Wiring) -> Vec<SwitchPoe> {
    let mut asked: std::collections::BTreeMap<Id, Vec<PoePort>> = std::collections::BTreeMap::new();
    let powered = supplies(plan, wiring);
    let links = powered.iter().filter_map(|(id, supply)| match supply {
        Supply::Poe(links) => Some((id, links)),
        Supply::Feeds(_) => None,
    });
    for (id, links) in links {
        for link in links {
            if let Some(port) = port_draw(plan, wiring, (id, link)) {
                asked.entry(link.from.item.clone()).or_default().push(port);
            }
        }
    }
    let givers = wiring.switches.keys().chain(plan.devices.keys());
    let one = |id: &Id| {
        let budget = wiring.gear_at(plan, id).and_then(|gear| gear.poe_budget);
        let ports = asked.remove(id).unwrap_or_default();
        (budget.is_some() || !ports.is_empty()).then(|| SwitchPoe {
            switch: id.clone(),
            budget,
            draw: ports.iter().map(PoePort::draw).sum(),
            reserved: ports.iter().map(|port| port.reserved).sum(),
            ports,
        })
    };
    givers.filter_map(one).collect()
}

fn port_draw(plan: &Plan, wiring: &Wiring, (device, link): (&Id, &PoeLink)) -> Option<PoePort> {
    let gear = wiring.gear_at(plan, device)?;
    let asks = gear.poe?;
    let class = class_power(asks);
    let draw = gear.draws.unwrap_or(class.device);
    let length = wiring.cables.get(&link.cable).map_or(Length::ZERO, |cable| cable.length);
    let loss = cable_loss(class.volts, watts(draw), loop_resistance(length, class.pair_sets));
    Some(PoePort {
        link: link.clone(),
        asks,
        device: draw,
        cable: loss.map(milliwatts_up),
        reserved: class.source,
        port_too_weak: class_power(link.class).source < class.source,
        beyond_class: draw > class.device,
    })
}

/// Devices with a power class, no feeds of their own, and no port that gives power at the far end of a
/// copper cable. They need an injector or a supply of their own.
pub fn without_power_port(plan: &Plan, wiring: &Wiring) -> Vec<Id> {
    let offers = poe_offers(plan, wiring);
    let devices = plan.devices.iter().filter(|(id, device)| device.feeds.is_empty() && !offers.contains_key(*id));
    let needy = devices.filter(|(_, device)| plan.gear_of(device).is_some_and(|gear| gear.poe.is_some()));
    needy.map(|(id, _)| id.clone()).collect()
}

fn watts(power: Power) -> f64 {
    power.milliwatts() as f64 / 1_000.0
}

fn milliwatts_up(watts: f64) -> Power {
    Power::from_milliwatts((watts * 1_000.0).ceil() as u64)
}
