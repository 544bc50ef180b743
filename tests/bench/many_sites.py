"""Time and memory of a study of many generated sites, and the share of time the cores are kept at work.

`python tests/bench/many_sites.py --sites 1000` builds nothing: it runs target/release/wideenough on plans of its own (a
road, a gate, a tree, one car from one side), in a fresh folder, by one thread and by all, and prints

- the wall time, the processor time, and the largest memory the program held (Linux: ru_maxrss);
- the share of time that the studying threads were running or waiting for a core, from the kernel's own counts: on a
  machine that is busy otherwise wall times say little, but a thread that never rests gets all that there is to get.
"""
import argparse
import json
import os
import pathlib
import random
import subprocess
import tempfile
import time


def plan(dice: random.Random, number: int) -> dict:
    lon, lat = -93 + 0.002 * (number % 100), 42 + 0.002 * (number // 100)
    east, north = 1 / 82_700, 1 / 111_070  # degrees for a meter here, nearly
    at = lambda x, y: [round(lon + x * east, 9), round(lat + y * north, 9)]
    width, setback, half = dice.uniform(4, 7), dice.uniform(3, 9), dice.uniform(1.5, 2.6)
    line = width / 2 + setback
    feature = lambda kind, coordinates, **properties: {
        "type": "Feature", "properties": properties, "geometry": {"type": kind, "coordinates": coordinates}}
    return {
        "type": "FeatureCollection",
        "plan": {"title": f"Site {number}", "vehicles": [{"vehicle": "car", "travels": ["eastbound"]}]},
        "features": [
            feature("LineString", [at(-60, 0), at(60, 0)], role="road", width=width, continues="both"),
            feature("LineString", [at(-half, line), at(half, line)], role="gate",
                    leaves=dice.choice(["none", "double", "slide"])),
            feature("Point", at(dice.uniform(5, 9), line + dice.uniform(2, 8)), role="obstacle", label="tree",
                    radius=0.3),
        ],
    }


def threads_at_work(pid: int) -> list[tuple[int, int]]:
    """Nanoseconds that each thread has run and has waited for a core."""
    times = []
    for task in pathlib.Path(f"/proc/{pid}/task").iterdir():
        try:
            run, waited, _ = (task / "schedstat").read_text().split()
            times.append((int(run), int(waited)))
        except OSError:
            pass  # It has just ended.
    return times


def study(program: pathlib.Path, folder: pathlib.Path, out: str, threads: int) -> None:
    begun = time.monotonic()
    child = subprocess.Popen([program, "study", "plans", "--out", out, "--no-changes"], cwd=folder,
                             env=dict(os.environ, RAYON_NUM_THREADS=str(threads)),
                             stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    # The last sample while all threads still work: near the end some rest.
    seen, looked = [], begun
    total = len(list((folder / "plans").iterdir()))
    while True:
        pid, status, used = os.wait4(child.pid, os.WNOHANG)
        if pid:
            break
        done = sum(1 for _ in (folder / out).glob("*/study.fingerprint")) if (folder / out).is_dir() else 0
        if done < total - threads:
            seen, looked = threads_at_work(child.pid), time.monotonic()
        time.sleep(0.5)
    wall = time.monotonic() - begun
    processor = used.ru_utime + used.ru_stime
    busiest = sorted((run + waited for run, waited in seen), reverse=True)[:threads]
    busy = sum(busiest) / 1e9 / threads / max(looked - begun, 1e-9)
    print(f"{total} sites by {threads} threads: {wall:.0f} s, {processor:.0f} s of processor time "
          f"({1000 * processor / total:.0f} ms a site), {used.ru_maxrss / 1024:.0f} MB at most; the threads that study "
          f"were running or ready to run {100 * busy:.1f} % of the time; status {os.waitstatus_to_exitcode(status)}",
          flush=True)


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--sites", type=int, default=100)
    arguments.add_argument("--threads", type=int, nargs="*", default=[1, os.cpu_count()])
    asked = arguments.parse_args()
    program = pathlib.Path(__file__).resolve().parents[2] / "target/release/wideenough"
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        (folder / "plans").mkdir()
        dice = random.Random(1)
        for number in range(asked.sites):
            (folder / f"plans/site-{number:05}.geojson").write_text(json.dumps(plan(dice, number)))
        for threads in asked.threads:
            study(program, folder, f"out-{threads}", threads)
        last = f"out-{asked.threads[-1]}"
        begun = time.monotonic()
        again = subprocess.run([program, "study", "plans", "--out", last, "--no-changes"], cwd=folder, capture_output=True)
        print(f"again, nothing changed: {time.monotonic() - begun:.1f} s; {again.stderr.decode().splitlines()[-2]}")


if __name__ == "__main__":
    main()
