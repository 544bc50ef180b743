"""All benchmarks in one run, as one table: the cost of a study of each example, the clearance kernel, the search for
each vehicle, envelopes beside GEOS's and geo's own unions, and the growth of the cost of inspecting a path.

    python tests/bench/table.py [PART...]     (study, kernel, search, envelope, growth; all if none is named)

Builds what it needs. Ratios compare within the run; times are those of the machine it names. Linux only: processor time
and peak memory of a study are the kernel's figures for the finished child. The envelopes need shapely, and are left out
with a note where it is missing.
"""

import datetime
import os
import platform
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
PARTS = ["study", "kernel", "search", "envelope", "growth"]


def row(what, *cells):
    print(f"| {what:52} | " + " | ".join(f"{cell:>22}" for cell in cells) + " |", flush=True)


def heading(what, *cells):
    row(what, *cells)
    print("|" + "|".join("-" * (width + 2) for width in [52] + [22] * len(cells)) + "|")


def run(command):
    return subprocess.run(command, cwd=TOP, check=True, capture_output=True, text=True).stdout


def bench(name):
    """The lines a bench target prints."""
    return run(["cargo", "bench", "--quiet", "--bench", name]).splitlines()


def machine():
    cpu = re.search(r"^model name\s*: (.*)$", Path("/proc/cpuinfo").read_text(), re.MULTILINE)
    memory = re.search(r"^MemTotal:\s*(\d+) kB", Path("/proc/meminfo").read_text(), re.MULTILINE)
    now = datetime.datetime.now(datetime.timezone.utc)
    print(
        f"{now:%Y-%m-%d %H:%M} UTC; {os.cpu_count()} cores, {cpu[1] if cpu else platform.machine()}, "
        f"{int(memory[1]) / 1e6:.0f} GB; {platform.system()} {platform.release()}; {run(['rustc', '--version']).strip()}; "
        f"load before {os.getloadavg()[0]:.1f}\n"
    )


def study():
    run(["cargo", "build", "--release", "--quiet"])
    heading("study", "wall s", "processor s", "peak memory MB")
    for plan in sorted((TOP / "examples").glob("*.geojson")):
        with tempfile.TemporaryDirectory() as folder:
            command = [TOP / "target/release/wideenough", "study", plan, "--out", folder]
            begin = time.perf_counter()
            child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            _, status, used = os.wait4(child.pid, 0)
            wall = time.perf_counter() - begin
            child.returncode = os.waitstatus_to_exitcode(status)
        # 1 is an answer too: a vehicle does not pass the gate as drawn.
        if child.returncode not in (0, 1):
            sys.exit(f"{plan.name}: status {child.returncode}")
        processor = used.ru_utime + used.ru_stime
        row(plan.stem, f"{wall:.2f}", f"{processor:.2f}", f"{used.ru_maxrss / 1e3:.0f}")


def kernel():
    peak, _, *lines = bench("kernel")
    heading("clearance kernel, one pose", "million poses/s", "operations", "of the machine's")
    row("arithmetic of the machine, one thread", "", f"{float(peak.split(': ')[1].split()[0]):.1f}e9 /s", "100%")
    for line in lines:
        name, parts, rate, _, operations, share = line.split()
        row(f"{name}, {parts} parts", rate, operations, share)


def search():
    """Bare and comfortable together: the median of each vehicle's cases."""
    head, *lines = bench("search")
    # The name takes 38 columns, and every column of numbers ends where its heading does.
    end = head.index(" ms ") + 3
    times = {}
    for line in lines:
        if line.startswith("median"):
            continue
        name = next(v for v in ("pickup", "box truck", "box-truck", "gooseneck", "car") if line.startswith(v))
        times.setdefault(name.replace("-", " "), []).append(float(line[:end].split()[-1]))
    heading("search, bare and comfortable together", "cases", "median ms", "slowest ms")
    for name, all_ms in times.items():
        row(name, len(all_ms), f"{statistics.median(all_ms):.0f}", f"{max(all_ms):.0f}")


def envelope():
    try:
        import envelope as by_geos
    except ImportError as missing:
        print(f"NOT RUN: envelopes, {missing}")
        return
    timed = by_geos.compare()
    heading("envelope", "ms", "area m2", "")
    for what, ms, area in timed:
        row(what, f"{ms:.1f}", f"{area:.4f}", "")
    geos, own = by_geos.ratios(timed)
    row("ours over GEOS's, over geo's own", f"{geos:.3f}", f"{own:.4f}", "")


def growth():
    """Each figure beside its ratio to the first of its kind."""
    first = {}
    for line in bench("growth"):
        what, *cells = line[:44].strip(), *line[44:].split("  ")
        cells = [cell.strip() for cell in cells if cell.strip()]
        if what == "growth":
            print()
            heading("growth: " + cells[0], *cells, "times the first")
            continue
        cost = float(cells[1])
        row(what, *cells, f"{cost / first.setdefault(what, cost):.2f}")


if __name__ == "__main__":
    wanted = sys.argv[1:] or PARTS
    if not set(wanted) <= set(PARTS):
        sys.exit(__doc__)
    machine()
    for part in (part for part in PARTS if part in wanted):
        {"study": study, "kernel": kernel, "search": search, "envelope": envelope, "growth": growth}[part]()
        print()
