#!/usr/bin/env python3
"""Every single failure of a network: who falls silent, and how long that takes to find out.

Ours against networkx, igraph, rustworkx and scipy, one failure after the other, on the same networks in the same run.
Whoever uses those libraries for this takes an element out, asks for the connected components and compares. Results are
compared failure by failure; cut vertices and bridges with those of networkx.

A network of 10,000 devices is too much for that: there the libraries get SAMPLE evenly spaced failures, and their time is
scaled up; the table says so. Ours always does all.

All failures at any size are compared a second way, without taking anything out: igraph's biconnected components make a
tree of blocks, and whatever lies on the way of a pair through it silences it. Only failures of several elements of one
block with a cycle need a search and are left out there; the table says how many were compared so.
"""
import argparse
import importlib.metadata
import json
import math
import os
import platform
import subprocess
import sys
import time

LIBRARIES = ["networkx", "igraph", "rustworkx", "scipy"]
KINDS = ["star2", "ring", "chain"]


def ours(kind, devices):
    cargo = os.environ.get("CARGO", "cargo")
    command = [cargo, "run", "-q", "--release", "-p", "loomwright-survival", "--example", "beside_libraries", "--", kind, str(devices)]
    return json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


class Judge:
    """Counts the silent pairs of one failure from the component of each node; -1 is gone."""

    def __init__(self, network):
        import numpy

        self.numpy = numpy
        seats = network["seats"]
        most = max(len(own) for own in seats)
        filled = numpy.array([own + [own[0]] * (most - len(own)) for own in seats])
        pairs = numpy.array(network["pairs"])
        self.senders, self.receivers = filled[pairs[:, 0]], filled[pairs[:, 1]]
        self.ends = pairs
        self.heard_before = None

    def heard(self, component):
        numpy = self.numpy
        component = numpy.asarray(component)
        heard = numpy.zeros(len(self.ends), bool)
        # Seat n of a device is on the same network as seat n of every other.
        for seat in range(self.senders.shape[1]):
            one, two = component[self.senders[:, seat]], component[self.receivers[:, seat]]
            heard |= (one == two) & (one >= 0)
        return heard

    def silent(self, component, own):
        silent = self.heard_before & ~self.heard(component)
        if own is not None:
            silent &= (self.ends[:, 0] != own) & (self.ends[:, 1] != own)
        return int(silent.sum())


def labels(components, nodes, gone):
    found = [-1] * nodes
    for number, component in enumerate(components):
        for node in component:
            found[node] = number
    for node in gone:
        found[node] = -1
    return found


def with_networkx(network):
    import networkx

    graph = networkx.Graph()
    graph.add_nodes_from(range(network["nodes"]))
    graph.add_edges_from(network["links"])

    def components(gone_nodes, gone_links):
        away = [tuple(network["links"][at]) for at in gone_links]
        away += [(node, other) for node in gone_nodes for other in graph[node]]
        graph.remove_edges_from(away)
        found = labels(networkx.connected_components(graph), network["nodes"], gone_nodes)
        graph.add_edges_from(away)
        return found

    return components


def with_igraph(network):
    import igraph

    whole = igraph.Graph(n=network["nodes"], edges=network["links"])

    def components(gone_nodes, gone_links):
        graph = whole.copy()
        graph.delete_edges(list(gone_links) + [edge for node in gone_nodes for edge in whole.incident(node)])
        found = list(graph.connected_components().membership)
        for node in gone_nodes:
            found[node] = -1
        return found

    return components


def with_rustworkx(network):
    import rustworkx

    graph = rustworkx.PyGraph()
    graph.add_nodes_from(list(range(network["nodes"])))
    graph.add_edges_from_no_data([tuple(link) for link in network["links"]])

    def components(gone_nodes, gone_links):
        away = [tuple(network["links"][at]) for at in gone_links]
        away += [(node, other) for node in gone_nodes for other in list(graph.neighbors(node))]
        for one, two in away:
            graph.remove_edge(one, two)
        found = labels(rustworkx.connected_components(graph), network["nodes"], gone_nodes)
        graph.add_edges_from_no_data(away)
        return found

    return components


def with_scipy(network):
    import numpy
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    links = numpy.array(network["links"])
    size = network["nodes"]
    touching = {}
    for at, link in enumerate(network["links"]):
        for node in link:
            touching.setdefault(node, []).append(at)

    def components(gone_nodes, gone_links):
        kept = numpy.ones(len(links), bool)
        kept[list(gone_links) + [at for node in gone_nodes for at in touching.get(node, [])]] = False
        one, two = links[kept, 0], links[kept, 1]
        matrix = coo_matrix((numpy.ones(len(one), numpy.int8), (one, two)), shape=(size, size))
        _, found = connected_components(matrix, directed=False)
        found = found.astype(int)
        found[list(gone_nodes)] = -1
        return found

    return components


METHODS = {"networkx": with_networkx, "igraph": with_igraph, "rustworkx": with_rustworkx, "scipy": with_scipy}


def measure(network, library, sample):
    """Processor seconds for all failures, whether they are scaled up, and how many failures disagree."""
    components = METHODS[library](network)
    judge = Judge(network)
    judge.heard_before = judge.heard(components((), ()))
    failures = network["failures"]
    step = max(1, len(failures) // sample) if sample else 1
    tried = failures[::step]
    start = time.process_time()
    wrong = sum(judge.silent(components(nodes, links), own) != silent for nodes, links, own, silent in tried)
    seconds = time.process_time() - start
    return seconds * len(failures) / len(tried), len(tried), wrong


def cuts_differ(network):
    import networkx

    graph = networkx.Graph()
    graph.add_nodes_from(range(network["nodes"]))
    graph.add_edges_from(network["links"])
    points = sorted(networkx.articulation_points(graph))
    bridges = {tuple(sorted(edge)) for edge in networkx.bridges(graph)}
    own = {tuple(sorted(network["links"][at])) for at in network["bridges"]}
    return (points != network["cut_nodes"]) + (bridges != own), len(points), len(bridges)


def block_tree(network):
    """Parent and depth in a forest of elements (nodes, then links) and, after them, blocks; and the blocks."""
    import igraph

    nodes, links = network["nodes"], network["links"]
    size = nodes + len(links)
    halves = [(end, nodes + at) for at, link in enumerate(links) for end in link]
    blocks = [list(block) for block in igraph.Graph(n=size, edges=halves).biconnected_components()]
    next_to = [[] for _ in range(size + len(blocks))]
    for at, block in enumerate(blocks):
        for element in block:
            next_to[element].append(size + at)
            next_to[size + at].append(element)
    parent, depth, root = [-1] * len(next_to), [0] * len(next_to), [-1] * len(next_to)
    for start in range(len(next_to)):
        if root[start] >= 0:
            continue
        root[start] = start
        open_ends = [start]
        for at in open_ends:
            for other in next_to[at]:
                if root[other] < 0:
                    root[other], parent[other], depth[other] = start, at, depth[at] + 1
                    open_ends.append(other)
    return parent, depth, root, blocks, size


def all_at_once(network):
    """How many failures were compared without taking anything out, and how many of them disagree."""
    parent, depth, root, blocks, size = block_tree(network)
    of_block = {}
    for at, block in enumerate(blocks):
        if len(block) > 2:
            for element in block:
                of_block.setdefault(element, []).append(at)
    failures = [list(nodes) + [network["nodes"] + link for link in links] for nodes, links, _, _ in network["failures"]]
    at_element, plain = {}, []
    for failure, elements in enumerate(failures):
        shared = [block for element in elements for block in of_block.get(element, [])]
        plain.append(len(shared) == len(set(shared)))
        for element in elements:
            at_element.setdefault(element, []).append(failure)
    lost = [0] * len(failures)
    own = [device for _, _, device, _ in network["failures"]]
    for sender, receiver in network["pairs"]:
        cut, standing = {}, 0
        for one, two in zip(network["seats"][sender], network["seats"][receiver]):
            if root[one] != root[two]:
                continue
            standing += 1
            way = [one, two]
            while one != two:
                if depth[one] < depth[two]:
                    one, two = two, one
                one = parent[one]
                way.append(one)
            for failure in {failure for element in set(way) if element < size for failure in at_element.get(element, [])}:
                cut[failure] = cut.get(failure, 0) + 1
        for failure, legs in cut.items():
            if legs == standing and own[failure] not in (sender, receiver):
                lost[failure] += 1
    compared = [failure for failure in range(len(failures)) if plain[failure]]
    return len(compared), sum(lost[failure] != network["failures"][failure][3] for failure in compared)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", default="100,1000,10000")
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--sample", type=int, default=300, help="failures that the libraries get of 10,000 devices")
    asked = parser.parse_args()
    missing = []
    for library in LIBRARIES + ["numpy"]:
        try:
            importlib.metadata.version(library)
        except importlib.metadata.PackageNotFoundError:
            missing.append(library)
    if missing:
        sys.exit("missing: " + ", ".join(missing) + "; name a Python that has them in LOOMWRIGHT_PYTHON")
    versions = ", ".join(f"{library} {importlib.metadata.version(library)}" for library in LIBRARIES + ["numpy"])
    rustc = subprocess.run(["rustc", "--version"], capture_output=True, text=True).stdout.strip()
    print(f"{time.strftime('%Y-%m-%d')}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {platform.python_version()}, {rustc}")
    print(versions)
    print("Seconds for all single failures with who falls silent; processor time, ours the best of five.")
    head = ["network", "devices", "pairs", "failures", "ours"] + LIBRARIES + ["compared", "at once", "cut nodes", "bridges", "differ"]
    print("  ".join(f"{word:>10}" for word in head))
    wrong = 0
    for kind in asked.kinds.split(","):
        times, entries = [], []
        for devices in map(int, asked.sizes.split(",")):
            network = ours(kind, devices)
            sample = asked.sample if devices > 1000 else 0
            differ, points, bridges = cuts_differ(network)
            at_once, bad = all_at_once(network)
            differ += bad
            row, compared = [], set()
            for library in LIBRARIES:
                seconds, tried, bad = measure(network, library, sample)
                row.append(f"{seconds:.3g}" + ("*" if tried < len(network["failures"]) else ""))
                compared.add(tried)
                differ += bad
            wrong += differ
            times.append(network["singles_s"])
            entries.append(network["entries"])
            cells = [kind, devices, len(network["pairs"]), network["all_failures"], f"{network['singles_s']:.4f}"] + row
            cells += [max(compared), at_once, points, bridges, differ]
            print("  ".join(f"{cell!s:>10}" for cell in cells), flush=True)
            extra = f"what-if of three losses {network['whatif_s'] * 1e3:.3f} ms"
            if network["doubles"]:
                extra += f"; {network['doubles']['count']} pairs of failures in {network['doubles']['seconds']:.3f} s"
            print(" " * 12 + extra, flush=True)
        sizes = list(map(int, asked.sizes.split(",")))
        def growth(values):
            steps = zip(values, values[1:], sizes, sizes[1:])
            return ", then ".join(f"{math.log(later / before) / math.log(large / small):.2f}" for before, later, small, large in steps)

        each = [time / count for time, count in zip(times, entries)]
        print(f"{kind}: ours grows with exponent {growth(times)}; the lists have {', '.join(map(str, entries))} entries")
        print(f"{kind}: they grow with exponent {growth(entries)}, the time for each entry with {growth(each)}")
    print("* scaled up from the failures compared")
    print("nothing differs" if wrong == 0 else f"{wrong} results differ")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
