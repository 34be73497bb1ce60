#!/usr/bin/env python3
"""Made-up venues for switch placement, from a seed: 200 m x 120 m, racks at chance spots, devices in clusters around them.

usage: instances.py DEVICES PLACES SEED > FILE
The first line is DEVICES PLACES; the second the trunk of each place in decimetres (place 0 is the core); then a line for each device:
the watts it draws and its cable to each place in decimetres, `-` beyond 90 m.
"""
import random
import sys

WIDTH, DEPTH, LONGEST = 200.0, 120.0, 90.0


def venue(devices, places, seed):
    chance = random.Random(seed)
    racks = [(WIDTH / 2, DEPTH / 2)] + [(chance.uniform(0, WIDTH), chance.uniform(0, DEPTH)) for _ in range(places - 1)]
    spots = []
    while len(spots) < devices:
        near = chance.choice(racks)
        x = min(WIDTH, max(0, near[0] + chance.gauss(0, 18)))
        y = min(DEPTH, max(0, near[1] + chance.gauss(0, 18)))
        spots.append((x, y, 13 if chance.random() < 0.4 else 0))
    cable = lambda a, b: round(abs(a[0] - b[0]) + abs(a[1] - b[1]) + 6.0, 1)
    return {
        "trunk": [cable(racks[0], rack) if number else 0.0 for number, rack in enumerate(racks)],
        "watts": [spot[2] for spot in spots],
        "cable": [[cable(spot, rack) for rack in racks] for spot in spots],
    }


def text(made):
    decimetres = lambda metres: str(round(metres * 10))
    lines = [f"{len(made['watts'])} {len(made['trunk'])}", " ".join(map(decimetres, made["trunk"]))]
    for watts, row in zip(made["watts"], made["cable"]):
        lines.append(" ".join([str(watts)] + [decimetres(metres) if metres <= LONGEST else "-" for metres in row]))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(text(venue(*map(int, sys.argv[1:4]))))
