//! One small show, looked at closely.

use crate::plans::{id, playhouse};
use loomwright_design::design;
use loomwright_model::{PortRef, Severity, Wiring};

fn cable(wiring: &Wiring, name: &str) -> String {
    let cable = wiring.cables.get(&id(name)).expect("the cable is there");
    let routes: Vec<&str> = cable.routes.iter().map(|route| route.as_str()).collect();
    format!("{} {} {} {} [{}]", cable.ends[0], cable.ends[1], cable.medium, cable.length, routes.join(" "))
}

#[test]
fn is_wired_end_to_end() {
    let done = design(&playhouse(), &Wiring::default());
    let wiring = &done.wiring;
    assert!(done.findings.iter().all(|finding| finding.severity == Severity::Note), "{:#?}", done.findings);
    assert_eq!(wiring.cables.len(), 18);
    // Two small switches in each place are cheaper than one big one on stage and long cables to the desk. Same port number on
    // both networks.
    assert_eq!(cable(wiring, "A-009"), "foh-desk/1 sw-a-foh/1 copper 4 m []");
    assert_eq!(cable(wiring, "B-005"), "foh-desk/2 sw-b-foh/1 copper 4 m []");
    // The trunks of the two networks lie apart. All copper ports of A on stage are taken: its trunk is fibre.
    assert_eq!(cable(wiring, "A-011"), "sw-a-foh/10 sw-a-stage/10 fibre 45 m [trench]");
    assert_eq!(cable(wiring, "B-006"), "sw-b-foh/8 sw-b-stage/8 copper 75 m [grid]");
    // Control after audio, on the A switch.
    assert_eq!(cable(wiring, "C-001"), "foh-desk/control sw-a-foh/3 copper 4 m []");
    let feeds: Vec<_> = wiring.switches.values().map(|switch| switch.feeds[0].as_str()).collect();
    assert_eq!(feeds, ["mains-stage", "mains-foh", "ups-1", "mains-foh"]);
}

fn host(wiring: &Wiring, port: &str) -> (String, u32) {
    let key: PortRef = port.parse().expect("a port");
    let address = wiring.interfaces[&key].address;
    (address.subnet.to_string(), u32::from(address.address) - u32::from(address.subnet.base()))
}

#[test]
fn numbers_are_the_same_on_every_network() {
    let wiring = design(&playhouse(), &Wiring::default()).wiring;
    let hosts = ["foh-desk/1", "foh-desk/2", "foh-desk/control"].map(|port| host(&wiring, port));
    assert!(hosts.iter().all(|(_, host)| *host == hosts[0].1), "{hosts:?}");
    // A control function that shares an audio port shares its subnet too, a hundred numbers on.
    let [audio, control] = ["box-2/1", "box-2/control"].map(|port| host(&wiring, port));
    assert_eq!((control.0, control.1), (audio.0, audio.1 + 100));
}
