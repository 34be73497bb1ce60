//! One cable: ports, medium, length, speed, and the routes it lies in.

use crate::length::{LengthLimit, length_limit};
use indexmap::IndexMap;
use loomwright_model::{BitRate, Cable, Id, Length, Medium, Plan, PortRef, PortSpec, Route, Wiring};

/// What was measured of one cable.
#[derive(Debug, Clone, PartialEq)]
pub struct CableCheck {
    /// The cable.
    pub cable: Id,
    /// Its length.
    pub length: Length,
    /// The speed both ends agree on: the lower of the two; `None` if an end is not there.
    pub speed: Option<BitRate>,
    /// The limit for its medium at that speed; `None` if no planning figure is known.
    pub limit: Option<LengthLimit>,
    /// Sum of the lengths of its routes.
    pub routes_length: Length,
    /// What is wrong with it, in the order found.
    pub troubles: Vec<CableTrouble>,
}

/// What can be wrong with a cable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CableTrouble {
    /// An end names a port that is not there.
    NoSuchPort(PortRef),
    /// The cable's medium is that of a pluggable port, not of a cable.
    NotACable(Medium),
    /// A port takes another medium.
    PortTakesAnother {
        /// The port.
        port: PortRef,
        /// What it takes.
        takes: Medium,
    },
    /// Longer than the limit for its medium and speed.
    TooLong,
    /// The ends differ in speed.
    SpeedsDiffer {
        /// Of end 0 and end 1.
        speeds: [BitRate; 2],
        /// Copper ports agree on the lower speed; optics do not, and the link may stay dark.
        negotiates: bool,
    },
    /// It lies in a route that the plan does not have.
    UnknownRoute(Id),
    /// It lies in a route that does not take its medium.
    RouteForbids(Id),
    /// This route does not go on from where the one before it ends.
    RouteGap(Id),
    /// Its ends stand in two places and it names no route.
    NoRoute([Id; 2]),
    /// It is shorter than the routes it lies in.
    ShorterThanRoutes,
}

/// The ports of every gear type in use.
pub struct PortTable<'a> {
    plan: &'a Plan,
    wiring: &'a Wiring,
    of_gear: IndexMap<&'a Id, IndexMap<Id, PortSpec>>,
}

impl<'a> PortTable<'a> {
    /// Lists the ports of every gear type in use.
    pub fn new(plan: &'a Plan, wiring: &'a Wiring) -> Self {
        let used = plan.devices.values().map(|device| &device.gear).chain(wiring.switches.values().map(|switch| &switch.gear));
        let mut of_gear = IndexMap::new();
        for id in used {
            if let (false, Some(gear)) = (of_gear.contains_key(id), plan.gear.get(id)) {
                of_gear.insert(id, gear.port_specs().into_iter().map(|port| (port.name.clone(), port)).collect());
            }
        }
        Self { plan, wiring, of_gear }
    }

    /// The port, if there is one of that name.
    pub fn get(&self, port: &PortRef) -> Option<&PortSpec> {
        let gear = match self.plan.devices.get(&port.item) {
            Some(device) => &device.gear,
            None => &self.wiring.switches.get(&port.item)?.gear,
        };
        self.of_gear.get(gear)?.get(&port.port)
    }
}

/// Measures one cable.
pub fn check(plan: &Plan, wiring: &Wiring, ports: &PortTable<'_>, (id, cable): (&Id, &Cable)) -> CableCheck {
    let mut troubles = Vec::new();
    let specs = [ports.get(&cable.ends[0]), ports.get(&cable.ends[1])];
    check_ends(cable, specs, &mut troubles);
    let speed = match specs {
        [Some(one), Some(two)] => Some(one.speed.min(two.speed)),
        _ => None,
    };
    let limit = speed.and_then(|speed| length_limit(cable.medium, speed));
    if limit.is_some_and(|limit| cable.length > limit.most) {
        troubles.push(CableTrouble::TooLong);
    }
    let routes_length = check_routes(plan, wiring, cable, &mut troubles);
    CableCheck { cable: id.clone(), length: cable.length, speed, limit, routes_length, troubles }
}

fn check_ends(cable: &Cable, specs: [Option<&PortSpec>; 2], troubles: &mut Vec<CableTrouble>) {
    if matches!(cable.medium, Medium::Sfp | Medium::SfpPlus) {
        troubles.push(CableTrouble::NotACable(cable.medium));
    }
    for (port, spec) in cable.ends.iter().zip(specs) {
        match spec {
            None => troubles.push(CableTrouble::NoSuchPort(port.clone())),
            Some(spec) if !spec.medium.takes(cable.medium) => {
                troubles.push(CableTrouble::PortTakesAnother { port: port.clone(), takes: spec.medium });
            }
            Some(_) => {}
        }
    }
    if let [Some(one), Some(two)] = specs
        && one.speed != two.speed
    {
        let negotiates = cable.medium == Medium::Copper && one.medium == Medium::Copper && two.medium == Medium::Copper;
        troubles.push(CableTrouble::SpeedsDiffer { speeds: [one.speed, two.speed], negotiates });
    }
}

/// Walks the routes in order; gives the sum of their lengths.
fn check_routes(plan: &Plan, wiring: &Wiring, cable: &Cable, troubles: &mut Vec<CableTrouble>) -> Length {
    let known: Vec<(&Id, &Route)> = cable.routes.iter().filter_map(|id| plan.routes.get_key_value(id)).collect();
    let unknown = cable.routes.iter().filter(|id| !plan.routes.contains_key(*id));
    troubles.extend(unknown.map(|id| CableTrouble::UnknownRoute(id.clone())));
    let closed = known.iter().filter(|(_, route)| !route.takes.contains(&cable.medium));
    troubles.extend(closed.map(|(id, _)| CableTrouble::RouteForbids((*id).clone())));
    let ends = [wiring.place_of(plan, &cable.ends[0].item), wiring.place_of(plan, &cable.ends[1].item)];
    if let [Some(from), Some(to)] = ends {
        match known.is_empty() && cable.routes.is_empty() {
            true if from != to => troubles.push(CableTrouble::NoRoute([from.clone(), to.clone()])),
            true => {}
            false => troubles.extend(route_gap(&known, [from, to])),
        }
    }
    let total = known.iter().map(|(_, route)| route.length).sum();
    if cable.length < total {
        troubles.push(CableTrouble::ShorterThanRoutes);
    }
    total
}

/// The first route that does not go on from where the one before ends. The order may run from either end.
fn route_gap(routes: &[(&Id, &Route)], [from, to]: [&Id; 2]) -> Option<CableTrouble> {
    let walk = |start: &Id, goal: &Id| -> Option<Id> {
        let mut at = start.clone();
        for (id, route) in routes {
            let [one, two] = &route.between;
            at = match (&at == one, &at == two) {
                (true, _) => two.clone(),
                (false, true) => one.clone(),
                (false, false) => return Some((*id).clone()),
            };
        }
        (&at != goal).then(|| routes.last().map(|(id, _)| (*id).clone())).flatten()
    };
    let gap = walk(from, to)?;
    walk(to, from)?;
    Some(CableTrouble::RouteGap(gap))
}

/// Ports that more than one cable claims, in the order of the wiring.
pub fn shared_ports(wiring: &Wiring) -> Vec<(PortRef, Vec<Id>)> {
    let mut claims: IndexMap<&PortRef, Vec<Id>> = IndexMap::new();
    for (id, cable) in &wiring.cables {
        for end in &cable.ends {
            claims.entry(end).or_default().push(id.clone());
        }
    }
    claims.into_iter().filter(|(_, cables)| cables.len() > 1).map(|(port, cables)| (port.clone(), cables)).collect()
}
