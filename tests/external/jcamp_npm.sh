#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# JCAMP-DX exchanged with an independent reader and writer from npm, both ways, on random spectra.
# Usage: jcamp_npm.sh BUILD_DIR [COUNT]. Says why and exits 0 where it cannot run.
#
# The versions are fixed for their licence (MIT): newer ones of the reader forbid commercial use. They are
# fetched into the build folder and never shipped.
set -eu

tree=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
build=${1:?usage: jcamp_npm.sh BUILD_DIR [COUNT]}
count=${2:-40}
build=$(CDPATH='' cd -- "$build" && pwd)
work=$build/jcamp_npm

skip() {
    echo "jcamp_npm: skipped: $1"
    exit 0
}

command -v node >/dev/null 2>&1 || skip "node is not installed"
command -v npm >/dev/null 2>&1 || skip "npm is not installed"
cmake --build "$build" --target jcamp_exchange >/dev/null

mkdir -p "$work/files"
if [ ! -d "$work/node_modules/jcampconverter" ] || [ ! -d "$work/node_modules/convert-to-jcamp" ]; then
    echo '{"private": true}' >"$work/package.json"
    npm install --prefix "$work" --silent --no-audit --no-fund --ignore-scripts --save-exact \
        jcampconverter@10.0.2 convert-to-jcamp@6.0.0 >"$work/npm.log" 2>&1 || skip "npm could not fetch the packages"
fi

"$build/tests/jcamp_exchange" write "$work/files" "$count"
NODE_PATH=$work/node_modules node "$tree/jcamp_npm.js" "$work/files" "$build/tests/jcamp_exchange" "$count"
