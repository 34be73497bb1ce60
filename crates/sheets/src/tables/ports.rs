//! Port maps: every port of every switch, used or spare. Columns: common practice of the trade, no source.

use super::Source;
use crate::cautions;
use crate::table::{Cell, Kind, Role, Row, Table, columns};
use loomwright_drawing::scene::far_end;
use loomwright_model::{Cable, Id, PortRef, PortSpec};

pub(super) fn table(source: &Source<'_>) -> Table {
    let mut table = Table::new(
        Kind::Ports,
        columns([
            ("Switch", Role::Text),
            ("Port", Role::Name),
            ("Mode", Role::Text),
            ("Far end", Role::Text),
            ("Far place", Role::Text),
            ("Cable", Role::Name),
            ("Net", Role::Text),
            ("PVID", Role::Figure),
            ("Tagged", Role::Text),
            ("PoE", Role::Text),
            ("Speed", Role::Figure),
            ("Medium", Role::Text),
            ("Label", Role::Text),
        ]),
    );
    table.note = "Edge: one device. Trunk: another switch. Spare ports are shut until they are needed.".to_owned();
    table.grouped_by = Some(0);
    table.keeps_groups = true;
    table.cautions = vec![cautions::SOUND, cautions::POE];
    for switch in source.scene.switching_items() {
        table.rows.extend(source.specs(switch).iter().map(|spec| row(source, switch, spec)));
    }
    table
}

fn row(source: &Source<'_>, switch: &Id, spec: &PortSpec) -> Row {
    let port = PortRef::new(switch.clone(), spec.name.clone());
    let cable = source.plugs.at(&port).and_then(|id| Some((id, source.scene.wiring.cables.get(id)?)));
    let place = source.place_name(switch);
    let head = if place.is_empty() { switch.to_string() } else { format!("{switch} \u{b7} {place}") };
    let number = Cell { text: spec.name.to_string(), number: port.number().map(f64::from) };
    let medium: Cell = spec.medium.word().into();
    let Some((id, cable)) = cable else {
        let speed: Cell = spec.speed.to_string().into();
        let empty = Cell::default;
        let mut spare = Row::new(vec![
            head.into(),
            number,
            "spare, shut".into(),
            empty(),
            empty(),
            empty(),
            empty(),
            empty(),
            empty(),
            empty(),
            speed,
            medium,
            empty(),
        ]);
        spare.folds = true;
        return spare;
    };
    let far = far_end(cable, switch);
    let (pvid, tagged) = vlans(source, switch, cable);
    Row::new(vec![
        head.into(),
        number,
        if source.scene.is_trunk(cable) { "trunk" } else { "edge" }.into(),
        far.to_string().into(),
        source.place_name(&far.item).into(),
        id.as_str().into(),
        source.networks(&cable.networks).into(),
        pvid.into(),
        tagged.into(),
        source.poe(cable).map_or("", |class| class.word()).into(),
        source.speed(cable).map_or(String::new(), |speed| speed.to_string()).into(),
        medium,
        format!("{id} {far}").into(),
    ])
}

/// The untagged VLAN of a port and its tagged ones. One network goes untagged; several go tagged on a
/// trunk, and on an edge all but the first.
fn vlans(source: &Source<'_>, switch: &Id, cable: &Cable) -> (String, String) {
    let vlan = |network: &Id| source.scene.plan.networks.get(network).and_then(|network| network.vlan);
    // A switch with one network needs no VLANs at all.
    if source.scene.networks_of(switch, &source.plugs).len() < 2 {
        return (String::new(), String::new());
    }
    let numbers: Vec<String> = cable.networks.iter().filter_map(vlan).map(|vlan| vlan.to_string()).collect();
    match numbers.as_slice() {
        [one] => (one.clone(), String::new()),
        [first, rest @ ..] if !source.scene.is_trunk(cable) => (first.clone(), rest.join(", ")),
        all => (String::new(), all.join(", ")),
    }
}
