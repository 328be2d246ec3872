#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Hold every sample's report against docs/report.schema.json and against what the sample was made with.

usage: reports.py PROGRAM SAMPLES VALIDATOR SCHEMA
The truth of a sample is its NAME.truth.csv: the rate by its first sounds within 1 a minute or 2 %, and nine in ten of
the first and second sounds within 100 ms. The noisy sample has to be called unusable.
"""
import csv
import json
import os
import statistics
import subprocess
import sys

program, samples, validator, schema = sys.argv[1:5]
faults = []
reports = []


def fault(name, text):
    faults.append(f"{name}: {text}")


def hold(name, species):
    path = os.path.join(samples, name)
    done = subprocess.run([program, "report", path, "--species", species, "--json", "-"], capture_output=True, text=True)
    noisy = "noisy" in name
    if done.returncode != (1 if noisy else 0):
        return fault(name, f"exit {done.returncode}: {done.stderr.strip()}")
    reports.append(done.stdout)
    report = json.loads(done.stdout)
    if noisy:
        if report["quality"]["grade"] != "unusable" or report["rate"]["bpm"] is not None:
            fault(name, "a recording too noisy to read was read")
        return None
    with open(path[:-4] + ".truth.csv", encoding="utf-8") as f:
        truth = list(csv.DictReader(f))
    for sound in ("S1", "S2"):
        found = [b[sound.lower()]["onset_s"] for b in report["beats"] if b[sound.lower()]]
        wanted = [float(t["time_s"]) for t in truth if t["sound"] == sound]
        hit = sum(any(abs(w - x) <= 0.1 for x in found) for w in wanted)
        if hit < 0.9 * len(wanted) or len(found) > 1.1 * len(wanted):
            fault(name, f"{hit} of {len(wanted)} {sound} found, {len(found)} claimed")
    first = [float(t["time_s"]) for t in truth if t["sound"] == "S1"]
    bpm = 60 / statistics.median(b - a for a, b in zip(first, first[1:]))
    if abs(report["rate"]["bpm"] - bpm) > max(1, 0.02 * bpm):
        fault(name, f"rate {report['rate']['bpm']} instead of {bpm:.2f}")


with open(os.path.join(samples, "recordings.csv"), encoding="utf-8") as f:
    for row in csv.DictReader(f):
        hold(row["file"], row["species"])
for text in reports:
    checked = subprocess.run([sys.executable, validator, schema, "-"], input=text, capture_output=True, text=True)
    if checked.returncode == 77:
        print(checked.stdout.strip())
        break
    if checked.returncode:
        fault(json.loads(text)["recording"]["file"], checked.stdout.strip() + checked.stderr.strip())
print("\n".join(faults) if faults else f"{len(reports)} samples hold")
sys.exit(1 if faults else 0)
