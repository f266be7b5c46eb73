#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What a file takes by the number of its points: processor time and memory of `pelletd judge` for a blank and a
# sample. It prints figures and decides nothing. More points than a station allows are refused, which is quick.
#
#   sh tests/bench/points.sh PELLETD [POINTS...]    (3600 15000 50000 100000 900000)
set -eu

pelletd=${1:?usage: points.sh PELLETD [POINTS...]}
shift
[ $# -gt 0 ] || set -- 3600 15000 50000 100000 900000
folder=$(mktemp -d /tmp/pelletd-bench-XXXXXX)
trap 'rm -rf "$folder"' EXIT

# single_beam POINTS SAMPLE: an invented beam with a little noise; SAMPLE 1 has a few bands in it.
single_beam() {
    awk -v n="$1" -v sample="$2" 'BEGIN {
        print "wavenumber,single beam"
        srand(1 + sample)
        m = split("1068 0.8 12 1640 0.4 15 2930 0.5 20 3350 0.6 80 1450 0.3 10 890 0.3 8", band, " ")
        for (i = 0; i < n; i++) {
            v = 350 + 3700 * i / (n - 1)
            y = 1000 * exp(-((v - 1800) / 1100) ^ 2) / (1 + exp(-(v - 395) / 4))
            a = 0
            for (k = 1; sample && k < m; k += 3)
                a += band[k + 1] / (1 + ((v - band[k]) / band[k + 2]) ^ 2)
            printf "%.5f,%.3f\n", v, y * 10 ^ -a + 0.1 * (rand() - 0.5)
        }
    }'
}

for points in "$@"; do
    single_beam "$points" 0 >"$folder/blank.csv"
    single_beam "$points" 1 >"$folder/a_p1.csv"
    printf '%s points: ' "$points"
    (
        "$pelletd" judge --no-write --jobs 1 "$folder" >"$folder.said" || [ $? -eq 1 ]
        times
    ) | awk -F '[ms ]+' 'NR == 2 { printf "%.2f s of processor; ", 60 * $1 + $2 + 60 * $3 + $4 }'
    cut -f 1,2 "$folder.said" | tr '\t\n' ' ;'
    echo
done
rm -f "$folder.said"
