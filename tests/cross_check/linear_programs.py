"""Linear programs of a study, solved again by HiGHS (through scipy): no answer costs more than its tolerance allows.

Reads the file that `PROGRAMS_TO=... cargo test --lib recorded_programs` writes: costs, rows, limits, the answer and its
tolerance. The check must refuse answers taken a tenth of the way back to the start.
"""
import json
import sys

import numpy as np
from scipy.optimize import linprog

# Largest violation of a row, as in src/opening/recorded_programs.rs.
BROKEN = 3e-6


def judged(program, back):
    """Excess of the answer's cost over the least, and what its tolerance allows."""
    costs, rows, limits = (np.array(program[key]) for key in ("costs", "rows", "limits"))
    answer = np.array(program["answer"]) * (1.0 - back)
    best = linprog(costs, A_ub=rows, b_ub=limits, bounds=(None, None), method="highs")
    assert best.status == 0, best.message
    gain = program["now"] - costs @ answer
    # A method of interior points bounds the excess by the sum of the products of slack and multiplier.
    allowed = max(program["gap"] * len(limits), program["share"] * gain)
    violated = (rows @ answer - limits).max()
    return costs @ answer - best.fun, allowed, violated


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        programs = json.load(file)
    worst, cheaper, refused, exact = 0.0, 0.0, 0, 0
    for program in programs:
        excess, allowed, violated = judged(program, 0.0)
        assert violated < BROKEN, violated
        assert excess < allowed, (len(program["costs"]), excess, allowed)
        worst, cheaper = max(worst, excess / allowed), min(cheaper, excess)
        exact += program["share"] == 0.0
        excess, allowed, violated = judged(program, 0.1)
        refused += excess > allowed or violated > BROKEN
    columns = max(len(program["costs"]) for program in programs)
    print(f"{len(programs)} linear programs ({exact} solved exactly) of up to {columns} columns: the answers cost at most "
          f"{worst:.0%} of their tolerance more than the least, and {abs(cheaper):.1e} less")
    print(f"a tenth of the way back: {refused} refused")
    assert len(programs) > 30 and exact > 5 and refused > 0.9 * len(programs), "the check sees nothing"
    # Rows may be violated by a micrometer, which may save a little more than that.
    assert cheaper > -1e-5, cheaper


main()
