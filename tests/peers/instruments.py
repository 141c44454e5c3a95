#!/usr/bin/env python3
"""Instruments of every framing, recorded by the whole program, against other programs as their peers.

    instruments.py BISE

* pymodbus as a device on a serial line (socat pair): functions 1 to 4, all types, all orders of words and bytes
* pymodbus as a server of Modbus TCP, with the same registers
* pymodbus as master and device on one line, with this program listening in between: not a byte may come from it
* lines of text over TCP and UDP and queries over TCP, and binary frames over TCP, sent by Python's own sockets

Everything is recorded by `bise record` for a few seconds; what must stand in the samples is computed here by struct,
independently. Ends with an exit code other than 0 on trouble. Needs pymodbus, pyserial, pyarrow and socat.
"""
import asyncio
import collections
import os
import pathlib
import socket
import struct
import subprocess
import sys
import tempfile
import threading
import time

import pyarrow.dataset
import serial
from pymodbus.client import ModbusSerialClient
from pymodbus.datastore import ModbusDeviceContext, ModbusSequentialDataBlock, ModbusServerContext
from pymodbus.server import StartAsyncSerialServer, StartAsyncTcpServer

VALUES = {"u16": 54321, "i16": -1234, "u32": 3000000001, "i32": -2000000001, "f32": -12.625, "f64": 0.1 + 1e-9}
CODES = {"u16": ">H", "i16": ">h", "u32": ">I", "i32": ">i", "f32": ">f", "f64": ">d"}
ORDERS = [(w, b) for w in ("high-first", "low-first") for b in ("high-first", "low-first")]
BITS = {1: [1, 0, 1, 1, 0, 0, 1, 0, 1, 1], 2: [0, 1, 1, 0, 1]}


def words(kind, word_order, byte_order):
    """The registers that hold the kind's value."""
    data = struct.pack(CODES[kind], VALUES[kind])
    pairs = [data[i:i + 2] for i in range(0, len(data), 2)]
    pairs = pairs if word_order == "high-first" else pairs[::-1]
    return [struct.unpack(">H" if byte_order == "high-first" else "<H", p)[0] for p in pairs]


def register_map():
    """An instrument file, the registers it reads, and what each reading must say."""
    text, registers, expected = 'framing = "modbus-rtu"\n', {3: [], 4: []}, {}
    for function in (3, 4):
        for kind in VALUES:
            for word_order, byte_order in ORDERS:
                name = f"r{function}_{kind}_{word_order[0]}{byte_order[0]}"
                text += f'[[reading]]\nname = "{name}"\nfunction = {function}\naddress = {len(registers[function])}\n'
                text += f'type = "{kind}"\nword_order = "{word_order}"\nbyte_order = "{byte_order}"\nunit = "1"\n'
                registers[function] += words(kind, word_order, byte_order)
                expected[name] = VALUES[kind]
    for function, bits in BITS.items():
        for i, bit in enumerate(bits):
            name = f"b{function}_{i}"
            text += f'[[reading]]\nname = "{name}"\nfunction = {function}\naddress = {i}\nunit = "1"\n'
            expected[name] = bit
    return text, registers, expected


def context(registers, units):
    # The context counts addresses from 1.
    def block(values):
        return ModbusSequentialDataBlock(1, list(values) + [0] * 50)

    def device():
        return ModbusDeviceContext(co=block(map(bool, BITS[1])), di=block(map(bool, BITS[2])), hr=block(registers[3]),
                                   ir=block(registers[4]))
    return ModbusServerContext(devices={u: device() for u in units}, single=False)


def in_thread(work):
    threading.Thread(target=lambda: asyncio.run(work()), daemon=True).start()


class Pair:
    """Two linked pseudo-terminals."""

    def __init__(self, folder, name):
        self.ends = [str(folder / f"{name}-{end}") for end in ("near", "far")]
        self.socat = subprocess.Popen(["socat"] + [f"pty,raw,echo=0,link={end}" for end in self.ends])
        for _ in range(200):
            if all(os.path.exists(end) for end in self.ends):
                return
            time.sleep(0.02)
        sys.exit("socat made no pseudo-terminals")


class Tap(threading.Thread):
    """Two lines joined byte by byte; a third end hears both. What the third end says is kept."""

    def __init__(self, master, device, listener):
        super().__init__(daemon=True)
        self.ports = [serial.Serial(p, 19200, timeout=0.002) for p in (master, device, listener)]
        self.said, self.stop = b"", threading.Event()

    def run(self):
        master, device, listener = self.ports
        while not self.stop.is_set():
            for source, sink in ((master, device), (device, master)):
                data = source.read(256)
                if data:
                    sink.write(data)
                    listener.write(data)
            self.said += listener.read(256)


def overheard_master(port, stop):
    """pymodbus reads everything again and again, in blocks, and some that is not mapped."""
    client = ModbusSerialClient(port=port, baudrate=19200, parity="N", timeout=1)
    client.connect()
    while not stop.is_set():
        for at in range(0, 48, 8):
            client.read_holding_registers(at, count=8, device_id=5)
            client.read_input_registers(at, count=8, device_id=5)
        client.read_coils(0, count=len(BITS[1]), device_id=5)
        client.read_discrete_inputs(0, count=len(BITS[2]), device_id=5)
        client.read_holding_registers(60, count=2, device_id=5)
        client.write_register(70, 1, device_id=5)
        client.read_holding_registers(0, count=3, device_id=6)
    client.close()


def tcp_server(handle):
    """A server on a free port of this machine; its port."""
    listener = socket.create_server(("127.0.0.1", 0))

    def serve():
        while True:
            connection, _ = listener.accept()
            threading.Thread(target=lambda: ended_well(handle, connection), daemon=True).start()
    threading.Thread(target=serve, daemon=True).start()
    return listener.getsockname()[1]


def ended_well(handle, connection):
    try:
        handle(connection)
    except OSError:
        connection.close()


def weather(kind, values):
    body = f"{kind}," + ",".join(values)
    checksum = 0
    for c in body:
        checksum ^= ord(c)
    return f"${body}*{checksum:02X}\r\n".encode()


def frame(kind, data):
    """AA 55, length, kind, data, CRC-16/MODBUS low byte first, by bits."""
    body = bytes([len(data) + 1, kind]) + data
    crc = 0xFFFF
    for byte in body:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xA001 if crc & 1 else 0)
    return b"\xaa\x55" + body + struct.pack("<H", crc)


def send_lines(connection):
    connection.sendall(b".4,45.2*07\r\n")
    while True:
        for i in range(10):
            data = weather("WT", [f"{20 + i / 10:.1f}", "45.2"])
            # In two pieces, and every tenth damaged.
            if i == 9:
                data = data.replace(b"20.9", b"99.1")
            connection.sendall(data[:7])
            time.sleep(0.005)
            connection.sendall(data[7:] + weather("WP", ["1013.2"]))
            time.sleep(0.02)


def send_frames(connection):
    connection.sendall(b"\x55\x01")
    while True:
        for i in range(10):
            data = frame(1, struct.pack(">f", 100 + i))
            if i == 5:
                data = data[:5] + b"\xff" + data[6:]
            connection.sendall(data + frame(2, b"\x03") + (b"\xaa\x55" if i == 7 else b""))
            time.sleep(0.02)


def answer_queries(connection):
    heard = b""
    while True:
        data = connection.recv(100)
        if not data:
            return
        heard += data
        while b"\n" in heard:
            query, heard = heard.split(b"\n", 1)
            ASKED[query.decode()] += 1
            if query == b"MEAS:CO2?":
                # The first one late: its answer must not become the temperature.
                time.sleep(0.35 if ASKED["MEAS:CO2?"] == 1 else 0)
                connection.sendall(b"415 ppmv\r\n")
            elif query == b"MEAS:TEMP?":
                connection.sendall(b"T=36.5C\r\n")


SOURCES = ("source", "rtu", "tap", "tcp", "lines", "datagrams", "asked", "frames")
ASKED = collections.Counter()


def source(name, kind, options, devices):
    text = f'\n[[source]]\nname = "{name}"\nkind = "{kind}"\n{options}\n'
    for device, instrument, more in devices:
        text += f'\n[[source.device]]\nname = "{device}"\ninstrument = "{instrument}"\n{more}\n'
    return text


def configs(folder, examples, ports, lines):
    text, registers, expected = register_map()
    (folder / "map.toml").write_text(text)
    poll = 'period = "200ms"\ntime_out = "300ms"\nworst_answer = "500ms"'
    run = '[run]\nname = "peers"\nrecordings = "recordings"\nchannels = ["channels.toml"]\nlateness = "500ms"\n'
    serial_line = 'baud = 19200\nparity = "none"\nport = "{}"'
    run += source("rtu", "serial", serial_line.format(lines["rtu"]), [("box", "map.toml", "address = 5\n" + poll)])
    run += source("tap", "serial", serial_line.format(lines["tap"]) + "\npassive = true",
                  [("box", "map.toml", 'address = 5\nworst_answer = "500ms"\n')])
    at = 'address = "127.0.0.1:{}"'
    run += source("tcp", "net", at.format(ports["modbus"]), [("box", "map.toml", poll)])
    run += source("lines", "net", at.format(ports["lines"]), [("station", f"{examples}/example-weather.toml", "")])
    run += source("datagrams", "net", 'transport = "udp"\n' + at.format(ports["udp"]),
                  [("station", f"{examples}/example-weather.toml", "")])
    run += source("asked", "net", at.format(ports["queries"]),
                  [("analyser", f"{examples}/example-analyser.toml", 'time_out = "200ms"\nworst_answer = "600ms"')])
    run += source("frames", "net", at.format(ports["frames"]),
                  [("fast", f"{examples}/example-dynamic-pressure.toml", "")])
    (folder / "run.toml").write_text(run)
    channels, demanded = "[channel]\n", {}

    def channel(name, address, unit, allowed, scale=1.0):
        nonlocal channels
        channels += f'"x.{name}.{QUANTITY[unit]}" = {{ from = "{address}", unit = "{unit}"{EXTRA.get(unit, "")} }}\n'
        demanded[f"x.{name}.{QUANTITY[unit]}"] = {round(v * scale + OFFSET.get(unit, 0), 6) for v in allowed}
    for s in ("rtu", "tap", "tcp"):
        for name, value in expected.items():
            channel(f"{s}_{name}", f"{s}/box/{name}", "1", [struct.unpack(">f", struct.pack(">f", value))[0]
                                                          if "f32" in name else value])
    for s in ("lines", "datagrams"):
        channel(f"{s}_t", f"{s}/station/temperature", "degC", [20 + i / 10 for i in range(9 if s == "lines" else 1)])
        channel(f"{s}_p", f"{s}/station/pressure", "hPa", [1013.2], 100)
    channel("co2", "asked/analyser/co2", "1", [415e-6])
    channel("cell", "asked/analyser/cell_temperature", "degC", [36.5])
    channel("fast", "frames/fast/pressure", "kPa", [100 + i for i in range(10) if i != 5], 1000)
    channel("status", "frames/fast/status", "1", [3])
    (folder / "channels.toml").write_text(channels)
    return registers, demanded


QUANTITY = {"1": "ratio", "degC": "temperature", "hPa": "pressure", "kPa": "pressure"}
EXTRA = {"hPa": ', reference = "absolute"', "kPa": ', reference = "absolute"'}
OFFSET = {"degC": 273.15}


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def datagrams(port, stop):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as s:
        while not stop.is_set():
            s.sendto(weather("WT", ["20.0", "45.2"]) + weather("WP", ["1013.2"]).rstrip(), ("127.0.0.1", port))
            time.sleep(0.05)


def recorded(folder):
    (recording,) = (folder / "recordings").iterdir()
    table = pyarrow.dataset.dataset(sorted(map(str, (recording / "samples").glob("*.parquet")))).to_table()
    seen = collections.defaultdict(list)
    for row in table.select(["channel", "value"]).to_pylist():
        if row["value"] is not None:
            seen[row["channel"]].append(row["value"])
    return seen


def main():
    bise = sys.argv[1]
    examples = pathlib.Path(__file__).resolve().parents[2] / "configs" / "instruments"
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        rtu, master, device, tap = (Pair(folder, n) for n in ("rtu", "master", "device", "tap"))
        ports = {"modbus": free_port(), "udp": free_port(), "lines": tcp_server(send_lines),
                 "queries": tcp_server(answer_queries), "frames": tcp_server(send_frames)}
        registers, demanded = configs(folder, examples, ports, {"rtu": rtu.ends[0], "tap": tap.ends[0]})
        for port, units in ((rtu.ends[1], [5]), (device.ends[1], [5, 6])):
            in_thread(lambda port=port, units=units: StartAsyncSerialServer(
                context(registers, units), port=port, baudrate=19200, parity="N", timeout=0.01))
        in_thread(lambda: StartAsyncTcpServer(context(registers, [255]), address=("127.0.0.1", ports["modbus"])))
        joined = Tap(master.ends[1], device.ends[0], tap.ends[1])
        joined.start()
        stop = threading.Event()
        asking = threading.Thread(target=overheard_master, args=(master.ends[0], stop), daemon=True)
        asking.start()
        threading.Thread(target=datagrams, args=(ports["udp"], stop), daemon=True).start()
        time.sleep(1)
        recording = subprocess.Popen([bise, "record", str(folder / "run.toml"), "--author", "peers"],
                                     stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        time.sleep(12)
        try:
            said, _ = recording.communicate("quit\n", timeout=20)
        finally:
            recording.kill()
        stop.set()
        asking.join(5)
        joined.stop.set()
        joined.join(5)
        trouble = []
        # The write and the register that is not mapped were overheard, and made no reading.
        tap_line = next((line for line in said.splitlines() if line.startswith("tap ")), "")
        if "overheard" not in tap_line or tap_line.split()[5] == "0":
            trouble.append(f"not overheard: {tap_line!r}")
        seen = recorded(folder)
        for channel, allowed in demanded.items():
            values = {round(v, 6) for v in seen.get(channel, [])}
            if not values:
                trouble.append(f"{channel}: no value")
            if values - allowed:
                trouble.append(f"{channel}: {sorted(values - allowed)[:5]}, allowed are {sorted(allowed)[:5]}")
        if joined.said:
            trouble.append(f"the listener wrote {joined.said[:20].hex(' ')} to the overheard line")
        if set(ASKED) != {"MEAS:CO2?", "MEAS:TEMP?"}:
            trouble.append(f"asked: {dict(ASKED)}")
        for p in (rtu, master, device, tap):
            p.socat.kill()
    print("\n".join(line for line in said.splitlines() if line.split()[:1] and line.split()[0] in SOURCES))
    print(f"{len(demanded)} channels, {sum(map(len, seen.values()))} samples; asked {dict(ASKED)}")
    for t in trouble[:20]:
        print("TROUBLE", t)
    print("instruments:", "failed" if trouble else "passed")
    sys.exit(1 if trouble else 0)


if __name__ == "__main__":
    main()
