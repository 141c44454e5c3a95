#!/usr/bin/env bash
# Holds the program against others': every check fails when its peer is missing.
#
#   tests/peers/run.sh            all of them
#   PYTHON=venv/bin/python        the Python that has requirements.txt installed (default: python3)
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
cd "$here/../.."
python=${PYTHON:-python3}
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
passed=0

check() { # NAME COMMAND...
    local name=$1 start=$SECONDS
    shift
    printf '\n--- %s\n' "$name"
    "$@"
    passed=$((passed + 1))
    printf -- '--- %s: as it should be (%s s)\n' "$name" $((SECONDS - start))
}

cargo build --locked -q -p bise
cargo build --locked -q -p decode --example decode_frames
cargo build --locked -q -p source-serial --example poll_line
target=${CARGO_TARGET_DIR:-target}/debug
bise=$target/bise

check "fixtures, made anew" "$python" tests/peers/fixtures.py
check "CAN frames against cantools" \
    "$python" tests/peers/cantools_equal.py "$target/examples/decode_frames" \
    configs/instruments/demo-pack.dbc --shipped
check "captures against python-can, can-utils, Polars and pyarrow" "$python" tests/peers/captures_equal.py "$bise"
check "serial lines against pymodbus and socat" \
    "$python" tests/peers/serial_pymodbus.py "$target/examples/poll_line"
check "instruments of every framing, serial and on the network, against pymodbus and plain sockets" \
    "$python" tests/peers/instruments.py "$bise"
check "a recording of the demonstration" \
    "$bise" demo --for 60s --pace fast --out "$scratch/demo" --metrics 127.0.0.1:0
check "the same, recomputed" "$bise" replay "$scratch"/demo/* --compare
check "its files in pyarrow, DuckDB and Polars" "$python" tests/peers/open_files.py "$scratch"/demo/*
check "a Prometheus server scrapes the demonstration" \
    "$python" tests/peers/prometheus_scrape.py --address 127.0.0.1:9773 -- "$bise" demo --for 60s --out "$scratch/scraped"
check "killed at twenty moments" "$python" tests/peers/kill.py --program "$bise" --moments 20
check "a disk that fills up (needs root)" tests/peers/disk_full.sh "$bise"

printf '\n%s passed, 0 failed\n' "$passed"
