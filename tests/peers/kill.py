#!/usr/bin/env python3
"""Kills a demonstration at many moments (SIGKILL) and salvages each recording.

    kill.py [--moments 200] [--program target/release/bise] [--longest 4.0] [--seed 1]

Needs nothing but the program; what is recorded is real serial and CAN traffic of the demonstration. For each moment:
the demonstration starts, `kill -9` comes at a random time, `bise salvage` makes the recording whole, and then

* `bise replay --compare` finds no difference,
* `sha256sum -c digests` finds no wrong digest,
* a second salvage refuses: there is nothing left to salvage,
* what /metrics had said to be durable is in the log.

Every fourth recording's salvage is itself killed, once, before it is done again. Prints a table and fails where anything
is not so.
"""

import argparse
import collections
import json
import pathlib
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request

SYNCED = re.compile(r"^bise_recording_synced\S* (\d+)", re.M)


def run(program, *args):
    return subprocess.run([program, *args], capture_output=True, text=True, timeout=120)


def durable(address):
    """How many entries the program says are durable; None where it does not answer."""
    try:
        with urllib.request.urlopen(f"http://{address}/metrics", timeout=0.2) as answer:
            found = SYNCED.search(answer.read().decode())
            return int(found.group(1)) if found else None
    except OSError:
        return None


def demonstrate(program, folder, moment):
    """Runs a demonstration for `moment` seconds, then kills it. The last count said to be durable."""
    command = [program, "demo", "--for", "600s", "--pace", "fast", "--out", folder, "--metrics", "127.0.0.1:0"]
    demo = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, bufsize=1)
    end = time.monotonic() + moment
    said, address = 0, None
    if moment > 0.3:
        for line in demo.stdout:
            found = re.search(r"http://(\S+)/metrics", line)
            if found:
                address = found.group(1)
                break
    while time.monotonic() < end:
        said = max(said, (address and durable(address)) or 0)
        time.sleep(max(0.0, min(0.05, end - time.monotonic())))
    demo.send_signal(signal.SIGKILL)
    demo.wait()
    return said


def salvage_killed(program, folder, after):
    salvage = subprocess.Popen([program, "salvage", folder], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(after)
    killed = salvage.poll() is None
    salvage.send_signal(signal.SIGKILL)
    salvage.wait()
    return killed


def check(program, parent, said, kill_salvage, chance):
    """What became of one killed demonstration: outcome, entries, bytes cut."""
    found = list(parent.iterdir()) if parent.is_dir() else []
    if not found:
        return ("killed before its folder", 0, 0) if said == 0 else ("FAILED: no folder", 0, 0)
    folder = str(found[0])
    killed = kill_salvage and salvage_killed(program, folder, chance.uniform(0.0, 0.06))
    first = run(program, "salvage", folder, "--format", "json")
    # 3: something had to be cut.
    if first.returncode not in (0, 3):
        if "nothing was recorded" in first.stderr or "not a recording" in first.stderr:
            return ("killed before its manifest", 0, 0) if said == 0 else (f"FAILED: {first.stderr}", 0, 0)
        # The salvage that was to be killed may have been faster.
        if not (kill_salvage and "nothing to salvage" in first.stderr):
            return (f"FAILED: salvage: {first.stderr}", 0, 0)
        entries, cut = None, 0
    else:
        told = json.loads(first.stdout)
        entries, cut = told["entries"], sum(c["bytes"] for c in told["cuts"])
        if first.returncode != (3 if told["cuts"] or told["missing"] or told["not_recorded"] else 0):
            return (f"FAILED: exit status {first.returncode}, {told}", entries, cut)
        if told["missing"]:
            return (f"FAILED: missing {told['missing']}", entries, cut)
        if entries < said:
            return (f"FAILED: {said} entries were durable, {entries} are there", entries, cut)
    again = run(program, "salvage", folder)
    if again.returncode == 0 or "nothing to salvage" not in again.stderr:
        return ("FAILED: a second salvage found something to do", entries, cut)
    replay = run(program, "replay", folder, "--compare", "--format", "json")
    compared = json.loads(replay.stdout)[0].get("compared") if replay.stdout else None
    if replay.returncode != 0 or compared["different"] != 0:
        return (f"FAILED: replay: {replay.stderr} {compared}", entries, cut)
    digests = subprocess.run(["sha256sum", "--quiet", "-c", "digests"], cwd=folder, capture_output=True, text=True)
    if digests.returncode != 0:
        return (f"FAILED: digests: {digests.stdout} {digests.stderr}", entries, cut)
    return ("salvaged after a killed salvage" if killed else "salvaged", entries or 0, cut)


def main():
    parse = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parse.add_argument("--moments", type=int, default=200)
    parse.add_argument("--program", default="target/release/bise")
    parse.add_argument("--longest", type=float, default=4.0)
    parse.add_argument("--seed", type=int, default=1)
    args = parse.parse_args()
    program = shutil.which(args.program)
    if program is None:
        sys.exit(f"FAILED: {args.program} is not there; build it first")
    program = str(pathlib.Path(program).resolve())
    chance = random.Random(args.seed)
    rows, failed = collections.Counter(), []
    entries, said_all, cut_all, with_cut = [], 0, 0, 0
    began = time.monotonic()
    for n in range(args.moments):
        # Every fourth moment in the first half second, where files are made.
        moment = chance.uniform(0.0, 0.5) if n % 4 == 1 else chance.uniform(0.0, args.longest)
        with tempfile.TemporaryDirectory() as temporary:
            parent = pathlib.Path(temporary, "recordings")
            said = demonstrate(program, str(parent), moment)
            outcome, count, cut = check(program, parent, said, n % 4 == 3, chance)
        if outcome.startswith("FAILED"):
            failed.append(f"moment {n} ({moment:.3f} s): {outcome}")
            outcome = "FAILED"
        rows[outcome] += 1
        if count:
            entries.append(count)
        said_all += said
        cut_all += cut
        with_cut += cut > 0
    print(f"{args.moments} moments in {time.monotonic() - began:.0f} s, seed {args.seed}, up to {args.longest} s")
    for outcome, count in rows.most_common():
        print(f"  {count:5}  {outcome}")
    if entries:
        print(f"entries salvaged: {min(entries)} to {max(entries)}, {sum(entries)} in all; said to be durable: {said_all}")
        print(f"a torn end was cut off in {with_cut} of them, {cut_all} bytes in all")
    print("\n".join(failed))
    if failed or not said_all:
        sys.exit("FAILED")


if __name__ == "__main__":
    main()
