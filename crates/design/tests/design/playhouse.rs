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
    assert_eq!(wiring.cables.len(), 16);
    // The two legs of the desk at the other place: same port number, different routes.
    assert_eq!(cable(wiring, "A-005"), "foh-desk/1 sw-a-stage/5 copper 45 m [trench]");
    assert_eq!(cable(wiring, "B-005"), "foh-desk/2 sw-b-stage/5 copper 75 m [grid]");
    // Control after audio, on the A switch.
    assert_eq!(cable(wiring, "C-001"), "foh-desk/control sw-a-stage/11 copper 45 m [trench]");
    let feeds: Vec<_> = wiring.switches.values().map(|switch| switch.feeds[0].as_str()).collect();
    assert_eq!(feeds, ["mains-stage", "ups-1"]);
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
