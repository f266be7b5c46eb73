#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Reading speed of a million-point CSV file, beside libcsv with strtod alone and numpy.loadtxt.
# Usage: read_speed.sh BUILD_DIR [POINTS]
set -eu

build=${1:?usage: read_speed.sh BUILD_DIR [POINTS]}
points=${2:-1000000}
file=$build/read_speed.csv

cmake --build "$build" --target read_speed >/dev/null
"$build/tests/read_speed" make "$file" "$points"
"$build/tests/read_speed" run "$file" >"$build/read_speed.txt"
cat "$build/read_speed.txt"
ours=$(awk '/^our reader/ {print $3}' "$build/read_speed.txt")
# The distribution's Python may stand beside another one that lacks the package.
python=
for candidate in python3 /usr/bin/python3; do
    if "$candidate" -c 'import numpy' 2>/dev/null; then
        python=$candidate
        break
    fi
done
if [ -n "$python" ]; then
    "$python" - "$file" "$ours" <<'PYTHON'
import os, sys, time
import numpy
path = sys.argv[1]
best = float("inf")
for _ in range(3):
    begin = time.process_time()
    numpy.loadtxt(path, delimiter=",")
    best = min(best, time.process_time() - begin)
print(f"numpy.loadtxt {numpy.__version__:<5} {best:.3f} s  {os.path.getsize(path) / 1e6 / best:6.1f} MB/s   "
      f"ours is {best / float(sys.argv[2]):.2f} times as fast")
PYTHON
else
    echo "numpy.loadtxt: skipped: python3-numpy is not installed"
fi
rm -f "$file" "$build/read_speed.txt"
