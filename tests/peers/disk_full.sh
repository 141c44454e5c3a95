#!/usr/bin/env bash
# A real disk that fills up under the demonstration and is freed again. Needs root, for a small tmpfs.
#
#   tests/peers/disk_full.sh [PROGRAM]            default: target/release/bise
#
# Three runs, each on a fresh tmpfs:
#   1. full in the middle, free again: recording resumes, exit status 3, a replay equal to the bit
#   2. full to the end: exit status 3, what is there can be salvaged once there is room, a replay equal to the bit
#   3. never full: exit status 0
set -euo pipefail
program=$(realpath "${1:-target/release/bise}")
[ -x "$program" ] || { echo "FAILED: $program is not there; build it first"; exit 1; }
scratch=$(mktemp -d)
disk=$scratch/disk
mkdir "$disk"
cleanup() {
    umount "$disk" 2> /dev/null || true
    rm -rf "$scratch"
}
trap cleanup EXIT

fail() {
    echo "FAILED: $*"
    tail -n 30 "$scratch/out" "$scratch/err"
    exit 1
}

fresh_disk() {
    umount "$disk" 2> /dev/null || true
    mount -t tmpfs -o size=48m tmpfs "$disk" || { echo "FAILED: cannot mount a tmpfs; this check needs root"; exit 1; }
}

start() { # LENGTH
    "$program" demo --for "$1" --pace fast --metrics 127.0.0.1:0 --out "$disk/recordings" \
        > "$scratch/out" 2> "$scratch/err" &
    demo=$!
    # Until the log has grown: the disk is to fill in the middle.
    for _ in $(seq 1 100); do
        folder=$(echo "$disk"/recordings/*)
        if [ "$(stat -c %s "$folder/log/000001.seg" 2> /dev/null || echo 0)" -gt 1000 ]; then return; fi
        sleep 0.1
    done
    fail "the demonstration did not record"
}

fill() {
    # Again and again, until the program notices at its next write.
    for _ in $(seq 1 100); do
        dd if=/dev/zero of="$disk/filler" bs=64k oflag=append conv=notrunc status=none 2> /dev/null || true
        dd if=/dev/zero of="$disk/filler" bs=1 oflag=append conv=notrunc status=none 2> /dev/null || true
        if grep -q "NOT RECORDED" "$scratch/err"; then return; fi
        sleep 0.1
    done
    fail "the program did not notice that the disk is full"
}

ended() { # STATUS
    local status=0
    wait "$demo" || status=$?
    [ "$status" = "$1" ] || fail "exit status $status, not $1"
}

equal() {
    "$program" replay "$folder" --compare > "$scratch/replay" || fail "replay: $(tail -n 20 "$scratch/replay")"
    grep "recomputed = stored" "$scratch/replay"
    (cd "$folder" && sha256sum --quiet -c digests) || fail "digests"
}

echo "--- full in the middle"
fresh_disk
start 80s
fill
sleep 1
rm "$disk/filler"
ended 3
grep -E "NOT RECORDED|trouble|recorded" "$scratch/out" || fail "no loud text"
grep -q "recording again" "$scratch/err" || fail "recording did not resume"
grep -q "not_recorded" "$folder/manifest.toml" || fail "the manifest does not tell of it"
equal

echo "--- full to the end"
fresh_disk
start 60s
fill
ended 3
grep -q "NOT RECORDED" "$scratch/out" || fail "no loud text"
grep "not finished" "$scratch/out" || echo "finished in the room that its own unfinished tables had taken"
rm "$disk/filler"
if grep -q "not finished" "$scratch/out"; then
    # 3: entries are missing, which it says.
    "$program" salvage "$folder" || [ $? = 3 ] || fail "salvage"
fi
equal

echo "--- never full"
fresh_disk
start 20s
ended 0
equal
echo "passed"
