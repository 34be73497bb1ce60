//! Writes the plan file.

use super::exact::decimal;
use super::{Exact, Page, key, list, quoted};
use loomwright_model::plan::{Carries, Legs, Listening, Mode, Slack, Stock, StreamFormat};
use loomwright_model::{Control, Device, Gear, Id, Length, Network, Place, Plan, Route, SpanningTree, Stream, Targets};

/// The whole plan as a text, in the order of its maps. Shipped gear is left out.
pub fn write_plan(plan: &Plan) -> String {
    let mut page = Page::default();
    about(plan, &mut page);
    targets(&plan.targets, &mut page);
    page.header(&["stream-format"]);
    format_keys(&plan.stream_format, None, &mut page);
    page.raw("clock-dscp", plan.stream_format.clock_dscp);
    plan.networks.iter().for_each(|(id, value)| network(id, value, &mut page));
    plan.places.iter().for_each(|(id, value)| place(id, value, &mut page));
    plan.routes.iter().for_each(|(id, value)| route(id, value, &mut page));
    plan.gear.iter().filter(|(_, gear)| !gear.shipped).for_each(|(id, value)| gear(id, value, &mut page));
    plan.devices.iter().for_each(|(id, value)| device(id, value, &mut page));
    plan.streams.iter().for_each(|(id, value)| stream(id, value, &plan.stream_format, &mut page));
    listening(&plan.listening, &mut page);
    stock(plan, &mut page);
    labour(plan, &mut page);
    page.text
}

fn about(plan: &Plan, page: &mut Page) {
    let about = &plan.about;
    page.header(&["plan"]);
    page.text("name", &about.name);
    page.text("revision", &about.revision);
    if let Some(date) = &about.date {
        page.raw("date", date);
    }
    for (name, value) in [("by", &about.by), ("note", &about.note)] {
        value.iter().for_each(|value| page.text(name, value));
    }
}

fn targets(targets: &Targets, page: &mut Page) {
    page.header(&["targets"]);
    page.quantity("network-delay", Some(targets.network_delay));
    page.quantity("clock-error", Some(targets.clock_error));
    page.text("survive", targets.survive);
    page.raw("link-load", targets.link_load.exact());
    page.raw("spare-ports", targets.spare_ports.exact());
    page.quantity("mouth-to-ear", targets.mouth_to_ear);
}

/// The keys of a format; those equal to `usual` are left out.
fn format_keys(format: &StreamFormat, usual: Option<&StreamFormat>, page: &mut Page) {
    if usual.is_none_or(|usual| usual.sample_rate != format.sample_rate) {
        page.quantity("sample-rate", Some(format.sample_rate));
    }
    if usual.is_none_or(|usual| usual.bits != format.bits) {
        page.raw("bits", format.bits);
    }
    if usual.is_none_or(|usual| usual.packet_time != format.packet_time) {
        page.quantity("packet-time", Some(format.packet_time));
    }
    if usual.is_none_or(|usual| usual.media_dscp != format.media_dscp) {
        page.raw("media-dscp", format.media_dscp);
    }
    if usual.is_none_or(|usual| usual.channels_per_packet_stream != format.channels_per_packet_stream) {
        page.raw("channels-per-packet-stream", format.channels_per_packet_stream);
    }
}

fn network(id: &Id, network: &Network, page: &mut Page) {
    page.header(&["network", id.as_str()]);
    network.subnet.iter().for_each(|subnet| page.text("subnet", subnet));
    network.vlan.iter().for_each(|vlan| page.raw("vlan", vlan));
    page.text("addresses", network.addresses);
    let usual = if id.as_str() == "control" { Carries::Control } else { Carries::Audio };
    if network.carries != usual {
        page.text("carries", network.carries);
    }
    network.dhcp_server.iter().for_each(|server| page.text("dhcp-server", server));
}

fn place(id: &Id, place: &Place, page: &mut Page) {
    page.header(&["place", id.as_str()]);
    page.text("name", &place.name);
    if let Some(at) = place.at {
        let height = if at.z == 0 { String::new() } else { format!(", {}", metres(at.z)) };
        page.raw("at", format!("[{}, {}{height}]", metres(at.x), metres(at.y)));
    }
    page.names("feeds", &place.feeds);
}

/// Millimetres as metres, always with a point, so that the list stays one of like numbers.
fn metres(millimetres: i64) -> String {
    let sign = if millimetres < 0 { "-" } else { "" };
    let number = decimal(millimetres.unsigned_abs(), 3);
    let point = if number.contains('.') { "" } else { ".0" };
    format!("{sign}{number}{point}")
}

fn route(id: &Id, route: &Route, page: &mut Page) {
    page.header(&["route", id.as_str()]);
    page.raw("between", list(&route.between));
    page.quantity("length", Some(route.length));
    let media: Vec<&str> = route.takes.iter().map(|medium| medium.word()).collect();
    page.names("takes", &media);
    page.names("shares", &route.shares);
}

fn gear(id: &Id, gear: &Gear, page: &mut Page) {
    page.header(&["gear", id.as_str()]);
    page.text("kind", gear.kind);
    page.text("title", &gear.title);
    if gear.is_switching() {
        switching(gear, page);
    } else {
        endpoint(gear, page);
    }
    page.quantity("draws", gear.draws);
    gear.poe.iter().for_each(|class| page.text("poe", class));
    if gear.latency != Gear::LATENCY {
        let (least, most) = (quoted(&gear.latency.least.exact()), quoted(&gear.latency.most.exact()));
        page.raw("latency", format!("{{ least = {least}, most = {most} }}"));
    }
    if gear.spanning_tree != SpanningTree::None {
        page.text("spanning-tree", gear.spanning_tree);
    }
    page.flag("energy-saving", gear.energy_saving);
    page.flag("dhcp-server", gear.dhcp_server);
    page.quantity("buffer", gear.buffer);
    page.quantity("mtbf", gear.mtbf);
    page.quantity("mttr", gear.mttr);
    gear.price.iter().for_each(|price| page.raw("price", price.exact()));
}

fn endpoint(gear: &Gear, page: &mut Page) {
    let port = |port: &loomwright_model::gear::AudioPort| {
        format!(
            "{{ name = {}, speed = {}, medium = {} }}",
            quoted(port.name.as_str()),
            quoted(&port.speed.exact()),
            quoted(port.medium.word())
        )
    };
    let ports: Vec<String> = gear.audio_ports.iter().map(port).collect();
    page.raw("audio-ports", format!("[{}]", ports.join(", ")));
    let pairing: Vec<&str> = gear.pairing.iter().map(|pairing| pairing.word()).collect();
    if gear.audio_ports.len() >= 2 {
        page.raw("pairing", list(&pairing));
    }
    match &gear.control {
        Some(Control::MergedWith(port)) => page.raw("control", format!("{{ merged-with = {} }}", quoted(port.as_str()))),
        Some(Control::Own { port, speed }) => {
            page.raw("control", format!("{{ port = {}, speed = {} }}", quoted(port.as_str()), quoted(&speed.exact())));
        }
        None => {}
    }
    page.quantity("processing-delay", gear.processing_delay);
    let delays: Vec<String> = gear.receive_delays.iter().map(Exact::exact).collect();
    page.names("receive-delays", &delays);
    page.quantity("release-jitter", gear.release_jitter);
    page.raw("clock", format!("{{ can-lead = {}, quality = {} }}", gear.clock.can_lead, gear.clock.quality));
    if let Some(streams) = gear.streams {
        page.raw("streams", format!("{{ send = {}, receive = {} }}", streams.send, streams.receive));
    }
}

fn switching(gear: &Gear, page: &mut Page) {
    let group = |group: &loomwright_model::gear::PortGroup| {
        let poe = group.poe.map(|class| format!(", poe = {}", quoted(class.word()))).unwrap_or_default();
        let (speed, medium) = (quoted(&group.speed.exact()), quoted(group.medium.word()));
        format!("{{ count = {}, speed = {speed}, medium = {medium}{poe} }}", group.count)
    };
    let groups: Vec<String> = gear.ports.iter().map(group).collect();
    page.raw("ports", format!("[{}]", groups.join(", ")));
    page.quantity("poe-budget", gear.poe_budget);
    page.flag("snooping", gear.snooping);
    page.flag("querier", gear.querier);
    page.text("clock", gear.clock_support);
    page.quantity("radio-rate", gear.radio_rate);
}

fn device(id: &Id, device: &Device, page: &mut Page) {
    page.header(&["device", id.as_str()]);
    page.text("gear", &device.gear);
    page.text("place", &device.place);
    device.title.iter().for_each(|title| page.text("title", title));
    device.pairing.iter().for_each(|pairing| page.text("pairing", pairing));
    page.names("feeds", &device.feeds);
    page.names("networks", &device.networks);
    device.mode.iter().for_each(|mode| page.text("mode", mode));
}

fn stream(id: &Id, stream: &Stream, usual: &StreamFormat, page: &mut Page) {
    page.header(&["stream", id.as_str()]);
    page.text("from", &stream.from);
    page.raw("to", list(&stream.to));
    page.raw("channels", stream.channels);
    page.flag("essential", stream.essential);
    if let Legs::Only(networks) = &stream.legs {
        page.raw("legs", list(networks));
    }
    if stream.mode != Mode::Multicast {
        page.text("mode", stream.mode);
    }
    format_keys(&stream.format, Some(usual), page);
    page.quantity("network-delay", stream.network_delay);
    page.flag("life-safety", stream.life_safety);
}

fn listening(listening: &Listening, page: &mut Page) {
    for (id, group) in &listening.in_phase {
        page.header(&["in-phase", id.as_str()]);
        page.raw("streams", list(&group.streams));
        page.names("to", &group.to);
    }
    for (id, journey) in &listening.journeys {
        page.header(&["journey", id.as_str()]);
        page.raw("through", list(&journey.through));
        journey.to.iter().for_each(|to| page.text("to", to));
        page.quantity("limit", journey.limit);
    }
}

fn stock(plan: &Plan, page: &mut Page) {
    let stock = &plan.stock;
    if *stock == Stock::default() {
        return;
    }
    page.header(&["stock"]);
    let lengths = |lengths: &[Length]| -> Vec<String> { lengths.iter().map(Exact::exact).collect() };
    page.names("copper", &lengths(&stock.copper));
    page.names("fibre", &lengths(&stock.fibre));
    if let Some(switches) = &stock.switches {
        let counts: Vec<String> = switches.iter().map(|(id, count)| format!("{} = {count}", key(id.as_str()))).collect();
        page.raw("switches", format!("{{ {} }}", counts.join(", ")));
    }
    let counted = [
        ("copper-count", &stock.copper_count),
        ("fibre-count", &stock.fibre_count),
        ("copper-reels", &stock.copper_reels),
        ("fibre-reels", &stock.fibre_reels),
    ];
    for (name, own) in counted.into_iter().filter(|(_, own)| !own.is_empty()) {
        let counts: Vec<String> = own.iter().map(|own| format!("{} = {}", quoted(&own.length.exact()), own.count)).collect();
        page.raw(name, format!("{{ {} }}", counts.join(", ")));
    }
    let (slack, usual) = (stock.slack, Slack::default());
    let mut parts = Vec::new();
    parts.extend((slack.along != usual.along).then(|| format!("along = {}", slack.along.exact())));
    parts.extend((slack.per_end != usual.per_end).then(|| format!("per-end = {}", quoted(&slack.per_end.exact()))));
    parts.extend((slack.service_loop != usual.service_loop).then(|| format!("service-loop = {}", quoted(&slack.service_loop.exact()))));
    if !parts.is_empty() {
        page.raw("slack", format!("{{ {} }}", parts.join(", ")));
    }
    if !stock.cases.is_empty() {
        let cases: Vec<String> = stock.cases.iter().map(|(id, own)| format!("{} = {}", key(id.as_str()), list(own))).collect();
        page.raw("cases", format!("{{ {} }}", cases.join(", ")));
    }
}

fn labour(plan: &Plan, page: &mut Page) {
    let labour = &plan.labour;
    let all = [
        ("per-metre", labour.per_metre),
        ("per-end", labour.per_end),
        ("fibre-per-end", labour.fibre_per_end),
        ("per-module", labour.per_module),
        ("copper-per-metre", labour.copper_per_metre),
        ("fibre-per-metre", labour.fibre_per_metre),
    ];
    if all.iter().all(|(_, value)| value.is_none()) {
        return;
    }
    page.header(&["labour"]);
    all.iter().for_each(|(name, value)| value.iter().for_each(|value| page.raw(name, value.exact())));
}
