# SPDX-License-Identifier: GPL-3.0-or-later
"""Reads everything that pelletd wrote into a folder of hostile names, with the parsers that users have.

python3 outputs.py FOLDER MESSAGES JSON-LINES       prints what is wrong, a line each; exits 1 if anything is
"""
import base64
import csv
import html.parser
import json
import os
import sys
import xml.etree.ElementTree

import yaml

wrong = []
seen = {"yaml": 0, "json": 0, "html": 0, "svg": 0, "csv": 0, "text": 0}


def expect(good, where, what):
    if not good:
        wrong.append(f"{where!r}: {what}")


def true_name(verdict):
    return base64.b64decode(verdict["file_raw"]) if verdict.get("file_raw") else verdict["file"].encode()


class Page(html.parser.HTMLParser):
    """What a name could have smuggled in: elements, handlers, addresses elsewhere."""

    def __init__(self, where):
        super().__init__(convert_charrefs=True)
        self.where = where

    def handle_starttag(self, tag, attributes):
        expect(tag not in ("img", "iframe", "object", "embed", "base", "lot"), self.where, f"an element {tag}")
        for name, value in attributes:
            expect(not name.startswith("on"), self.where, f"a handler {name}")
            if name in ("href", "src", "xlink:href", "action"):
                expect(value.startswith(("./", "../", "#", "data:image/")), self.where, f"an address {value}")


def check_verdict(folder, path, text):
    verdict = yaml.safe_load(text)
    expect(os.path.isfile(os.path.join(folder, true_name(verdict))), path, "names no file")
    seen["yaml"] += 1


def check_file(folder, path):
    with open(path, "rb") as file:
        content = file.read()
    if path.endswith(b".verdict.yaml"):
        check_verdict(folder, path, content)
    elif path.endswith(b".svg"):
        xml.etree.ElementTree.fromstring(content)
        seen["svg"] += 1
    elif path.endswith(b".html"):
        expect(b"default-src 'none'" in content, path, "no content security policy")
        Page(path).feed(content.decode())
        seen["html"] += 1
    elif path.endswith(b".csv"):
        for row in csv.reader(content.decode().splitlines(keepends=True), strict=True):
            for cell in row:
                formula = cell[:1] in ("=", "+", "@") or (cell[:1] == "-" and not cell[1:2].isdigit())
                expect(not formula, path, f"a formula {cell!r}")
        seen["csv"] += 1


def check_lines(path, as_json):
    with open(path, "rb") as file:
        for line in file.read().decode().splitlines():
            expect(all(c.isprintable() or c == "\t" for c in line), path, f"a control character in {line!r}")
            if as_json:
                true_name(json.loads(line))
            seen["json" if as_json else "text"] += 1


def main():
    folder = os.fsencode(sys.argv[1])
    for name in os.listdir(folder):
        path = os.path.join(folder, name)
        if name.endswith(b".verdict.yaml") and os.path.isfile(path) and not os.path.islink(path):
            check_file(folder, path)
    for parent, _, names in os.walk(os.path.join(folder, b"reports")):
        for name in names:
            check_file(folder, os.path.join(parent, name))
    check_lines(sys.argv[2], False)
    check_lines(sys.argv[3], True)
    print(", ".join(f"{count} {kind}" for kind, count in seen.items()))
    for kind, count in seen.items():
        expect(count > 0, kind, "none was seen")
    print("\n".join(wrong))
    return 1 if wrong else 0


sys.exit(main())
