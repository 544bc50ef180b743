"""Times GEOS's unary union on the footprints of tests/bench/envelope.rs, in one run with the program's own union.

    python tests/bench/envelope.py

Needs shapely. Prints the times and their ratios; the median of five rounds each. tests/bench/table.py prints them too.
"""

import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import shapely

TOP = Path(__file__).resolve().parents[2]
SAME_M2 = 1e-4  # areas of the same union
ROUNDS = 5


def compare():
    """Name, milliseconds and square meters of each union timed; the last is GEOS's, on the footprints of the first."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "footprints.txt"
        command = ["cargo", "bench", "--quiet", "--bench", "envelope", "--", str(file)]
        ours = subprocess.run(command, cwd=TOP, check=True, capture_output=True, text=True).stdout
        rows = [list(map(float, line.split())) for line in file.read_text().splitlines()]
    found = re.findall(r"^(.*): ([\d.]+) ms, ([\d.]+) m2$", ours, re.MULTILINE)
    timed = [(what, float(ms), float(area)) for what, ms, area in found]
    footprints = shapely.polygons([[row[0:2], row[2:4], row[4:6], row[6:8]] for row in rows])
    times = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        union = shapely.unary_union(footprints)
        times.append(1000.0 * (time.perf_counter() - begin))
    what = f"GEOS {shapely.geos_version_string} unary union of {len(rows)} footprints"
    timed.append((what, statistics.median(times), union.area))
    if abs(union.area - timed[0][2]) > SAME_M2:
        sys.exit("the two unions differ in area")
    return timed


def ratios(timed):
    """Ours over GEOS's and over geo's own, each on the same footprints."""
    by_name = {what: ms for what, ms, _ in timed}
    geos = timed[0][1] / timed[-1][1]
    own = next(what for what in by_name if what.startswith("geo's"))
    fewer = own.removeprefix("geo's unary ")
    return geos, by_name[fewer] / by_name[own]


if __name__ == "__main__":
    timed = compare()
    for what, ms, area in timed:
        print(f"{what}: {ms:.1f} ms, {area:.6f} m2")
    print("ours over GEOS's: {:.3f}; over geo's own: {:.4f}".format(*ratios(timed)))
