#!/usr/bin/env python3
"""The expansion of humid air in a cooling turbine that tests/published/air_humid_expansion.rs compares with.

    humid_expansion_fixture.py          prints name and value, one a line

Air and vapour are ideal gases of constant heat capacity; water condenses in equilibrium as a liquid, supercooled below
0 degC, at the saturation pressure of Hyland and Wexler (ASHRAE Handbook, Fundamentals, chapter "Psychrometrics"). The
turbine's efficiency counts on the enthalpy of the mixture. Dry air besides by CoolProp. Needs CoolProp.
"""
import math

from CoolProp.CoolProp import PropsSI

T1, P1, P2, W, EFFICIENCY = 313.15, 350e3, 110e3, 0.012, 0.8
CP_AIR, CP_VAPOUR, C_LIQUID, LATENT_0 = 1005.0, 1860.0, 4186.0, 2.501e6
R_AIR, R_VAPOUR, T0 = 287.042, 461.524, 273.15
RATIO = R_AIR / R_VAPOUR
DRY_AIR = "Air"


def saturation_pressure(t):
    c = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)
    return math.exp(c[0] / t + c[1] + c[2] * t + c[3] * t * t + c[4] * t**3 + c[5] * math.log(t))


def vapour(t, p):
    """Vapour per kg of dry air: all water, or what saturates."""
    e = saturation_pressure(t)
    return min(W, RATIO * e / (p - e))


def enthalpy(t, p):
    v = vapour(t, p)
    c = t - T0
    return CP_AIR * c + v * (LATENT_0 + CP_VAPOUR * c) + (W - v) * C_LIQUID * c


def entropy(t, p):
    v = vapour(t, p)
    e = p * v / (RATIO + v)
    air = CP_AIR * math.log(t / T0) - R_AIR * math.log((p - e) / P1)
    gas = LATENT_0 / T0 + CP_VAPOUR * math.log(t / T0) - R_VAPOUR * math.log(e / saturation_pressure(T0))
    return air + v * gas + (W - v) * C_LIQUID * math.log(t / T0)


def solve(f, low, high):
    """The root of a rising function."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if f(middle) < 0.0 else (low, middle)
    return 0.5 * (low + high)


def wet():
    ideal = solve(lambda t: entropy(t, P2) - entropy(T1, P1), 200.0, T1)
    work = EFFICIENCY * (enthalpy(T1, P1) - enthalpy(ideal, P2))
    outlet = solve(lambda t: enthalpy(t, P2) - enthalpy(T1, P1) + work, 200.0, T1)
    return outlet, W - vapour(outlet, P2), work


def dry():
    """The same humid air were nothing to condense: outlet and work."""
    cp, r = CP_AIR + W * CP_VAPOUR, R_AIR + W * R_VAPOUR
    drop = EFFICIENCY * T1 * (1.0 - (P2 / P1) ** (r / cp))
    return T1 - drop, cp * drop, drop / EFFICIENCY


def dry_air():
    """Dry air by CoolProp: outlet and work at the efficiency, and the efficiency that the wet outlet would give."""
    h1, s1 = PropsSI("H", "T", T1, "P", P1, DRY_AIR), PropsSI("S", "T", T1, "P", P1, DRY_AIR)
    ideal = h1 - PropsSI("H", "P", P2, "S", s1, DRY_AIR)
    outlet = PropsSI("T", "P", P2, "H", h1 - EFFICIENCY * ideal, DRY_AIR)
    slip = (h1 - PropsSI("H", "T", wet()[0], "P", P2, DRY_AIR)) / ideal
    return outlet, EFFICIENCY * ideal, slip


def main():
    outlet, water, work = wet()
    dry_outlet, dry_work, ideal_drop = dry()
    air_outlet, air_work, air_slip = dry_air()
    for name, value in (
        ("wet_outlet_k", outlet),
        ("condensed", water),
        ("wet_work", work),
        ("dry_outlet_k", dry_outlet),
        ("dry_work", dry_work),
        ("slip", (T1 - outlet) / ideal_drop),
        ("dry_air_outlet_k", air_outlet),
        ("dry_air_work", air_work),
        ("dry_air_slip", air_slip),
    ):
        print(name, repr(float(value)))


main()
