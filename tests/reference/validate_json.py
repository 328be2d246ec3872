#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Hold JSON reports against docs/report.schema.json, and each null against its reason.

usage: validate_json.py SCHEMA REPORT.json...     (- is standard input)
Ends 77 (skipped) with a word where the jsonschema module is missing.
"""
import json
import sys

try:
    import jsonschema
except ImportError:
    print("skipped: the Python module jsonschema is missing (Debian: python3-jsonschema)")
    sys.exit(77)


def refuse(text):
    raise ValueError(text + " is not JSON")


def no_duplicates(pairs):
    keys = [k for k, _ in pairs]
    if len(keys) != len(set(keys)):
        raise ValueError("a key stands twice: " + ", ".join(sorted({k for k in keys if keys.count(k) > 1})))
    return dict(pairs)


def nulls(value, pointer=""):
    if value is None:
        yield pointer
    elif isinstance(value, dict):
        for k, v in value.items():
            yield from nulls(v, pointer + "/" + k.replace("~", "~0").replace("/", "~1"))
    elif isinstance(value, list):
        for i, v in enumerate(value):
            yield from nulls(v, f"{pointer}/{i}")


def reached(report, pointer):
    for part in pointer.split("/")[1:]:
        report = report[int(part)] if isinstance(report, list) else report[part.replace("~1", "/").replace("~0", "~")]
    return report


def faults(document, validator):
    for e in sorted(validator.iter_errors(document), key=str)[:20]:
        best = jsonschema.exceptions.best_match([e])
        yield "/" + "/".join(map(str, best.absolute_path)) + ": " + best.message[:300]
    for report in document.get("reports", [document]):
        reasons = report["undetermined"]
        for pointer in nulls(report):
            if not reasons.get(pointer):
                yield pointer + ": null without a reason"
        for pointer in reasons:
            try:
                value = reached(report, pointer)
            except (KeyError, IndexError, ValueError):
                yield pointer + ": a reason for something that is not there"
                continue
            if value is not None and value != "undetermined" and not isinstance(value, (list, dict)):
                yield pointer + ": a reason for something that is determined"
        for finding in report["findings"]:
            for pointer in finding["evidence_keys"]:
                try:
                    reached(report, pointer)
                except (KeyError, IndexError, ValueError):
                    yield pointer + ": evidence that is not there"


def main(schema_path, *paths):
    with open(schema_path, encoding="utf-8") as f:
        schema = json.load(f)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    bad = 0
    for path in paths:
        data = sys.stdin.buffer.read() if path == "-" else open(path, "rb").read()
        found = [] if data.endswith(b"\n") else ["the last line has no end"]
        found += list(faults(json.loads(data.decode("utf-8"), parse_constant=refuse, object_pairs_hook=no_duplicates), validator))
        for fault in found:
            print(f"{path}: {fault}")
        bad += bool(found)
    print(f"{len(paths) - bad} of {len(paths)} reports hold")
    return bool(bad)


if __name__ == "__main__":
    if len(sys.argv) < 3:
        sys.exit(__doc__)
    sys.exit(main(*sys.argv[1:]))
