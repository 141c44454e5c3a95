#!/usr/bin/env python3
"""A real Prometheus server scrapes the program's metrics.

    prometheus_scrape.py [--address HOST:PORT] [--for SECONDS] -- COMMAND...

COMMAND is a program that serves /metrics at the address, for example

    prometheus_scrape.py --address 127.0.0.1:9773 -- cargo run -p sink-prometheus --example serve -- 127.0.0.1:9773
    prometheus_scrape.py --address 127.0.0.1:9773 -- target/release/bise demo --for 60s

Needs the programs `prometheus` and `promtool` (Debian package prometheus) and fails where they are missing. Checks:
the Content-Type; `promtool check metrics` has nothing to say about the text, but that it would count in grams (the SI
base unit is the kilogram); the server finds the target up, without a scrape error; every series it knows is one that
/metrics holds and the other way round, so that what is absent there is gone here too; values that stand still are
the same; counters never decrease.
"""

import argparse
import json
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"
GRAMS = 'use base unit "grams" instead of "kilograms"'
LINT_REMARKS = 3
SERIES = re.compile(r"^([a-z_][a-z0-9_]*)(?:\{(.*)\})? (\S+)$")
LABEL = re.compile(r'([a-z_]+)="((?:[^"\\]|\\.)*)"')
ESCAPES = {"\\\\": "\\", '\\"': '"', "\\n": "\n"}


def fail(text):
    sys.exit(f"FAILED: {text}")


def fetch(url):
    with urllib.request.urlopen(url, timeout=5) as answer:
        return answer.headers, answer.read().decode("utf-8")


def series_of(text):
    """Name and labels of every series in a text, with its value."""
    found = {}
    for line in text.splitlines():
        if line.startswith("#") or not line:
            continue
        match = SERIES.match(line)
        if not match:
            fail(f"/metrics holds a line that is no series: {line!r}")
        labels = {k: re.sub(r"\\.", lambda m: ESCAPES[m.group()], v) for k, v in LABEL.findall(match[2] or "")}
        key = (match[1], tuple(sorted(labels.items())))
        if key in found:
            fail(f"/metrics holds {key} twice")
        found[key] = float(match[3])
    return found


def known_to_server(api, job):
    """The same as the server holds it now."""
    query = urllib.parse.urlencode({"query": '{job="%s",__name__=~"bise_.*"}' % job})
    result = json.loads(fetch(f"{api}/api/v1/query?{query}")[1])
    if result["status"] != "success":
        fail(f"the server refuses the query: {result}")
    found = {}
    for row in result["data"]["result"]:
        labels = dict(row["metric"])
        name = labels.pop("__name__")
        for added in ("job", "instance"):
            labels.pop(added)
        key = (name, tuple(sorted(labels.items())))
        found[key] = float(row["value"][1])
    return found


def target(api):
    """The state of the one target, or None before the server knows it."""
    targets = json.loads(fetch(f"{api}/api/v1/targets")[1])["data"]["activeTargets"]
    return targets[0] if targets else None


def wait_for(what, seconds, probe):
    end = time.monotonic() + seconds
    last = None
    while time.monotonic() < end:
        try:
            last = probe()
            if last:
                return last
        except OSError as e:
            last = e
        time.sleep(0.1)
    fail(f"{what}: not within {seconds} s; last seen: {last!r}")


def check_text(address):
    headers, text = fetch(f"http://{address}/metrics")
    if headers["Content-Type"] != CONTENT_TYPE:
        fail(f"Content-Type is {headers['Content-Type']!r}, not {CONTENT_TYPE!r}")
    lint = subprocess.run(["promtool", "check", "metrics"], input=text, capture_output=True, text=True)
    remarks = [r for r in (lint.stdout + lint.stderr).splitlines() if r.strip() and not r.endswith(GRAMS)]
    if remarks or lint.returncode not in (0, LINT_REMARKS):
        fail(f"promtool check metrics ({lint.returncode}): {remarks}")
    return series_of(text)


def is_value(key):
    """Whether a series is the value or age of a channel: what is absent while there is none."""
    return key[0].startswith("bise_channel_") and len(key[1]) == 1


def compare(address, api, doubted):
    """One round: text, a scrape after it, text after that, and what the server then knows.

    A value that is the same before and after and another one at the server may have moved and come back: it is doubted,
    and wrong when it is doubted twice in a row.
    """
    before = check_text(address)
    seen = target(api)["lastScrape"]
    wait_for("the next scrape", 10, lambda: target(api)["lastScrape"] != seen)
    server = known_to_server(api, "bise")
    after = check_text(address)
    both = before.keys() & after.keys()
    if missing := both - server.keys():
        fail(f"in /metrics and not known to the server: {sorted(missing)[:5]}")
    if foreign := server.keys() - (before.keys() | after.keys()):
        fail(f"known to the server and not in /metrics: {sorted(foreign)[:5]}")
    equal, moved, doubts = 0, 0, set()
    for key in both:
        if before[key] == after[key] == server[key]:
            equal += 1
            continue
        if before[key] == after[key]:
            doubts.add(key)
            if key in doubted:
                fail(f"{key} is {before[key]} before and after, and {server[key]} at the server, twice in a row")
        moved += 1
        if key[0].endswith("_total") and not before[key] <= server[key] <= after[key]:
            fail(f"{key} went {before[key]} -> {server[key]} (server) -> {after[key]}: a counter never decreases")
    return server, equal, moved, doubts


def run(options, folder):
    config = f"{folder}/prometheus.yml"
    with open(config, "w") as f:
        f.write("global: {scrape_interval: 500ms, scrape_timeout: 400ms}\nscrape_configs:\n")
        f.write(f"  - {{job_name: bise, static_configs: [{{targets: ['{options.address}']}}]}}\n")
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        listen = "127.0.0.1:%d" % s.getsockname()[1]
    api = f"http://{listen}"
    arguments = [f"--config.file={config}", f"--storage.tsdb.path={folder}/data", f"--web.listen-address={listen}"]
    server = subprocess.Popen(["prometheus", *arguments], stderr=open(f"{folder}/server.log", "w"))
    try:
        wait_for("Prometheus up", 30, lambda: fetch(f"{api}/-/ready"))
        wait_for("target up", 30, lambda: (target(api) or {}).get("health") == "up")
        end, rounds, names, equal, moved, doubts = time.monotonic() + options.seconds, 0, set(), 0, 0, set()
        fewest = None
        while time.monotonic() < end:
            state = target(api)
            if state["health"] != "up" or state["lastError"]:
                fail(f"scrape: {state['health']}, {state['lastError']!r}")
            held, same, moving, doubts = compare(options.address, api, doubts)
            names |= held.keys()
            shown = sum(map(is_value, held))
            fewest = shown if fewest is None else min(fewest, shown)
            equal, moved, rounds = equal + same, moved + moving, rounds + 1
        values = sum(map(is_value, names))
        if rounds == 0 or equal == 0 or moved == 0 or not values:
            fail(f"nothing was compared: {rounds} rounds, {equal} equal, {moved} moving, {values} channel series")
        print(f"{rounds} rounds, {len(names)} series of which {values} of channels (at least {fewest} at a time), "
              f"{equal} comparisons equal, {moved} of moving values, no scrape error")
    finally:
        server.terminate()
        server.wait(20)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--address", default="127.0.0.1:9773")
    parser.add_argument("--for", dest="seconds", type=float, default=15.0)
    parser.add_argument("command", nargs="+")
    options = parser.parse_args()
    for needed in ("prometheus", "promtool"):
        if not shutil.which(needed):
            fail(f"{needed} is not installed (Debian package prometheus)")
    program = subprocess.Popen(options.command)
    try:
        def answers():
            if program.poll() is not None:
                fail(f"{options.command[0]} ended with {program.returncode} before it was scraped")
            return fetch(f"http://{options.address}/metrics")
        wait_for("the program's /metrics", 120, answers)
        with tempfile.TemporaryDirectory() as folder:
            run(options, folder)
    finally:
        if program.poll() is None:
            program.send_signal(signal.SIGINT)
            try:
                program.wait(20)
            except subprocess.TimeoutExpired:
                program.kill()
                fail(f"{options.command[0]} does not end on SIGINT")


if __name__ == "__main__":
    main()
