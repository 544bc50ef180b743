"""Cross-check of the swept envelopes by independent means: GEOS, and a second integration of the motion.

For committed runs in out/ it drives each witness of results.json again and compares it, sharing no code with the
program:
- its segments are integrated by Runge-Kutta (the program uses closed forms), each towed axle by the no-slip condition
  written for its own velocity, and compared with the poses the file lists;
- the ground the bodies and the tires beside them cover is built as the union (GEOS unary_union) of hulls of poses some
  millimeters apart, and compared with <case>.envelope.json: area, and the reach of each beyond the other against the
  bounds stated.

A hull of neighbors is itself a little too large: by at most (turn between the poses) x (size of the part) / 4 plus
the largest sagitta of a corner's path. At poses 2 cm apart that is up to a centimeter on a long vehicle, more than the
bounds compared: so poses are taken so close that it stays below 4 mm, and the excess is added to the bound.

    python tests/cross_check/envelope.py [FOLDER...]      (every folder in out/ if none is named)

Needs numpy and shapely. Exit status 1 if anything disagrees, or if fewer than four were compared.
"""

import json
import sys
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon

LISTED_M = 1e-6  # positions are listed to a micrometer
POSE_M = 1.5e-6  # that in x and in y, with the effect of rounded curvatures and lengths on a long path
POSE_RAD = 1e-6  # hitch angles of a forward leg
# The program states an error of 2e-8 rad per quarter meter for a hitch angle behind a changing curvature. Backward an
# error grows by e every wheelbase: towed motion is unstable in reverse.
HITCH_ERROR_PER_M = 8e-8
STEP_M = 0.01  # of the integration; its error stays below 1e-9 m
FLUSH_M = 0.001  # a tire that stands out of the body by less is left out of the envelope
CHECK_OVER_M = 0.002  # excess of the check's own hulls by turning


def rates(state, k, sign, chain):
    """d(state)/d(distance rolled); state is x, y, heading of the lead, then the heading of each towed unit."""
    heading = state[2]
    out = np.zeros_like(state)
    out[0], out[1], out[2] = sign * np.cos(heading), sign * np.sin(heading), sign * k
    # Velocity of the axle in front, and its yaw rate.
    vx, vy, yaw = out[0], out[1], out[2]
    for i, (behind, wheelbase) in enumerate(chain):
        # The hitch is `behind` behind the axle in front; the towed axle may not slip sideways.
        hx, hy = vx + behind * yaw * np.sin(heading), vy - behind * yaw * np.cos(heading)
        heading = state[3 + i]
        across = -hx * np.sin(heading) + hy * np.cos(heading)
        yaw = across / wheelbase
        along = hx * np.cos(heading) + hy * np.sin(heading)
        vx, vy = along * np.cos(heading), along * np.sin(heading)
        out[3 + i] = yaw
    return out


class Course:
    """A driven witness: Runge-Kutta states 1 cm apart or less, and cubics between them."""

    def __init__(self, witness, chain):
        start = witness["start"]
        headings = [start["heading_rad"]]
        for hitch in start["hitch_rad"]:
            headings.append(headings[-1] - hitch)
        state = np.array([start["x_m"], start["y_m"], *headings])
        self.stations, steps, station = [0.0], [], 0.0
        for leg in witness["legs"]:
            sign = 1.0 if leg["direction"] == "forward" else -1.0
            for segment in leg["segments"]:
                length, k0, k1 = (segment[key] for key in ("length_m", "curvature_start", "curvature_end"))
                count = int(np.ceil(length / STEP_M))
                for i in range(count):
                    h = length / count
                    k = [k0 + (k1 - k0) * (i + part) / count for part in (0.0, 0.5, 1.0)]
                    a = rates(state, k[0], sign, chain)
                    b = rates(state + 0.5 * h * a, k[1], sign, chain)
                    c = rates(state + 0.5 * h * b, k[1], sign, chain)
                    d = rates(state + h * c, k[2], sign, chain)
                    after = state + h / 6.0 * (a + 2.0 * b + 2.0 * c + d)
                    steps.append((state, after, a, rates(after, k[2], sign, chain)))
                    state, station = after, station + h
                    self.stations.append(station)
        self.stations = np.array(self.stations)
        if not steps:
            steps = [(state, state, 0.0 * state, 0.0 * state)]
            self.stations = np.array([0.0, 1e-9])
        self.before, self.after, self.rate0, self.rate1 = (np.array(part) for part in zip(*steps))

    def at(self, stations):
        """States at any stations."""
        i = np.clip(np.searchsorted(self.stations, stations, side="right") - 1, 0, len(self.before) - 1)
        h = (self.stations[i + 1] - self.stations[i])[:, None]
        t = np.clip((stations - self.stations[i])[:, None] / h, 0.0, 1.0)
        return (
            self.before[i] * (1 + 2 * t) * (1 - t) ** 2 + self.after[i] * t**2 * (3 - 2 * t)
            + h * (self.rate0[i] * t * (1 - t) ** 2 - self.rate1[i] * t**2 * (1 - t))
        )


def unit_poses(states, chain):
    """Per unit an array of x, y, heading."""
    poses = [states[:, :3]]
    for i, (behind, wheelbase) in enumerate(chain):
        front, heading = poses[-1], states[:, 3 + i]
        x = front[:, 0] - behind * np.cos(front[:, 2]) - wheelbase * np.cos(heading)
        y = front[:, 1] - behind * np.sin(front[:, 2]) - wheelbase * np.sin(heading)
        poses.append(np.stack([x, y, heading], axis=1))
    return poses


def listed_gap(witness, course):
    """Of the listed poses from the driven ones: largest distance in meters; largest angle of each pose in radians."""
    rows = np.array(witness["poses"])
    states = course.at(rows[:, 0])
    gap_m = np.hypot(*(rows[:, 1:3] - states[:, :2]).T).max()
    hitches = states[:, 2:-1] - states[:, 3:]
    gaps_rad = np.abs(np.column_stack([rows[:, 3] - states[:, 2], rows[:, 4:] - hitches])).max(axis=1)
    return float(gap_m), gaps_rad


def placed(ring, poses):
    """A ring of a unit at each of its poses: poses x corners x 2."""
    corners = np.array(ring)
    cos, sin = np.cos(poses[:, 2])[:, None], np.sin(poses[:, 2])[:, None]
    x = poses[:, 0][:, None] + corners[:, 0] * cos - corners[:, 1] * sin
    y = poses[:, 1][:, None] + corners[:, 0] * sin + corners[:, 1] * cos
    return np.stack([x, y], axis=2)


def covering(unit):
    """Rings of a unit that cover ground: the body and mirrors, and tires that stand out of them."""
    body = shapely.union_all([Polygon(ring) for ring in unit["rings"]]).buffer(FLUSH_M)
    return unit["rings"] + [ring for ring in unit["tires"] if not body.covers(Polygon(ring))]


def swept(units, course, chain):
    """The union of the bodies' hulls, and bounds on its excess and its shortfall."""
    pieces, adds, misses = [], 0.0, 0.0
    turns = [np.abs(np.diff(poses[:, 2])) for poses in unit_poses(course.at(course.stations), chain)]
    for index, unit in enumerate(units):
        for ring in covering(unit):
            corners = np.array(ring)
            size = np.hypot(*(corners[:, None] - corners[None, :]).reshape(-1, 2).T).max()
            # Every step is cut so that its hull adds little.
            cuts = np.maximum(1, np.ceil(turns[index] * size / 4.0 / CHECK_OVER_M)).astype(int)
            start, h = course.stations[:-1], np.diff(course.stations)
            part = np.arange(cuts.sum()) - np.repeat(np.cumsum(cuts) - cuts, cuts)
            stations = np.append(np.repeat(start, cuts) + part * np.repeat(h / cuts, cuts), course.stations[-1])
            at, middle = (
                placed(ring, unit_poses(course.at(s), chain)[index])
                for s in (stations, 0.5 * (stations[:-1] + stations[1:]))
            )
            hulls = shapely.convex_hull(shapely.multipoints(shapely.points(np.concatenate([at[:-1], at[1:]], axis=1))))
            pieces.append(hulls[shapely.area(hulls) > 0])
            sagitta = float(np.hypot(*np.moveaxis(middle - 0.5 * (at[:-1] + at[1:]), 2, 0)).max())
            adds = max(adds, float((turns[index] / cuts).max()) * size / 4.0 + sagitta)
            misses = max(misses, sagitta)
    return shapely.unary_union(np.concatenate(pieces)), adds, misses


def farthest(a, b):
    """Reach of the polygons `a` beyond `b`: the largest distance of a point of a's outline outside b.

    Distance to a set is greatest at a corner of a straight edge only if the set is convex near it, so edges are cut
    to 5 cm; between cuts it can be larger by half of that at most where it changes at all, which for outlines as
    close as these stays far below the bounds compared (the distance along an edge changes with the small angle
    between the outlines).
    """
    outline = shapely.segmentize(a.boundary, 0.05)
    points = shapely.points(shapely.get_coordinates(outline))
    shapely.prepare(b)
    outside = points[~shapely.contains(b, points)]
    return float(shapely.distance(outside, b).max()) if len(outside) else 0.0


def hitch_allowed(witness, chain):
    """Allowed difference of the angles of each listed pose from the driven ones, radians."""
    station, back = 0.0, [(0.0, 0.0)]
    for leg in witness["legs"]:
        length = sum(segment["length_m"] for segment in leg["segments"])
        station += length
        back.append((station, back[-1][1] + (length if leg["direction"] == "reverse" else 0.0)))
    # Up to each pose, not to the end: after fifty meters backward an error grows by thousands, and an allowance for
    # the last pose would hide any fault in the first.
    reversed_m = np.interp([row[0] for row in witness["poses"]], *zip(*back))
    shortest = min((wheelbase for _, wheelbase in chain), default=1.0)
    return POSE_RAD + HITCH_ERROR_PER_M * shortest * (np.exp(reversed_m / shortest) - 1.0) * bool(chain)


def compare(truth, adds, misses, polygons, over, under):
    """The faults of an envelope against the check's own, and the two distances."""
    missing, beyond = farthest(truth, polygons), farthest(polygons, truth)
    under, over = under + adds, over + misses
    # Outlines everywhere within a distance of each other differ by no more than a strip along them.
    strip = max(truth.length, polygons.length) * max(under, over)
    faults = []
    if missing > under:
        faults.append(f"covered ground reaches {missing} m beyond the envelope, {under} allowed")
    if beyond > over:
        faults.append(f"the envelope reaches {beyond} m beyond covered ground, {over} allowed")
    if abs(truth.area - polygons.area) > strip:
        faults.append(f"areas differ: {truth.area} and {polygons.area} m2")
    return faults, missing, beyond


def check(results, case, folder):
    stem = case["drawing"].removesuffix(".svg")
    witness = case["witness"]
    units = results["vehicle_outlines"][case["vehicle"]]["units"]
    chain = [(front["hitch_behind_m"], unit["wheelbase_m"]) for front, unit in zip(units, units[1:])]
    written = json.loads((folder / f"{stem}.envelope.json").read_text(encoding="utf-8"))
    course = Course(witness, chain)
    faults = []
    gap_m, gaps_rad = listed_gap(witness, course)
    gap_rad = float(gaps_rad.max())
    if gap_m > POSE_M:
        faults.append(f"driven again, it passes {gap_m} m from a listed pose")
    if (gaps_rad > hitch_allowed(witness, chain)).any():
        faults.append(f"driven again, a hitch angle or heading differs by {gap_rad}")
    rings = [Polygon(polygon[0], polygon[1:]) for polygon in written["body"]]
    if not all(polygon.is_valid for polygon in rings):
        faults.append("a polygon crosses itself")
    polygons = shapely.union_all(rings)
    truth, adds, misses = swept(units, course, chain)
    # Positions are rounded; and at the end of a long trailer an error in angle is an error in position.
    slack = LISTED_M + gap_rad * 20.0
    over, under = written["over_m"] + slack, written["under_m"] + slack
    found, missing, beyond = compare(truth, adds, misses, polygons, over, under)
    faults += found
    # A check that cannot fail is none: the envelope moved 2 cm to the side must be refused.
    if not compare(truth, adds, misses, affinity.translate(polygons, 0.02, 0.0), over, under)[0]:
        faults.append("an envelope 2 cm off went unnoticed")
    print(
        f"{folder.name}/{stem}: area {polygons.area:.4f} m2, GEOS {truth.area:.4f}; missing {missing * 1000:.2f} mm of "
        f"{(under + adds) * 1000:.2f}, beyond {beyond * 1000:.2f} of {(over + misses) * 1000:.2f}; poses off "
        f"{gap_m * 1e6:.1f} um, {gap_rad * 1e6:.2f} urad: {'; '.join(faults) or 'ok'}",
        flush=True,
    )
    return not faults


def main(folders):
    outcomes = []
    for folder in folders:
        results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        outcomes += [check(results, case, folder) for case in results["cases"] if "witness" in case]
    print(f"{sum(outcomes)} passed, {len(outcomes) - sum(outcomes)} failed")
    return 0 if all(outcomes) and len(outcomes) >= 4 else 1


if __name__ == "__main__":
    named = [Path(name) for name in sys.argv[1:]]
    top = Path(__file__).resolve().parents[2] / "out"
    sys.exit(main(named or sorted(p for p in top.iterdir() if p.is_dir() and p.suffix != ".actual")))
