"""Captures: what our reader says beside what tshark says, frame counts to jitter, and the speed of both on one large capture.

Usage: cargo xtask outside captures [FOLDER..] [--octets N]
FOLDERs hold further captures (*.pcap, *.pcapng) to compare; the project's own recordings always are. --octets 0 leaves the speed out.
Fails if a count, a name, a group, a clock, a loss or a jitter disagrees, or if tshark is missing.
"""

import argparse
import collections
import datetime
import glob
import json
import os
import shutil
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
WORK = os.path.join(ROOT, "target", "benchsuite", "captures")
CARGO = os.environ.get("CARGO", "cargo")
# tshark keeps its jitter in floating point and prints milliseconds with three decimals; ours counts whole nanoseconds.
JITTER_MS = 0.002
# Our word for a protocol, and tshark's.
PROTOCOLS = {"lldp": "lldp", "stp": "stp", "arp": "arp", "igmp": "igmp", "dhcp": "dhcp", "mdns": "mdns", "ptp": "ptp",
             "ipv4": "ip", "ipv6": "ipv6", "udp": "udp", "vlan": "vlan"}


def run(command):
    """Output, seconds of wall and processor, and most memory in MB."""
    begin = datetime.datetime.now()
    child = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    out = child.stdout.read()
    _, status, used = os.wait4(child.pid, 0)
    wall = (datetime.datetime.now() - begin).total_seconds()
    return out.decode(errors="replace"), wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, status


FIELDS = ["frame.protocols", "_ws.malformed", "ip.src", "lldp.tlv.system.name", "lldp.chassis.id.mac", "lldp.ieee.802_1.port_vlan.id",
          "igmp.maddr", "igmp.type", "ptp.v2.messagetype", "ptp.v2.an.grandmasterclockidentity", "stp.root.hw", "stp.bridge.hw",
          "mstp.cist_bridge.hw"]


def frames(file):
    """Every frame's fields, each with all its values."""
    command = ["tshark", "-n", "-r", file, "-T", "fields", "-E", "separator=/t", "-E", "occurrence=a", "-E", "aggregator=|"]
    for name in FIELDS:
        command += ["-e", name]
    rows = [line.split("\t") for line in run(command)[0].splitlines()]
    return [dict(zip(FIELDS, row + [""] * (len(FIELDS) - len(row)))) for row in rows]


def look(program, file):
    return json.loads(run([program, file])[0])


def protocols(rows):
    """Frames by outermost use of each protocol; what an ICMP error quotes does not count."""
    found = collections.Counter()
    for row in rows:
        seen = row["frame.protocols"].split(":")
        for quote in ("icmp", "icmpv6"):
            if quote in seen:
                seen = seen[: seen.index(quote)]
        for name in set(seen):
            found[name] += 1
    return found


def rtp(file, ports):
    """(sender, group, number) -> packets, lost, largest jitter."""
    command = ["tshark", "-n", "-r", file, "-q", "-z", "rtp,streams"]
    for port in ports:
        command += ["-d", f"udp.port=={port},rtp"]
    found = {}
    for line in run(command)[0].splitlines():
        words = line.replace("(", " ").replace("%)", " ").split()
        at = next((n for n, word in enumerate(words) if word.startswith("0x")), None)
        if at is None or at < 4:
            continue
        # start, end, sender, port, receiver, port, SSRC, payload.., packets, lost, share, min/mean/max delta, min/mean/max jitter
        rest = [word for word in words[at + 1:] if word.lstrip("-").replace(".", "", 1).isdigit()]
        found[(words[at - 4], words[at - 2], int(words[at], 16))] = rest
    return found


def jitter(file, port, key, rate):
    """Greatest jitter in ms by RFC 3550 section 6.4.1, from the frames' times and RTP time stamps as tshark reads them."""
    sender, group, number = key
    command = ["tshark", "-n", "-r", file, "-d", f"udp.port=={port},rtp", "-Y", f"rtp.ssrc=={number} && ip.src=={sender} && ip.dst=={group}",
               "-T", "fields", "-e", "frame.time_epoch", "-e", "rtp.timestamp"]
    now, greatest, before = 0.0, 0.0, None
    for line in run(command)[0].splitlines():
        seconds, _, fraction = line.split()[0].partition(".")
        at, stamp = int(seconds) * 10**9 + int(fraction.ljust(9, "0")[:9]), int(line.split()[1])
        if before:
            step = (stamp - before[1] + 2**31) % 2**32 - 2**31
            now += (abs((at - before[0]) - step * 1e9 / rate) - now) / 16
            greatest = max(greatest, now)
        before = (at, stamp)
    return greatest / 1e6


def compare(program, file, faults):
    ours = look(program, file)
    name = os.path.basename(os.path.dirname(file)) + "/" + os.path.basename(file)
    source = ours["sources"][0]
    if not source["capture"]:
        faults.append(f"{name}: not read as a capture")
        return 0
    checked = 0

    def same(what, mine, theirs):
        nonlocal checked
        checked += 1
        if mine != theirs:
            faults.append(f"{name}: {what}: ours {mine}, tshark {theirs}")

    rows = frames(file)
    same("frames", source["capture"]["frames"], len(rows))
    theirs = protocols(rows)
    for mine, their in PROTOCOLS.items():
        same(f"frames of {mine}", source["capture"]["carried"].get(mine, 0), theirs[their])
    shortened = source["capture"]["shortened"] > 0
    has = lambda row, word: word in row["frame.protocols"].split(":")

    heard = [row for row in rows if has(row, "lldp") and not row["_ws.malformed"]]
    same("neighbours' names", sorted({n["says"]["name"] for n in ours["neighbours"] if n["says"]["name"]}),
         sorted({row["lldp.tlv.system.name"].strip() for row in heard if row["lldp.tlv.system.name"]}))
    macs = {n["says"]["chassis"]["text"] for n in ours["neighbours"] if n["says"]["chassis"] and n["says"]["chassis"]["kind"] == "mac"}
    same("neighbours' chassis", sorted(macs), sorted({row["lldp.chassis.id.mac"].lower() for row in heard if row["lldp.chassis.id.mac"]}))
    vlans = {n["says"]["untagged_vlan"] for n in ours["neighbours"]} - {None}
    told = {int(one, 0) for row in heard for one in row["lldp.ieee.802_1.port_vlan.id"].split("|") if one}
    same("neighbours' untagged VLANs", sorted(vlans), sorted(told - {0}))

    members = [row for row in rows if has(row, "igmp") and not has(row, "icmp")]
    groups = {(row["ip.src"].split("|")[0], group) for row in members if row["igmp.type"] != "0x11" for group in row["igmp.maddr"].split("|") if group}
    same("hosts and groups", sorted((m["host"], m["group"]) for m in unique(ours["memberships"], "host", "group")), sorted(groups))
    same("queriers", sorted({q["address"] for q in ours["queriers"]}), sorted({row["ip.src"] for row in members if row["igmp.type"] == "0x11"}))

    if source["capture"]["carried"].get("ptp"):
        kinds = collections.Counter(int(row["ptp.v2.messagetype"], 16) for row in rows if row["ptp.v2.messagetype"])
        mine = collections.Counter()
        for clock in ours["clocks"]:
            mine.update(clock["messages"])
        for word, kind in {"sync": 0, "delay_request": 1, "follow_up": 8, "delay_response": 9, "announce": 11, "management": 13}.items():
            same(f"clock messages {word}", mine[word], kinds[kind])
        leaders = {row["ptp.v2.an.grandmasterclockidentity"] for row in rows} - {""}
        told = {"0x" + c["announce"]["leader"].replace("-", "").lower() for c in ours["clocks"] if c["announce"]}
        same("clocks announced last are among those announced", sorted(told - leaders), [])
    # In a message of multiple trees the regional root stands where the older kinds have the sending bridge, which follows in the part
    # of the multiple trees (IEEE 802.1Q-2005 clause 14.4, from memory). tshark names both fields; ours keeps the sender.
    trees = {(row["stp.root.hw"], row["mstp.cist_bridge.hw"] or row["stp.bridge.hw"]) for row in rows if row["stp.root.hw"]}
    told = {(b["last"]["root"][1], b["last"]["bridge"][1]) for b in ours["bridges"] if b["last"]}
    same("roots and bridges told last are among those told", sorted(told - trees) if not shortened else [], [])

    flows = [flow for flow in ours["flows"] if flow["rtp"]]
    theirs = rtp(file, sorted({flow["udp_ports"][1] for flow in flows})) if flows else {}
    mine = {}
    for flow in flows:
        for sender in flow["rtp"]:
            mine.setdefault((flow["sender"], flow["destination"], sender["ssrc"]), []).append((sender, flow["udp_ports"][1]))
    for key, senders in mine.items():
        if len(senders) > 1 or key not in theirs:
            faults.append(f"{name}: RTP sender {key} is not one sender in both") if key not in theirs else None
            continue
        (sender, port), numbers = senders[0], theirs[key]
        numbers = [number for number in numbers if number]
        packets = str(sender["packets"])
        if packets not in numbers:
            faults.append(f"{name}: RTP {key}: {packets} packets, tshark {numbers}")
            continue
        rest = numbers[numbers.index(packets):]
        if not (sender["duplicates"] or sender["restarts"] or sender["reordered"]):
            same(f"RTP {key} lost", sender["lost"], int(rest[1]))
        if sender["greatest_jitter"] is not None and not sender["restarts"] and len(rest) >= 9:
            # A dynamic payload type has no rate of its own (RFC 3551 section 3). Without an announcement tshark knows none and prints
            # 0.000; ours measures it. Then the jitter is worked out here, from the times that tshark reads and that rate.
            if float(rest[8]) == 0 and min(sender["payload_types"]) >= 96:
                checked += 1
                theirs_ms = jitter(file, port, key, sender["sample_rate"])
                if abs(theirs_ms - sender["greatest_jitter"] / 1e6) > max(JITTER_MS, theirs_ms / 200):
                    faults.append(f"{name}: RTP {key}: greatest jitter {sender['greatest_jitter'] / 1e6:.4f} ms, from tshark's times {theirs_ms:.4f}")
                continue
            checked += 1
            if abs(float(rest[8]) - sender["greatest_jitter"] / 1e6) > max(JITTER_MS, float(rest[8]) / 200):
                faults.append(f"{name}: RTP {key}: greatest jitter {sender['greatest_jitter'] / 1e6:.4f} ms, tshark {rest[8]}")
    return checked


def unique(rows, *keys):
    return list({tuple(row[key] for key in keys): row for row in rows}.values())


def speed(octets):
    file = os.path.join(WORK, "large.pcap")
    examples = os.path.join(ROOT, "target", "release", "examples")
    if run([os.path.join(examples, "generate"), file, str(octets)])[4] != 0:
        sys.exit("the large capture could not be written")
    try:
        out, wall, busy, memory, _ = run([os.path.join(examples, "look"), file])
        frames = json.loads(out)["sources"][0]["capture"]["frames"]
        theirs = run(["tshark", "-n", "-r", file, "-q", "-d", "udp.port==5004,rtp", "-z", "rtp,streams"])
        print(f"\n{os.path.getsize(file):,} octets, {frames:,} frames, both in one run:")
        print("| program | wall s | processor s | frames/s of processor time | most memory MB |\n|---|---|---|---|---|")
        for who, (passed, spent, most) in {"ours, everything": (wall, busy, memory), "tshark, RTP statistics": theirs[1:4]}.items():
            print(f"| {who} | {passed:.2f} | {spent:.2f} | {frames / spent:,.0f} | {most:.0f} |")
        print(f"ratio of processor time: {theirs[2] / busy:.1f}")
    finally:
        os.remove(file)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("folders", nargs="*")
    parser.add_argument("--octets", type=int, default=1_000_000_000)
    options = parser.parse_args()
    if not shutil.which("tshark"):
        sys.exit("missing: tshark\ninstall: apt-get install tshark")
    os.makedirs(WORK, exist_ok=True)
    subprocess.run([CARGO, "build", "--release", "-q", "-p", "loomwright-evidence", "--examples"], cwd=ROOT, check=True)
    version = run(["tshark", "--version"])[0].split("\n")[0]
    load = os.getloadavg()[0]
    print(f"captures, {datetime.date.today()}, {os.cpu_count()} cores, load {load:.1f}, {version}")
    program = os.path.join(ROOT, "target", "release", "examples", "look")
    folders = [os.path.join(ROOT, "crates", "evidence", "tests", "fixtures")] + options.folders
    files = sorted({f for folder in folders for end in ("pcap", "pcapng") for f in glob.glob(os.path.join(folder, "**", "*." + end), recursive=True)})
    faults = []
    checked = sum(compare(program, file, faults) for file in files)
    print(f"{len(files)} captures, {checked} comparisons, {len(faults)} disagree")
    for fault in faults:
        print("  " + fault)
    if options.octets:
        speed(options.octets)
    sys.exit(1 if faults else 0)


main()
