"""Sends every example through GDAL and back, as GeoJSON and as a GeoPackage, and studies it again: results.json must be
the committed one except for the plan's name. Run it by .ci/run, or in a Python with pyogrio; needs a release build."""

import json
import pathlib
import subprocess
import sys
import tempfile
import warnings

import pyogrio

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "target/release/wideenough"

# A table of several kinds of geometry, and a sketch without a place on Earth.
warnings.filterwarnings("ignore")


def through(source, target):
    meta, _, geometry, columns = pyogrio.raw.read(source)
    known = {"geometry_type": meta["geometry_type"], "crs": meta["crs"]}
    pyogrio.raw.write(target, geometry, columns, meta["fields"], **known)


def features(path):
    return json.loads(path.read_text())["features"]


def study(plan, settings, out):
    command = [PROGRAM, "study", plan, "--settings", settings, "--out", out]
    # With the flags of the committed run, except the one for fixes.
    committed = json.loads((ROOT / "out" / plan.stem / "results.json").read_text())
    if any("how_to_drive" in case for case in committed["cases"]):
        command.append("--how-to-drive")
    if "sight" in committed:
        rules = [rule["rule"] for part in ("roads", "pedestrians") for rule in committed["sight"][part]]
        command += ["--sight", ",".join(rules)]
    ran = subprocess.run(command, capture_output=True, text=True)
    assert ran.returncode in (0, 1), ran.stderr
    return (out / plan.stem / "results.json").read_bytes()


def without_fixes(results):
    """Results less their fixes: one example is committed with them, which takes a minute and is left out here."""
    root = json.loads(results)
    if root["fixes"] is None:
        return results
    root["fixes"] = None
    root["files"] = [name for name in root["files"] if not name.startswith("fix-")]
    return json.dumps(root)


def same(found, committed):
    committed = without_fixes(committed)
    return found == committed if isinstance(committed, bytes) else json.dumps(json.loads(found)) == committed


def check(plan):
    ran = subprocess.run([PROGRAM, "check", plan], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout.partition(": ")[2]


def with_settings_in_a_feature(plan, target):
    """The plan with its settings as a feature without geometry, which a map program keeps."""
    root = json.loads(plan.read_text())
    settings = {"role": "plan"} | root.pop("plan")
    root["features"].append({"type": "Feature", "properties": settings, "geometry": None})
    target.write_text(json.dumps(root))


def main():
    plans = sorted(
        path for path in (ROOT / "examples").glob("*.geojson") if (ROOT / "out" / path.stem).is_dir()
    )
    assert len(plans) == 7, plans
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        for plan in plans:
            straight, packed = folder / "straight" / plan.name, folder / "packed" / plan.name
            package = folder / f"{plan.stem}.gpkg"
            for path in (straight, packed):
                path.parent.mkdir(exist_ok=True)
            through(plan, straight)
            through(plan, package)
            through(package, packed)
            # The programs must have changed the file, or nothing is tested here.
            assert features(straight) != features(plan) and "plan" not in json.loads(straight.read_text())
            # Both outputs are one plan, so one study serves for both.
            assert features(packed) == features(straight), f"{plan.stem}: as GeoJSON and as a GeoPackage"
            expected = (ROOT / "out" / plan.stem / "results.json").read_bytes()
            assert same(study(packed, plan, folder / "out"), expected), f"{plan.stem}: another answer"
            alone, back = folder / "alone.geojson", folder / "back.geojson"
            with_settings_in_a_feature(plan, alone)
            package.unlink()
            through(alone, package)
            through(package, back)
            assert check(back) == check(plan), f"{plan.stem}: settings in a feature"
            count = len(features(packed))
            print(f"{plan.stem}: {count} features, the same results.json")
        # A gate moved by an inch must not pass for the one drawn.
        name = "field-sketch"
        packed = folder / "packed" / f"{name}.geojson"
        moved = json.loads(packed.read_text())
        gate = next(f for f in moved["features"] if f["properties"]["role"] == "gate")
        for position in gate["geometry"]["coordinates"]:
            position[0] += 1 / 12
        packed.write_text(json.dumps(moved))
        answer = study(packed, ROOT / "examples" / packed.name, folder / "wrong")
        assert not same(answer, (ROOT / "out" / name / "results.json").read_bytes()), "an inch goes unseen"


main()
