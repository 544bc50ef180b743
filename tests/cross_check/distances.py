"""Holds the gaps of results.json to distances by GEOS.

Every contact of every committed case is measured again: everything standing is rebuilt from the plan (posts and leaves
at the width the case needs, obstacles as drawn), the witness is driven by scipy, and shapely measures from the outline
of the part named. Compared are, to a few micrometers:
- the distance from that outline, at the station listed, to the thing: it is `gap_m`;
- from the outline to the point listed on the thing, and from the thing to the point listed on the outline: `gap_m` too;
- and over the whole drive, at poses 5 mm apart, that outline comes no nearer than `gap_m`, except for what the
  program's own poses, 25 mm apart, may miss. (Not checked for a fence in the gate line.)

Tires are not among the outlines that results.json lists: their contacts are counted and not compared. Each thing a
millimeter nearer must be refused.

    python tests/cross_check/distances.py [FOLDER...]      (every folder in out/ if none is named)

Needs what projection.py needs. Exit status 1 if anything disagrees.
"""

import json
import math
import sys
from pathlib import Path

import numpy as np
import shapely
from chains import Drive, chain_of, headings
from envelope import placed, unit_poses
from geographiclib.geodesic import Geodesic
from projection import ROOT, meters

# Points, gaps and faces are listed to a micrometer each; plans are read as they are.
GAP_M = 4e-6
# For a corner that passes a thing at a gap g, poses h apart miss the nearest point by (h / 2)^2 / 2 g at most, times
# the square of the ratio of the corner's speed to the rear axle's: 0.5 mm at 0.3 m, twice as fast.
MISSED_M = 1e-3
# An answer may have been inspected with leaves cut for a wider opening than its own, never with shorter ones. The
# program gives no bound on the excess length; this is the size seen, so that more is noticed.
LONGER_M = 0.005
LENGTHS = {"ft": 0.3048, "in": 0.0254, "m": 1.0}


def length(value):
    """A length as the examples write it: a number of meters, or "1 ft 6 in"."""
    if isinstance(value, (int, float)):
        return float(value)
    words = value.split()
    return sum(float(n) * LENGTHS[unit] for n, unit in zip(words[::2], words[1::2], strict=True))


def plan_places(plan, results):
    frame = results["frame"]
    if frame["kind"] == "lonlat":
        origin = (frame["origin_lon_deg"], frame["origin_lat_deg"])
        return lambda c: meters(Geodesic.WGS84, origin, c)
    scale = frame["meters_per_unit"]
    return lambda c: (c[0] * scale, c[1] * scale)


def things(plan, results, case):
    """Everything standing, by name, with a radius to take off the distance. A leaf is a function of its excess length
    over its share of the opening."""
    place = plan_places(plan, results)
    gate = results["gate"]
    faces = [np.array([gate[f]["x_m"], gate[f]["y_m"]]) for f in ("left_face", "right_face")]
    middle, inward = 0.5 * (faces[0] + faces[1]), np.array(gate["inward"])
    along = np.array([inward[1], -inward[0]])
    words = next(f["properties"] for f in plan["features"] if f["properties"]["role"] == "gate")
    left_u, right_u = case[case["witness"]["clearance"]]["faces_u_m"]
    width, half = gate["post"]["width_m"], 0.5 * gate["post"]["depth_m"]

    def at(uvs):
        return shapely.Polygon([middle + along * u + inward * v for u, v in uvs])

    found = {}
    for side, face, out in (("left", left_u, -1.0), ("right", right_u, 1.0)):
        far = face + out * width
        found[f"{side} post"] = (at([(face, -half), (far, -half), (far, half), (face, half)]), 0.0)
        if words["leaves"] != "double" and words["hinge"] != side:
            continue
        opening, thick = right_u - left_u, length(words.get("thickness", "2 in"))
        if words["leaves"] == "slide":
            # It runs back just inside the posts.
            far = face + out * opening
            corners = [(face, half), (far, half), (far, half + thick), (face, half + thick)]
            found[f"{side} leaf"] = (lambda longer, corners=corners: at(corners), 0.0)
        else:
            # About a pin at the face, on the gate line, half its thickness to either side.
            turn = math.radians(words.get("open_angle_deg", 90)) * (1.0 if words["opens"] == "in" else -1.0)
            run = 0.5 * opening if words["leaves"] == "double" else opening
            u, v = -out * math.cos(turn), math.sin(turn)
            side_u, side_v = -v * 0.5 * thick, u * 0.5 * thick


            def swung(longer, face=face, u=u, v=v, side_u=side_u, side_v=side_v, run=run):
                ends = [(0.0, -1.0), (run + longer, -1.0), (run + longer, 1.0), (0.0, 1.0)]
                return at([(face + u * s + side_u * t, v * s + side_v * t) for s, t in ends])

            found[f"{side} leaf"] = (swung, 0.0)
    for feature in plan["features"]:
        words, geometry = feature["properties"], feature["geometry"]
        if words["role"] not in ("obstacle", "fence"):
            continue
        if geometry["type"] == "Point":
            shape, radius = shapely.Point(place(geometry["coordinates"])), length(words["radius"])
        elif geometry["type"] == "Polygon":
            shape, radius = shapely.Polygon([place(c) for c in geometry["coordinates"][0]]), 0.0
        else:
            line = [place(c) for c in geometry["coordinates"]]
            # A fence in the gate line ends in the post, wherever the post stands.
            for (face, out), drawn in zip(((left_u, -1.0), (right_u, 1.0)), faces):
                if words["role"] == "fence" and math.dist(line[0], drawn + along * out * width) < 0.05:
                    line[0] = tuple(middle + along * (face + out * width))
            line = shapely.LineString(line)
            thick = length(words.get("thickness", "4 in"))
            shape, radius = line.buffer(0.5 * thick, cap_style="flat", join_style="mitre"), 0.0
        found[words["label"]] = (shape, radius)
    return found


def ring_of(units, contact, poses):
    """Unit and outline of the part named: of that unit's outlines, the one on whose edge the point listed lies."""
    spot = shapely.Point(contact["from"]["x_m"], contact["from"]["y_m"])
    best = (math.inf, None, None)
    for index, unit in enumerate(units):
        if contact["part"].startswith(unit["name"] + " "):
            for ring in unit["rings"]:
                edge = shapely.LinearRing(placed(ring, poses[index])[0])
                best = min(best, (shapely.distance(edge, spot), index, ring), key=lambda b: b[0])
    return best


def gap_faults(contact, outline, thing, radius, off):
    """Faults of a contact, and the largest difference."""
    told = shapely.Point(contact["x_m"], contact["y_m"])
    source = shapely.Point(contact["from"]["x_m"], contact["from"]["y_m"])
    gaps = {
        "outline to thing": abs(shapely.distance(outline, thing) - radius - contact["gap_m"]),
        "outline to the place on the thing": abs(shapely.distance(outline, told) - contact["gap_m"]),
        "thing to the place on the outline": abs(shapely.distance(thing, source) - radius - contact["gap_m"]),
        "the place on the outline": off,
    }
    return [f"{name} differs by {gap * 1e6:.1f} um" for name, gap in gaps.items() if gap > GAP_M], max(gaps.values())


def check(folder, results, case, plan):
    units = results["vehicle_outlines"][case["vehicle"]]["units"]
    chain = chain_of(results, case)
    drive = Drive(case["witness"], chain)
    standing = things(plan, results, case)
    fences = {f["properties"].get("label") for f in plan["features"] if f["properties"]["role"] == "fence"}
    every = unit_poses(headings(drive.at(np.union1d(np.arange(0.0, drive.ends[-1], 0.005), drive.ends))), chain)
    faults, worst, nearer, compared, tires, noticed, longest = [], 0.0, 0.0, 0, 0, [0, 0], 0.0
    for contact in case["contacts"]:
        if contact["part"].endswith(" tire"):
            tires += 1
            continue
        compared += 1
        thing, radius = standing[contact["what"]]
        if callable(thing):
            # A point listed beyond the end of a leaf means that it was inspected with a longer one.
            told = shapely.Point(contact["x_m"], contact["y_m"])
            beyond = float(shapely.distance(thing(0.0), told))
            longer = beyond if beyond > GAP_M else 0.0
            longest = max(longest, longer)
            if longer > LONGER_M:
                faults.append(f"{contact['what']}: the place told is {beyond} m from it")
            thing = thing(longer)
        poses = unit_poses(headings(drive.at(contact["station_m"])), chain)
        off, index, ring = ring_of(units, contact, poses)
        outline = shapely.Polygon(placed(ring, poses[index])[0])
        found, gap = gap_faults(contact, outline, thing, radius, off)
        name = f"{contact['part']} to {contact['what']}"
        faults += [f"{name}: {fault}" for fault in found]
        worst = max(worst, gap)
        # A fault must be noticed: the thing moved a millimeter nearer.
        toward = np.array([contact["from"]["x_m"] - contact["x_m"], contact["from"]["y_m"] - contact["y_m"]])
        if np.hypot(*toward) > 0.01:
            shift = 1e-3 * toward / np.hypot(*toward)
            moved = shapely.transform(thing, lambda c: c + shift)
            noticed[0] += 1
            noticed[1] += bool(gap_faults(contact, outline, moved, radius, off)[0])
        if contact["what"] in fences:
            continue  # near its post the post is listed instead
        # Over the whole drive.
        least = float(shapely.distance(shapely.polygons(placed(ring, every[index])), thing).min()) - radius
        nearer = max(nearer, contact["gap_m"] - least)
        if contact["gap_m"] - least > MISSED_M:
            faults.append(f"{name}: comes within {least} m, {contact['gap_m']} told")
    if noticed[0] != noticed[1]:
        faults.append(f"{noticed[0] - noticed[1]} things 1 mm nearer went unnoticed")
    for fault in faults:
        print(f"{folder.name}/{case['drawing'].removesuffix('.svg')}: {fault}")
    return len(faults), worst, nearer, longest, compared, tires


def main(folders):
    rows = []
    for folder in folders:
        results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        plan = json.loads((ROOT / "examples" / f"{folder.name}.geojson").read_text(encoding="utf-8"))
        rows += [check(folder, results, case, plan) for case in results["cases"] if "witness" in case]
    faults, worst, nearer, longest, compared, tires = zip(*rows)
    print(
        f"{sum(compared)} gaps of {len(rows)} cases compared with GEOS: worst {max(worst) * 1e6:.2f} um of {GAP_M * 1e6}; "
        f"between the program's poses at most {max(nearer) * 1e3:.3f} mm nearer, {MISSED_M * 1e3} allowed; "
        f"leaves looked at up to {max(longest) * 1e3:.1f} mm longer than the opening asks, {LONGER_M * 1e3} allowed; "
        f"{sum(tires)} of tires not compared; {sum(faults)} faults"
    )
    return 0 if not sum(faults) and sum(compared) >= 100 else 1


if __name__ == "__main__":
    named = [Path(name) for name in sys.argv[1:]]
    top = ROOT / "out"
    sys.exit(main(named or sorted(p for p in top.iterdir() if p.is_dir() and p.suffix != ".actual")))
