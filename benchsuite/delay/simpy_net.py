"""The networks of the delay comparison in SimPy: every queue is a process. Same FILE as net.cc.

Usage: simpy_net.py FILE SECONDS SEED schedule|phases
"""

import json
import random
import sys
import time
from collections import defaultdict, deque

import simpy

LOWER = None


class Net:
    """The file, and what is seen."""

    def __init__(self, numbers):
        take = lambda: int(next(numbers))
        self.latency = [take() for _ in range(take())]
        self.links = {}
        for _ in range(take()):
            a, b, rate, propagation, lower = (take() for _ in range(5))
            self.links[a, b] = self.links[b, a] = (10**12 // rate, propagation, lower)
        self.streams = []
        for _ in range(take()):
            size, period, level, first = (take() for _ in range(4))
            following = defaultdict(list)
            for _ in range(take()):
                start, end = take(), take()
                following[start].append(end)
            self.streams.append((size, period, level, first, following, {take() for _ in range(take())}))
        self.releases = [(take(), take()) for _ in range(take())]
        self.lower = [(take(), take(), take()) for _ in range(take())]
        self.hops, self.latest = 0, defaultdict(int)


class Play:
    """Queues and packets as processes."""

    def __init__(self, net):
        self.net, self.environment = net, simpy.Environment()
        self.waiting = {edge: defaultdict(deque) for edge in net.links}
        self.wake = {edge: self.environment.event() for edge in net.links}
        for edge in net.links:
            self.environment.process(self.queue(edge))

    def put(self, edge, level, packet):
        self.waiting[edge][level].append(packet)
        if not self.wake[edge].triggered:
            self.wake[edge].succeed()

    def queue(self, edge):
        bit, propagation, lower = self.net.links[edge]
        levels = self.waiting[edge]
        while True:
            filled = [level for level, packets in levels.items() if packets]
            if not filled:
                self.wake[edge] = self.environment.event()
                yield self.wake[edge]
                continue
            stream, released = levels[max(filled)].popleft()
            size = lower if stream is LOWER else self.net.streams[stream][0]
            yield self.environment.timeout(size * 8 * bit)
            if stream is not LOWER:
                self.net.hops += 1
                self.environment.process(self.travel(edge[1], propagation, (stream, released)))

    def travel(self, node, propagation, packet):
        yield self.environment.timeout(propagation)
        stream, released = packet
        if node in self.net.streams[stream][5]:
            place = (stream, node)
            self.net.latest[place] = max(self.net.latest[place], self.environment.now - released)
        yield self.environment.timeout(self.net.latency[node])
        self.forward(node, packet)

    def forward(self, node, packet):
        _, _, level, _, following, _ = self.net.streams[packet[0]]
        for end in following.get(node, ()):
            self.put((node, end), level, packet)

    def release(self, stream, at, again):
        _, period, _, first, _, _ = self.net.streams[stream]
        yield self.environment.timeout(at)
        while True:
            self.forward(first, (stream, self.environment.now))
            if not again:
                return
            yield self.environment.timeout(period)

    def send_lower(self, edge, at):
        yield self.environment.timeout(at)
        self.put(edge, -1, (LOWER, at))


def main(file, seconds, seed, mode):
    net = Net(iter(open(file, encoding="ascii").read().split()))
    play, chance = Play(net), random.Random(int(seed))
    if mode == "schedule":
        for stream, at in net.releases:
            play.environment.process(play.release(stream, at, again=False))
        for start, end, at in net.lower:
            play.environment.process(play.send_lower((start, end), at))
    else:
        for stream, spec in enumerate(net.streams):
            play.environment.process(play.release(stream, chance.randrange(spec[1]), again=True))
    start = time.process_time()
    play.environment.run(until=int(float(seconds) * 10**12))
    took = time.process_time() - start
    latest = [[stream, node, delay] for (stream, node), delay in sorted(net.latest.items())]
    print(json.dumps({"packet_hops": net.hops, "processor_s": took, "latest_ps": latest}))


if __name__ == "__main__":
    main(*sys.argv[1:])
