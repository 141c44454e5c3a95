#!/usr/bin/env python3
"""CAN frames decoded by us and by cantools must give the same numbers.

    cantools_equal.py DECODE_FRAMES [DATABASE.dbc ...] [--shipped] [--frames N] [--seed S]

DECODE_FRAMES is the built example: cargo build -p decode --example decode_frames.
Makes a database of its own (both byte orders, signed, scaled, IEEE single and double, multiplexed in several levels
and ranges, 11- and 29-bit ids, FD messages up to 64 bytes, 64-bit integers with large offsets), then random frames,
some of them cut short, unknown, or with a multiplexor value that no signal lists; decodes them with both and compares:
the same signals, each value within 1e-12 of its size. The databases named are treated alike; with --shipped also every
one in the source distribution of the installed cantools, fetched from the package index. Ends with a table (a line says
what is not decoded, and why) and an exit code other than 0 on any difference. Needs cantools.
"""
import argparse
import importlib.metadata
import json
import math
import pathlib
import random
import subprocess
import sys
import tarfile
import tempfile

import cantools

FD_LENGTHS = [12, 16, 20, 24, 32, 48, 64]


def flip(n):
    """Bit number of a DBC to a count along the bits from the highest of the first byte, and back."""
    return n // 8 * 8 + 7 - n % 8


def bits(start, size, big):
    return {flip(flip(start) + i) for i in range(size)} if big else set(range(start, start + size))


def exact(x):
    return str(x) if isinstance(x, int) else f"{x:.17g}"


def signal(rng, name, length, taken, mux=""):
    """One signal somewhere where bits are free, or None."""
    for _ in range(200):
        kind = rng.choice(["u", "s", "u", "s", "f", "d"])
        size = {"f": 32, "d": 64}.get(kind) or rng.choice([1, 2, 7, 8, 9, 12, 16, 24, 31, 32, 40, 53, 57, 63, 64])
        if mux == "M":
            kind, size = "u", rng.choice([3, 8])
        if size > length * 8:
            continue
        big = rng.random() < 0.5
        first = rng.randrange(length * 8 - size + 1)
        start = flip(first) if big else first
        used = bits(start, size, big)
        if used & taken:
            continue
        scale = rng.choice([1, 1, 0.1, 0.5, 0.03125, -2, 1e-3, 1000, 0.0078125]) if mux != "M" else 1
        offset = rng.choice([0, 0, -40, 273.15, 1e5, -0.5]) if mux != "M" else 0
        if size >= 57 and kind in "us" and rng.random() < 0.5:
            scale, offset = rng.choice([1, -1, 2]), rng.choice([-(1 << (size - 1)), (1 << 61) + 1, 12345678901234567])
        sign = "-" if kind in "sfd" else "+"
        text = f' SG_ {name} {mux}: {start}|{size}@{0 if big else 1}{sign} ({exact(scale)},{exact(offset)}) [0|0] "" BOX'
        return text, used, {"f": 1, "d": 2}.get(kind)
    return None


def own_database(rng, messages):
    lines, later = ['VERSION ""', "", "BU_: BOX", ""], []
    for n in range(messages):
        extended = rng.random() < 0.4
        ident = 0x80000000 | rng.randrange(1 << 29) if extended else n * 13 + 1
        length = rng.choice(FD_LENGTHS) if rng.random() < 0.3 else rng.randint(1, 8)
        lines.append(f"BO_ {ident} MSG_{n}: {length} BOX")
        taken = set()

        def add(name, mux, beside):
            """Adds a signal where the bits beside are free; gives the bits."""
            made = signal(rng, name, length, beside, "M" if mux.endswith("M") else "x" if mux else "")
            if not made:
                return None
            lines.append(made[0].replace(f"SG_ {name} M:", f"SG_ {name} {mux} :").replace(f"SG_ {name} x:", f"SG_ {name} {mux} :"))
            if made[2]:
                later.append(f"SIG_VALTYPE_ {ident} {name} : {made[2]};")
            return made[1]

        for i in range(rng.randint(1, 6)):
            taken |= add(f"S{i}", "", taken) or set()
        if length > 1 and rng.random() < 0.6:
            multiplexed(rng, ident, add, later, taken)
        lines.append("")
    return "\n".join(lines + later) + "\n"


def multiplexed(rng, ident, add, later, taken):
    """Signals under one multiplexor with single values, or under one or two with ranges, some of them under one that is
    itself multiplexed."""
    way = rng.choice(["single", "ranges", "two", "nested"])
    names = ["Select", "Other"] if way == "two" else ["Select"]
    names = [n for n in names if (used := add(n, "M", taken)) and not taken.update(used)]
    if not names:
        return
    groups, inner = {}, None
    if way == "nested":
        used = add("Inner", "m1M", taken)
        if used:
            inner, groups["Select", 1] = "Inner", used
            later.append(f"SG_MUL_VAL_ {ident} Inner Select 1-1;")
    for i in range(rng.randint(1, 8)):
        selector = inner if inner and rng.random() < 0.5 else rng.choice(names)
        first = rng.randrange(7)
        ranges = [(first, first)] if way == "single" else [(first, min(first + rng.randrange(3), 7))]
        if way != "single" and rng.random() < 0.4:
            ranges.append((7, 7))
        values = {v for low, high in ranges for v in range(low, high + 1)}
        # Beside all that may be there at the same time: other multiplexors' signals, and those under the same values.
        beside = set(taken)
        for (other, value), used in groups.items():
            if other != selector or value in values:
                beside |= used
        name = f"X{i}"
        used = add(name, f"m{first}", beside)
        if not used:
            continue
        for value in values:
            groups[selector, value] = groups.get((selector, value), set()) | used
        if way != "single":
            text = ", ".join(f"{low}-{high}" for low, high in ranges)
            later.append(f"SG_MUL_VAL_ {ident} {name} {selector} {text};")


def random_frames(rng, messages, known, count):
    """Lines of a log: (text, message or None, data); `known` are the identifiers that the database has."""
    # Every message a few times, then any.
    order = [m for m in messages for _ in range(10)]
    order += rng.choices(messages, k=max(count - len(order), 0))
    for n, m in enumerate(order):
        ident, extended, length = m.frame_id, m.is_extended_frame, m.length
        fate = rng.random()
        if fate < 0.02:
            ident = rng.randrange(1 << 29 if extended else 1 << 11)
            m = m if (ident, extended) in known and ident == m.frame_id else None
            if m is None and (ident, extended) in known:
                continue
        if length > 8 and length not in FD_LENGTHS:
            length = min(x for x in FD_LENGTHS if x >= min(length, 64))
        if 0.02 <= fate < 0.04:
            length = rng.randint(0, min(length, 8))
        data = bytes(rng.choice([0, 255, rng.randrange(256)]) for _ in range(length))
        if m is not None and rng.random() < 0.9:
            data = selected(rng, m, data)
        text = f"{ident:08X}" if extended else f"{ident:03X}"
        separator = "##1" if length > 8 else "#"
        yield f"({n // 1000}.{n % 1000:06d}) can0 {text}{separator}{data.hex().upper()}", m, data


def selected(rng, m, data):
    """The same data with multiplexor values that the message lists, inner multiplexors too."""
    if len(data) < m.length:
        return data
    number = int.from_bytes(data, "little")
    for selector in (s for s in m.signals if s.is_multiplexer):
        values = sorted({v for s in m.signals if s.multiplexer_signal == selector.name for v in s.multiplexer_ids or []})
        if not values or rng.random() < 0.1:
            continue
        value = rng.choice(values)
        big = selector.byte_order == "big_endian"
        for i in range(selector.length):
            bit = flip(flip(selector.start) + selector.length - 1 - i) if big else selector.start + i
            number = number & ~(1 << bit) | (value >> i & 1) << bit
    return number.to_bytes(len(data), "little")


def expected(m, data, left_out):
    """What cantools gives, and whether it gave it by itself: where a multiplexor has no listed value, or signals
    overlap or lie outside their message, it gives nothing, and each signal is asked for alone, those whose multiplexors
    say that they are there."""
    try:
        return m.decode(data, decode_choices=False, allow_excess=True), True
    except cantools.database.errors.DecodeError as error:
        if "expected multiplexer id" not in str(error) and "unpacking failed" not in str(error):
            raise
    signals = [s for s in m.signals if f"{m.name}.{s.name}" not in left_out]
    alone = {s.name: single(m, s, data, True) for s in signals}
    raw = {s.name: single(m, s, data, False) for s in signals if s.is_multiplexer}
    by_name = {s.name: s for s in signals}

    def there(s):
        if not s.multiplexer_signal:
            return True
        return there(by_name[s.multiplexer_signal]) and raw[s.multiplexer_signal] in (s.multiplexer_ids or [])

    return {s.name: alone[s.name] for s in signals if there(s)}, False


def single(m, s, data, scaled):
    signal = cantools.database.can.Signal(
        s.name, s.start, s.length, byte_order=s.byte_order, is_signed=s.is_signed, conversion=s.conversion
    )
    alone = cantools.database.can.Message(m.frame_id, m.name, m.length, [signal], is_extended_frame=m.is_extended_frame)
    return alone.decode(data, decode_choices=False, allow_excess=True, scaling=scaled)[s.name]


def same(ours, theirs):
    if ours is None:
        return not math.isfinite(theirs)
    return abs(ours - theirs) <= 1e-12 * abs(theirs) or ours == theirs


def needed(m, left_out):
    """Bytes that the message's signals reach."""
    reach = 0
    for s in m.signals:
        if f"{m.name}.{s.name}" not in left_out:
            reach = max([reach] + [b // 8 + 1 for b in bits(s.start, s.length, s.byte_order == "big_endian")])
    return reach


def load(path):
    """A database as cantools reads it: strictly, or else as it is; and what it says of it."""
    try:
        return cantools.database.load_file(str(path), strict=True), ""
    except Exception as strict:  # cantools raises many kinds
        try:
            return cantools.database.load_file(str(path), strict=False), f"cantools reads it only unstrictly: {strict}"
        except Exception as error:
            return None, f"cantools does not read it: {error}"


def notes_of(run):
    return [line for line in run.stderr.splitlines() if line]


def compare(program, path, rng, count):
    """One row of the table, and the number of differences."""
    database, theirs_says = load(path)
    listed = subprocess.run([program, str(path), "--signals"], capture_output=True, text=True)
    if listed.returncode:
        why = notes_of(listed)[-1].removeprefix("Error: ").strip('"')
        # What has no message has none for cantools either; anything else that only we refuse is a difference.
        only_we = database is not None and len(database.messages) > 0
        return (path.name, 0, 0, 0, 0, f"NOT LOADED: {why.replace(str(path), path.name)}"), int(only_we)
    ours = set(listed.stdout.split("\n")) - {""}
    notes = [n.replace(str(path), path.name) for n in notes_of(listed)]
    if database is None:
        return (path.name, 0, len(ours), 0, 0, "; ".join([theirs_says.replace("\n", " "), *notes])), 0
    names = {f"{m.name}.{s.name}" for m in database.messages for s in m.signals}
    left_out = names - ours
    differences = [f"{n} is ours alone" for n in ours - names]
    # Nothing is missing without a line that says why.
    for name in left_out:
        message, signal = name.split(".", 1)
        if not any("(left out)" in n and f"`{message}`" in n for n in notes):
            differences.append(f"{name} is missing without a word")
    known = {(m.frame_id, m.is_extended_frame) for m in database.messages}
    messages = [m for m in database.messages if any(f"{m.name}.{s.name}" in ours for s in m.signals)]
    tally = dict(frames=0, decoded=0, values=0, alone=0, not_finite=0, unmapped=0, short=0)
    if messages:
        frames = list(random_frames(rng, messages, known, count))
        differences += compare_frames(program, path, frames, left_out, tally)
    for text in differences[:10]:
        print(f"  {path.name}: {text}")
    said = "; ".join(([theirs_says.replace("\n", " ")] if theirs_says else []) + notes[:3])
    said += f"; and {len(notes) - 3} more" if len(notes) > 3 else ""
    row = (path.name, len(database.messages), len(ours), tally["frames"], tally["values"], said)
    return row, len(differences)


def compare_frames(program, path, frames, left_out, tally):
    log = "".join(line + "\n" for line, _, _ in frames)
    run = subprocess.run([program, str(path)], input=log, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    differences = [] if len(answers) == len(frames) else [f"{len(answers)} answers to {len(frames)} frames"]
    tally["frames"] = len(frames)
    for (line, m, data), answer in zip(frames, answers):
        if m is None or len(data) < needed(m, left_out):
            key, word = ("unmapped", "unmapped") if m is None else ("short", "unfit")
            tally[key] += 1
            if word not in answer:
                differences.append(f"{line}: expected {word}, got {answer}")
            continue
        ours = answer.get("values")
        theirs, itself = expected(m, data.ljust(m.length, b"\0"), left_out)
        theirs = {f"{m.name}.{s}": v for s, v in theirs.items() if f"{m.name}.{s}" not in left_out}
        if ours is None or set(ours) != set(theirs):
            differences.append(f"{line}: signals {answer} against {theirs}")
            continue
        tally["decoded"] += 1
        tally["alone"] += not itself
        for name, value in theirs.items():
            tally["values"] += 1
            tally["not_finite"] += not math.isfinite(value)
            if not same(ours[name], value):
                differences.append(f"{line}: {name}: {ours[name]!r} against {value!r}")
    return differences


def shipped(folder):
    """Every database of the installed cantools' own source distribution, fetched from the package index."""
    version = importlib.metadata.version("cantools")
    wanted = ["--no-deps", "--no-binary", ":all:", f"cantools=={version}", "-d", str(folder)]
    subprocess.run([sys.executable, "-m", "pip", "download", "-q", "--disable-pip-version-check", *wanted], check=True)
    archive = next(folder.glob("cantools-*.tar.gz"))
    with tarfile.open(archive) as tar:
        tar.extractall(folder / "sources", filter="data")
    found = sorted(p for p in (folder / "sources").rglob("*") if p.suffix.lower() == ".dbc")
    if len(found) < 50:
        sys.exit(f"only {len(found)} databases in {archive.name}: they have moved")
    print(f"cantools {version}: {len(found)} databases in its source distribution")
    return found


def table(rows):
    head = ("file", "messages", "signals", "frames", "values", "what is said")
    widths = [max(len(str(r[i])) for r in [head, *rows]) for i in range(5)]
    for row in [head, *rows]:
        left, numbers = row[0].ljust(widths[0]), "  ".join(str(x).rjust(w) for x, w in zip(row[1:5], widths[1:]))
        print(f"{left}  {numbers}  {row[5]}")
    loaded = [r for r in rows if r[1]]
    print(
        f"{len(rows)} files, {len(loaded)} with messages: {sum(r[1] for r in rows)} messages, "
        f"{sum(r[2] for r in rows)} signals; {sum(r[3] for r in rows)} frames, {sum(r[4] for r in rows)} values compared"
    )


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("databases", nargs="*", type=pathlib.Path)
    parser.add_argument("--shipped", action="store_true", help="also every database that cantools' sources hold")
    parser.add_argument("--frames", type=int, default=20000, help="for each of the databases named and made")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    rng = random.Random(arguments.seed)
    rows, wrong = [], 0
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        own = folder / "own.dbc"
        own.write_text(own_database(rng, 60))
        paths = [(p, arguments.frames) for p in [own, *arguments.databases]]
        paths += [(p, 2000) for p in shipped(folder)] if arguments.shipped else []
        for path, count in paths:
            row, differences = compare(arguments.program, path, rng, count)
            rows.append(row)
            wrong += differences
    table(rows)
    print(f"{wrong} differences")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
