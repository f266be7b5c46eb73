#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing from config/packages, on Debian or Ubuntu.
#
#   sh config/setup.sh [KIND...]     KIND: build (the default), test, lint
#
# Looks first and does nothing where all is there. Shows the command before it runs it, as root or through
# sudo; without either it prints the command and exits 3.
set -eu

here=$(cd "$(dirname "$0")" && pwd)
[ $# -gt 0 ] || set -- build

missing=
for kind in "$@"; do
    # shellcheck disable=SC2013 # a package name has no blanks
    for package in $(sed -n "s/^$kind //p" "$here/packages"); do
        state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
        [ "$state" = installed ] || missing="$missing $package"
    done
done
[ -n "$missing" ] || exit 0

if ! command -v apt-get >/dev/null 2>&1; then
    echo "setup: apt-get is not here: install by the system's own means:$missing" >&2
    exit 3
fi
if [ "$(id -u)" = 0 ]; then
    as_root=
elif command -v sudo >/dev/null 2>&1; then
    as_root="sudo "
else
    echo "setup: these packages are missing, and neither root nor sudo is at hand. Have them installed by:" >&2
    echo "apt-get update && apt-get install -y --no-install-recommends$missing" >&2
    exit 3
fi

echo "setup: ${as_root}apt-get update && ${as_root}apt-get install -y --no-install-recommends$missing"
# One script, so that what is shown is what is run; no question may stop an unattended machine.
# shellcheck disable=SC2086 # each package is a word of its own, and no sudo is no word
${as_root}env DEBIAN_FRONTEND=noninteractive sh -c '
    apt-get update -qq && exec apt-get install -y -qq --no-install-recommends "$@" >/dev/null' sh $missing
