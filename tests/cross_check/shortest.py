"""Holds lengths and ends of drives to the shortest paths that exist, by OMPL: the Reeds-Shepp distance (J. A. Reeds and
L. A. Shepp, "Optimal paths for a car that goes both forwards and backwards", Pacific Journal of Mathematics 145, 1990),
and for drives only forward, or only in reverse, the Dubins distance.

- Every witness in out/*/results.json, and every leg of one, driven again by scipy (chains.py): with the sharpest
  curvature it uses, the shortest path between its ends is no longer than it is.
- tests/cross_check/shortest.csv: drives of arcs and straights that OMPL calls shortest, of every family of words, and
  the motions of the coarse search's grids, each with its end. tests/laws/shortest.rs drives them with the program's motion;
  here they are computed again and must equal the file.

Those witnesses by a vehicle that turns in circles twice as wide must be refused, and shortest drives a
thousandth shorter too.

    python tests/cross_check/shortest.py [FOLDER...]      (every folder in out/ if none is named)
    python tests/cross_check/shortest.py --write          (rewrites shortest.csv)

Needs numpy, ompl and what chains.py needs. Exit status 1 if anything disagrees.
"""

import json
import math
import random
import sys
from pathlib import Path

import numpy as np
from chains import Drive, chain_of
from ompl import base

FILE = Path(__file__).with_name("shortest.csv")
LENGTH_M = 1e-5  # ends are known to micrometers, and a curvature file to 1e-12/m
WORD = 1e-9  # drives of radius 1 are computed in doubles on both sides
GRID_STEPS = (0.14, 0.15, 0.16, 0.18)  # radii: the motions of the grids of src/search/lattice.rs
PER_FAMILY = 6
QUARTER = math.pi / 2


def distance(space, start, end):
    states = []
    for x, y, heading in (start, end):
        state = space.allocState()
        state.setXY(x, y)
        state.setYaw(math.remainder(heading, 2.0 * math.pi))
        states.append(state)
    return space.distance(*states)


def shortest(radius_m, start, end):
    return distance(base.ReedsSheppStateSpace(radius_m), start, end)


def shortest_one_way(radius_m, start, end, sign):
    """Shortest length without a stop: backing is driving the mirrored car forward, so the ends change places."""
    ends = (start, end) if sign > 0.0 else (end, start)
    return distance(base.DubinsStateSpace(radius_m), *ends)


# Drives of the examples.


def legs_of(witness):
    """Sign and length of each leg."""
    for leg in witness["legs"]:
        yield (1.0 if leg["direction"] == "forward" else -1.0), sum(s["length_m"] for s in leg["segments"])


def sharpest(legs):
    return max(abs(s[key]) for leg in legs for s in leg["segments"] for key in ("curvature_start", "curvature_end"))


def ratios(witness, drive, wider=1.0):
    """Length over the shortest between the same ends: the whole by Reeds and Shepp, each leg by Dubins too."""
    station, whole, legs = 0.0, 0.0, []
    for leg, (sign, length) in zip(witness["legs"], legs_of(witness)):
        curvature = sharpest([leg])
        ends = drive.at([station, station + length])[:, :3]
        station += length
        whole += length
        if length < 0.01 or curvature < 1e-6:
            continue
        radius = wider / curvature
        for least in (shortest(radius, *ends), shortest_one_way(radius, *ends, sign)):
            legs.append((length + LENGTH_M) / least)
    radius = wider / sharpest(witness["legs"])
    start, end = drive.at([0.0])[0, :3], drive.last[:3]
    return (whole + LENGTH_M) / shortest(radius, start, end), legs


def check_drives(folders):
    bad, drives, count = [], {}, 0
    for folder in folders:
        results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        for case in (case for case in results["cases"] if "witness" in case):
            name = f"{folder.name}/{case['drawing'].removesuffix('.svg')}"
            witness = case["witness"]
            drive = Drive(witness, chain_of(results, case))
            whole, legs = ratios(witness, drive)
            wider, wider_legs = ratios(witness, drive, 2.0)
            count += 1 + len(legs)
            if whole < 1.0 or min(legs, default=1.0) < 1.0:
                bad.append(f"{name}: {whole} of the shortest, its legs {legs}")
            known = drives.setdefault(case["maneuver"], [[], [], 0, 0])
            known[0].append(whole)
            known[1] += legs
            known[2] += wider < 1.0 or min(wider_legs, default=1.0) < 1.0
            known[3] += 1
    for maneuver, (whole, legs, refused, all_of_it) in sorted(drives.items()):
        print(
            f"{all_of_it} drives, {maneuver}: length over the shortest at least {min(whole):.4f}, of a leg {min(legs):.4f}; "
            f"{refused} refused of a vehicle that turns twice as wide"
        )
        if not refused:
            bad.append(f"{maneuver}: turning twice as wide went unnoticed")
    if len(drives) < 2:
        bad.append(f"only {sorted(drives)} were compared")
    return bad, count


# Shortest drives of arcs and straights, radius 1: words are lists of (direction, turn, length).


def end_of(word):
    x = y = heading = 0.0
    for direction, turn, length in word:
        s = direction * length
        if turn:
            turned = heading + turn * s
            x += (math.sin(turned) - math.sin(heading)) / turn
            y -= (math.cos(turned) - math.cos(heading)) / turn
            heading = turned
        else:
            x += s * math.cos(heading)
            y += s * math.sin(heading)
    return x, y, heading


def families(dice):
    """Words of the families of Reeds and Shepp, of random lengths: (name, word). Not each is shortest between its ends."""
    a, b, c = (dice.uniform(0.05, QUARTER) for _ in range(3))
    s, d, t = dice.uniform(0.1, 6.0), dice.choice([1, -1]), dice.choice([1, -1])
    u = dice.choice([t, -t])
    yield "CSC", [(d, t, a), (d, 0, s), (d, u, b)]
    yield "C|C|C", [(d, t, a), (-d, -t, b), (d, t, c)]
    yield "CC|C", [(d, t, a), (d, -t, b), (-d, t, c)]
    yield "C|CC", [(d, t, a), (-d, -t, b), (-d, t, c)]
    yield "CC|CC", [(d, t, a), (d, -t, b), (-d, t, b), (-d, -t, c)]
    yield "C|CC|C", [(d, t, a), (-d, -t, b), (-d, t, b), (d, -t, c)]
    yield "C|CSC", [(d, t, a), (-d, -t, QUARTER), (-d, 0, s), (-d, u, b)]
    yield "CSC|C", [(d, u, a), (d, 0, s), (d, t, QUARTER), (-d, -t, b)]
    yield "C|CSC|C", [(d, t, a), (-d, -t, QUARTER), (-d, 0, s), (-d, -u, QUARTER), (d, u, b)]


def rows():
    """(name, word, distance by OMPL): the motions of the grids, then shortest words of each family, always the same."""
    list_of = []
    for direction in (1, -1):
        for turn in (-1, 0, 1):
            for step in GRID_STEPS:
                list_of += [("grid", [(direction, turn, step)] * count) for count in (1, 5)]
    dice, found = random.Random(1990), {}
    for _ in range(4000):
        for name, word in families(dice):
            length = sum(part[2] for part in word)
            enough = len(found.setdefault(name, [])) >= PER_FAMILY
            if not enough and abs(shortest(1.0, (0, 0, 0), end_of(word)) - length) < WORD:
                found[name].append(word)
    for name, words in found.items():
        list_of += [(name, word) for word in words]
    return [(name, word, shortest(1.0, (0, 0, 0), end_of(word))) for name, word in list_of]


def text_of(rows):
    lines = [
        "# Written by tests/cross_check/shortest.py --write: drives of radius 1 that OMPL calls shortest, from the origin.",
        "family,shortest,x,y,heading,parts (direction turn length)...",
    ]
    for name, word, least in rows:
        parts = [f"{direction:+d} {turn:+d} {length!r}" for direction, turn, length in word]
        lines.append(",".join([name, *(repr(number) for number in (least, *end_of(word))), *parts]))
    return "\n".join(lines) + "\n"


def read(text):
    for line in text.splitlines()[2:]:
        name, least, x, y, heading, *parts = line.split(",")
        word = [(int(d), int(t), float(length)) for d, t, length in (part.split() for part in parts)]
        yield name, word, float(least), (float(x), float(y), float(heading))


def check_words():
    bad, families_seen, worst, refused = [], {}, 0.0, 0
    for name, word, least, end in read(FILE.read_text(encoding="utf-8")):
        length = sum(part[2] for part in word)
        again = shortest(1.0, (0, 0, 0), end_of(word))
        gap = max(abs(again - least), abs(again - length), *(abs(a - b) for a, b in zip(end, end_of(word))))
        worst = max(worst, gap)
        if gap > WORD:
            bad.append(f"{name} {word}: {length} long, {again} by OMPL, {least} and {end} in the file")
        # Driven a thousandth shorter it does not get there.
        refused += length * 0.999 < again - WORD
        families_seen[name] = families_seen.get(name, 0) + 1
    counts = ", ".join(f"{count} {name}" for name, count in families_seen.items())
    print(f"shortest.csv: {counts}; worst {worst:.1e} of {WORD:.0e} radii, {refused} refused a thousandth shorter")
    if len(families_seen) < 8 or refused < sum(families_seen.values()):
        bad.append(f"{counts} are too few, or shorter ones went unnoticed")
    return bad


def main(folders):
    bad, count = check_drives(folders)
    bad += check_words()
    for fault in bad:
        print(fault)
    print(f"{count} lengths of drives and their legs compared with the shortest, {len(bad)} bad")
    return 1 if bad else 0


if __name__ == "__main__":
    if sys.argv[1:] == ["--write"]:
        FILE.write_text(text_of(rows()), encoding="utf-8")
        sys.exit(0)
    named = [Path(name) for name in sys.argv[1:]]
    top = Path(__file__).resolve().parents[2] / "out"
    sys.exit(main(named or sorted(p for p in top.iterdir() if p.is_dir() and p.suffix != ".actual")))
