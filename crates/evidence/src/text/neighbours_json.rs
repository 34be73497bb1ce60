//! A neighbour daemon's table as JSON.
//!
//! **Shape**: the daemon writes two. In one, a single thing is an object, several are an array, and names stand as keys; in the
//! other everything is an array of objects and every word is `{"value": ..}`. Both are read by the same steps.

use super::words::{add_ability, identifier_kind, is_yes, medium, power};
use super::{complain, entry_number};
use crate::evidence::Evidence;
use crate::facts::{Advertisement, Identifier, LinkPower, Neighbour};
use crate::protocol::lldp::written;
use crate::seen::{Seen, Trust};
use serde_json::Value;

/// Reads the table.
pub fn read(text: &str) -> Evidence {
    let mut evidence = Evidence::default();
    // Several answers may stand one after the other in a file.
    for value in super::json(text, &mut evidence) {
        items(value.get("lldp")).for_each(|table| add_table(table, &mut evidence));
    }
    evidence
}

fn add_table(table: &Value, evidence: &mut Evidence) {
    let mut rows: Vec<(Option<&str>, &Value)> = Vec::new();
    for entry in items(table.get("interface")) {
        match entry.as_object() {
            Some(object) if object.contains_key("via") || object.contains_key("chassis") => rows.push((word(entry.get("name")), entry)),
            Some(object) => {
                rows.extend(object.iter().flat_map(|(name, body)| items(Some(body)).map(move |body| (Some(name.as_str()), body))))
            }
            None => {}
        }
    }
    for (name, body) in rows {
        let spot = entry_number(evidence.neighbours.len());
        match advertisement(body) {
            Some(says) => evidence.neighbours.push(Neighbour {
                seen: Seen::at(spot, Trust::Remembered),
                system: None,
                local_port: name.map(str::to_owned),
                local_number: None,
                sender: None,
                vlan: None,
                says,
            }),
            None => complain(evidence, spot, "a neighbour without chassis and port"),
        }
    }
}

/// An array's elements, or the thing itself.
fn items(value: Option<&Value>) -> impl Iterator<Item = &Value> {
    match value {
        Some(Value::Array(all)) => all.iter(),
        Some(one) => std::slice::from_ref(one).iter(),
        None => [].iter(),
    }
}

fn first<'a>(value: Option<&'a Value>, key: &str) -> Option<&'a Value> {
    items(value).next()?.get(key)
}

/// `"x"`, `{"value": "x"}` or the first of several.
fn word(value: Option<&Value>) -> Option<&str> {
    match items(value).next()? {
        Value::String(text) => Some(text),
        Value::Object(object) => object.get("value")?.as_str(),
        _ => None,
    }
}

fn words(value: Option<&Value>) -> impl Iterator<Item = &str> {
    items(value).filter_map(|one| word(Some(one)))
}

fn is_true(value: Option<&Value>) -> bool {
    match value {
        Some(Value::Bool(is)) => *is,
        other => word(other).is_some_and(is_yes),
    }
}

fn number<T: std::str::FromStr>(value: Option<&Value>) -> Option<T> {
    match value? {
        Value::Number(number) => number.to_string().parse().ok(),
        other => word(Some(other))?.trim().parse().ok(),
    }
}

fn advertisement(body: &Value) -> Option<Advertisement> {
    let mut says = Advertisement::default();
    if let Some(chassis) = items(body.get("chassis")).next().and_then(Value::as_object) {
        let inner = chassis.iter().next().filter(|_| !chassis.contains_key("id") && chassis.len() == 1);
        match inner {
            Some((name, inside)) => {
                says.name = Some(name.clone());
                add_chassis(inside, &mut says);
            }
            None => items(body.get("chassis")).take(1).for_each(|chassis| add_chassis(chassis, &mut says)),
        }
    }
    if let Some(port) = items(body.get("port")).next() {
        add_port(port, &mut says);
    }
    for vlan in items(body.get("vlan")) {
        add_vlan(vlan, &mut says);
    }
    (says.chassis.is_some() || says.port.is_some()).then_some(says)
}

fn identifier(value: Option<&Value>) -> Option<Identifier> {
    let kind = first(value, "type").and_then(Value::as_str).unwrap_or_default();
    Some(written(identifier_kind(kind), first(value, "value")?.as_str()?.to_owned()))
}

fn add_chassis(chassis: &Value, says: &mut Advertisement) {
    says.chassis = identifier(chassis.get("id"));
    says.name = word(chassis.get("name")).map(str::to_owned).or(says.name.take());
    says.description = word(chassis.get("descr")).map(str::to_owned);
    says.management = words(chassis.get("mgmt-ip")).filter_map(|address| address.parse().ok()).collect();
    for ability in items(chassis.get("capability")) {
        if let Some(kind) = word(ability.get("type")) {
            add_ability(says, kind, is_true(ability.get("enabled")));
        }
    }
}

fn add_port(port: &Value, says: &mut Advertisement) {
    says.port = identifier(port.get("id"));
    says.port_description = word(port.get("descr")).map(str::to_owned);
    says.time_to_live = number(port.get("ttl"));
    says.longest_frame = number(port.get("mfs"));
    if let Some(aggregation) = port.get("aggregation") {
        says.aggregated = Some(word(Some(aggregation)).is_some_and(|number| number != "0"));
    }
    if let Some(negotiation) = items(port.get("auto-negotiation")).next() {
        says.negotiates = Some(is_true(negotiation.get("enabled")));
        if let Some(current) = word(negotiation.get("current")) {
            medium(says, current);
        }
    }
    if let Some(Value::Object(object)) = items(port.get("power")).next() {
        let mut found = LinkPower::default();
        for (key, value) in object {
            let text = value.as_bool().map(|is| is.to_string()).or_else(|| word(Some(value)).map(str::to_owned));
            power(&mut found, key, &text.unwrap_or_default());
        }
        says.power = Some(found);
    }
    for vlan in items(port.get("vlan")) {
        add_vlan(vlan, says);
    }
}

fn add_vlan(vlan: &Value, says: &mut Advertisement) {
    let Some(id) = number::<u16>(vlan.get("vlan-id")).filter(|&id| id != 0) else { return };
    if is_true(vlan.get("pvid")) {
        says.untagged_vlan = Some(id);
    }
    if let Some(name) = vlan.get("value").and_then(Value::as_str) {
        says.vlan_names.push((id, name.to_owned()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Spot;
    use crate::facts::Capabilities;

    const ONE: &str = r#"{"lldp": {"interface": {"eth0": {"via": "LLDP", "chassis": {"sw-1": {
        "id": {"type": "mac", "value": "02:00:5E:10:00:01"}, "mgmt-ip": "10.0.0.1", "capability": {"type": "Bridge", "enabled": true}}},
        "port": {"id": {"type": "ifname", "value": "p1"}, "ttl": "120", "auto-negotiation": {"enabled": true,
        "current": "1000BaseTFD - Four-pair Category 5 UTP, full duplex mode"}},
        "vlan": {"vlan-id": "10", "pvid": true, "value": "audio-a"}}}}}"#;
    const SAME_AS_ARRAYS: &str = r#"{"lldp": [{"interface": [{"name": "eth0", "via": "LLDP", "chassis": [{
        "id": [{"type": "mac", "value": "02:00:5e:10:00:01"}], "name": [{"value": "sw-1"}], "mgmt-ip": [{"value": "10.0.0.1"}],
        "capability": [{"type": "Bridge", "enabled": true}]}],
        "port": [{"id": [{"type": "ifname", "value": "p1"}], "ttl": [{"value": "120"}], "auto-negotiation": [{"enabled": true,
        "current": [{"value": "1000BaseTFD - Four-pair Category 5 UTP, full duplex mode"}]}]}],
        "vlan": [{"vlan-id": "10", "pvid": true, "value": "audio-a"}]}]}]}"#;

    #[test]
    fn both_shapes_say_the_same() {
        let (one, other) = (read(ONE), read(SAME_AS_ARRAYS));
        assert_eq!(one, other);
        let neighbour = &one.neighbours[0];
        assert_eq!(neighbour.local_port.as_deref(), Some("eth0"));
        assert_eq!(neighbour.says.name.as_deref(), Some("sw-1"));
        assert_eq!(neighbour.says.port.as_ref().map(|id| id.text.as_str()), Some("p1"));
        assert_eq!(neighbour.says.untagged_vlan, Some(10));
        assert!(neighbour.says.enabled.has(Capabilities::BRIDGE) && neighbour.says.full_duplex == Some(true));
    }

    #[test]
    fn several_on_one_port_and_none_at_all() {
        let two = r#"{"lldp": {"interface": [{"p2": {"chassis": {"a": {"id": {"type": "local", "value": "x"}}}}},
                                             {"p2": {"chassis": {"id": {"type": "local", "value": "y"}}}}]}}"#;
        assert_eq!(read(two).neighbours.len(), 2);
        assert_eq!(read(two).neighbours[1].says.called(), Some("y"));
        assert_eq!(read("{\"lldp\": {\n}}"), Evidence::default());
        assert_eq!(read("{\"lldp\": {\n").complaints[0].spot, Spot::Line(2));
    }
}
