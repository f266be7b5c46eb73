#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What a judgement costs in processor time: the demo session, judged ROUNDS times (5), the least of them printed.
# With the program of another build, the two take turns, so that whatever else the machine does meets both alike;
# their times and verdicts are compared.
# Usage: judge_cost.sh PELLETD [OTHER_PELLETD]
set -eu

this=${1:?usage: judge_cost.sh PELLETD [OTHER_PELLETD]}
other=${2:-}
room=$(mktemp -d)
trap 'rm -rf "$room"' EXIT

"$this" demo --seed 7 "$room/bench" >/dev/null

# judge PROGRAM NAME: its verdicts are in NAME.said, a line with its seconds is added to NAME.times
judge() {
    (
        "$1" judge --no-write "$room/bench" >"$room/$2.said" || [ $? -eq 1 ]
        times
    ) | awk -F '[ms ]+' 'NR == 2 { print 60 * $1 + $2 + 60 * $3 + $4 }' >>"$room/$2.times"
}

# tell NAME PROGRAM
tell() {
    sort -n "$room/$1.times" | head -n 1 >"$room/$1.least"
    awk -v program="$2" -v files="$(wc -l <"$room/$1.said")" \
        '{ printf "%.2f s, %.1f ms a spectrum: %s\n", $1, 1000 * $1 / files, program }' "$room/$1.least"
}

round=0
while [ "$round" -lt "${ROUNDS:-5}" ]; do
    judge "$this" this
    [ -z "$other" ] || judge "$other" other
    round=$((round + 1))
done
tell this "$this"
[ -n "$other" ] || exit 0
tell other "$other"
paste "$room/other.least" "$room/this.least" | awk '{ printf "ratio %.2f\n", $1 / $2 }'
diff "$room/other.said" "$room/this.said" && echo "the same verdicts"
