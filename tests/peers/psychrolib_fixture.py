#!/usr/bin/env python3
"""Ideal psychrometrics by PsychroLib: the rows of tests/published/air_psychrolib.rs.

    psychrolib_fixture.py               prints the rows

Temperature in degC, relative humidity, pressure in Pa; then humidity ratio, dew point and wet bulb in degC, enthalpy in
J/kg and volume in m3/kg of dry air. Needs PsychroLib.
"""
import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)


def row(t, rh, p):
    w, wet, dew, _, h, v, _ = psychrolib.CalcPsychrometricsFromRelHum(t, rh, p)
    return f"[{t}, {rh}, {p}, {w:.7g}, {dew:.4f}, {wet:.4f}, {h:.1f}, {v:.6f}],"


for t in (-15.0, -5.0, 10.0, 25.0, 40.0, 60.0):
    for rh in (0.1, 0.5, 0.9):
        for p in (101325.0, 60000.0):
            print(row(t, rh, p))
