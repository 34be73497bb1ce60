//! The address plan, and the order in which to change addresses without locking oneself out.

use super::figures::{count, item_link};
use super::part::Part;
use super::tabs::tabs;
use crate::engine::{Addressed, addresses, net_class};
use crate::store::View;
use loomwright_model::{Id, Plan, Wiring};
use maud::{Markup, html};

const PAGES: [(&str, &str); 2] = [("/addresses", "By device"), ("/addresses/run", "Run sheet for changing")];

/// The page at `path`.
pub fn parts(path: &str, view: &View) -> Vec<Part> {
    let head = tabs("Addresses", &PAGES, path);
    let Some(plan) = &view.good.plan else {
        return vec![head, Part::new("nothing", html! { p #nothing.calm { "There are no addresses until the plan file can be read." } })];
    };
    match path {
        "/addresses/run" => vec![head, run(plan, &view.good.wiring)],
        _ => vec![head, networks(plan), by_device(plan, &view.good.wiring)],
    }
}

fn networks(plan: &Plan) -> Part {
    Part::new(
        "networks",
        html! {
            section #networks { div.sheet { table {
                thead { tr { th scope="col" { "Network" } th scope="col" { "Subnet" } th scope="col" { "Mask" } th.figure scope="col" { "VLAN" } th scope="col" { "Addresses" } th scope="col" { "Given out by" } } }
                tbody { @for (id, network) in &plan.networks { tr {
                    th scope="row" { (net(plan, id)) }
                    td { @match network.subnet { Some(subnet) => { (subnet) } None => { "169.254.0.0/16" } } }
                    td { @match network.subnet { Some(subnet) => { (subnet.mask()) } None => { "255.255.0.0" } } }
                    td.figure { @match network.vlan { Some(vlan) => { (vlan) } None => { "none" } } }
                    td { (network.addresses) }
                    td { @match &network.dhcp_server { Some(server) => { (server) } None => { "nobody" } } }
                } } }
            } } }
        },
    )
}

/// A network by letter and colour, in step with the drawings.
pub fn net(plan: &Plan, id: &Id) -> Markup {
    html! { span class={ "net " (net_class(plan, id.as_str())) } { (id) } }
}

fn by_device(plan: &Plan, wiring: &Wiring) -> Part {
    let all = addresses(plan, wiring);
    let networks: Vec<&Id> = plan.networks.keys().collect();
    Part::new(
        "by-device",
        html! {
            section #by-device {
                h2 { (count(all.len(), "device and switch", "devices and switches")) }
                @if all.iter().all(|line| line.interfaces.is_empty()) { p.calm { "No addresses yet. " a href="/design" { "The design" } " gives them out." } }
                div.sheet { table {
                    thead { tr { th scope="col" { "Device" } th scope="col" { "Place" } @for network in &networks { th scope="col" { (net(plan, network)) } } } }
                    tbody { @for line in &all { (device(line, &networks)) } }
                } }
            }
        },
    )
}

fn device(line: &Addressed, networks: &[&Id]) -> Markup {
    html! {
        tr {
            th scope="row" { (item_link(&line.item)) }
            td { (line.place) }
            @for network in networks {
                td { @for interface in line.interfaces.iter().filter(|interface| interface.network.as_ref() == Some(*network)) { div { (interface.address) " " span.kind { (interface.port) } } } }
            }
        }
    }
}

fn run(plan: &Plan, wiring: &Wiring) -> Part {
    let all = addresses(plan, wiring);
    let leader = wiring.clock.leader.as_ref().map(|id| format!("device:{id}"));
    let of = |pick: &dyn Fn(&Addressed) -> bool| all.iter().filter(|line| pick(line) && !line.interfaces.is_empty()).collect::<Vec<_>>();
    let is_leader = |line: &Addressed| Some(&line.item) == leader.as_ref();
    let switches = of(&|line| line.item.starts_with("switch:"));
    let leaders = of(&|line| is_leader(line));
    let others = of(&|line| line.item.starts_with("device:") && !is_leader(line));
    Part::new(
        "run",
        html! {
            section #run.narrow {
                p.lead { "Changing addresses in the wrong order locks you out. Mute every output first: a device that restarts may send sound at full level." }
                ol.run {
                    li { div { p { strong { "Before you begin" } } p { "Give your own computer a second address in the new range. Keep the old range reachable until the last step. Note what each device has now." } } }
                    (step("Switches", "Management address only; forwarding goes on. Do the switch you are plugged into last.", &switches))
                    (step("Clock leader", "Set it, restart it, and wait until it leads again before you go on.", &leaders))
                    (step("Everybody else", "From the far end of each chain towards the switch. Audio and control addresses are two settings. Many devices take a new address only after a restart, some only after a power cycle.", &others))
                    li { div { p { strong { "Afterwards" } } p { "Check that one device leads each network, that every stream is received on every leg, and take the old range off your own computer. Unmute one output at a time." } } }
                }
                p.calm { "Order and restarts are common practice, no source; the maker's instructions go first." }
            }
        },
    )
}

fn step(title: &str, how: &str, lines: &[&Addressed]) -> Markup {
    html! {
        li { div {
            p { strong { (title) } ", " (lines.len()) }
            p { (how) }
            @if !lines.is_empty() { ul.targets { @for line in lines { li { strong { (line.item.split_once(':').map_or("", |(_, name)| name)) } " " span.kind { (line.place) } @for interface in &line.interfaces { div.target { span { (interface.port) } " " (interface.address) } } } } } }
        } }
    }
}
