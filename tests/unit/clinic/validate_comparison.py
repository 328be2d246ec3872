# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Comparisons and exports held against their schemas. usage: validate_comparison.py PROGRAM DOCS"""
import json
import os
import subprocess
import sys
import tempfile

try:
    import jsonschema
except ImportError:
    print("skipped: the Python module jsonschema is missing (Debian: python3-jsonschema)")
    sys.exit(77)

from made_exam import exam, phase, report, write

program, docs = os.path.abspath(sys.argv[1]), sys.argv[2]


def schema(name):
    with open(os.path.join(docs, name), encoding="utf-8") as f:
        value = json.load(f)
    jsonschema.Draft202012Validator.check_schema(value)
    return jsonschema.Draft202012Validator(value)


PAIRS = [(exam(report()), exam([report(phases=[phase()]), report(after=5)], date="2026-03-02")),
         (exam(report(phases=[phase()], extra=[{"kind": "S4", "beats_fraction": 0.5}])), exam(report(present=None, bpm=None, grade="unusable"), date="2026-03-02", examiner="A")),
         (exam(report(), name=None), exam(report(side="right", area="tricuspid"), name=None, date=None)),
         (exam(report()), exam(report(rate_hz=8000, phases=[phase(phase="continuous")]), date="2026-03-02", species="foal"))]
comparison, visits = schema("comparison.schema.json"), schema("visits.schema.json")
verdicts = set()
with tempfile.TemporaryDirectory() as folder:
    os.chdir(folder)
    for i, pair in enumerate(PAIRS):
        run = lambda *words: subprocess.run([program, "visits", "--db", f"{i}.db", *words], check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout
        for k, one in enumerate(pair):
            run("add", write(f"{i}-{k}.json", one))
        made = json.loads(run("compare", "GL-0042", "--json", "-"))
        comparison.validate(made)
        verdicts |= {c["verdict"] for c in made["changes"]}
        visits.validate(json.loads(run("export")))
    os.chdir("/")
print("valid; verdicts seen:", ", ".join(sorted(verdicts)))
