#!/usr/bin/env python3
"""Humid air at the edge of the virial series as CoolProp computes it, for crates/thermo/tests/coolprop_edge.rs.

    humid_air_edge_fixture.py > crates/thermo/tests/fixtures/humid_air_edge.csv

The greatest humidity ratio at which p T|d2(B - B_air)/dT2|/R <= 0.3, with the published formulas of the coefficients, and what CoolProp's HumidAirProp says of density and heat capacity there. Most of these states are far
above saturation, where CoolProp extrapolates as well. Needs CoolProp.
"""

import math

from CoolProp.HumidAirProp import HAPropsSI
from virial_fit import AIR, CROSS, R, published

EPSILON = 18.015268e-3 / (8.314462618 / 287.05287)


def inside(t, p, w):
    x = w / (w + EPSILON)
    a2, c2 = (float(published(pair, type(R)(t))[2]) for pair in (AIR, CROSS))
    e, u = 0.147184e-8 * 8.31441 * math.exp(1734.29 / t), 1734.29 / t
    vapour = a2 * (1 - x) ** 2 + 2 * x * (1 - x) * c2 - x * x * 1734.29 * u * e - a2
    return abs(vapour) * p / (float(R) * t) <= 0.3


def main():
    print("t_K,p_Pa,w,density,cp")
    for t in (203.15, 213.15, 233.15, 253.15, 273.15, 298.15, 323.15, 348.15, 373.15, 423.15, 448.15, 473.15):
        for p in (2e4, 1e5, 3e5, 6e5, 8e5, 1e6, 2e6):
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
