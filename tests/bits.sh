#!/usr/bin/env bash
# Results promised to the bit, held against the same tables in a debug build, a release build and a release build for
# processors with AVX2 and FMA. `tests/bits.sh whole` also evaluates a capture in the debug build and compares it in the
# other two; that builds the program twice more and takes minutes.
set -euo pipefail
cd "$(dirname "$0")/.."

V3=x86-64-v3
V3_FOLDER=target/bits-v3
AARCH64=aarch64-unknown-linux-gnu

v3() { RUSTFLAGS="-C target-cpu=$V3" CARGO_TARGET_DIR=$V3_FOLDER "$@"; }

bits() {
    printf -- '--- bits: %s\n' "$1"
    shift
    "$@" --locked -p thermo -p sensors -p uncertainty --test bits --test exchanger_flow_bits --test pack_functions
}

has_v3() {
    [ "$(uname -m)" = x86_64 ] && grep -qw avx2 /proc/cpuinfo && grep -qw fma /proc/cpuinfo
}

# A recording of the debug build, evaluated again by another build: `--compare` fails where a value differs in a bit.
whole() {
    local scratch
    scratch=$(mktemp -d)
    trap 'rm -rf "$scratch"' RETURN
    cargo build --locked -p bise
    target/debug/bise replay --with configs/runs/replay.toml --out "$scratch/recording"
    cargo build --locked --release -p bise
    target/release/bise replay "$scratch"/recording/* --compare
    if has_v3; then
        v3 cargo build --locked --release -p bise
        "$V3_FOLDER/release/bise" replay "$scratch"/recording/* --compare
    fi
}

bits debug cargo test
bits release cargo test --release
if has_v3; then
    bits "release, $V3" v3 cargo test --release
else
    echo "$V3: untried, this processor has no AVX2 and FMA"
fi
if [ "$(uname -m)" = aarch64 ]; then
    echo "aarch64: the two above"
elif [ ! -d "$(rustc --print target-libdir --target $AARCH64)" ]; then
    echo "aarch64: untried, its standard library is not installed (rustup target add $AARCH64)"
elif ! command -v aarch64-linux-gnu-gcc >/dev/null || ! command -v qemu-aarch64 >/dev/null; then
    echo "aarch64: untried, aarch64-linux-gnu-gcc (links) and qemu-aarch64 (runs) are not both installed" \
        "(Debian: gcc-aarch64-linux-gnu, qemu-user)"
else
    export CARGO_TARGET_AARCH64_UNKNOWN_LINUX_GNU_LINKER=aarch64-linux-gnu-gcc
    export CARGO_TARGET_AARCH64_UNKNOWN_LINUX_GNU_RUNNER="qemu-aarch64 -L /usr/aarch64-linux-gnu"
    bits aarch64 cargo test --target $AARCH64
    printf -- '--- units: aarch64\n'
    cargo test --locked -p units --target $AARCH64
fi
if [ "${1:-}" = whole ]; then
    whole
fi
