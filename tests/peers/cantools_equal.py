#!/usr/bin/env python3
"""CAN frames decoded by us and by cantools must give the same numbers.

    cantools_equal.py DECODE_FRAMES [DATABASE.dbc ...] [--frames N] [--seed S]

DECODE_FRAMES is the built example: cargo build -p decode --example decode_frames.
Makes a database of its own (both byte orders, signed, scaled, IEEE single and double, multiplexed, 11- and 29-bit
ids, FD messages up to 64 bytes), then random frames, some of them cut short, unknown or remote; decodes them with both and compares:
the same signals, each value within 1e-12 of its size. The databases named are treated alike. Ends with counts, and
with an exit code other than 0 on any difference. Needs cantools.
"""
import argparse
import json
import math
import pathlib
import random
import subprocess
import sys
import tempfile

import cantools

FD_LENGTHS = [12, 16, 20, 24, 32, 48, 64]


def flip(n):
    """Bit number of a DBC to a count along the bits from the highest of the first byte, and back."""
    return n // 8 * 8 + 7 - n % 8


def bits(start, size, big):
    return {flip(flip(start) + i) for i in range(size)} if big else set(range(start, start + size))


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
        scale = rng.choice([1, 0.1, 0.5, 0.03125, -2, 1e-3, 1000, 0.0078125]) if mux != "M" else 1
        offset = rng.choice([0, 0, -40, 273.15, 1e5, -0.5]) if mux != "M" else 0
        sign = "-" if kind in "sfd" else "+"
        text = f' SG_ {name} {mux}: {start}|{size}@{0 if big else 1}{sign} ({scale:.17g},{offset:.17g}) [0|0] "" BOX'
        return text, used, {"f": 1, "d": 2}.get(kind)
    return None


def own_database(rng, messages):
    lines, types = ['VERSION ""', "", "BU_: BOX", ""], []
    for n in range(messages):
        extended = rng.random() < 0.4
        ident = 0x80000000 | rng.randrange(1 << 29) if extended else n * 13 + 1
        length = rng.choice(FD_LENGTHS) if rng.random() < 0.3 else rng.randint(1, 8)
        lines.append(f"BO_ {ident} MSG_{n}: {length} BOX")
        always, wanted = set(), []
        if length > 1 and rng.random() < 0.4:
            text, used, _ = signal(rng, "Select", length, always, "M")
            lines.append(text.replace("M:", "M :"))
            always |= used
            wanted = [f"m{v}" for v in rng.sample(range(8), rng.randint(1, 4)) for _ in range(rng.randint(1, 3))]
        groups = {}
        for i in range(rng.randint(1, 8)):
            if made := signal(rng, f"S{i}", length, always):
                lines.append(made[0])
                always |= made[1]
                if made[2]:
                    types.append(f"SIG_VALTYPE_ {ident} S{i} : {made[2]};")
        for i, mux in enumerate(wanted):
            if made := signal(rng, f"X{i}", length, always | groups.get(mux, set()), mux):
                lines.append(made[0].replace(f"{mux}:", f"{mux} :"))
                groups[mux] = groups.get(mux, set()) | made[1]
                if made[2]:
                    types.append(f"SIG_VALTYPE_ {ident} X{i} : {made[2]};")
        lines.append("")
    return "\n".join(lines + types) + "\n"


def random_frames(rng, database, count):
    """Lines of a log: (text, message or None, data)."""
    known = {(m.frame_id, m.is_extended_frame) for m in database.messages}
    for n in range(count):
        m = rng.choice(database.messages)
        ident, extended, length = m.frame_id, m.is_extended_frame, m.length
        fate = rng.random()
        if fate < 0.02:
            ident = rng.randrange(1 << 29 if extended else 1 << 11)
            m = m if (ident, extended) in known and ident == m.frame_id else None
            if m is None and (ident, extended) in known:
                continue
        if length > 8 and length not in FD_LENGTHS:
            length = min(x for x in FD_LENGTHS if x >= length)
        if 0.02 <= fate < 0.04:
            length = rng.randint(0, min(length, 8))
        data = bytes(rng.randrange(256) for _ in range(length))
        if m is not None and rng.random() < 0.9:
            data = selected(rng, m, data)
        text = f"{ident:08X}" if extended else f"{ident:03X}"
        separator = "##1" if length > 8 else "#"
        yield f"({n // 1000}.{n % 1000:06d}) can0 {text}{separator}{data.hex().upper()}", m, data


def selected(rng, m, data):
    """The same data with a multiplexor value that the message lists."""
    selector = next((s for s in m.signals if s.is_multiplexer), None)
    values = sorted({v for s in m.signals for v in s.multiplexer_ids or []})
    if selector is None or not values or len(data) < m.length:
        return data
    value, number = rng.choice(values), int.from_bytes(data, "little")
    big = selector.byte_order == "big_endian"
    for i in range(selector.length):
        bit = flip(flip(selector.start) + selector.length - 1 - i) if big else selector.start + i
        number = number & ~(1 << bit) | (value >> i & 1) << bit
    return number.to_bytes(len(data), "little")


def expected(m, data):
    """What cantools gives; where the multiplexor has no listed value, the signals that are always there."""
    try:
        return m.decode(data, decode_choices=False, allow_excess=True)
    except cantools.database.errors.DecodeError as error:
        if "expected multiplexer id" not in str(error):
            raise
    always = [s for s in m.signals if not s.multiplexer_ids]
    raw = {}
    for s in always:
        alone = cantools.database.can.Message(m.frame_id, m.name, m.length, [plain(s)], is_extended_frame=m.is_extended_frame)
        raw |= alone.decode(data, decode_choices=False, allow_excess=True)
    return raw


def plain(s):
    return cantools.database.can.Signal(
        s.name, s.start, s.length, byte_order=s.byte_order, is_signed=s.is_signed, conversion=s.conversion
    )


def same(ours, theirs):
    if ours is None:
        return not math.isfinite(theirs)
    return abs(ours - theirs) <= 1e-12 * abs(theirs) or ours == theirs


def needed(m):
    """Bytes that the message's signals reach."""
    reach = 0
    for s in m.signals:
        reach = max([reach] + [b // 8 + 1 for b in bits(s.start, s.length, s.byte_order == "big_endian")])
    return reach


def compare(program, path, rng, count):
    database = cantools.database.load_file(str(path), strict=True)
    frames = list(random_frames(rng, database, count))
    log = "".join(line + "\n" for line, _, _ in frames)
    run = subprocess.run([program, str(path)], input=log, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    differences = [] if len(answers) == len(frames) else [f"{len(answers)} answers to {len(frames)} frames"]
    tally = dict(frames=len(frames), decoded=0, values=0, not_finite=0, unmapped=0, short=0)
    for (line, m, data), answer in zip(frames, answers):
        if m is None or len(data) < needed(m):
            key, word = ("unmapped", "unmapped") if m is None else ("short", "unfit")
            tally[key] += 1
            if word not in answer:
                differences.append(f"{line}: expected {word}, got {answer}")
            continue
        ours = answer.get("values")
        padded = data.ljust(m.length, b"\0")
        theirs = expected(m, padded)
        if ours is None or set(ours) != {f"{m.name}.{s}" for s in theirs}:
            differences.append(f"{line}: signals {answer} against {theirs}")
            continue
        tally["decoded"] += 1
        for name, value in theirs.items():
            tally["values"] += 1
            tally["not_finite"] += not math.isfinite(value)
            if not same(ours[f"{m.name}.{name}"], value):
                differences.append(f"{line}: {m.name}.{name}: {ours[f'{m.name}.{name}']!r} against {value!r}")
    signals = sum(len(m.signals) for m in database.messages)
    counts = ", ".join(f"{v} {k.replace('_', ' ')}" for k, v in tally.items())
    print(f"{path.name}: {len(database.messages)} messages, {signals} signals; {counts}; {len(differences)} differences")
    for text in differences[:10]:
        print("  " + text)
    return len(differences)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("databases", nargs="*", type=pathlib.Path)
    parser.add_argument("--frames", type=int, default=20000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    rng = random.Random(arguments.seed)
    with tempfile.TemporaryDirectory() as folder:
        own = pathlib.Path(folder) / "own.dbc"
        own.write_text(own_database(rng, 60))
        paths = [own, *arguments.databases]
        wrong = sum(compare(arguments.program, path, rng, arguments.frames) for path in paths)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
