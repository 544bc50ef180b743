"""Cross-check of the swept envelopes by another road: GEOS, and a second integration of the motion.

For committed runs in out/ it drives each witness of results.json again from its start and legs (Runge-Kutta, 2 cm
steps; the program uses closed forms), sees that it passes through the listed poses, joins the hulls of neighboring
footprints by GEOS, and compares with the polygons of <case>.envelope.json: neither may reach beyond the other by more
than the bounds stated there. It shares no code with the program. Needs numpy and shapely.

    python tests/cross_check/envelope.py [FOLDER...]      (every folder in out/ if none is named)
"""

import json
import sys
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPoint, Polygon

STEP_M = 0.02
# A hull of two footprints 2 cm apart misses the true edge by the sagitta of the arc between: a corner goes at most
# three times as far as the axle, 6 cm, on a radius of no less than 3 m: 0.06^2 / 8 / 3.
HULL_ERROR_M = 1.5e-4
# results.json rounds poses to a micrometer; the integration adds less.
POSE_ERROR_M = 5e-6


def rates(state, curvature, towed):
    """Change of (x, y, heading, hitch angles) per meter rolled forward by the lead's rear axle."""
    heading = state[2]
    out = np.empty_like(state)
    out[:3] = np.cos(heading), np.sin(heading), curvature
    speed, yaw = 1.0, curvature
    for i, (hitch, length) in enumerate(towed):
        sin, cos = np.sin(state[3 + i]), np.cos(state[3 + i])
        # Velocity of the hitch in the towed unit's frame: along it the axle rolls, across it the unit turns.
        along = speed * cos + hitch * yaw * sin
        across = speed * sin - hitch * yaw * cos
        out[3 + i] = yaw - across / length
        speed, yaw = along, across / length
    return out


def drive(witness, towed):
    """The states along a witness, with the distance rolled, at most STEP_M apart."""
    start = witness["start"]
    state = np.array([start["x_m"], start["y_m"], start["heading_rad"], *start["hitch_rad"]])
    rows = [np.concatenate([[0.0], state])]
    station = 0.0
    for leg in witness["legs"]:
        sign = 1.0 if leg["direction"] == "forward" else -1.0
        for segment in leg["segments"]:
            length = segment["length_m"]
            if length <= 0.0:
                continue
            steps = int(np.ceil(length / STEP_M))
            k0, k1 = segment["curvature_start"], segment["curvature_end"]
            h = length / steps
            for i in range(steps):
                k = [k0 + (k1 - k0) * (i + part) / steps for part in (0.0, 0.5, 1.0)]
                a = sign * rates(state, k[0], towed)
                b = sign * rates(state + h / 2 * a, k[1], towed)
                c = sign * rates(state + h / 2 * b, k[1], towed)
                d = sign * rates(state + h * c, k[2], towed)
                state = state + h / 6 * (a + 2 * b + 2 * c + d)
                station += h
                rows.append(np.concatenate([[station], state]))
    return np.array(rows)


def worst_pose(witness, rows):
    """How far the driven path passes from the listed poses, at their stations."""
    worst = 0.0
    for pose in np.array(witness["poses"]):
        here = [np.interp(pose[0], rows[:, 0], rows[:, 1 + i]) for i in range(2)]
        # Between two rows 2 cm apart the chord is 2 cm squared / 8 / 3 m off at most, 17 micrometers.
        worst = max(worst, float(np.hypot(here[0] - pose[1], here[1] - pose[2])))
    return worst


def corners(rows, units, towed):
    """For every ring of every unit its corners at every state: arrays of shape (states, corners, 2)."""
    x, y, heading = rows[:, 1], rows[:, 2], rows[:, 3]
    for i, unit in enumerate(units):
        cos, sin = np.cos(heading)[:, None], np.sin(heading)[:, None]
        for ring in unit["rings"]:
            px, py = np.array(ring).T
            yield np.stack([x[:, None] + cos * px - sin * py, y[:, None] + sin * px + cos * py], axis=-1)
        if i < len(towed):
            hitch, length = towed[i]
            behind = heading - rows[:, 4 + i]
            x = x - hitch * np.cos(heading) - length * np.cos(behind)
            y = y - hitch * np.sin(heading) - length * np.sin(behind)
            heading = behind


def swept(rows, units, towed):
    hulls = []
    for ring in corners(rows, units, towed):
        pairs = np.concatenate([ring[:-1], ring[1:]], axis=1)
        hulls.extend(MultiPoint(points).convex_hull for points in pairs)
    return shapely.unary_union(hulls)


def beyond(inner, outer, bound):
    """Area of `inner` that reaches farther than `bound` beyond `outer`."""
    return inner.difference(outer.buffer(bound, quad_segs=64)).area


def check(truth, polygons, over, under):
    faults = []
    if beyond(truth, polygons, under + HULL_ERROR_M) > 1e-9:
        faults.append(f"covered ground reaches more than {under} m beyond the envelope")
    if beyond(polygons, truth, over + HULL_ERROR_M) > 1e-9:
        faults.append(f"the envelope reaches more than {over} m beyond covered ground")
    if abs(truth.area - polygons.area) > (truth.length + polygons.length) / 2 * (max(over, under) + HULL_ERROR_M):
        faults.append(f"areas differ: {truth.area} and {polygons.area} m2")
    return faults


def main(folders):
    passed = failed = 0
    for folder in folders:
        results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        for case in results["cases"]:
            if "witness" not in case:
                continue
            stem = case["drawing"].removesuffix(".svg")
            name = f"{folder.name}/{stem}"
            written = json.loads((folder / f"{stem}.envelope.json").read_text(encoding="utf-8"))
            units = results["vehicle_outlines"][case["vehicle"]]["units"]
            towed = [(a["hitch_behind_m"], b["wheelbase_m"]) for a, b in zip(units, units[1:])]
            rows = drive(case["witness"], towed)
            faults = []
            off = worst_pose(case["witness"], rows)
            if off > 2e-5 + POSE_ERROR_M:
                faults.append(f"driven again, it passes {off} m from a listed pose")
            truth = swept(rows, units, towed)
            polygons = shapely.unary_union([Polygon(p[0], p[1:]) for p in written["body"]])
            faults += check(truth, polygons, written["over_m"], written["under_m"])
            # A check that cannot fail is none: the same envelope 2 cm aside must be refused.
            if not check(truth, affinity.translate(polygons, 0.02, 0.0), written["over_m"], written["under_m"]):
                faults.append("an envelope 2 cm off went unnoticed")
            gap = shapely.hausdorff_distance(truth.boundary, polygons.boundary, densify=0.1)
            bound = written["bound_m"]
            print(f"{name}: area {polygons.area:.4f} m2, GEOS {truth.area:.4f}; outlines {gap * 1000:.2f} mm apart, "
                  f"bound {bound * 1000:.2f}: {'; '.join(faults) or 'ok'}")
            passed, failed = passed + (not faults), failed + bool(faults)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or passed < 4 else 0


if __name__ == "__main__":
    named = [Path(name) for name in sys.argv[1:]]
    top = Path(__file__).resolve().parents[2] / "out"
    sys.exit(main(named or sorted(p for p in top.iterdir() if p.is_dir() and p.suffix != ".actual")))
