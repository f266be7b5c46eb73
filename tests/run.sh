#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing, builds, and runs all tests.
#
#   sh tests/run.sh [--long] [--external] [--sanitize] [CTEST-OPTION...]
#
#   --long       the long forms of the bounded tests (minutes to an hour)
#   --external   also the checks that fetch reference libraries from a package registry
#   --sanitize   build with AddressSanitizer and UndefinedBehaviorSanitizer, in a folder of its own
set -eu

top=$(cd "$(dirname "$0")/.." && pwd)
build=$top/build-test
options=
external=no
while [ $# -gt 0 ]; do
    case $1 in
    --long) PELLETD_LONG=1 && export PELLETD_LONG ;;
    --external) external=yes ;;
    --sanitize)
        build=$top/build-sanitize
        options=-DPELLET_SANITIZE=address,undefined
        ;;
    *) break ;;
    esac
    shift
done

sh "$top/config/setup.sh" build test
echo "run: building"
# shellcheck disable=SC2086 # no option is a reason for no word
sh "$top/config/build.sh" "$build" $options
# A test that hangs is stopped by its own limit; sanitizers stop at the first finding.
(cd "$build" && UBSAN_OPTIONS=print_stacktrace=1 ctest --output-on-failure --parallel 2 "$@")

if [ "$external" = yes ]; then
    for script in "$top"/tests/external/*.sh; do
        [ -e "$script" ] || continue
        sh "$script" "$build"
    done
fi
