#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds pelletd into a folder:  sh config/build.sh [FOLDER] [CMAKE-OPTION...]      (FOLDER: build)
set -eu

top=$(cd "$(dirname "$0")/.." && pwd)
folder=${1:-$top/build}
[ $# -eq 0 ] || shift
jobs=$(nproc 2>/dev/null || echo 2)

cmake -S "$top" -B "$folder" "$@" >/dev/null
cmake --build "$folder" --parallel "$jobs" >"$folder/build.log" 2>&1 || {
    tail -n 40 "$folder/build.log" >&2
    echo "build: failed; the whole log is $folder/build.log" >&2
    exit 1
}
