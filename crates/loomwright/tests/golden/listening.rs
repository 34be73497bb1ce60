//! `listen` on virtual cables in a network of its own, which goes away with the test; nothing leaves it.

use crate::running::{Run, program, run, with_starter};
use std::path::Path;
use std::process::Command;

/// Runs a script of `sh` in a network namespace of its own, with `$LOOMWRIGHT` as the program; `None` if this system allows none.
fn in_own_network(folder: &Path, script: &str) -> Option<Run> {
    let allowed = Command::new("unshare").args(["-rn", "ip", "-V"]).output().is_ok_and(|output| output.status.success());
    if !allowed {
        eprintln!("not tried: this system allows no network of its own");
        return None;
    }
    let mut command = Command::new("timeout");
    command.args(["120", "unshare", "-rn", "sh", "-euc", script]).current_dir(folder);
    command.env("NO_COLOR", "1").env("LOOMWRIGHT", env!("CARGO_BIN_EXE_loomwright"));
    Some(command.output().expect("timeout is part of every system").into())
}

/// A cable from `near` to `far`. `near` has the desk's planned address, `far` a stranger's.
const CABLE: &str = "
ip link add near type veth peer name far
ip link set near addrgenmode none; ip link set far addrgenmode none
ip addr add $DESK/24 dev near; ip link set near up; ip link set far up
";

/// The starter's plan, wired, and the address of its desk.
fn wired() -> (tempfile::TempDir, String) {
    let folder = with_starter();
    assert_eq!(run(folder.path(), &["design", "hall.toml"]).code, 0);
    let wiring = std::fs::read_to_string(folder.path().join("hall.wiring.toml")).expect("it was written");
    let desk = address_after(&wiring, "[interface.\"desk/1\"]");
    (folder, desk)
}

#[test]
fn an_interface_that_is_not_there_ends_with_2() {
    let (folder, _) = wired();
    let done = run(folder.path(), &["listen", "hall.toml", "--on", "nowhere", "--for", "1"]);
    assert_eq!(done.code, 2, "{}", done.out);
    assert!(done.err.contains("no such interface"), "{}", done.err);
}

/// Root of its own users has no right on the real network.
#[test]
fn without_the_right_it_says_how_to_give_it() {
    let (folder, _) = wired();
    if !Command::new("unshare").args(["-r", "true"]).status().is_ok_and(|status| status.success()) {
        return;
    }
    let own = program(folder.path(), &[]);
    let output = Command::new("unshare")
        .arg("-r")
        .arg(own.get_program())
        .args(["listen", "hall.toml", "--on", "lo", "--for", "1"])
        .current_dir(folder.path())
        .env("NO_COLOR", "1")
        .output();
    let done: Run = output.expect("unshare was there a moment ago").into();
    assert_eq!(done.code, 2, "{}", done.out);
    assert!(done.err.contains("sudo setcap cap_net_raw=ep"), "{}", done.err);
}

#[test]
fn sends_nothing_unless_asked() {
    let (folder, desk) = wired();
    let script = format!(
        "DESK={desk}\n{CABLE}
$LOOMWRIGHT listen hall.toml --on near --for 3 --keep heard.pcap >/dev/null 2>&1 &
sleep 1
$LOOMWRIGHT listen hall.toml --on far --for 1 || true
wait $! || true
stat -c 'octets %s' heard.pcap"
    );
    let Some(done) = in_own_network(folder.path(), &script) else { return };
    assert!(done.err.contains("nothing is sent"), "{}", done.err);
    assert!(done.out.contains("octets 24\n"), "the header of a capture and no frame: {}{}", done.out, done.err);
}

#[test]
fn asks_on_request_and_says_so_first() {
    let (folder, desk) = wired();
    let script = format!(
        "DESK={desk}\n{CABLE}
$LOOMWRIGHT listen hall.toml --on near --for 6 --keep heard.pcap >/dev/null 2>&1 &
sleep 1
$LOOMWRIGHT listen hall.toml --on far --network a --for 2 --join all --ask-addresses --ask-dhcp --json >far.json || true
wait $! || true
$LOOMWRIGHT compare hall.toml heard.pcap --json >compared.json || true
cat far.json"
    );
    let Some(done) = in_own_network(folder.path(), &script) else { return };
    for said in ["will send: group reports (IGMP)", "will send: ", "ARP probe", "one DHCP discover; no offer is taken"] {
        assert!(done.err.contains(said), "{said}: {}", done.err);
    }
    let heard = std::fs::read(folder.path().join("heard.pcap")).expect("it was kept");
    let seen = loomwright_evidence::read("heard.pcap", &heard);
    assert!(seen.memberships.iter().any(|row| row.reports > 0), "{:?}", seen.counts());
    assert_eq!(seen.dhcp.len(), 1, "{:?}", seen.dhcp);
    assert!(seen.bindings.len() > 1, "a question for each planned address: {:?}", seen.bindings);
    let told: serde_json::Value = serde_json::from_str(&done.out).expect("standard output holds JSON alone");
    let unseen = told["not_seen"].to_string();
    let not_there = |device: &str| unseen.contains(&format!("{{\"item\":\"device:{device}\",\"says\":\"no table"));
    assert!(not_there("amplifier") && !not_there("desk"), "the desk alone answered: {unseen}");
}

/// The pages beside listening: what is heard stands in them while it comes in. Asked by the shell itself.
#[test]
fn the_pages_show_what_is_heard() {
    let (folder, desk) = wired();
    if !Command::new("bash").arg("--version").output().is_ok_and(|output| output.status.success()) {
        eprintln!("not tried: no bash");
        return;
    }
    let script = format!(
        "DESK={desk}\n{CABLE}\nip link set lo up
$LOOMWRIGHT listen hall.toml --on near --for 8 --pages=18750 >listened.txt 2>said.txt &
for n in $(seq 100); do grep -q 'Open http' said.txt && break; sleep 0.1; done
$LOOMWRIGHT listen hall.toml --on far --network a --for 2 --ask-addresses >asked.txt 2>&1 || true
sleep 2
bash -c 'exec 3<>/dev/tcp/127.0.0.1/18750; printf \"GET /linecheck/seen HTTP/1.1\\r\\nHost: 127.0.0.1:18750\\r\\nConnection: close\\r\\n\\r\\n\" >&3; cat <&3'
wait $! || true; cat said.txt >&2"
    );
    let Some(done) = in_own_network(folder.path(), &script) else { return };
    assert!(done.err.contains("Open http://127.0.0.1:18750/linecheck/seen"), "{}", done.err);
    for part in ["Heard live", "network-a near.live, network a", "Planned streams heard", ">0 of ", "Boxes heard", "not heard yet"] {
        assert!(done.out.contains(part), "{part}: {} {}", done.out, done.err);
    }
    let listened = std::fs::read_to_string(folder.path().join("listened.txt")).expect("it was written");
    assert!(listened.contains("cables were seen as planned"), "the line check follows as without pages: {listened}");
}

/// The tables of a switch that answers, in both versions. Needs Debian's `snmpd`.
#[test]
fn reads_the_tables_of_switches() {
    let folder = tempfile::tempdir().expect("a scratch folder");
    assert_eq!(run(folder.path(), &["new", "hall.toml", "--demo", "playhouse"]).code, 0);
    if !Path::new("/usr/sbin/snmpd").exists() {
        eprintln!("not tried: no snmpd");
        return;
    }
    let wiring = std::fs::read_to_string(folder.path().join("hall.wiring.toml")).expect("it was written");
    let switch = wiring.split("[switch.").nth(1).and_then(|rest| rest.split(']').next()).expect("the playhouse has switches").to_owned();
    let address = address_after(&wiring, "[switch.");
    let script = format!(
        "ip link set lo up; ip addr add {address}/32 dev lo
mkdir state
cat >snmpd.conf <<'END'
rocommunity public
createUser crew SHA-256 signed-secret AES hidden-secret
rouser crew priv
sysName another-name
END
SNMP_PERSISTENT_DIR=$PWD/state /usr/sbin/snmpd -f -Lf snmpd.log -C -c snmpd.conf -p pid udp:{address}:161 &
AGENT=$!
for n in $(seq 100); do [ -s pid ] && break; sleep 0.2; done
sleep 1
$LOOMWRIGHT listen hall.toml --on lo --for 1 --poll {switch} --json >two.json || echo \"two $?\"
export LOOMWRIGHT_SNMP_AUTH=signed-secret LOOMWRIGHT_SNMP_PRIV=hidden-secret
$LOOMWRIGHT listen hall.toml --on lo --for 1 --poll {switch} --snmp-user crew --snmp-auth sha256 --json >three.json || echo \"three $?\"
export LOOMWRIGHT_SNMP_AUTH=wrong-secret
$LOOMWRIGHT listen hall.toml --on lo --for 1 --poll {switch} --snmp-user crew --snmp-auth sha256 --json >wrong.json || echo \"wrong $?\"
kill $AGENT || true; cat snmpd.log"
    );
    let Some(done) = in_own_network(folder.path(), &script) else { return };
    let told = |name: &str| -> serde_json::Value {
        let text = std::fs::read_to_string(folder.path().join(name)).expect("it was written");
        serde_json::from_str(&text).unwrap_or_else(|error| panic!("{name}: {error}: {text} {} {}", done.out, done.err))
    };
    for name in ["two.json", "three.json"] {
        let told = told(name);
        assert_eq!(told["unread"].as_array().map(Vec::len), Some(0), "{name}: {told} {}", done.out);
        assert_eq!(told["files"], 2, "{name}");
    }
    let wrong = told("wrong.json");
    assert!(wrong["unread"].to_string().contains("refuses the user"), "{wrong}");
    assert!(done.out.contains("wrong 1"), "what could not be read is no clean line check: {}", done.out);
}

/// The first address behind a heading.
fn address_after(wiring: &str, heading: &str) -> String {
    let from = wiring.find(heading).expect("the heading is there");
    let mut words = wiring[from..].split(['"', '/']);
    words.find(|word| word.parse::<std::net::Ipv4Addr>().is_ok()).expect("an address follows").to_owned()
}
