"""Holds every committed results.json to its schema by the jsonschema library, and the schema to the draft it names; a
copy that is wrong on purpose must be refused. Run it by .ci/run, or in a Python with jsonschema."""

import copy
import json
import pathlib
import sys

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]


def closed(schema):
    """The schema, but refusing members that it does not name."""
    if isinstance(schema, list):
        return [closed(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    inner = {key: closed(value) for key, value in schema.items()}
    if isinstance(inner.get("properties"), dict) and inner.get("type") == "object":
        inner.setdefault("additionalProperties", False)
    return inner


def wrong(results):
    """Copies of results with one fault each."""

    def without(*path):
        bad = copy.deepcopy(results)
        at = bad
        for key in path[:-1]:
            at = at[key]
        del at[path[-1]]
        return bad

    yield "no opening", without("cases", 0, "bare", "opening_m")
    yield "no frame", without("frame")
    for word, at, key in [
        ("a maneuver misspelled", lambda r: r["cases"][0], "maneuver"),
        ("an outcome misspelled", lambda r: r["cases"][0]["bare"], "outcome"),
        ("a verdict misspelled", lambda r: r["vehicles"][0], "drawn_gate"),
    ]:
        bad = copy.deepcopy(results)
        at(bad)[key] += "-"
        yield word, bad


def main():
    schema = json.loads((ROOT / "examples/results.schema.json").read_text())
    kind = jsonschema.validators.validator_for(schema)
    kind.check_schema(schema)
    lenient, strict = kind(schema), kind(closed(schema))
    files = sorted(ROOT.glob("out/*/results.json"))
    faults = [] if len(files) >= 7 else [f"only {len(files)} results.json were found"]
    refused = 0
    for path in files:
        results = json.loads(path.read_text())
        for fault in strict.iter_errors(results):
            faults.append(f"{path.parent.name}: {fault.json_path}: {fault.message[:200]}")
        for what, bad in wrong(results):
            refused += 1
            if lenient.is_valid(bad):
                faults.append(f"{path.parent.name}: {what} is accepted")
    print("\n".join(faults) or f"{len(files)} results.json fit their schema; {refused} wrong copies are refused")
    sys.exit(bool(faults))


main()
