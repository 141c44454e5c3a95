#!/usr/bin/env python3
"""Opens a recording in pyarrow, DuckDB and Polars: python3 open_files.py RECORDING

Needs Python 3.11 with pyarrow, duckdb and polars, and sha256sum. Ends with status 1 where anything is not as the
recording's manifest says; 2 where a program it needs is missing.
"""

import pathlib
import subprocess
import sys
import tomllib

try:
    import duckdb
    import polars
    import pyarrow as pa
    import pyarrow.parquet as pq
except ImportError as e:
    print(f"missing: {e}", file=sys.stderr)
    sys.exit(2)

WITH_NUMBER = ("good", "uncertain")
QUALITIES = {"good", "uncertain", "bad", "stale", "missing"}
LIMIT_STATES = {
    "inside", "pending", "outside", "returning", "not-judged", "outside-not-judged", "not-enabled", "latched",
}
TIME = pa.timestamp("ns", tz="UTC")
wrong = []


def check(ok, what):
    if not ok:
        wrong.append(what)


def is_word(kind):
    return pa.types.is_dictionary(kind) and pa.types.is_string(kind.value_type)


def read(folder, table):
    """All parts of a table, in order, with one schema."""
    files = sorted((folder / table).glob("*.parquet"))
    check(files, f"{table}: no parts")
    parts = [pq.read_table(f) for f in files]
    for f, p in zip(files, parts):
        check(p.schema.equals(parts[0].schema, check_metadata=False), f"{f}: another schema than the first part")
    return pa.concat_tables(parts) if parts else None, files


def check_counts(folder, table, rows, expected):
    pattern = str(folder / table / "*.parquet")
    counts = {
        "the manifest": expected,
        "pyarrow": rows.num_rows,
        "DuckDB": duckdb.sql(f"select count(*) from '{pattern}'").fetchall()[0][0],
        "Polars": polars.scan_parquet(pattern).select(polars.len()).collect().item(),
    }
    check(len(set(counts.values())) == 1, f"{table}: row counts differ: {counts}")
    print(f"{table}: {rows.num_rows} rows in pyarrow, DuckDB, Polars and the manifest")


def check_samples(folder, manifest, rows, files):
    types = rows.schema
    check(types.field("time").type == TIME, f"samples: time is {types.field('time').type}")
    check(pa.types.is_float64(types.field("value").type), "samples: value is no float64")
    for name in ("channel", "quality", "reason"):
        check(is_word(types.field(name).type), f"samples: {name} is no column of words")
    notes = pq.read_metadata(files[0]).metadata
    for c in manifest["column"]:
        unit = notes.get(f"unit.{c['name']}".encode(), b"").decode()
        check(unit == c["unit"], f"samples: unit of {c['name']} is {unit!r}")
    pattern = str(folder / "samples" / "*.parquet")
    names = {c["name"] for c in manifest["column"]}
    found = duckdb.sql(f"select distinct channel, quality from '{pattern}'").fetchall()
    check({c for c, _ in found} <= names, f"samples: channels {found} are not those of the manifest")
    check({q for _, q in found} <= QUALITIES, f"samples: qualities in DuckDB: {found}")
    contradictions = duckdb.sql(
        f"select count(*) from '{pattern}' where (value is null) = (quality in {WITH_NUMBER})"
    ).fetchall()[0][0]
    check(contradictions == 0, f"samples: in {contradictions} rows value and quality contradict one another (DuckDB)")
    p = polars.scan_parquet(pattern).with_columns(polars.col("quality").cast(polars.String)).collect()
    n = p.filter(p["value"].is_null() == p["quality"].is_in(list(WITH_NUMBER))).height
    check(n == 0, f"samples: in {n} rows value and quality contradict one another (Polars)")
    nulls = [rows["value"].null_count, p["value"].null_count()]
    nulls.append(duckdb.sql(f"select count(*) from '{pattern}' where value is null").fetchall()[0][0])
    check(len(set(nulls)) == 1, f"samples: numbers of nulls differ: {nulls}")


def check_snapshots(folder, manifest, rows):
    limits = [f"limit.{x['name']}" for x in manifest.get("limit", [])]
    names = []
    for c in manifest["column"]:
        names += [c["name"], c["name"] + ".q"] + ([c["name"] + ".u"] if c.get("with_uncertainty") else [])
    check(any(n.endswith(".u") for n in names), "snapshots: no column holds an uncertainty")
    check(rows.column_names == ["time", *names, *limits], f"snapshots: columns {rows.column_names}")
    pattern = str(folder / "snapshots" / "*.parquet")
    for c in manifest["column"]:
        name = c["name"]
        field = rows.schema.field(name)
        about = {k.decode(): v.decode() for k, v in (field.metadata or {}).items()}
        check(about.get("unit") == c["unit"], f"snapshots: unit of {name} is {about.get('unit')!r}")
        check(about.get("ucum") == c["ucum"], f"snapshots: UCUM code of {name} is {about.get('ucum')!r}")
        check(about.get("origin") == c.get("source", "derived"), f"snapshots: origin of {name}: {about}")
        check("provenance" in about, f"snapshots: {name} does not say where it is from")
        if "." in name:
            place, quantity = name.rsplit(".", 1)
            check((about.get("place"), about.get("quantity")) == (place, quantity), f"snapshots: {name}: {about}")
        words = rows[name + ".q"].to_pylist()
        check({w.split(":")[0] for w in words} <= QUALITIES, f"snapshots: words in {name}.q: {set(words)}")
        numbers = [v is not None for v in rows[name].to_pylist()]
        has = [w.split(":")[0] in WITH_NUMBER for w in words]
        check(numbers == has, f"snapshots: {name} has a number where its quality says none, or none where it says one")
        if c.get("with_uncertainty"):
            u = rows[name + ".u"].to_pylist()
            check(any(v is not None for v in u), f"snapshots: {name}.u is empty")
            check(all(v is None or (v >= 0 and n) for v, n in zip(u, numbers)), f"snapshots: {name}.u without a value")
        n = duckdb.sql(
            f"""select count(*) from '{pattern}'
                where ("{name}" is null) = (split_part("{name}.q", ':', 1) in {WITH_NUMBER})"""
        ).fetchall()[0][0]
        check(n == 0, f"snapshots: {n} contradictions in {name} (DuckDB)")
        total = polars.scan_parquet(pattern).select(polars.col(name).is_not_null().sum()).collect().item()
        check(total == sum(numbers), f"snapshots: {name} has {total} numbers in Polars, {sum(numbers)} in pyarrow")
    for name in limits:
        states = set(rows[name].to_pylist())
        check(states <= LIMIT_STATES, f"snapshots: states {states} in {name}")
    times = rows["time"].cast(pa.int64()).to_pylist()
    check(all(a < b for a, b in zip(times, times[1:])), "snapshots: times do not rise")
    grid = manifest["run"]["grid_ns"]
    check(all(t % grid == times[0] % grid for t in times), f"snapshots: not on a grid of {grid} ns")


def check_events(rows):
    for name in ("kind", "source"):
        check(is_word(rows.schema.field(name).type), f"events: {name} is no column of words")
    check(rows.schema.field("time").type == TIME, "events: time")


def check_log(manifest, rows):
    if rows is None:
        return
    ordinals = rows["ordinal"].to_pylist()
    check(all(a < b for a, b in zip(ordinals, ordinals[1:])), "log: ordinals do not rise")
    names = [s["name"] for s in manifest["source"]]
    for source, name, body, payload in zip(
        *(rows[c].to_pylist() for c in ("source", "source_name", "body", "payload"))
    ):
        check(source is None or names[source] == name, f"log: source {source} is called {name}")
        check((body == "record") == (payload is not None), f"log: a {body} with payload {payload}")


def main():
    folder = pathlib.Path(sys.argv[1])
    manifest = tomllib.loads((folder / "manifest.toml").read_text())
    check(manifest["format"] == 1, f"manifest.toml: format {manifest['format']}")
    check("end" in manifest, "manifest.toml reports no end")
    end = manifest.get("end", {})
    sums = subprocess.run(["sha256sum", "-c", "--strict", "digests"], cwd=folder, capture_output=True, text=True)
    check(sums.returncode == 0, f"sha256sum -c digests: {sums.stdout}{sums.stderr}")
    listed = {line.split("  ", 1)[1] for line in (folder / "digests").read_text().splitlines() if line[0] != "#"}
    there = {str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file()} - {"digests"}
    check(listed == there, f"digests: files without a line: {there - listed}; lines without a file: {listed - there}")

    samples, files = read(folder, "samples")
    check_counts(folder, "samples", samples, end.get("samples"))
    check_samples(folder, manifest, samples, files)
    snapshots, _ = read(folder, "snapshots")
    check_counts(folder, "snapshots", snapshots, end.get("snapshots"))
    check_snapshots(folder, manifest, snapshots)
    events, _ = read(folder, "events")
    check_counts(folder, "events", events, end.get("events"))
    check_events(events)
    if not manifest.get("capture"):
        log, _ = read(folder, "log")
        check_counts(folder, "log", log, end.get("entries"))
        check_log(manifest, log)

    for w in wrong[:20]:
        print(f"WRONG {w}", file=sys.stderr)
    print(f"{folder}: {'as it should be' if not wrong else f'{len(wrong)} things are wrong'}")
    sys.exit(1 if wrong else 0)


if len(sys.argv) != 2:
    print(__doc__, file=sys.stderr)
    sys.exit(2)
main()
