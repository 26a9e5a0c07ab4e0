#!/usr/bin/env python3
"""Reads the tables that the page saves with other people's programs: Python's csv and json, and frictionless,
the general-purpose reader of Table Schema.

    cargo test --test tables
    pip install frictionless
    python3 tests/reference/read_tidy.py [FOLDER]

FOLDER: where the test wrote them, target/tmp/tidy if not said.

Noted with frictionless 5.21.0 and Python 3.11 on the invented squad: all 17 CSV files and 6 JSON files valid, and 3591
numbers equal in CSV with points, CSV with commas and JSON.
"""
import csv
import json
import math
import os
import sys
from pathlib import Path

from frictionless import Resource, system

TABLES = ["standing", "change", "repeatability", "sides", "history", "curves"]
# Curves need the force itself: they are of the athlete on show alone.
NOT_OF_THE_SQUAD = ["curves"]


def cells(path, delimiter):
    with open(path, encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file, delimiter=delimiter, strict=True))


def number(text, mark):
    return None if text == "" else float(text.replace(mark, "."))


def alike(a, b):
    return a == b or (a is not None and b is not None and math.isclose(a, b, rel_tol=1e-15))


def main():
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "target/tmp/tidy").resolve()
    os.chdir(folder)
    checked = 0
    for table in TABLES:
        # frictionless: every cell fits the type its column's description states, under the described dialect.
        squad = [] if table in NOT_OF_THE_SQUAD else [f"squad-{table}-plain"]
        for name in [f"{table}-plain", f"{table}-comma", *squad]:
            report = Resource.from_descriptor(json.loads(Path(f"{name}.resource.json").read_text("utf-8"))).validate()
            assert report.valid, (name, report.flatten(["rowNumber", "fieldName", "type", "note"])[:5])
            print(f"{name}.csv: frictionless finds {report.tasks[0].stats['rows']} valid rows")
        with system.use_context(trusted=True):
            inline = json.loads(Path(f"{table}.json").read_text("utf-8"))
            report = Resource.from_descriptor(inline).validate()
        assert report.valid, (table, report.flatten(["rowNumber", "fieldName", "type", "note"])[:5])
        # csv and json: the three forms of one table hold the same numbers, and no text begins a formula.
        fields = inline["schema"]["fields"]
        plain, comma = cells(f"{table}-plain.csv", ","), cells(f"{table}-comma.csv", ";")
        names = [field["name"] for field in fields]
        assert plain[0] == comma[0] == inline["data"][0] == names
        assert len(plain) == len(comma) == len(inline["data"])
        for a, b, c in zip(plain[1:], comma[1:], inline["data"][1:]):
            assert len(a) == len(b) == len(c) == len(names)
            for field, x, y, z in zip(fields, a, b, c):
                if field["type"] in ("number", "integer"):
                    assert alike(number(x, "."), z) and alike(number(y, ","), z), (field["name"], x, y, z)
                    checked += 1
                else:
                    assert not x.startswith(("=", "+", "-", "@", "\t")) and x == y, x
    print(f"csv and json: {checked} numbers equal in all three forms")


if __name__ == "__main__":
    main()
