#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Heart sounds laid on the intervals of a real heart give back its rate, its variability and its early beats.

    real_intervals.py PROGRAM INTERVALS.csv

INTERVALS.csv is tests/reference/intervals_208.csv (a person's heart with early beats, near 103 a minute). Its intervals are
used as they are for a human heart, and stretched to a horse's resting rate. Prints what came back and exits 1 when the rates,
SDNN or RMSSD are off by more than 5 %, a beat is missed or invented, or an early beat is not listed. Standard library only.
"""
import csv
import json
import math
import os
import statistics
import subprocess
import sys
import tempfile

TOLERANCE_S = 0.100
MOST_OFF = 0.05
SURE_RATIO, NEVER_RATIO = 0.83, 0.88  # between them 5 ms decide whether 0.85 is passed: either answer is right
CASES = [("human", 1.0, 280), ("horse", 2.5, 700)]  # species, stretch, seconds


def stretched(path, factor, out):
    with open(path, encoding="utf-8") as f, open(out, "w", encoding="utf-8") as g:
        for line in f:
            first, comma, rest = line.partition(",")
            number = first.replace(".", "", 1).isdigit()
            g.write("%.4f,%s" % (factor * float(first), rest) if number and comma else line)


def rmssd(gaps):
    return math.sqrt(statistics.fmean((b - a) ** 2 for a, b in zip(gaps, gaps[1:])))


def usual(gaps, i):
    start = min(max(i - 4, 0), max(len(gaps) - 9, 0))
    return statistics.median(gaps[start:start + 9])


def check(faults, name, want, got):
    off = math.inf if got is None else abs(got / want - 1)
    print("  %-9s %8.2f for %8.2f%s" % (name, math.nan if got is None else got, want, "" if off <= MOST_OFF else "  <- off"))
    if off > MOST_OFF:
        faults.append(name)


def near(times, t):
    return any(abs(x - t) <= TOLERANCE_S for x in times)


def run(program, path, case, folder):
    species, factor, seconds = case
    base = os.path.join(folder, species)
    stretched(path, factor, base + "-intervals.csv")
    subprocess.run([program, "synth", base + ".wav", "--truth", base + ".csv", "--species", species, "--intervals", base + "-intervals.csv",
                    "--seconds", str(seconds), "--rate-hz", "2000", "--snr-db", "24", "--seed", "208", "--quiet"], check=True)
    done = subprocess.run([program, "report", base + ".wav", "--species", species, "--json", "-", "--quiet"], stdout=subprocess.PIPE, check=True)
    report = json.loads(done.stdout)
    with open(base + ".csv", encoding="utf-8", newline="") as f:
        true = [float(r["time_s"]) for r in csv.DictReader(f) if r["sound"] == "S1"]
    gaps = [b - a for a, b in zip(true, true[1:])]
    got = [b["s1"]["onset_s"] for b in report["beats"] if b["s1"]]
    faults = []
    missed, extra = sum(not near(got, t) for t in true), sum(not near(true, t) for t in got)
    rhythm = report["rhythm"]
    print("%s: %d beats, %d missed, %d invented, pattern %s" % (species, len(true), missed, extra, rhythm["pattern"]))
    if missed or extra:
        faults.append("beats")
    check(faults, "bpm", 60 / statistics.median(gaps), report["rate"]["bpm"])
    check(faults, "mean_bpm", 60 / statistics.fmean(gaps), report["rate"]["mean_bpm"])
    check(faults, "sdnn_ms", 1000 * statistics.stdev(gaps), rhythm["sdnn_ms"])
    check(faults, "rmssd_ms", 1000 * rmssd(gaps), rhythm["rmssd_ms"])
    ratios = [g / usual(gaps, i) for i, g in enumerate(gaps)]
    listed = [e["onset_s"] for e in rhythm["early"]]
    sure = [true[i + 1] for i, x in enumerate(ratios) if x <= SURE_RATIO]
    possible = [true[i + 1] for i, x in enumerate(ratios) if x <= NEVER_RATIO]
    print("  early     %d listed, %d surely early" % (len(listed), len(sure)))
    if not sure or any(not near(listed, t) for t in sure) or any(not near(possible, t) for t in listed):
        faults.append("early beats")
    if rhythm["pattern"] != "early-beats":
        faults.append("pattern")
    return ["%s: %s" % (species, f) for f in faults]


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    faults = []
    with tempfile.TemporaryDirectory(prefix="girthline-real-") as folder:
        for case in CASES:
            faults += run(sys.argv[1], sys.argv[2], case, folder)
    print("; ".join(faults) if faults else "Every figure comes back.")
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
