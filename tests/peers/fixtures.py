#!/usr/bin/env python3
"""Makes every fixture anew by its script and compares it with the committed one.

    fixtures.py

Two numbers are the same where they differ by at most a unit of the last digit committed, or by 1e-9 of their size where
more digits stand there than a computation promises. All other text must be the same. Needs requirements.txt, and pip
with its registry for the printed tables of the NIST Thermocouple Database, which come with a source distribution only.
"""
import math
import pathlib
import re
import subprocess
import sys
import tarfile
import tempfile

HERE = pathlib.Path(__file__).parent
ROOT = HERE.parents[1]
THERMO = ROOT / "crates/thermo/tests/fixtures"
SENSORS = ROOT / "crates/sensors/tests/data"
PUBLISHED = ROOT / "tests/published"
NUMBER = re.compile(r"[-+]?\d[\d_]*(?:\.[\d_]*)?(?:[eE][-+]?\d+)?")

# Scripts that print a whole fixture: arguments and the committed file.
PRINTED = [
    (["exchanger_fixture.py"], THERMO / "exchangers.csv"),
    (["flow_fixture.py", "meters"], THERMO / "flow_meters.csv"),
    (["flow_fixture.py", "atmosphere"], THERMO / "atmosphere.csv"),
    (["critical_flow_fixture.py", "table"], THERMO / "critical_flow.csv"),
    (["humid_air_fixture.py"], THERMO / "humid_air.csv"),
    (["humid_air_edge_fixture.py"], THERMO / "humid_air_edge.csv"),
]
NIST_TABLES = "thermocouple-its90==1.0.2"


def run(*arguments):
    return subprocess.run([sys.executable, *map(str, arguments)], check=True, capture_output=True, text=True).stdout


def unit_of_last_digit(text):
    digits, _, exponent = text.lower().replace("_", "").partition("e")
    return 10.0 ** (int(exponent or 0) - len(digits.partition(".")[2]))


def same(committed, made):
    if committed == made:
        return True
    try:
        a, b = float(committed.replace("_", "")), float(made.replace("_", ""))
    except ValueError:
        return False
    return math.isfinite(a) and abs(a - b) <= max(1.001 * unit_of_last_digit(committed), 1e-9 * abs(a))


def compare(name, committed, made):
    old, new = committed.splitlines(), made.splitlines()
    if len(old) != len(new):
        sys.exit(f"{name}: {len(old)} lines are committed, {len(new)} are made")
    numbers = 0
    for i, (a, b) in enumerate(zip(old, new), 1):
        cells = re.split(r"[,\s]", a), re.split(r"[,\s]", b)
        if len(cells[0]) != len(cells[1]) or not all(map(same, *cells)):
            sys.exit(f"{name}, line {i}: committed\n  {a}\nmade\n  {b}")
        numbers += len(cells[0])
    print(f"{name}: {len(old)} lines, {numbers} cells, {'to the byte' if committed == made else 'within the last digit'}")


def thermocouples(scratch):
    run("-m", "pip", "download", "-q", "--no-deps", "--no-binary", ":all:", "-d", scratch, NIST_TABLES)
    (archive,) = scratch.glob("*.tar.gz")
    with tarfile.open(archive) as tar:
        tar.extractall(scratch, filter="data")
    (tables,) = scratch.glob("*/tests/data/nist")
    run(HERE / "thermocouple_fixture.py", tables, scratch)
    for name in ("thermocouples.txt", "platinum.txt"):
        compare(name, (SENSORS / name).read_text(), (scratch / name).read_text())


def psychrometrics():
    text = (PUBLISHED / "air_psychrolib.rs").read_text()
    rows = "\n".join(re.findall(r"^ *(\[[-\d.]+, .*\],)$", text, re.M))
    compare("air_psychrolib.rs", rows, run(HERE / "psychrolib_fixture.py"))


def humid_expansion():
    """The case's own figures come from a coarser solution: 1e-6 is what they hold."""
    text = (PUBLISHED / "air_humid_expansion.rs").read_text()
    there = [float(n.replace("_", "")) for n in NUMBER.findall(text)]
    for line in run(HERE / "humid_expansion_fixture.py").splitlines():
        name, value = line.split()
        off = min(abs(x / float(value) - 1.0) for x in there)
        if off > 1e-6:
            sys.exit(f"air_humid_expansion.rs: no figure for {name} = {value}, the nearest is off by {off:.2g}")
    print("air_humid_expansion.rs: every figure within 1e-6")


def main():
    for arguments, file in PRINTED:
        compare(file.name, file.read_text(), run(HERE / arguments[0], *arguments[1:]))
    psychrometrics()
    humid_expansion()
    with tempfile.TemporaryDirectory() as scratch:
        thermocouples(pathlib.Path(scratch))


main()
