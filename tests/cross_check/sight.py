"""Sight on leaving at 200 random places, by shapely: each point of the road is visible or hidden as reported.

Reads the file that `SIGHT_TO=... cargo test --test answers sight_places::` writes: eye, heights, the line to be seen, things,
and the stretches that the program reports as hidden. The check must refuse those stretches moved by 10 cm.
"""
import json
import sys

import numpy as np
from shapely import LineString, Point, Polygon

POINTS = 60
# Distance from the end of a stretch within which either answer is right.
NEAR_M = 2e-3


def window(look, thing):
    """Shares of the sight line between which the band of heights meets the thing, by linear bounds; None if nowhere."""
    start, end = 0.0, 1.0
    (e0, e1), (o0, o1) = look["eye_m"], look["object_m"]
    for at_eye, at_object in ((e0 - thing["top"], o0 - thing["top"]), (thing["bottom"] - e1, thing["bottom"] - o1)):
        if at_eye >= 0 and at_object >= 0:
            return None
        if at_eye * at_object < 0:
            share = at_eye / (at_eye - at_object)
            start, end = (start, min(end, share)) if at_eye < 0 else (max(start, share), end)
    return (start, end) if start < end else None


def hides(look, thing, shape, target):
    shares = window(look, thing)
    if shares is None:
        return False
    eye = np.array(look["eye"])
    sight = LineString([eye + (target - eye) * share for share in shares])
    if thing["disc"]:
        return sight.distance(shape) < thing["disc"][2] - 1e-9
    return sight.intersection(shape).length > 1e-7


def place(line, s):
    xs, ys, lengths = np.array(line).T
    return np.array([np.interp(s, lengths, xs), np.interp(s, lengths, ys)])


def compare(looks, moved_m):
    """Numbers of points compared, of hidden ones, and of those where the two disagree."""
    points = dark = wrong = 0
    for look in looks:
        shapes = [Point(t["disc"][:2]) if t["disc"] else Polygon(t["ring"]) for t in look["things"]]
        hidden = [(a + moved_m, b + moved_m) for a, b in look["hidden_m"]]
        limit = min(look["required_m"], look["line"][-1][2])
        for s in (np.arange(POINTS) + 0.5) * limit / POINTS:
            if any(abs(s - end) < NEAR_M for stretch in hidden for end in stretch):
                continue
            target = place(look["line"], s)
            told = any(a <= s <= b for a, b in hidden)
            found = any(hides(look, thing, shape, target) for thing, shape in zip(look["things"], shapes))
            points, dark, wrong = points + 1, dark + found, wrong + (told != found)
    return points, dark, wrong


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        looks = json.load(file)
    points, dark, wrong = compare(looks, 0.0)
    print(f"{len(looks)} looks, {points} points, {dark} hidden, {wrong} where shapely disagrees")
    assert len({look["place"] for look in looks}) > 150 and points > 15_000 and dark > 1_000, "too few"
    assert wrong == 0
    moved = compare(looks[:60], 0.1)[2]
    print(f"moved by 10 cm: {moved} where shapely disagrees")
    assert moved > 0, "the check sees nothing"


main()
