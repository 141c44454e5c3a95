#!/usr/bin/env python3
"""Effectiveness of heat exchangers by other programs, for crates/thermo/tests/exchanger_peers.rs.

    exchanger_fixture.py > crates/thermo/tests/fixtures/exchangers.csv

Counter-flow, parallel-flow, cross-flow, shell and tube: ht (exact cross-flow by its integral). Cross-flow both mixed:
ht's P-NTU form. Passes in counter-flow: the two fluids' temperatures between the passes as one linear system, solved
with numpy, each pass with ht's effectiveness. Needs ht, numpy, scipy.
"""
import random

import ht
import numpy as np

HT_NAME = {
    "counter-flow": "counterflow",
    "parallel-flow": "parallel",
    "both-unmixed": "crossflow",
    "min-mixed": "crossflow, mixed Cmin",
    "max-mixed": "crossflow, mixed Cmax",
}


def one_pass(kind, ntu, ratio):
    if kind == "both-mixed":
        return ht.temperature_effectiveness_basic(R1=ratio, NTU1=ntu, subtype="crossflow, mixed 1&2")
    return ht.effectiveness_from_NTU(ntu, ratio, subtype=HT_NAME[kind])


def passes(kind, n, ntu, ratio):
    """The fluid with C_min enters pass 1 with 1, the other enters pass n with 0; unknowns: outlets of every pass."""
    e = one_pass(kind, ntu / n, ratio)
    matrix, right = np.zeros((2 * n, 2 * n)), np.zeros(2 * n)
    for i in range(n):
        matrix[i, i] = 1.0  # h_i = h_(i-1) - e*(h_(i-1) - c_(i+1))
        matrix[n + i, n + i] = 1.0  # c_i = c_(i+1) + e*ratio*(h_(i-1) - c_(i+1))
        if i == 0:
            right[i] += 1.0 - e
            right[n + i] += e * ratio
        else:
            matrix[i, i - 1] -= 1.0 - e
            matrix[n + i, i - 1] -= e * ratio
        if i < n - 1:
            matrix[i, n + i + 1] -= e
            matrix[n + i, n + i + 1] -= 1.0 - e * ratio
    return 1.0 - np.linalg.solve(matrix, right)[n - 1]


def main():
    rng = random.Random(5167)
    print("kind,passes,ntu,capacity_ratio,effectiveness")
    ratios = [0.05, 0.3, 0.5, 0.77, 0.95, 1.0]
    for kind in [*HT_NAME, "both-mixed"]:
        for i in range(150):
            ntu = round(rng.uniform(0.02, 10.0), 4)
            ratio = ratios[i] if i < len(ratios) else round(rng.uniform(0.02, 1.0), 4)
            print(f"{kind},1,{ntu},{ratio},{float(one_pass(kind, ntu, ratio))!r}")
    for kind in ["both-unmixed", "min-mixed", "max-mixed", "both-mixed"]:
        for _ in range(60):
            n, ntu, ratio = rng.randint(2, 6), round(rng.uniform(0.1, 8.0), 4), round(rng.uniform(0.02, 1.0), 4)
            print(f"{kind},{n},{ntu},{ratio},{float(passes(kind, n, ntu, ratio))!r}")
    for _ in range(150):
        n, ntu, ratio = rng.randint(1, 5), round(rng.uniform(0.05, 8.0), 4), round(rng.uniform(0.02, 0.999), 4)
        e = ht.effectiveness_from_NTU(ntu, ratio, subtype="S&T", n_shell_tube=n)
        print(f"shell-and-tube,{n},{ntu},{ratio},{float(e)!r}")


main()
