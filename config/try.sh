#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The main job on an invented session: installs what is missing, builds, starts `pelletd watch` on an empty
# folder, plays the session into it as a spectrometer would, and prints a line for each verdict as it comes.
#
#   sh config/try.sh [FOLDER]        FOLDER must be new or empty; a new one under /tmp otherwise
set -eu

top=$(cd "$(dirname "$0")/.." && pwd)
sh "$top/config/setup.sh" build
echo "try: building"
sh "$top/config/build.sh" "$top/build" -DBUILD_TESTING=OFF
pelletd=$top/build/pelletd

if [ $# -gt 0 ]; then
    bench=$1
    mkdir -p "$bench"
    [ -z "$(ls -A "$bench")" ] || { echo "try: $bench is not empty" >&2; exit 2; }
else
    bench=$(mktemp -d "${TMPDIR:-/tmp}/pelletd-bench-XXXXXX")
fi
log=$bench.log

"$pelletd" watch "$bench" 2>"$log" &
watch=$!
# Whatever happens, the service that we started does not outlive this script.
trap 'kill "$watch" 2>/dev/null || true' EXIT INT TERM

echo "try: an invented session comes into $bench"
echo
"$pelletd" demo "$bench" --pace "${PELLETD_TRY_PACE:-1}" >"$bench.demo"

# Every spectrum has its verdict soon after; the demo's last file is waited for, not a number of seconds.
tries=0
while :; do
    spectra=$(find "$bench" -maxdepth 1 -name '*.csv' | wc -l)
    verdicts=$(find "$bench" -maxdepth 1 -name '*.verdict.yaml' | wc -l)
    [ "$verdicts" -ge "$spectra" ] && break
    tries=$((tries + 1))
    [ "$tries" -le 300 ] || { echo "try: verdicts are missing; see $log" >&2; exit 1; }
    sleep 0.1
done
sleep 1
kill -TERM "$watch"
wait "$watch" || true
trap - EXIT INT TERM

echo
echo "What was put in (invented):"
cat "$bench.demo"
echo
echo "$spectra spectra, $verdicts verdicts. They lie in $bench"
echo "  a verdict beside each spectrum:  $bench/*.verdict.yaml"
[ ! -d "$bench/reports" ] || echo "  the record and what is derived:  $bench/reports"
echo "  messages of the service:         $log"
