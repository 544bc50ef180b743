"""Holds the plan's longitudes and latitudes to GeographicLib, both ways.

Azimuthal equidistant coordinates are the length and the bearing of the geodesic from the middle of the gate. Compared,
for every committed run of a plan in longitude and latitude:
- into meters: the gate of examples/<name>.geojson against the faces in results.json, to 2 micrometers;
- out again: posts, tight places, envelopes and paths of study.geojson, put into meters by GeographicLib, against
  results.json, <case>.envelope.json and the witness driven by scipy, to a millimeter: degrees are written to eight
  decimals, which alone is up to 0.7 mm;
- farther than the examples reach: tests/cross_check/places.csv, against which tests/laws/projection.rs holds the program.

A sphere in place of the ellipsoid must be refused, and so must everything moved 2 mm to the side.

    python tests/cross_check/projection.py [FOLDER...]      (every folder in out/ if none is named)
    python tests/cross_check/projection.py --write          (rewrites places.csv)

Needs geographiclib and what chains.py needs. Exit status 1 if anything disagrees.
"""

import json
import math
import sys
from pathlib import Path

import numpy as np
import shapely
from chains import Drive, chain_of
from geographiclib.geodesic import Geodesic

ROOT = Path(__file__).resolve().parents[2]
PLACES = Path(__file__).with_name("places.csv")
INTO_M = 2e-6  # places in results.json are rounded to a micrometer in x and in y
OUT_M = 1e-3
WRITTEN_M = 1e-6  # rounding of places.csv, in x and in y
SPHERE = Geodesic(6371008.8, 0.0)


def meters(earth, origin, place):
    """Meters east and north of the origin, from longitude and latitude in degrees."""
    line = earth.Inverse(origin[1], origin[0], place[1], place[0])
    bearing = math.radians(line["azi1"])
    return line["s12"] * math.sin(bearing), line["s12"] * math.cos(bearing)


def apart(pairs):
    """The largest distance between two lists of places."""
    return max((math.hypot(a[0] - b[0], a[1] - b[1]) for a, b in pairs), default=0.0)


def corners(geometry):
    """Every place of a geometry, in the order written."""
    return shapely.get_coordinates(shapely.from_geojson(json.dumps(geometry))).tolist()


def post(results, side):
    """The drawn post: a rectangle beside its face, half its depth to either side of the gate line."""
    gate = results["gate"]
    face = np.array([gate[f"{side}_face"]["x_m"], gate[f"{side}_face"]["y_m"]])
    inward = np.array(gate["inward"])
    outward = np.array([inward[1], -inward[0]]) * (-1.0 if side == "left" else 1.0)
    width, half = gate["post"]["width_m"], 0.5 * gate["post"]["depth_m"]
    return [tuple(face + outward * u + inward * v) for u in (0.0, width) for v in (-half, half)]


def nearest(places, others):
    """Each place with the nearest of the others."""
    return [(p, min(others, key=lambda q: math.hypot(p[0] - q[0], p[1] - q[1]))) for p in places]


def compared(folder, results, earth, aside_m=0.0):
    """Comparisons by name: the largest gap and the number of places."""
    origin = (results["frame"]["origin_lon_deg"], results["frame"]["origin_lat_deg"])

    def place(lonlat):
        x, y = meters(earth, origin, lonlat)
        return x + aside_m, y

    plan = json.loads((ROOT / "examples" / f"{folder.name}.geojson").read_text(encoding="utf-8"))
    gate = next(f for f in plan["features"] if f["properties"]["role"] == "gate")
    faces = [(results["gate"][f]["x_m"], results["gate"][f]["y_m"]) for f in ("left_face", "right_face")]
    drawn = [place(c) for c in gate["geometry"]["coordinates"]]
    gaps = {"gate": (apart(nearest(drawn, faces)), 2)}

    study = json.loads((folder / "study.geojson").read_text(encoding="utf-8"))["features"]
    of = lambda kind, stem=None: [
        f for f in study if f["properties"]["kind"] == kind and stem in (None, f["properties"].get("case"))
    ]
    pairs = []
    for feature in of("post as drawn"):
        pairs += nearest([place(c) for c in corners(feature["geometry"])], post(results, feature["properties"]["post"]))
    gaps["posts"] = (apart(pairs), len(pairs))

    spots, grounds, paths = [], [], []
    for case in (case for case in results["cases"] if "witness" in case):
        stem = case["drawing"].removesuffix(".svg")
        for spot, contact in zip(of("tight place", stem), case["contacts"], strict=True):
            spots.append((place(spot["geometry"]["coordinates"]), (contact["x_m"], contact["y_m"])))
        written = json.loads((folder / f"{stem}.envelope.json").read_text(encoding="utf-8"))["body"]
        outline = shapely.MultiPolygon([(p[0], p[1:]) for p in written]).boundary
        places = [place(c) for f in of("body envelope", stem) for c in corners(f["geometry"])]
        grounds += shapely.distance(shapely.points(places), outline).tolist()
        # Path of the lead's rear axle, between poses 2 cm apart, 0.02 mm from the arc on the tightest turn; and the
        # very points where it turns back.
        drive = Drive(case["witness"], chain_of(results, case))
        driven = drive.at(np.union1d(np.arange(0.0, drive.ends[-1], 0.02), drive.ends))[:, :2]
        places = [place(c) for f in of("path", stem) for c in corners(f["geometry"])]
        paths += shapely.distance(shapely.points(places), shapely.LineString(driven)).tolist()
        paths += [math.dist(places[0], driven[0]), math.dist(places[-1], driven[-1])]
    gaps["tight places"] = (apart(spots), len(spots))
    gaps["envelopes"] = (max(grounds), len(grounds))
    gaps["paths"] = (max(paths), len(paths))
    return gaps


def refused(gaps):
    return [name for name, (gap, count) in gaps.items() if not count or gap > (INTO_M if name == "gate" else OUT_M)]


def far_places():
    """Origin and place, degrees: up to 5 km from gates near and far from the equator, the poles and 180 degrees."""
    for lon, lat in ((0.0, 0.0), (-98.35, 40.62), (179.9999, -16.5), (-180.0, 65.2), (25.5, -33.75), (14.3, 78.21), (-60.0, -89.5)):
        for s12, azi in ((3.0, 12.0), (60.0, 101.5), (500.0, -44.0), (5000.0, 178.25), (5000.0, -90.0), (2500.0, 60.0)):
            end = Geodesic.WGS84.Direct(lat, lon, azi, s12)
            yield lon, lat, round(end["lon2"], 11), round(end["lat2"], 11)


def rows():
    for lon, lat, lon2, lat2 in far_places():
        x, y = meters(Geodesic.WGS84, (lon, lat), (lon2, lat2))
        yield f"{lon},{lat},{lon2!r},{lat2!r},{x:.6f},{y:.6f}"


def places_fault():
    written = PLACES.read_text(encoding="utf-8").splitlines()[2:]
    worst = 0.0
    for line in written:
        lon, lat, lon2, lat2, x, y = map(float, line.split(","))
        worst = max(worst, math.dist(meters(Geodesic.WGS84, (lon, lat), (lon2, lat2)), (x, y)))
    print(f"places.csv: {len(written)} places up to 5 km away, worst {worst * 1e6:.2f} um")
    return worst > WRITTEN_M or len(written) < 40


def main(folders):
    outcomes = [not places_fault()]
    for folder in folders:
        results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        if results["frame"]["kind"] != "lonlat":
            continue
        gaps = compared(folder, results, Geodesic.WGS84)
        faults = refused(gaps)
        # Checks that cannot fail are none.
        sphere = set(gaps) - set(refused(compared(folder, results, SPHERE)))
        aside = set(gaps) - set(refused(compared(folder, results, Geodesic.WGS84, 0.002)))
        # Of an outline some stretch lies across the shift, so each kind must notice.
        faults += [f"{name}: a sphere went unnoticed" for name in sorted(sphere)]
        faults += [f"{name}: 2 mm went unnoticed" for name in sorted(aside)]
        told = ", ".join(f"{name} {gap * 1e3:.4f} mm ({count})" for name, (gap, count) in gaps.items())
        print(f"{folder.name}: {told}: {'; '.join(faults) or 'ok'}", flush=True)
        outcomes.append(not faults)
    return 0 if all(outcomes) and len(outcomes) > 1 else 1


if __name__ == "__main__":
    if "--write" in sys.argv:
        head = "# Written by tests/cross_check/projection.py --write, from GeographicLib on WGS 84.\n"
        PLACES.write_text(head + "origin_lon_deg,origin_lat_deg,lon_deg,lat_deg,x_m,y_m\n" + "\n".join(rows()) + "\n")
        sys.exit()
    named = [Path(name) for name in sys.argv[1:]]
    top = ROOT / "out"
    sys.exit(main(named or sorted(p for p in top.iterdir() if p.is_dir() and p.suffix != ".actual")))
