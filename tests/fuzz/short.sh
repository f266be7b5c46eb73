#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Run each fuzzer for a short fixed count. Usage: short.sh BUILD_DIR [RUNS]. Exit 77 where clang is missing.
set -eu

tree=$(CDPATH='' cd -- "$(dirname -- "$0")/../.." && pwd)
build=${1:?usage: short.sh BUILD_DIR [RUNS]}
runs=${2:-10000}

if ! command -v clang >/dev/null 2>&1; then
    echo "fuzz: skipped: clang is not installed"
    exit 77
fi

cmake -S "$tree" -B "$build" -G Ninja -DCMAKE_C_COMPILER=clang -DPELLET_FUZZ=ON \
    -DPELLET_SANITIZE=address,undefined >/dev/null

for source in "$tree"/tests/fuzz/fuzz_*.c; do
    reader=$(basename "$source" .c)
    reader=${reader#fuzz_}
    cmake --build "$build" --target "fuzz_$reader"
    found=$build/found_$reader
    mkdir -p "$found"
    set -- "$found"
    for folder in "$tree/tests/fuzz/corpus/$reader" "$tree/tests/fuzz/regressions/$reader"; do
        [ ! -d "$folder" ] || set -- "$@" "$folder"
    done
    dictionary=$tree/tests/fuzz/$reader.dict
    [ ! -f "$dictionary" ] || set -- -dict="$dictionary" "$@"
    echo "fuzz: $reader, $runs runs"
    "$build/tests/fuzz/fuzz_$reader" -runs="$runs" -seed=1 -max_len=8192 -timeout=20 -verbosity=0 \
        -artifact_prefix="$build/" "$@"
done
