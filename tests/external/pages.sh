#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The record, the bench page and the pictures in a headless browser, and past the checkers of HTML and SVG.
# Usage: pages.sh BUILD_DIR. Says why and leaves out what cannot run; fails where a page is not as it should be.
#
# The browser is the system's; the npm package that drives it is fetched into the build folder and never shipped.
set -eu

tree=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
build=${1:?usage: pages.sh BUILD_DIR}
build=$(CDPATH='' cd -- "$build" && pwd)
work=$build/pages
version=1.65.1
failed=0

left_out() {
    echo "pages: left out: $1"
}

problem() {
    echo "pages: $1"
    failed=1
}

# A session of the demo, judged, with a name among it that tries to be markup.
cmake --build "$build" --target pelletd pages_make >/dev/null
rm -rf "$work/lab" "$work/out"
mkdir -p "$work/lab" "$work/out"
"$build/pelletd" demo "$work/lab" --pace 0 >/dev/null
cp "$work/lab/acid-C_p1.csv" "$work/lab/<img src=x onerror=alert(1)> & \"co\"_p1.csv"
"$build/pelletd" judge "$work/lab" >/dev/null || [ $? -eq 1 ]
for state in open stopped closed; do
    mkdir -p "$work/out/$state"
    "$build/tests/pages_make" "$work/lab" 0 "$work/out/$state" "$state"
done
mkdir -p "$work/out/long"
"$build/tests/pages_make" "$work/lab" 2000 "$work/out/long" closed

if command -v xmllint >/dev/null 2>&1; then
    xmllint --noout "$work"/lab/reports/pictures/*.svg || problem "a picture is not well-formed"
    echo "pages: $(find "$work/lab/reports/pictures" -name '*.svg' | wc -l) pictures are well-formed XML"
else
    left_out "XML of the pictures: xmllint is not installed"
fi

# tidy does not know the attributes of an <svg> within an <svg>; everything else it says counts.
if command -v tidy >/dev/null 2>&1; then
    for page in "$work"/out/*/*.html; do
        if tidy -q -e "$page" 2>&1 | grep -v '<svg> proprietary attribute'; then
            problem "$page is not clean HTML"
        fi
    done
    echo "pages: tidy has read $(find "$work/out" -name '*.html' | wc -l) pages"
else
    left_out "HTML: tidy is not installed"
fi

chromium=$(command -v chromium || command -v chromium-browser || true)
if [ -z "$chromium" ]; then
    left_out "the browser: chromium is not installed"
elif ! command -v node >/dev/null 2>&1 || ! command -v npm >/dev/null 2>&1; then
    left_out "the browser: node or npm is not installed"
else
    if [ ! -d "$work/node_modules/playwright-core" ]; then
        echo '{"private": true}' >"$work/package.json"
        npm install --prefix "$work" --silent --no-audit --no-fund --ignore-scripts --save-exact \
            "playwright-core@$version" >"$work/npm.log" 2>&1 || true
    fi
    if [ ! -d "$work/node_modules/playwright-core" ]; then
        left_out "the browser: npm could not fetch playwright-core"
    else
        NODE_PATH=$work/node_modules node "$tree/pages.js" "$chromium" "$work/out" "$work/lab/reports/pictures" || failed=1
    fi
fi
exit "$failed"
