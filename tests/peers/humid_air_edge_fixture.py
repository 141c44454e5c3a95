#!/usr/bin/env python3
"""Humid air at the edge of the virial series as CoolProp computes it, for crates/thermo/tests/coolprop_edge.rs.

    humid_air_edge_fixture.py > crates/thermo/tests/fixtures/humid_air_edge.csv

The greatest humidity ratio at which p|B|/(R T) <= 0.15 and p T|d2B/dT2|/R <= 2, with the published formulas of the
coefficients, and what CoolProp's HumidAirProp says of density and heat capacity there. Most of these states are far
above saturation, where CoolProp extrapolates as well. Needs CoolProp.
"""

import math

from CoolProp.HumidAirProp import HAPropsSI
from virial_fit import AIR, CROSS, R, published

EPSILON = 18.015268e-3 / (8.314462618 / 287.05287)


def inside(t, p, w):
    x = w / (w + EPSILON)
    (a, _, a2, _), (c, _, c2, _) = ([float(v) for v in published(pair, type(R)(t))] for pair in (AIR, CROSS))
    e, u = 0.147184e-8 * 8.31441 * math.exp(1734.29 / t), 1734.29 / t
    b, b2 = t * (0.70e-8 * 8.31441 - e), -1734.29 * u * e

    def share(air, cross, water):
        mixture = air * (1 - x) ** 2 + 2 * x * (1 - x) * cross + x * x * water
        return abs(mixture) * p / (float(R) * t)

    return share(a, c, b) <= 0.15 and share(a2, c2, b2) <= 2.0


def main():
    print("t_K,p_Pa,w,density,cp")
    for t in (233.15, 253.15, 273.15, 298.15, 323.15, 348.15, 373.15, 423.15):
        for p in (2e4, 1e5, 3e5, 6e5, 1e6, 2e6):
            low, high = 0.0, 10.0
            if inside(t, p, high):
                continue
            while high - low > 1e-6:
                middle = (low + high) / 2
                low, high = (middle, high) if inside(t, p, middle) else (low, middle)
            w = math.floor(low * 1e5) / 1e5
            try:
                values = 1 / HAPropsSI("Vha", "T", t, "P", p, "W", w), HAPropsSI("Cha", "T", t, "P", p, "W", w)
            except ValueError:
                continue
            if all(map(math.isfinite, values)):
                print(f"{t},{p:.0f},{w:.5f},{values[0]:.7g},{values[1]:.7g}")


if __name__ == "__main__":
    main()
