#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What `pelletd watch` keeps and does over a long time. It prints figures and decides nothing.
#
#   sh tests/bench/long_run.sh BUILD day [SESSIONS]    an invented session again and again into one folder (24)
#   sh tests/bench/long_run.sh BUILD idle [SECONDS]    nothing happens after the first session (60)
#
# The cache of spectra takes some thirty sessions to fill. A build with -DCMAKE_C_FLAGS=-DCACHE_BYTES=2097152 has it
# full after the second, and shows whether anything else grows.
set -eu

build=$1
what=$2
folder=$(mktemp -d /tmp/pelletd-bench-XXXXXX)
"$build/pelletd" watch "$folder" >"$folder.lines" 2>>"$folder.messages" &
pid=$!
trap 'kill "$pid"; wait "$pid" || true; rm -rf "$folder" "$folder.lines" "$folder.messages"' EXIT

# Until no line has come for five seconds: all is judged.
settle() {
    before=-1
    now=0
    while [ "$before" != "$now" ] || [ "$now" = 0 ]; do
        before=$now
        sleep 5
        now=$(wc -l <"$folder.lines")
    done
}

# What the program holds as its allocator counts it; needs gdb. glibc counts what it keeps for each thread to give out
# again as held, so this creeps up by some KiB while the blocks that were asked for and not freed stay the same.
held() {
    command -v gdb >/dev/null 2>&1 || return 0
    gdb -p "$pid" -batch -ex 'call (void)malloc_stats()' >/dev/null 2>&1
    awk '/^Total/ {total = 1} total && /^in use bytes/ {n = $NF} END {printf ", %d KiB held", n / 1024}' \
        "$folder.messages"
}

figures() {
    memory=$(awk '/^VmRSS/ {print $2}' "/proc/$pid/status")
    peak=$(awk '/^VmHWM/ {print $2}' "/proc/$pid/status")
    descriptors=$(find "/proc/$pid/fd" -mindepth 1 | wc -l)
    threads=$(find "/proc/$pid/task" -mindepth 1 -maxdepth 1 | wc -l)
    echo "$1: $(wc -l <"$folder.lines") judged, $memory KiB now$(held), $peak KiB at most, $descriptors descriptors, $threads threads"
}

wakes() {
    cat /proc/"$pid"/task/*/status | awk '/ctxt_switches/ {n += $2} END {print n}'
}

if [ "$what" = day ]; then
    session=1
    while [ "$session" -le "${3:-24}" ]; do
        "$build/pelletd" demo "$folder" --pace 0 --seed "$session" >/dev/null 2>&1
        settle
        figures "session $session"
        session=$((session + 1))
    done
else
    "$build/pelletd" demo "$folder" --pace 0 >/dev/null 2>&1
    settle
    sleep 10
    figures "idle"
    before=$(wakes)
    ticks=$(awk '{print $14 + $15}' "/proc/$pid/stat")
    sleep "${3:-60}"
    echo "in ${3:-60} s: $(($(wakes) - before)) times on a processor, $(($(awk '{print $14 + $15}' "/proc/$pid/stat") - ticks)) ticks of processor time"
    figures "after"
fi
