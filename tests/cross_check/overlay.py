"""Reads every committed study.geojson with GDAL and holds it to RFC 7946 and to results.json, sharing no code with the
program. Run it by .ci/run, or in a Python with geojson-validator, pyogrio, numpy and shapely."""

import json
import math
import pathlib
import sys

import geojson_validator
import pyogrio
import shapely
from loguru import logger

# The validator logs every step.
logger.remove()

ROOT = pathlib.Path(__file__).resolve().parents[2]
# WGS 84.
A, F = 6378137.0, 1 / 298.257223563
E2 = F * (2 - F)


def meters(lon, lat, origin):
    """Meters from the origin, by the ellipsoid's radii there: good to half a millimeter within 60 m."""
    lon0, lat0 = origin
    s = math.sin(math.radians(lat0))
    n = A / math.sqrt(1 - E2 * s * s)
    m = A * (1 - E2) / (1 - E2 * s * s) ** 1.5
    return math.radians(lon - lon0) * n * math.cos(math.radians(lat0)), math.radians(lat - lat0) * m


def decimals(value):
    return len(repr(value).partition(".")[2]) if "e" not in repr(value) else 99


def check(folder):
    path = folder / "study.geojson"
    raw = json.loads(path.read_text())
    results = json.loads((folder / "results.json").read_text())
    assert raw["type"] == "FeatureCollection" and "crs" not in raw
    assert geojson_validator.validate_structure(raw) == {}
    judged = geojson_validator.validate_geometries(raw)
    assert judged["invalid"] == {} and judged["skipped_validation"] == [], judged
    # Ground covered may have holes and many corners, and places are written to the millimeter.
    expected = {"holes", "excessive_vertices", "excessive_coordinate_precision"}
    assert set(judged["problematic"]) <= expected, set(judged["problematic"]) - expected
    lonlat = results["frame"]["kind"] == "lonlat"
    assert ("plan" in raw) == (not lonlat)
    if lonlat:
        origin = (results["frame"]["origin_lon_deg"], results["frame"]["origin_lat_deg"])
        place = lambda c: meters(c[0], c[1], origin)
    else:
        scale = results["frame"]["meters_per_unit"]
        place = lambda c: (c[0] * scale, c[1] * scale)

    read = pyogrio.raw.read(path)
    info = pyogrio.read_info(path)
    assert info["features"] == len(raw["features"]), "GDAL sees another number of features"
    assert info["crs"] in ("EPSG:4326", "OGC:CRS84"), info["crs"]
    shapes = shapely.from_wkb(read[2])
    kinds = {}
    ids = [f["id"] for f in raw["features"] if "id" in f]
    assert len(ids) == len(set(ids))
    for feature, shape in zip(raw["features"], shapes, strict=True):
        assert set(feature) <= {"type", "id", "geometry", "properties"}, set(feature)
        kind = feature["properties"]["kind"]
        kinds[kind] = kinds.get(kind, 0) + 1
        assert shape.is_valid, (path, kind, shapely.is_valid_reason(shape))
        coords = shapely.get_coordinates(shape)
        if lonlat:
            assert (abs(coords[:, 0]) <= 180).all() and (abs(coords[:, 1]) <= 90).all()
        assert max(decimals(float(v)) for v in coords.ravel()) <= (8 if lonlat else 3)
        for part in shapely.get_parts(shape):
            if part.geom_type == "Polygon":
                assert part.exterior.is_ccw and not any(hole.is_ccw for hole in part.interiors), kind

    # The ground covered is that of the envelope file, and the tight places stand where results.json says.
    for case in results["cases"]:
        if "witness" not in case:
            continue
        stem = case["drawing"].removesuffix(".svg")
        body = next(f for f in raw["features"] if f.get("id") == f"{stem} body envelope")
        geometry = body["geometry"]
        polygons = [geometry["coordinates"]] if geometry["type"] == "Polygon" else geometry["coordinates"]
        ours = shapely.union_all([shapely.Polygon([place(c) for c in p[0]], [[place(c) for c in h] for h in p[1:]]) for p in polygons])
        theirs = json.loads((folder / f"{stem}.envelope.json").read_text())["body"]
        theirs = shapely.union_all([shapely.Polygon(p[0], p[1:]) for p in theirs])
        assert shapely.hausdorff_distance(ours.boundary, theirs.boundary) < 0.004, stem
        spots = [f for f in raw["features"] if f["properties"]["kind"] == "tight place" and f["properties"]["case"] == stem]
        assert len(spots) == len(case["contacts"])
        for spot, contact in zip(spots, case["contacts"], strict=True):
            x, y = place(spot["geometry"]["coordinates"])
            assert math.hypot(x - contact["x_m"], y - contact["y_m"]) < 0.002, (stem, contact)
            assert spot["properties"]["gap_m"] <= contact["gap_m"] + 1e-9
    return len(raw["features"]), kinds


folders = [pathlib.Path(a) for a in sys.argv[1:]] or sorted(p.parent for p in ROOT.glob("out/*/study.geojson"))
assert folders, "there is no study.geojson"
for folder in folders:
    count, kinds = check(folder)
    print(f"{folder.name}: {count} features read by GDAL, all sound: {kinds}")
