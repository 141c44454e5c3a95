#!/usr/bin/env python3
"""Makes the values that sensors are held against: crates/sensors/tests/data/{thermocouples,platinum}.txt.

    thermocouple_fixture.py NIST_TABLES_FOLDER OUT_FOLDER

NIST_TABLES_FOLDER holds the one-degree tables of the NIST ITS-90 Thermocouple Database (SRD 60), type_k.tab and so on.
They come with the source distribution of thermocouple-its90:

    pip download --no-deps --no-binary :all: thermocouple-its90==1.0.2
    tar xzf thermocouple_its90-1.0.2.tar.gz       # then thermocouple_its90-1.0.2/tests/data/nist

Needs thermocouples_reference==0.20 (reference functions read from the database by somebody else, evaluated with numpy)
and rtd-sensor==0.8.0 (IEC 60751 platinum).
"""
import pathlib
import re
import sys

import numpy
from rtd_sensor import pt100
from thermocouples_reference import source_NIST

TYPES = "KTJENSRB"
PER_LINE = 20


def table(path):
    """Temperature to emf in µV, of the database's own table."""
    found = {}
    for line in path.read_bytes().decode("latin-1").splitlines():
        if not (m := re.match(r"\s*(-?\d+)((?:\s+-?\d+\.\d{3})+)\s*$", line)):
            continue
        start, values = int(m[1]), m[2].split()
        # A line of the negative half counts down; the zeroth line of each half starts at 0 and may go either way.
        down = start < 0 or (start == 0 and float(values[-1]) < 0 and path.stem != "type_b" and 1 not in found)
        for i, v in enumerate(values):
            t = start - i if down else start + i
            uv = round(float(v) * 1000)
            if found.setdefault(t, uv) != uv:
                sys.exit(f"{path.name}: {t} degC has two values, {found[t]} and {uv} uV")
    low, high = min(found), max(found)
    if missing := [t for t in range(low, high + 1) if t not in found]:
        sys.exit(f"{path.name}: no value at {missing[:5]} degC")
    return low, [found[t] for t in range(low, high + 1)]


def block(out, head, values):
    out.append(head)
    for i in range(0, len(values), PER_LINE):
        out.append(" ".join(str(v) for v in values[i : i + PER_LINE]))


def thermocouples(folder):
    out = [
        "# Made by tests/peers/thermocouple_fixture.py. Each block: kind, type, first temperature in degC; then one",
        "# value per degree.",
        "# table: NIST ITS-90 Thermocouple Database (SRD 60), printed table, uV.",
        "# function: thermocouples_reference 0.20, emf_mVC, 0.1 nV.",
    ]
    for letter in TYPES:
        low, values = table(folder / f"type_{letter.lower()}.tab")
        block(out, f"table {letter} {low}", values)
        degrees = numpy.arange(low, low + len(values), dtype=float)
        emf = source_NIST.thermocouples[letter].func(degrees)
        block(out, f"function {letter} {low}", [round(e * 1e7) for e in emf])
        worst = max(abs(e * 1000 - v) for e, v in zip(emf, values))
        print(f"type {letter}: {low} to {low + len(values) - 1} degC, {len(values)} values, the two differ by {worst:.4f} uV")
    return out


def platinum():
    out = [
        "# Made by tests/peers/thermocouple_fixture.py with rtd-sensor 0.8.0, Pt100.",
        "# resistance: first temperature in degC, then the resistance per degree, 0.1 uohm.",
        "# temperature: first resistance in ohm, then the temperature per ohm, 0.1 uK.",
    ]
    block(out, "resistance 100 -200", [round(pt100.celsius_to_resistance(t) * 1e7) for t in range(-200, 851)])
    block(out, "temperature 100 19", [round(pt100.resistance_to_celsius(r) * 1e7) for r in range(19, 391)])
    return out


def main():
    folder, to = map(pathlib.Path, sys.argv[1:3])
    for name, lines in ("thermocouples", thermocouples(folder)), ("platinum", platinum()):
        (to / f"{name}.txt").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
