#!/usr/bin/env python3
"""Flow meters and the standard atmosphere by the library fluids, for crates/thermo/tests/flow_peers.rs.

    flow_fixture.py meters     > crates/thermo/tests/fixtures/flow_meters.csv
    flow_fixture.py atmosphere > crates/thermo/tests/fixtures/atmosphere.csv

Needs fluids, numpy, scipy.
"""
import math
import random
import sys

from fluids import flow_meter as fm
from fluids.atmosphere import ATMOSPHERE_1976

# name: type and tappings as fluids calls them, diameter, diameter ratio and Reynolds number to draw from
DEVICES = {
    "orifice-corner": (fm.ISO_5167_ORIFICE, "corner", (0.05, 0.5), (0.1, 0.75), (1.2e4, 1e7)),
    "orifice-d": (fm.ISO_5167_ORIFICE, "D", (0.05, 0.5), (0.1, 0.75), (1.2e4, 1e7)),
    "orifice-flange": (fm.ISO_5167_ORIFICE, "flange", (0.05, 0.5), (0.1, 0.75), (5e4, 1e7)),
    "isa-1932": (fm.ISA_1932_NOZZLE, None, (0.05, 0.5), (0.3, 0.8), (7.1e4, 1e7)),
    "long-radius": (fm.LONG_RADIUS_NOZZLE, None, (0.05, 0.63), (0.2, 0.8), (1.1e4, 1e7)),
    "venturi-nozzle": (fm.VENTURI_NOZZLE, None, (0.2, 0.5), (0.32, 0.77), (1.6e5, 1.9e6)),
    "venturi-cast": (fm.AS_CAST_VENTURI_TUBE, None, (0.1, 0.8), (0.3, 0.75), (2.1e5, 1.9e6)),
    "venturi-machined": (fm.MACHINED_CONVERGENT_VENTURI_TUBE, None, (0.05, 0.25), (0.4, 0.75), (2.1e5, 0.95e6)),
    "venturi-welded": (fm.ROUGH_WELDED_CONVERGENT_VENTURI_TUBE, None, (0.2, 1.2), (0.4, 0.7), (2.1e5, 1.9e6)),
}


def meters():
    rng = random.Random(5167)
    print("device,pipe_m,throat_m,pressure_pa,difference_pa,density,viscosity,kappa,flow,coefficient,expansibility,loss_pa")
    for name, (kind, taps, pipes, ratios, reynolds) in DEVICES.items():
        kept = 0
        while kept < 90:
            pipe = round(math.exp(rng.uniform(*map(math.log, pipes))), 5)
            throat = round(pipe * rng.uniform(*ratios), 5)
            pressure = round(rng.uniform(0.6e5, 6e5))
            difference = round(pressure * math.exp(rng.uniform(math.log(0.001), math.log(0.24))))
            temperature = rng.uniform(250.0, 500.0)
            density = round(pressure / (287.05 * temperature), 5)
            viscosity = float(f"{1.458e-6 * temperature**1.5 / (temperature + 110.4):.4e}")
            kappa = round(rng.uniform(1.36, 1.41), 4)
            if throat < 0.0125 or not ratios[0] <= throat / pipe <= ratios[1]:
                continue
            state = dict(D=pipe, D2=throat, P1=float(pressure), P2=float(pressure - difference), rho=density,
                         mu=viscosity, k=kappa, meter_type=kind, taps=taps)
            flow = fm.differential_pressure_meter_solver(**state)
            if not reynolds[0] < 4.0 * flow / (math.pi * pipe * viscosity) < reynolds[1]:
                continue
            c, e = fm.differential_pressure_meter_C_epsilon(m=flow, **state)
            loss = fm.dP_orifice(pipe, throat, pressure, pressure - difference, c)
            if name.startswith("venturi"):
                loss = float("nan")
            print(name, pipe, throat, pressure, difference, density, viscosity, kappa, *map(repr, map(float, (flow, c, e, loss))), sep=",")
            kept += 1


def atmosphere():
    print("geometric_m,temperature_k,pressure_pa,density,speed_of_sound")
    for z in [*range(-600, 20001, 400), *range(21000, 80001, 1000)]:
        a = ATMOSPHERE_1976(float(z))
        print(z, *map(repr, map(float, (a.T, a.P, a.rho, a.v_sonic))), sep=",")


{"meters": meters, "atmosphere": atmosphere}[sys.argv[1]]()
