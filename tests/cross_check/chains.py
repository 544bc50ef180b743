"""Holds the motion of the committed witnesses to scipy's integrator, sharing no code with the program.

Each witness in out/*/results.json is driven again: its curvatures go to solve_ivp (DOP853, error per step below 1e-12)
in the hitch angles themselves, a lead unit that rolls without slip and towed units whose axles do. Compared are every
listed pose and the last one. The program uses closed forms where the curvature is constant and steps where it changes.

A witness with its curvatures a ten-thousandth larger, and one with its hitches a centimeter further back, must
be refused.

    python tests/cross_check/chains.py [FOLDER...]      (every folder in out/ if none is named)

Needs numpy, scipy and what envelope.py needs. Exit status 1 if anything disagrees.
"""

import json
import sys
from pathlib import Path

import numpy as np
from envelope import POSE_M, hitch_allowed
from scipy.integrate import solve_ivp

TOLERANCE = 1e-12
LONGEST_STEP_M = 0.25  # so that values between steps are as good as those at them


def towed(state, k, sign, chain):
    """d(state)/d(distance rolled); state is x, y and heading of the lead, then hitch angles, front less behind."""
    x, y, heading, *hitches = state
    speed, yaw = sign, sign * k
    out = [speed * np.cos(heading), speed * np.sin(heading), yaw]
    for hitch, (behind, wheelbase) in zip(hitches, chain):
        # The hitch moves by (speed, -behind yaw) in the frame of the unit in front; seen from the one behind, that
        # frame is turned by the hitch angle.
        across = speed * np.sin(hitch) - behind * yaw * np.cos(hitch)
        along = speed * np.cos(hitch) + behind * yaw * np.sin(hitch)
        out.append(yaw - across / wheelbase)
        speed, yaw = along, across / wheelbase
    return out


class Drive:
    """A witness driven by scipy: the state at any distance rolled."""

    def __init__(self, witness, chain, scale=1.0):
        start = witness["start"]
        state = np.array([start["x_m"], start["y_m"], start["heading_rad"], *start["hitch_rad"]])
        self.ends, self.pieces = [0.0], []
        for leg in witness["legs"]:
            sign = 1.0 if leg["direction"] == "forward" else -1.0
            for segment in leg["segments"]:
                length, k0, k1 = (segment[key] for key in ("length_m", "curvature_start", "curvature_end"))
                if length <= 0.0:
                    continue

                def rate(s, state, length=length, k0=k0 * scale, k1=k1 * scale, sign=sign):
                    return towed(state, k0 + (k1 - k0) * s / length, sign, chain)

                solved = solve_ivp(
                    rate, (0.0, length), state, method="DOP853", rtol=TOLERANCE, atol=TOLERANCE,
                    max_step=LONGEST_STEP_M, dense_output=True,
                )
                assert solved.success, solved.message
                self.pieces.append(solved.sol)
                self.ends.append(self.ends[-1] + length)
                state = solved.y[:, -1]
        self.last = state
        self.ends = np.array(self.ends)

    def at(self, stations):
        """States at distances rolled, in order or not."""
        stations = np.atleast_1d(stations)
        which = np.clip(np.searchsorted(self.ends, stations, side="right") - 1, 0, len(self.pieces) - 1)
        out = np.empty((len(stations), len(self.last)))
        for i in np.unique(which):
            here = which == i
            out[here] = self.pieces[i](np.clip(stations[here] - self.ends[i], 0.0, self.ends[i + 1] - self.ends[i])).T
        return out


def headings(states):
    """States as envelope.unit_poses takes them: the heading of each towed unit in place of its hitch angle."""
    return np.column_stack([states[:, :2], states[:, 2:3] - np.cumsum(np.pad(states[:, 3:], ((0, 0), (1, 0))), axis=1)])


def chain_of(results, case):
    units = results["vehicle_outlines"][case["vehicle"]]["units"]
    return [(front["hitch_behind_m"], unit["wheelbase_m"]) for front, unit in zip(units, units[1:])]


def gaps(witness, drive):
    """Differences of the listed poses: the largest position in meters; of each pose the largest angle in radians."""
    rows = np.array(witness["poses"])
    states = drive.at(rows[:, 0])
    # The last one is the end of the drive, whatever its station says.
    states[-1] = drive.last
    return float(np.hypot(*(rows[:, 1:3] - states[:, :2]).T).max()), np.abs(rows[:, 3:] - states[:, 2:]).max(axis=1)


def agrees(witness, chain, drive):
    gap_m, gaps_rad = gaps(witness, drive)
    return gap_m <= POSE_M and (gaps_rad <= hitch_allowed(witness, chain)).all()


def check(results, case):
    """Faults, the two largest gaps, the share of the angle allowed that is used, whether it tows, number of poses."""
    witness, chain = case["witness"], chain_of(results, case)
    drive = Drive(witness, chain)
    gap_m, gaps_rad = gaps(witness, drive)
    shares = gaps_rad / hitch_allowed(witness, chain)
    worst = int(shares.argmax())
    faults = []
    if abs(drive.ends[-1] - witness["poses"][-1][0]) > POSE_M:
        faults.append(f"it ends after {drive.ends[-1]} m")
    if gap_m > POSE_M:
        faults.append(f"passes {gap_m} m from a listed pose, {POSE_M} allowed")
    if shares[worst] > 1.0:
        at_m = witness["poses"][worst][0]
        faults.append(f"after {at_m} m an angle differs by {gaps_rad[worst]}, {shares[worst]} times what is allowed")
    if agrees(witness, chain, Drive(witness, chain, 1.0001)):
        faults.append("curvatures a ten-thousandth larger went unnoticed")
    longer = [(behind + 0.01, wheelbase) for behind, wheelbase in chain]
    if chain and agrees(witness, longer, Drive(witness, longer)):
        faults.append("hitches a centimeter further back went unnoticed")
    return faults, gap_m, float(gaps_rad.max()), float(shares[worst]), bool(chain), len(witness["poses"])


def main(folders):
    worst = {False: [0.0, 0.0, 0.0], True: [0.0, 0.0, 0.0]}
    drives, poses, bad = {False: 0, True: 0}, 0, 0
    for folder in folders:
        results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        for case in (case for case in results["cases"] if "witness" in case):
            faults, *gap, trailer, count = check(results, case)
            worst[trailer] = [max(pair) for pair in zip(worst[trailer], gap)]
            drives[trailer] += 1
            poses += count
            bad += bool(faults)
            for fault in faults:
                print(f"{folder.name}/{case['drawing'].removesuffix('.svg')}: {fault}")
    for trailer, name in ((False, "without a trailer"), (True, "with a trailer")):
        gap_m, gap_rad, share = worst[trailer]
        print(
            f"{drives[trailer]} drives {name}: worst {gap_m * 1e6:.2f} um of {POSE_M * 1e6}, {gap_rad * 1e6:.3f} urad, "
            f"at most {share * 100:.0f} % of what is allowed an angle"
        )
    print(f"{poses} poses compared with scipy's, {bad} drives bad")
    return 0 if not bad and drives[False] >= 4 and drives[True] >= 4 else 1


if __name__ == "__main__":
    named = [Path(name) for name in sys.argv[1:]]
    top = Path(__file__).resolve().parents[2] / "out"
    sys.exit(main(named or sorted(p for p in top.iterdir() if p.is_dir() and p.suffix != ".actual")))
