"""Times GEOS's unary union on the footprints of tests/bench/envelope.rs, in one run with the program's own union.

    python tests/bench/envelope.py

Needs shapely. Prints both times and their ratio; the median of five rounds each.
"""

import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import shapely

top = Path(__file__).resolve().parents[2]
with tempfile.TemporaryDirectory() as folder:
    file = Path(folder) / "footprints.txt"
    command = ["cargo", "bench", "--quiet", "--bench", "envelope", "--", str(file)]
    ours = subprocess.run(command, cwd=top, check=True, capture_output=True, text=True).stdout
    rows = [list(map(float, line.split())) for line in file.read_text().splitlines()]
print(ours.strip())
footprints = shapely.polygons([[row[0:2], row[2:4], row[4:6], row[6:8]] for row in rows])
times = []
for _ in range(5):
    begin = time.perf_counter()
    union = shapely.unary_union(footprints)
    times.append(1000.0 * (time.perf_counter() - begin))
geos = statistics.median(times)
print(f"GEOS {shapely.geos_version_string} unary union of {len(rows)} footprints: {geos:.1f} ms, {union.area:.6f} m2")
found = re.search(r"footprints: ([\d.]+) ms, ([\d.]+) m2", ours)
print(f"ratio: {float(found[1]) / geos:.3f}")
if abs(union.area - float(found[2])) > 1e-4:
    sys.exit("the two unions differ in area")
