#!/usr/bin/env bash
# Runs what needs a kernel with CAN, in a virtual machine (run-in-can-vm.sh).
#
#   tests/can-vm/run.sh                        the tests of the CAN source
#   tests/can-vm/run.sh test NAME...           only tests whose names contain one of these
#   tests/can-vm/run.sh program FILE [ARG...]  any program, for example the built one:
#       tests/can-vm/run.sh program target/release/bise demo --can vcan0
#
# CAN_VM_OPTIONS holds more options of run-in-can-vm.sh, for example '-l console.log -s out'.
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# shellcheck disable=SC2206 # several words are meant
options=(-v -k ${CAN_VM_OPTIONS:-})
what=${1:-test}
[[ $# == 0 ]] || shift

case $what in
    test)
        "$here/run-in-can-vm.sh" -v --prepare
        cd "$here/../.."
        # The variable holds for every test binary of the call, hence exactly one is named.
        CARGO_TARGET_X86_64_UNKNOWN_LINUX_GNU_RUNNER="$here/run-in-can-vm.sh -t 600 ${options[*]} --" \
            cargo test -p source-can --features can-vm --test can_vm -- --nocapture --test-threads=1 "$@"
        ;;
    program)
        exec "$here/run-in-can-vm.sh" -t 600 "${options[@]}" -- "$@"
        ;;
    *)
        sed -n '2,/^set/{/^#/s/^# \{0,1\}//p}' "${BASH_SOURCE[0]}" >&2
        exit 2
        ;;
esac
