#!/usr/bin/env python3
"""Humid air as CoolProp computes it, for crates/thermo/tests/coolprop_humid_air.rs.

    humid_air_fixture.py > crates/thermo/tests/fixtures/humid_air.csv

CoolProp's HumidAirProp (ASHRAE RP-1485: Herrmann, Kretzschmar, Gatley) at random states within -40...+250 degC,
0.2...6 bar, humidity ratio 0...0.03, not supersaturated. Rows come in pairs of one humidity ratio, so that differences
of enthalpy and entropy can be compared. Needs CoolProp; the seed is fixed.
"""

import math
import random

from CoolProp.HumidAirProp import HAPropsSI

PAIRS = 2750


def ask(output, t, p, w):
    """A property, or nan where CoolProp has none."""
    try:
        value = HAPropsSI(output, "T", t, "P", p, "W", w)
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def saturation(t, p):
    """Saturation humidity ratio; infinite above boiling, nan where CoolProp has none."""
    try:
        w = HAPropsSI("W", "T", t, "P", p, "R", 1.0)
    except ValueError:
        return math.inf
    return w if 0.0 < w < 10.0 else math.inf


def state(rng):
    return rng.uniform(233.15, 523.15), 10 ** rng.uniform(math.log10(2e4), math.log10(6e5))


def row(t, p, w, ws):
    """Saturation only within the range compared, the rest everywhere."""
    dew = ask("D", t, p, w) if w >= 1e-5 else math.nan
    wet = ask("B", t, p, w)
    values = [ask("Vha", t, p, w), ask("H", t, p, w), ask("S", t, p, w), ws if ws <= 0.03 else math.nan, dew, wet]
    values += [ask("Cha", t, p, w), ask("speed_of_sound", t, p, w)]
    if any(math.isnan(v) for v in values[:3]):
        return None
    values[0] = 1.0 / values[0]
    digits = (8, 9, 8, 7, 8, 8, 7, 7)
    cells = ["" if math.isnan(v) else f"{v:.{d}g}" for v, d in zip(values, digits)]
    return ",".join([f"{t:.3f}", f"{p:.0f}", f"{w:.7g}", *cells])


def main():
    rng = random.Random(20020815)
    lines = ["t_K,p_Pa,w,density,enthalpy,entropy,saturation_w,dew_point_K,wet_bulb_K,cp,speed_of_sound"]
    pairs = 0
    while pairs < PAIRS:
        (t1, p1), (t2, p2) = state(rng), state(rng)
        t1, t2, p1, p2 = round(t1, 3), round(t2, 3), round(p1), round(p2)
        ws1, ws2 = saturation(t1, p1), saturation(t2, p2)
        # A third each: evenly, evenly on a logarithm, close to what the colder state can hold.
        most = min(0.03, ws1, ws2)
        kind = pairs % 3
        w = most * rng.random() if kind == 0 else most * 10 ** -rng.uniform(0, 2) if kind == 1 else most * 0.999
        w = float(f"{w:.7g}")
        if w > most:
            continue
        both = row(t1, p1, w, ws1), row(t2, p2, w, ws2)
        if None in both:
            continue
        lines += both
        pairs += 1
    print("\n".join(lines))


if __name__ == "__main__":
    main()
