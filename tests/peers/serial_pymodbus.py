#!/usr/bin/env python3
"""The serial source against pymodbus as an independent responder, and against a text instrument, over socat.

    serial_pymodbus.py POLL_LINE [--seconds N]

POLL_LINE is the built example: cargo build -p source-serial --example poll_line.
Between the source and pymodbus stands a proxy that delays, silences, damages, turns requests into illegal ones (so
that pymodbus refuses), answers late (before and after the worst answer time), adds noise and repeats; once the line
is unplugged (socat killed) and comes back. Every register's value tells its address. Demanded: never a value of
another register, every injected fault seen, values again after the return. Ends with a summary, and with an exit
code other than 0 on trouble. Needs pymodbus, pyserial and socat.
"""
import argparse
import asyncio
import collections
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import termios
import threading
import time

import serial
from pymodbus.datastore import ModbusDeviceContext, ModbusSequentialDataBlock, ModbusServerContext
from pymodbus.framer.rtu import FramerRTU
from pymodbus.server import StartAsyncSerialServer

BLOCKS = {1: [(256, 4), (512, 4), (768, 2)], 2: [(256, 1), (512, 1)]}
WORST_S, TIME_OUT_S = 0.3, 0.1
# What is done to an answer, and the faults that must be seen for it.
FAULTS = {
    "delay": {},
    "silence": {"time-out": 1},
    "checksum": {"checksum": 1},
    "exception": {"exception": 1},
    "late": {"time-out": 1, "late-answer": 1},
    "very-late": {"time-out": 1, "late-answer": 1},
    "noise": {"noise": 1},
    "twice": {"wrong-answer": 1},
}


def value(unit, address):
    return (address * 7 + unit * 1009) % 65536


class Pair:
    """Two linked pseudo-terminals."""

    def __init__(self, folder, name):
        self.ends = [str(folder / f"{name}-{end}") for end in ("near", "far")]
        self.plug_in()

    def plug_in(self):
        for end in self.ends:
            pathlib.Path(end).unlink(missing_ok=True)
        self.socat = subprocess.Popen(["socat"] + [f"pty,raw,echo=0,link={end}" for end in self.ends])
        for _ in range(200):
            if all(os.path.exists(end) for end in self.ends):
                return
            time.sleep(0.02)
        sys.exit("socat made no pseudo-terminals")

    def unplug(self):
        self.socat.kill()
        self.socat.wait()


def responder(port):
    """pymodbus, in a thread of its own."""
    def block(unit):
        # The context counts addresses from 1.
        return ModbusSequentialDataBlock(1, [value(unit, a) for a in range(1000)])
    devices = {unit: ModbusDeviceContext(hr=block(unit)) for unit in BLOCKS}
    context = ModbusServerContext(devices=devices, single=False)

    async def serve():
        await StartAsyncSerialServer(context, port=port, baudrate=19200, parity="N", timeout=0.01)
    threading.Thread(target=lambda: asyncio.run(serve()), daemon=True).start()


def sealed(body):
    crc = FramerRTU.compute_CRC(body)
    return body + crc.to_bytes(2, "big")


class Proxy(threading.Thread):
    """Forwards requests and answers in order, and does harm to every sixth request to unit 1."""

    def __init__(self, pair, server_port):
        super().__init__(daemon=True)
        self.pair, self.server = pair, serial.Serial(server_port, 19200, timeout=0.5)
        self.harming, self.injected, self.requests = True, collections.Counter(), 0

    def run(self):
        while True:
            try:
                with serial.Serial(self.pair.ends[1], 19200, timeout=0.05) as port:
                    self.forward(port)
            except (OSError, serial.SerialException, termios.error):
                time.sleep(0.05)

    def forward(self, port):
        count = 0
        while True:
            request = port.read(8)
            if len(request) < 8:
                continue
            self.requests += 1
            count += request[0] == 1
            harm = None
            if self.harming and request[0] == 1 and count % 6 == 0:
                harm = list(FAULTS)[sum(self.injected.values()) % len(FAULTS)]
                self.injected[harm] += 1
            sent = time.monotonic()
            self.server.reset_input_buffer()
            self.server.write(sealed(request[:2] + b"\xea\x60\x00\x02") if harm == "exception" else request)
            head = self.server.read(3)
            if len(head) < 3:
                continue
            answer = head + self.server.read(2 if head[1] & 0x80 else head[2] + 2)
            self.harm(port, harm, answer, sent)

    def harm(self, port, harm, answer, sent):
        wait = {"delay": 0.04, "late": 0.2, "very-late": 0.75}.get(harm, 0)
        time.sleep(max(0, sent + wait - time.monotonic()))
        if harm == "silence":
            return
        if harm == "checksum":
            answer = answer[:4] + bytes([answer[4] ^ 0x10]) + answer[5:]
        if harm == "noise":
            answer = b"\xf0\xa5\xf1" + answer
        port.write(answer * 2 if harm == "twice" else answer)


def messages(program, *arguments):
    done = subprocess.Popen([program, *map(str, arguments)], stdout=subprocess.PIPE, text=True)
    return done, lambda: [json.loads(line) for line in done.communicate()[0].splitlines()]


def modbus(program, folder, seconds):
    ours, theirs = Pair(folder, "ours"), Pair(folder, "theirs")
    responder(theirs.ends[1])
    time.sleep(0.5)
    proxy = Proxy(ours, theirs.ends[0])
    proxy.start()
    devices = [f"{unit}:" + ",".join(f"{a}:{n}" for a, n in blocks) for unit, blocks in BLOCKS.items()]
    running, told = messages(program, ours.ends[0], seconds, "modbus", *devices)
    # Harm, then a calm in which everything late has come; unplug; return.
    time.sleep(seconds - 10)
    proxy.harming = False
    time.sleep(4)
    ours.unplug()
    time.sleep(1)
    ours.plug_in()
    told = told()
    trouble = [] if running.returncode == 0 else [f"poll_line ended with {running.returncode}"]
    ours.unplug()
    theirs.unplug()

    values, faults = collections.Counter(), collections.Counter()
    last_up = max((i for i, m in enumerate(told) if m.get("link") == "up" and m["device"] is None), default=0)
    after = 0
    for i, message in enumerate(told):
        if "fault" in message:
            faults[message["fault"]] += 1
        if "answer" in message:
            request, answer = message["request"], bytes(message["answer"])
            unit, address, count = request[0], request[2] * 256 + request[3], request[4] * 256 + request[5]
            words = b"".join(value(unit, address + k).to_bytes(2, "big") for k in range(count))
            if answer != sealed(bytes([unit, 3, 2 * count]) + words):
                trouble.append(f"wrong value: {message}")
            values[unit, address] += 1
            after += i > last_up
    demanded = collections.Counter()
    for harm, n in proxy.injected.items():
        for fault, k in FAULTS[harm].items():
            demanded[fault] += n * k
    trouble += [f"{kind}: {n} injected, {faults[kind]} seen" for kind, n in demanded.items() if faults[kind] < n]
    # A slow machine may add time-outs and late answers, but never damage or refusals.
    trouble += [f"{kind}: {faults[kind]} seen, {demanded[kind]} injected"
                for kind in ("checksum", "exception") if faults[kind] > demanded[kind]]
    if set(proxy.injected) != set(FAULTS):
        trouble.append(f"not every fault was injected: {dict(proxy.injected)}")
    if {k for k in values} != {(u, a) for u, blocks in BLOCKS.items() for a, _ in blocks}:
        trouble.append(f"not every block was read: {dict(values)}")
    lost = [m["lost"] for m in told if "lost" in m]
    if not lost or ours.ends[0] not in lost[0]:
        trouble.append(f"the unplugging was not reported with the port's name: {lost}")
    if after < 20:
        trouble.append(f"only {after} values after the return")
    print(f"modbus: {proxy.requests} requests, {sum(values.values())} values, "
          f"{sum('wrong value' in t for t in trouble)} of them wrong; "
          f"injected {dict(proxy.injected)}; faults seen {dict(faults)}; {after} values after the return; lost: {lost[:2]}")
    return trouble


def text(program, folder):
    pair = Pair(folder, "text")
    running, told = messages(program, pair.ends[0], 8, "text")
    time.sleep(1)
    sent = []

    def say(first):
        with serial.Serial(pair.ends[1], 19200) as port:
            port.write(b"joining\r\n")
            for i in range(first, first + 100):
                line = f"N={i},T={20 + i / 10}"
                whole = line.encode() + [b"\r\n", b"\n", b"\r"][i % 3]
                for k in range(0, len(whole), 1 + i % 5):
                    port.write(whole[k:k + 1 + i % 5])
                    time.sleep(0.001)
                sent.append(line)
            port.write(b"\xff\xfe\n" + b"x" * 200 + b"\n")
            time.sleep(0.3)
    say(0)
    pair.unplug()
    time.sleep(0.5)
    pair.plug_in()
    time.sleep(1)
    say(100)
    told = told()
    pair.unplug()
    lines = [m["line"] for m in told if "line" in m]
    faults = collections.Counter(m["fault"] for m in told if "fault" in m)
    trouble = [] if running.returncode == 0 else [f"poll_line ended with {running.returncode}"]
    if lines != sent:
        trouble.append(f"{len(sent)} lines sent, {len(lines)} came, not the same")
    if faults != {"partial-line": 2, "malformed": 2, "too-long": 2}:
        trouble.append(f"faults of the text line: {dict(faults)}")
    print(f"text: {len(sent)} lines sent, {len(lines)} came; faults {dict(faults)}")
    return trouble


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("poll_line")
    parser.add_argument("--seconds", type=float, default=60)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        trouble = modbus(arguments.poll_line, pathlib.Path(folder), max(arguments.seconds, 20))
        trouble += text(arguments.poll_line, pathlib.Path(folder))
    for t in trouble[:20]:
        print("TROUBLE", t)
    print("serial peers:", "failed" if trouble else "passed")
    sys.exit(1 if trouble else 0)


if __name__ == "__main__":
    main()
