#!/usr/bin/env python3
"""Switch placement beside HiGHS: the same venues, one run, one table. Ends with 0 only if every claim holds.

usage: cargo xtask outside placement [--library FOLDER] [--quick]
Claims: the 12 small venues equal the optimum of HiGHS; at 200 devices ours costs no more than what HiGHS has after ten times
ours CPU time; at 1,000 devices and 100 places the proved gap is at most 3 % within 60 s of one core. Every answer of ours is recounted here.
--library FOLDER also solves cap*.txt and pmed*.txt of the OR-Library there and compares with checks/placement/published.csv.
--quick leaves out what takes minutes. Needs: a release build, Python with numpy and highspy (pip install numpy highspy).
"""
import argparse
import csv
import os
import pathlib
import platform
import resource
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path.insert(0, str(HERE))
import instances  # noqa: E402

# Ports, watts, price in hundredths; then hundredths for a decimetre of cable and trunk, and for opening a place.
MODELS = [(8, 60, 18000), (16, 120, 33000), (24, 190, 52000), (48, 370, 98000)]
CABLE, TRUNK, OPENING, LONGEST, MOST_SWITCHES = 12, 25, 12000, 900, 6
FAULTS = []


def claim(holds, text):
    print(("holds: " if holds else "FAILS: ") + text)
    if not holds:
        FAULTS.append(text)


def ours(path, *effort):
    """Runs our solver; returns cost, bound, wall and CPU seconds, homes and switches."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    run = subprocess.run([ROOT / "target/release/examples/place", path, *map(str, effort)], capture_output=True, text=True, check=True)
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    found = {"wall": wall, "cpu": after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, "switches": {}}
    for line in run.stdout.splitlines():
        words = line.split()
        if words[0] == "cost":
            found["cost"], found["bound"] = int(words[1]), int(words[3])
        elif words[0] == "home":
            found["home"] = [int(word) for word in words[1:]]
        elif words[0] == "place":
            found["switches"][int(words[1])] = [int(word) for word in words[2:]]
    return found


def recount(made, found):
    """Cost of an answer from the instance alone; says what limit it breaks."""
    cost, ports, watts = 0, {}, {}
    for device, place in enumerate(found["home"]):
        way = round(made["cable"][device][place] * 10)
        if way > LONGEST:
            return "a cable is too long"
        cost += CABLE * way
        ports[place] = ports.get(place, 0) + 1
        watts[place] = watts.get(place, 0) + made["watts"][device]
    for place, counts in found["switches"].items():
        total = lambda at: sum(count * model[at] for count, model in zip(counts, MODELS))
        if total(0) < ports.get(place, 0) + 1 or total(1) < watts.get(place, 0) or sum(counts) > MOST_SWITCHES:
            return "a place lacks ports or power, or has too many switches"
        cost += total(2) + OPENING + TRUNK * round(made["trunk"][place] * 10)
    return cost if set(ports) == set(found["switches"]) else "a place without switches serves devices"


def highs(made, gap, limit):
    """The textbook formulation: x binary by device and place, y by place, n whole by place and model."""
    import highspy
    import numpy as np

    places = len(made["trunk"])
    cost, upper, rows = [], [], []

    def column(own, most):
        cost.append(own)
        upper.append(most)
        return len(cost) - 1

    is_open = [column(OPENING + TRUNK * round(trunk * 10), 1) for trunk in made["trunk"]]
    count = [[column(model[2], MOST_SWITCHES) for model in MODELS] for _ in range(places)]
    port, power = [[] for _ in range(places)], [[] for _ in range(places)]
    for device, row in enumerate(made["cable"]):
        own = []
        for place, metres in enumerate(row):
            way = round(metres * 10)
            if way <= LONGEST:
                x = column(CABLE * way, 1)
                own.append(x)
                port[place].append(x)
                if made["watts"][device]:
                    power[place].append((x, made["watts"][device]))
                rows.append((-1e30, 0.0, [x, is_open[place]], [1.0, -1.0]))
        rows.append((1.0, 1.0, own, [1.0] * len(own)))
    for place in range(places):
        kinds = range(len(MODELS))
        rows.append((-1e30, 0.0, port[place] + [is_open[place]] + count[place], [1.0] * (len(port[place]) + 1) + [-float(MODELS[k][0]) for k in kinds]))
        if power[place]:
            rows.append((-1e30, 0.0, [x for x, _ in power[place]] + count[place], [float(w) for _, w in power[place]] + [-float(MODELS[k][1]) for k in kinds]))
        rows.append((-1e30, 0.0, count[place] + [is_open[place]], [1.0] * len(MODELS) + [-float(MOST_SWITCHES)]))
    solver = highspy.Highs()
    for option, value in [("output_flag", False), ("mip_rel_gap", gap), ("time_limit", limit), ("threads", 1)]:
        solver.setOptionValue(option, value)
    columns = len(cost)
    solver.addVars(columns, np.zeros(columns), np.array(upper, float))
    solver.changeColsCost(columns, np.arange(columns, dtype=np.int32), np.array(cost, float))
    solver.changeColsIntegrality(columns, np.arange(columns, dtype=np.int32), np.array([highspy.HighsVarType.kInteger] * columns))
    starts, index, value, low, high = [], [], [], [], []
    for least, most, own, weights in rows:
        starts.append(len(index))
        index += own
        value += weights
        low.append(-highspy.kHighsInf if least < -1e29 else least)
        high.append(most)
    solver.addRows(len(rows), np.array(low), np.array(high), len(index), np.array(starts, np.int32), np.array(index, np.int32), np.array(value))
    start, cpu = time.perf_counter(), time.process_time()
    solver.run()
    info = solver.getInfo()
    return {"wall": time.perf_counter() - start, "cpu": time.process_time() - cpu, "cost": info.objective_function_value, "bound": info.mip_dual_bound, "version": solver.version()}


def line(name, who, found):
    gap = (found["cost"] - found["bound"]) / max(abs(found["bound"]), 1) * 100
    print(f"{name:<12} {who:<8} cost {found['cost']:>11.0f}  bound {found['bound']:>11.0f}  proved gap {gap:7.3f} %  {found['wall']:7.2f} s wall  {found['cpu']:7.2f} s CPU", flush=True)


def venue(devices, places, seed, folder):
    made = instances.venue(devices, places, seed)
    path = folder / f"{devices}-{places}-{seed}.txt"
    path.write_text(instances.text(made))
    return f"{devices}-{places}-{seed}", made, path


def small(folder):
    equal = True
    for devices, places, seeds in [(20, 6, 5), (40, 8, 5), (50, 10, 2)]:
        for seed in range(1, seeds + 1):
            name, made, path = venue(devices, places, seed, folder)
            kept = ROOT / "checks/placement/instances" / path.name
            equal &= kept.read_text() == path.read_text()
            mine, theirs = ours(path), highs(made, 0.0, 300.0)
            line(name, "ours", mine)
            line(name, "highs", theirs)
            equal &= mine["cost"] == round(theirs["cost"]) == mine["bound"] == recount(made, mine)
    claim(equal, "all 12 small venues are the ones kept, cost what HiGHS proves least, and are proved least by ours")


def middle(folder):
    for seed in (1, 2):
        name, made, path = venue(200, 30, seed, folder)
        mine = ours(path)
        line(name, "ours", mine)
        limit = max(20.0, 12 * max(mine["wall"], mine["cpu"]))
        theirs = highs(made, 0.0, limit)
        while theirs["cpu"] < 10 * mine["cpu"] and theirs["cost"] > theirs["bound"] + 1:
            # Its limit is by the wall clock: a busy machine gave it less than ten times ours.
            limit *= 2.2
            theirs = highs(made, 0.0, limit)
        line(name, "highs", theirs)
        claim(recount(made, mine) == mine["cost"], f"{name}: our answer keeps every limit and costs what it says")
        claim(mine["cost"] <= theirs["cost"] + 0.5 and theirs["bound"] <= mine["cost"] + 0.5 and theirs["cpu"] >= 10 * mine["cpu"],
              f"{name}: ours costs no more than HiGHS after {theirs['cpu'] / mine['cpu']:.1f} times the CPU time")


def big(folder):
    name, made, path = venue(1000, 100, 1, folder)
    mine = ours(path, 2, 2_000_000, 1_000, 8)
    line(name, "ours", mine)
    gap = (mine["cost"] - mine["bound"]) / mine["bound"] * 100
    claim(recount(made, mine) == mine["cost"], f"{name}: our answer keeps every limit and costs what it says")
    # CPU seconds: one thread, so an idle machine needs as much by the wall clock, and a busy one says nothing by it.
    claim(gap <= 3.0 and mine["cpu"] < 60.0, f"{name}: proved gap {gap:.2f} % in {mine['cpu']:.1f} s of one core ({mine['wall']:.1f} s by the wall clock)")


def library(folder):
    gaps = {"cap": [], "pmed": []}
    with open(ROOT / "checks/placement/published.csv", newline="") as text:
        known = {row["id"]: row for row in csv.DictReader(text)}
    for name, row in known.items():
        kind = "cap" if name.startswith("cap") else "pmed" if name.startswith("pmed") else None
        files = sorted(pathlib.Path(folder).rglob(name + ".txt")) if kind else []
        if not kind:
            continue
        if not files:
            claim(False, f"{name}.txt is in {folder}")
            continue
        start = time.perf_counter()
        run = subprocess.run([ROOT / "target/release/examples/library", files[0]], capture_output=True, text=True, check=True)
        words, optimum = run.stdout.split(), int(row["expected"])
        cost, bound = (int(words[at]) / (100 if kind == "cap" else 1) for at in (1, 3))
        gap = (cost - optimum) / optimum * 100
        gaps[kind].append(gap)
        print(f"{name:<12} cost {cost:>13.1f}  published {optimum:>11}  {gap:8.5f} % above it; proved gap {(cost - bound) / bound * 100:6.3f} %  {time.perf_counter() - start:6.2f} s")
    for kind, own in gaps.items():
        claim(own and sum(own) / len(own) <= 0.5, f"{kind}: {sum(own) / max(len(own), 1):.5f} % above the published optimum on average of {len(own)}")


def main():
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--library")
    options.add_argument("--quick", action="store_true")
    asked = options.parse_args()
    try:
        import highspy
        import numpy
    except ImportError as missing:
        sys.exit(f"{missing}: pip install numpy highspy, or name another Python in LOOMWRIGHT_PYTHON")
    build = [os.environ.get("CARGO", "cargo"), "build", "--release", "-p", "loomwright-placement", "--examples", "--quiet"]
    subprocess.run(build, cwd=ROOT, check=True)
    print(f"date {time.strftime('%Y-%m-%d')}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {platform.python_version()}, "
          f"numpy {numpy.__version__}, HiGHS {highspy.Highs().version()} with 1 thread")
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        small(folder)
        big(folder)
        if not asked.quick:
            middle(folder)
    if asked.library:
        library(asked.library)
    if FAULTS:
        sys.exit(f"{len(FAULTS)} claims fail")


if __name__ == "__main__":
    main()
