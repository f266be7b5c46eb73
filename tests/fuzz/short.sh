#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Run each fuzzer for a short fixed count. Usage: short.sh BUILD_DIR [RUNS]. Exit 77 where clang is missing.
set -eu

tree=$(CDPATH='' cd -- "$(dirname -- "$0")/../.." && pwd)
build=${1:?usage: short.sh BUILD_DIR [RUNS]}
runs=${2:-20000}

if ! command -v clang >/dev/null 2>&1; then
    echo "fuzz: skipped: clang is not installed"
    exit 77
fi

cmake -S "$tree" -B "$build" -G Ninja -DCMAKE_C_COMPILER=clang -DPELLET_FUZZ=ON \
    -DPELLET_SANITIZE=address,undefined >/dev/null
cmake --build "$build" --target fuzz_csv fuzz_jcamp

for reader in csv jcamp; do
    found=$build/found_$reader
    mkdir -p "$found"
    echo "fuzz: $reader, $runs runs"
    "$build/tests/fuzz/fuzz_$reader" -runs="$runs" -seed=1 -max_len=8192 -timeout=20 -verbosity=0 \
        -dict="$tree/tests/fuzz/$reader.dict" -artifact_prefix="$build/" \
        "$found" "$tree/tests/fuzz/corpus/$reader" "$tree/tests/fuzz/regressions/$reader"
done
