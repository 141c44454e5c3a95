#!/usr/bin/env python3
"""Captures as other programs write them: the log writer of python-can, tables of Polars, pyarrow and Python's csv with
points and with decimal commas. What a replay makes of them must be what was written, value by value, to the bit.

    captures_equal.py BISE
"""
import csv
import datetime as dt
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import can
import polars as pl
import pyarrow as pa
import pyarrow.csv as pacsv
import pyarrow.parquet as pq

START = 1_772_352_000  # 2026-03-01T08:00:00Z
ROWS = 2000


def replay(bise, folder, options, channels, name):
    """Replays one source and gives {channel: [(ns, value or None)]} and the summary."""
    (folder / "map.toml").write_text("[channel]\n" + "".join(channels))
    (folder / "run.toml").write_text(f'[run]\nname = "{name}"\nchannels = ["map.toml"]\n[[source]]\nname = "s"\n{options}')
    out = folder / f"out-{name}"
    call = [bise, "replay", "--with", folder / "run.toml", "--out", out, "--format", "json"]
    done = subprocess.run(call, capture_output=True, text=True)
    assert done.returncode == 0, (name, done.returncode, done.stdout, done.stderr)
    summary = json.loads(done.stdout)[0]
    found = {}
    for file in sorted(Path(summary["recording"]).glob("samples/*.parquet")):
        table = pq.read_table(file)
        times = table.column("time").cast(pa.int64()).to_pylist()
        for t, c, v in zip(times, table.column("channel").to_pylist(), table.column("value").to_pylist()):
            found.setdefault(c, []).append((t, v))
    return {c: sorted(v, key=lambda x: x[0]) for c, v in found.items()}, summary


def same(name, found, expected):
    assert found.keys() == expected.keys(), (name, found.keys(), expected.keys())
    for channel, values in expected.items():
        assert len(found[channel]) == len(values), (name, channel, len(found[channel]), len(values))
        for got, want in zip(found[channel], values):
            assert got == want, (name, channel, got, want)
    print(f"{name}: {sum(map(len, expected.values()))} values equal")


def tables(bise, folder, r):
    channels = [f'"t.{c}" = {{ from = "s/{c}", unit = "K" }}\n' for c in "abc"]
    ms = [i * 50 + r.randrange(40) for i in range(ROWS)]
    columns = {c: [None if r.random() < 0.05 else r.choice([1, -1]) * r.random() * 10 ** r.randrange(-6, 7) for _ in ms]
               for c in "abc"}
    expected = {f"t.{c}": [((START * 1000 + t) * 1_000_000, v) for t, v in zip(ms, columns[c])] for c in "abc"}
    seconds = [START + t / 1000 for t in ms]
    moments = [dt.datetime.fromtimestamp(START, dt.timezone.utc) + dt.timedelta(milliseconds=t) for t in ms]
    none = 'kind = "table"\nunits = "nowhere"\n'

    frame = pl.DataFrame({"time": seconds, **columns})
    frame.write_csv(folder / "t.csv", float_precision=None)
    same("polars, points", replay(bise, folder, none + 'path = "t.csv"\ntime_format = "s"\n', channels, "p")[0], expected)

    frame.write_csv(folder / "t.csv", separator=";", decimal_comma=True, include_bom=True, line_terminator="\r\n")
    european = none + 'path = "t.csv"\ntime_format = "s"\ndecimal = "comma"\n'
    same("polars, decimal commas", replay(bise, folder, european, channels, "pc")[0], expected)

    dated = pl.DataFrame({"time": moments, **columns})
    dated.write_csv(folder / "t.csv", datetime_format="%d.%m.%Y %H:%M:%S%.3f", separator="\t", quote_style="always")
    german = none + 'path = "t.csv"\ntime_format = "DD.MM.YYYY hh:mm:ss"\nzone = "UTC"\n'
    same("polars, dates, quoted", replay(bise, folder, german, channels, "pd")[0], expected)

    pacsv.write_csv(pa.table({"time": seconds, **columns}), folder / "t.csv")
    same("pyarrow", replay(bise, folder, none + 'path = "t.csv"\ntime_format = "s"\n', channels, "a")[0], expected)

    with open(folder / "t.csv", "w", newline="", encoding="cp1252") as f:
        f.write("Prüfstand 4\r\nBediener;niemand\r\n\r\n")
        w = csv.writer(f, delimiter=";", quoting=csv.QUOTE_MINIMAL)
        w.writerow(["Datum", "Zeit", "a [K]", "b [K]", "c [K]"])
        for m, *row in zip(moments, *columns.values()):
            local = m + dt.timedelta(hours=1)
            cells = ["" if v is None else repr(v).replace(".", ",") for v in row]
            w.writerow([local.strftime("%d.%m.%Y"), local.strftime("%H:%M:%S,%f"), *cells])
    options = ('kind = "table"\npath = "t.csv"\nencoding = "windows-1252"\ndecimal = "comma"\ntime = ["Datum", "Zeit"]\n'
               'time_format = "DD.MM.YYYY hh:mm:ss"\nzone = "+01:00"\n')
    found, summary = replay(bise, folder, options, channels, "c")
    same("csv of Python, two columns of time, preamble", found, expected)
    told = [(u["what"], u["lines"]) for u in summary["not_used"]]
    assert told == [("s: lines before the table", 3)], told


def frames(bise, folder, r):
    signals = "".join(f' SG_ B{i} : {8 * i}|8@1+ (1,0) [0|255] "K" X\n' for i in range(8))
    (folder / "bus.dbc").write_text(f'VERSION ""\nBU_: X\nBO_ 291 A: 8 X\n{signals}\nBO_ 2566844693 B: 8 X\n{signals}')
    channels = [f'"{m.lower()}.b{i}" = {{ from = "s/{m}.B{i}", unit = "K" }}\n' for m in "AB" for i in range(8)]
    expected = {f"{m}.b{i}": [] for m in "ab" for i in range(8)}
    writer = can.CanutilsLogWriter(folder / "bus.log", channel="can0")
    others = 0
    for k in range(ROWS):
        stamp = START + (k * 1000 + r.randrange(900)) / 1_000_000
        extended = r.random() < 0.5
        data = bytes(r.randrange(256) for _ in range(8))
        kind = r.choice(["data"] * 8 + ["remote", "error"])
        writer(can.Message(
            timestamp=stamp, arbitration_id=0x18FEF115 if extended else 0x123, is_extended_id=extended,
            is_remote_frame=kind == "remote", is_error_frame=kind == "error", data=b"" if kind == "remote" else data,
            dlc=8, channel="can0", is_rx=r.random() < 0.5))
        if kind == "data":
            ns = round(stamp * 1e6) * 1000
            for i, b in enumerate(data):
                expected[f"{'b' if extended else 'a'}.b{i}"].append((ns, float(b)))
        else:
            others += 1
    writer.stop()
    options = 'kind = "candump"\npath = "bus.log"\ndatabases = ["bus.dbc"]\n'
    found, summary = replay(bise, folder, options, channels, "log")
    same("python-can's log", found, expected)
    source = summary["sources"][0]
    assert (source["records"], source["unmapped"]) == (ROWS, others), (source, others)
    # The same on a terminal, by can-utils. It marks the direction nowhere.
    log = "\n".join(" ".join(line.split()[:3]) for line in (folder / "bus.log").read_text().splitlines()) + "\n"
    shown = subprocess.run(["log2long"], input=log, capture_output=True, text=True, check=True).stdout
    (folder / "bus.log").write_text(shown)
    same("the same shown by log2long", replay(bise, folder, options, channels, "long")[0], expected)


def main():
    r = random.Random(4)
    with tempfile.TemporaryDirectory() as folder:
        tables(sys.argv[1], Path(folder), r)
        frames(sys.argv[1], Path(folder), r)


main()
