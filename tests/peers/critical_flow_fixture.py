#!/usr/bin/env python3
"""Critical flow function of dry air from the equation of state of Lemmon et al. (2000) in CoolProp.

    critical_flow_fixture.py fit            prints the coefficients of crates/thermo/src/critical_nozzle.rs
    critical_flow_fixture.py table > crates/thermo/tests/fixtures/critical_flow.csv

C* = max over the isentrope of (rho*u) * sqrt(R*T0)/p0, from stagnation p0, T0. Needs CoolProp, numpy, scipy.
"""
import math
import random
import sys

import CoolProp.CoolProp as CP
import numpy as np
from scipy.optimize import minimize_scalar

AIR = CP.AbstractState("HEOS", "Air")
GAS_CONSTANT = AIR.gas_constant() / AIR.molar_mass()


def critical_flow_function(p0, t0):
    AIR.update(CP.PT_INPUTS, p0, t0)
    h0, s0 = AIR.hmass(), AIR.smass()

    def flux(ratio):
        AIR.update(CP.PSmass_INPUTS, p0 * ratio, s0)
        return -AIR.rhomass() * math.sqrt(max(0.0, 2.0 * (h0 - AIR.hmass())))

    best = minimize_scalar(flux, bounds=(0.4, 0.65), method="bounded", options={"xatol": 1e-9})
    return -best.fun * math.sqrt(GAS_CONSTANT * t0) / p0


def terms(p0, t0):
    """C* = sum c_i T^i + p sum d_j (1/T)^j + p^2 sum e_k (1/T)^k, T in 100 K, p in MPa."""
    t, p = t0 / 100.0, p0 / 1e6
    return [t**i for i in range(5)] + [p * t**-j for j in range(5)] + [p * p * t ** -k for k in range(1, 4)]


def fit():
    points = [(p, t) for p in np.geomspace(2e4, 1e6, 12) for t in np.linspace(220.0, 550.0, 34)]
    values = [critical_flow_function(p, t) for p, t in points]
    matrix = np.array([terms(p, t) for p, t in points])
    found, *_ = np.linalg.lstsq(matrix, np.array(values), rcond=None)
    print("largest difference", np.max(np.abs(matrix @ found - values)))
    for c in found:
        print(f"{c:.9e}")


def table():
    rng = random.Random(9300)
    print("pressure_pa,temperature_k,critical_flow_function")
    for _ in range(400):
        p, t = rng.uniform(2e4, 1e6), rng.uniform(220.0, 550.0)
        print(f"{p!r},{t!r},{float(critical_flow_function(p, t))!r}")


{"fit": fit, "table": table}[sys.argv[1]]()
