"""Delay: our bounds and our simulator beside ns-3 and SimPy, on the same networks, in one run.

Networks: the worked cases of checks/delay and a two-level tree of 1,000 streams. Fails if any simulated packet is later than its
bound, if a schedule that reaches our bound does not reach it in ns-3 and SimPy, or if a needed program is missing.
Usage: cargo xtask outside delay
"""

import datetime
import glob
import json
import math
import os
import random
import re
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
HERE = os.path.join(ROOT, "benchsuite", "delay")
WORK = os.path.join(ROOT, "target", "benchsuite", "delay")
CARGO = os.environ.get("CARGO", "cargo")
SEEDS = 5
# A schedule that reaches the bound must do so elsewhere to this; the trace itself loses up to two picoseconds a queue.
REACHED_PS = 100_000
# ns-3 works out the time of a frame in floating point.
ROUNDING_PS = 1_000


def missing(what, how):
    sys.exit(f"missing: {what}\ninstall: {how}")


def build_ns3():
    program = os.path.join(WORK, "net")
    libraries = ["-lns3-core", "-lns3-network", "-lns3-point-to-point", "-lns3-stats"]
    command = ["g++", "-O2", "-std=c++17", os.path.join(HERE, "net.cc"), "-o", program] + libraries
    try:
        built = subprocess.run(command, capture_output=True, text=True)
    except FileNotFoundError:
        missing("g++", "apt-get install g++ libns3-dev")
    if built.returncode:
        missing(f"ns-3 with headers (g++ says: {built.stderr.strip()[:300]})", "apt-get install g++ libns3-dev")
    return program


def versions():
    import simpy

    ns3 = subprocess.run(["dpkg-query", "-W", "-f", "${Version}", "libns3-dev"], capture_output=True, text=True).stdout
    rust = subprocess.run(["rustc", "--version"], capture_output=True, text=True).stdout.strip()
    python = ".".join(map(str, sys.version_info[:3]))
    return f"ns-3 {ns3 or 'unknown'}, SimPy {simpy.__version__}, Python {python}, {rust}"


def tree(streams):
    """25 streams from every device, 24 devices on every edge switch at 1 Gb/s, trunks of 10 Gb/s to one core."""
    chance = random.Random(streams)
    devices = max(2, streams // 25)
    edges = -(-devices // 24)
    switches = ["C"] + [f"E{edge}" for edge in range(edges)]
    links = [[f"E{edge}", "C", 10**10, 0, 1542] for edge in range(edges)]
    links += [[f"h{device}", f"E{device // 24}", 10**9, 0, 1542] for device in range(devices)]
    heard, made = [0] * devices, []
    for stream in range(streams):
        start = end = stream % devices
        while end == start or heard[end] > 50:
            end = chance.randrange(devices)
        heard[end] += 1
        core = [] if start // 24 == end // 24 else ["C", f"E{end // 24}"]
        path = [f"h{start}", f"E{start // 24}"] + core + [f"h{end}"]
        size = chance.choice((370, 370, 370, 658, 1234))
        made.append({"id": f"f{stream}", "class": 1, "wire_bytes": size, "period_ns": 10**6, "paths": {path[-1]: path}})
    nodes = [[switch, 1000] for switch in switches] + [[f"h{device}", 0] for device in range(devices)]
    return {"id": f"tree_{streams}", "nodes": nodes, "links": links, "streams": made}


def write_net(case, ours, file):
    """The case and our schedule as numbers in picoseconds; see net.cc."""
    index = {name: at for at, (name, _) in enumerate(case["nodes"])}
    lines = [str(len(index))] + [str(latency * 1000) for _, latency in case["nodes"]]
    lines.append(str(len(case["links"])))
    lines += [f"{index[a]} {index[b]} {rate} {propagation * 1000} {lower}" for a, b, rate, propagation, lower in case["links"]]
    lines.append(str(len(case["streams"])))
    for stream in case["streams"]:
        paths = list(stream["paths"].values())
        edges = sorted({(index[a], index[b]) for path in paths for a, b in zip(path, path[1:])})
        flat = " ".join(f"{a} {b}" for a, b in edges)
        heard = " ".join(str(index[name]) for name in stream["paths"])
        start = f"{stream['wire_bytes']} {stream['period_ns'] * 1000} {stream['class']} {index[paths[0][0]]}"
        lines.append(f"{start} {len(edges)} {flat} {len(paths)} {heard}")
    lines.append(str(len(ours["releases"])))
    lines += [f"{stream} {at}" for stream, at in ours["releases"]]
    lines.append(str(len(ours["blockers"])))
    for port, at in ours["blockers"]:
        a, b = case["links"][port // 2][:2]
        a, b = (b, a) if port % 2 else (a, b)
        lines.append(f"{index[a]} {index[b]} {at}")
    with open(file, "w", encoding="ascii") as to:
        to.write("\n".join(lines) + "\n")


def play(command, case, *arguments):
    done = subprocess.run(command + [str(argument) for argument in arguments], capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{command} failed: {done.stderr}")
    result = json.loads(done.stdout)
    names = [name for name, _ in case["nodes"]]
    result["latest"] = {f"{case['streams'][s]['id']}->{names[n]}": delay for s, n, delay in result["latest_ps"]}
    return result


def compare(case, ours, ns3, simpy):
    """One row of the table, and what disagrees."""
    file = os.path.join(WORK, case["id"] + ".net")
    write_net(case, ours, file)
    once = (max(at for _, at in ours["releases"]) + 10**11) / 10**12
    per_second = sum(1e9 / s["period_ns"] * len({e for p in s["paths"].values() for e in zip(p, p[1:])}) for s in case["streams"])
    ordinary = [play(ns3, case, file, 200_000 / per_second, seed, "phases") for seed in range(1, SEEDS + 1)]
    loaded = [play(ns3, case, file, 40_000 / per_second, seed, "loaded") for seed in range(1, SEEDS + 1)]
    aligned = play(ns3, case, file, once, 1, "schedule")
    simpy_aligned = play(simpy, case, file, once, 1, "schedule")
    simpy_speed = play(simpy, case, file, 30_000 / per_second, 1, "phases")
    bounds, target = ours["bounds_ps"], ours["target"]
    faults, closest = [], 0.0
    for run in ordinary + loaded + [aligned, simpy_aligned, simpy_speed]:
        for name, delay in run["latest"].items():
            closest = max(closest, delay / bounds[name])
            if delay > bounds[name] + ROUNDING_PS:
                faults.append(f"{case['id']} {name}: {delay} ps is later than the bound, {bounds[name]} ps")
    for name, run in (("ns-3", aligned), ("SimPy", simpy_aligned)):
        if abs(run["latest"][target] - ours["reached_ps"]) > REACHED_PS:
            faults.append(f"{case['id']} {target}: {run['latest'][target]} ps in {name}, {ours['reached_ps']} ps in ours")
    speed = lambda runs: sum(run["packet_hops"] for run in runs) / max(sum(run["processor_s"] for run in runs), 1e-9)
    row = {
        "network": case["id"], "streams": len(case["streams"]), "bound": bounds[target] / 1e6, "ours": ours["reached_ps"] / 1e6,
        "ns3": aligned["latest"][target] / 1e6, "simpy": simpy_aligned["latest"][target] / 1e6, "closest": closest,
        "ns3_speed": speed(ordinary), "simpy_speed": speed([simpy_speed]), "our_speed": ours["hops_per_s"],
    }
    return row, faults


def bound_times():
    """Streams and milliseconds of the whole calculation, best of several runs, as its own benchmark prints them."""
    command = [CARGO, "bench", "--quiet", "--package", "loomwright-delay", "--bench", "worst_delay"]
    text = subprocess.run(command, cwd=ROOT, capture_output=True, text=True).stdout
    found = re.findall(r"^([\d,]+) streams.*?([\d.]+) ms", text, re.M)
    return [(int(streams.replace(",", "")), float(time)) for streams, time in found]


def print_rows(rows):
    print(f"{'network':<18}{'streams':>8}{'bound us':>11}{'ours us':>11}{'ns-3 us':>11}{'SimPy us':>11}{'closest':>9}", end="")
    print(f"{'ns-3/s':>10}{'SimPy/s':>9}{'ours/s':>12}{'x ns-3':>8}{'x SimPy':>9}")
    for row in rows:
        print(f"{row['network']:<18}{row['streams']:>8}{row['bound']:>11.3f}{row['ours']:>11.3f}{row['ns3']:>11.3f}", end="")
        print(f"{row['simpy']:>11.3f}{row['closest']:>9.4f}{row['ns3_speed']:>10.0f}{row['simpy_speed']:>9.0f}", end="")
        print(f"{row['our_speed']:>12.0f}{row['our_speed'] / row['ns3_speed']:>8.0f}{row['our_speed'] / row['simpy_speed']:>9.0f}")
    print(f"bound: worst-case delay of the stream with the largest; ours, ns-3, SimPy: that packet in the schedule that we build;")
    print(f"closest: largest delay/bound of any stream in any run ({SEEDS} seeds with random phases, {SEEDS} more under lower-priority load);")
    print("../s: packet-hops in a second of processor time, random phases, no lower-priority load; x: how many times ours is that.")


def main():
    try:
        import simpy  # noqa: F401
    except ImportError:
        missing("SimPy", "python3 -m venv FOLDER && FOLDER/bin/pip install simpy, then LOOMWRIGHT_PYTHON=FOLDER/bin/python")
    os.makedirs(WORK, exist_ok=True)
    ns3 = [build_ns3()]
    simpy_net = [sys.executable, os.path.join(HERE, "simpy_net.py")]
    files = sorted(glob.glob(os.path.join(ROOT, "checks", "delay", "c*.json")))
    large = os.path.join(WORK, "tree_1000.json")
    with open(large, "w", encoding="ascii") as to:
        json.dump(tree(1000), to)
    files.append(large)
    example = [CARGO, "run", "--quiet", "--release", "--package", "loomwright-replay", "--example", "side_by_side", "--"]
    done = subprocess.run(example + files, cwd=ROOT, capture_output=True, text=True)
    ours = [json.loads(line) for line in done.stdout.splitlines()]
    if done.returncode or len(ours) != len(files):
        sys.exit(f"side_by_side failed: {done.stderr}")
    print(f"delay, {datetime.date.today()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; {versions()}")
    rows, faults = [], []
    for file, result in zip(files, ours):
        with open(file, encoding="utf-8") as case:
            row, wrong = compare(json.load(case), result, ns3, simpy_net)
        rows.append(row)
        faults += wrong
    print_rows(rows)
    times = bound_times()
    for streams, time in times:
        print(f"all bounds of {streams} streams: {time:.2f} ms, best of several runs")
    if len(times) > 1 and times[0][1] > 0:
        (few, short), (many, long) = times[0], times[-1]
        print(f"growth from {few} to {many} streams: exponent {math.log(long / short) / math.log(many / few):.2f}")
    else:
        faults.append("the benchmark of the calculation printed no times")
    exact = sum(abs(row["bound"] - row["ours"]) < 1e-4 for row in rows)
    print(f"{len(rows)} networks, {exact} bounds reached by the schedule, {len(faults)} disagreements")
    print("\n".join(faults))
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
