#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing, builds, and runs all tests, and each fuzzer for a short fixed count where clang is there.
#
#   sh tests/run.sh [--long] [--external] [--sanitize | --thread | --valgrind] [CTEST-OPTION...]
#
#   --long       the long forms of the bounded tests (minutes to an hour)
#   --external   also the checks that fetch reference libraries from a package registry
#   --sanitize   build with AddressSanitizer and UndefinedBehaviorSanitizer, in a folder of its own
#   --thread     build with ThreadSanitizer, in a folder of its own; the daemon's tests where nothing else is said,
#                because only the daemon has threads
#   --valgrind   run under Valgrind's memcheck, children too, in a folder of its own; the rooms core, rules and daemon
#                where nothing else is said (an hour or two)
set -eu

top=$(cd "$(dirname "$0")/.." && pwd)
build=$top/build-test
options=
rooms=
external=no
while [ $# -gt 0 ]; do
    case $1 in
    --long) PELLETD_LONG=1 && export PELLETD_LONG ;;
    --external) external=yes ;;
    --sanitize)
        build=$top/build-sanitize
        options=-DPELLET_SANITIZE=address,undefined
        ;;
    --thread)
        build=$top/build-thread
        options="-DPELLET_SANITIZE=thread -DPELLET_TEST_TIMEOUT=1500"
        PELLETD_TEST_PATIENCE=10 && export PELLETD_TEST_PATIENCE
        # What it says of the programs would go with the folder of the test; some run as another user.
        rm -rf "$build/threads" && mkdir -p "$build/threads" && chmod 1777 "$build/threads"
        TSAN_OPTIONS="log_path=$build/threads/report" && export TSAN_OPTIONS
        rooms='^daemon/'
        ;;
    --valgrind)
        build=$top/build-valgrind
        # Definite losses are findings; what is still held when a child of a test leaves by _exit() is not.
        # Messages go to files: the programs' own are looked at by the tests.
        # Some tests run the service as another user, who writes there too.
        rm -rf "$build/valgrind" && mkdir -p "$build/valgrind" && chmod 1777 "$build/valgrind"
        valgrind="valgrind;--quiet;--vgdb=no;--log-file=$build/valgrind/%q{PELLETD_TEST_AS}%p;--error-exitcode=99;--trace-children=yes;--trace-children-skip=*/rm,*/sh,*/promtool,*/ring,*/smb*"
        valgrind="$valgrind;--leak-check=full;--errors-for-leak-kinds=definite"
        options="-DPELLET_TEST_PREFIX=$valgrind -DPELLET_TEST_TIMEOUT=3000"
        PELLETD_TEST_PATIENCE=20 && export PELLETD_TEST_PATIENCE
        PELLETD_TEST_AS='' && export PELLETD_TEST_AS
        rooms='^(core|rules|daemon)/'
        sh "$top/config/setup.sh" memory
        ;;
    *) break ;;
    esac
    shift
done

sh "$top/config/setup.sh" build test
echo "run: building"
# shellcheck disable=SC2086 # no option is a reason for no word
sh "$top/config/build.sh" "$build" $options
whole=no
[ $# -gt 0 ] || [ "$build" != "$top/build-test" ] || whole=yes
[ $# -gt 0 ] || [ -z "$rooms" ] || set -- -R "$rooms"
# A test that hangs is stopped by its own limit; sanitizers stop at the first finding.
result=0
(cd "$build" && UBSAN_OPTIONS=print_stacktrace=1 ctest --output-on-failure --parallel 2 "$@") || result=$?
[ ! -d "$build/valgrind" ] || grep -h '^==' "$build"/valgrind/* || echo "run: valgrind has nothing to say"
for report in "$build"/threads/report*; do
    [ ! -e "$report" ] || cat "$report"
done
[ "$result" -eq 0 ] || exit "$result"

if [ "$whole" = yes ]; then
    sh "$top/tests/fuzz/short.sh" "$top/build-fuzz" || [ $? -eq 77 ] # 77: skipped, which it has said
fi

if [ "$external" = yes ]; then
    for script in "$top"/tests/external/*.sh; do
        [ -e "$script" ] || continue
        sh "$script" "$build"
    done
fi
