#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Measure the analysis on simulated recordings whose truth is known.

    accuracy.py PROGRAM [--count N] [--seed N] [--folder FOLDER] [--floor-f1 X] [--most-gross X] [--verbose]

Makes a set with make_set.py beside this file, reads each recording with `PROGRAM report --json -`, and prints how often
each answer is right. Exits 1 when the S1 and S2 F1 over all recordings is under --floor-f1, when more than --most-gross of
the rates are grossly wrong, or when a recording cannot be analysed. The same arguments print the same numbers. Standard
library only.

A sound is right within 100 ms of a true one of its name, one to one, outside the spoilt stretches; a rate within 2 % or
1 a minute of the true median or mean, grossly wrong when more than 25 % from both; a murmur's phase, timing and shape
(the first phase told) are shares of the murmurs found.
"""
import argparse
import csv
import json
import math
import os
import statistics
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

TOLERANCE_S = 0.100
BESIDE_SPOILT_S = 0.25  # sounds this near a spoilt stretch count neither way
HIDING = ("handling", "dropout")  # what the simulator calls a spoilt stretch
PROCESSES = 2
TIERS = ("clean", "field", "hard", "all")


def read_truth(base):
    with open(base + ".truth.json", encoding="utf-8") as f:
        truth = json.load(f)
    with open(base + ".truth.csv", encoding="utf-8", newline="") as f:
        rows = list(csv.DictReader(f))
    truth["S1"] = [float(r["time_s"]) for r in rows if r["sound"] == "S1"]
    truth["S2"] = [float(r["time_s"]) for r in rows if r["sound"] == "S2"]
    return truth


def read_report(program, base, species):
    done = subprocess.run([program, "report", base + ".wav", "--species", species, "--json", "-", "--quiet"],
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    if done.returncode not in (0, 1):
        print("%s: exit %d: %s" % (base, done.returncode, done.stderr.decode(errors="replace")), file=sys.stderr)
        return None
    return json.loads(done.stdout)


def pairs(want, got, tolerance_s):
    """One-to-one pairs of two sorted lists, earliest first: list of (wanted, found)."""
    out, i, k = [], 0, 0
    while i < len(want) and k < len(got):
        if abs(got[k] - want[i]) <= tolerance_s:
            out.append((want[i], got[k]))
            i, k = i + 1, k + 1
        elif got[k] < want[i]:
            k += 1
        else:
            i += 1
    return out


def outside(times, spans):
    return [t for t in times if not any(a - BESIDE_SPOILT_S <= t <= b + BESIDE_SPOILT_S for a, b in spans)]


def near(times, t):
    return any(abs(x - t) <= TOLERANCE_S for x in times)


def onsets(report, name):
    return sorted(b[name]["onset_s"] for b in report["beats"] if b[name])


def length_of(spans):
    """Length of the union of spans."""
    total, reached = 0.0, -math.inf
    for a, b in sorted(spans):
        total += max(0.0, b - max(a, reached))
        reached = max(reached, b)
    return total


def both(first, second):
    return [(max(a, c), min(b, d)) for a, b in first for c, d in second if min(b, d) > max(a, c)]


class Tally:
    """What is counted over the recordings of one tier."""

    def __init__(self):
        self.n = self.failed = 0
        self.hit = self.extra = self.missed = 0
        self.rate = dict.fromkeys(("right", "gross", "none"), 0)
        self.rhythm = 0
        self.murmur = dict.fromkeys(("tp", "fn", "fp", "tn", "undetermined", "phase", "timing", "shape"), 0)
        self.grades = dict.fromkeys(("good", "fair", "poor", "unusable"), 0)
        self.errors_s = {"S1": [], "S2": []}
        self.confidence = []       # (said, right)
        self.name_confidence = []  # (said, right)
        self.spoilt_s = dict.fromkeys(("true", "covered", "rest", "false"), 0.0)
        self.snr_errors_db = []
        self.snr_none = 0
        self.hum = dict.fromkeys(("right", "missed", "false", "quiet"), 0)

    def add(self, truth, report):
        self.n += 1
        if report is None:
            self.failed += 1
            return
        self.grades[report["quality"]["grade"]] += 1
        self.rhythm += report["rhythm"]["pattern"] == truth["rhythm"]
        self.add_sounds(truth, report)
        self.add_beats(truth, report)
        self.add_rate(truth, report["rate"]["bpm"])
        self.add_murmur(truth["murmur"], report["murmur"])
        self.add_quality(truth, report["quality"])

    def add_sounds(self, truth, report):
        for name in ("S1", "S2"):
            want = outside(truth[name], truth["bad_spans"])
            got = outside(onsets(report, name.lower()), truth["bad_spans"])
            found = pairs(want, got, TOLERANCE_S)
            self.hit += len(found)
            self.extra += len(got) - len(found)
            self.missed += len(want) - len(found)
            self.errors_s[name] += [g - w for w, g in found]

    def add_beats(self, truth, report):
        sounds = truth["S1"] + truth["S2"]
        for beat in report["beats"]:
            name = "S1" if beat["s1"] else "S2"
            at = beat[name.lower()]["onset_s"]
            if not outside([at], truth["bad_spans"]):
                continue
            self.confidence.append((beat["confidence"], near(truth[name], at)))
            if near(sounds, at):
                self.name_confidence.append((beat["name_confidence"], near(truth[name], at)))

    def add_rate(self, truth, bpm):
        if bpm is None:
            self.rate["none"] += 1
            return
        true = [x for x in (truth["median_bpm"], truth["mean_bpm"]) if x]
        self.rate["right"] += any(abs(bpm - x) <= max(1, 0.02 * x) for x in true)
        self.rate["gross"] += all(abs(bpm - x) > 0.25 * x for x in true)

    def add_murmur(self, true, told):
        m = self.murmur
        m["undetermined"] += told["present"] is None
        if not true:  # "not determined" is neither a find nor a clearance: it counts as wrong either way
            m["tn" if told["present"] is False else "fp"] += 1
            return
        m["tp" if told["present"] else "fn"] += 1
        if told["present"] and told["phases"] and told["phases"][0]["phase"] == true["phase"]:
            m["phase"] += 1
            m["timing"] += told["phases"][0]["timing"] == true["timing"]
            m["shape"] += told["phases"][0]["shape"] == true["shape"]

    def add_quality(self, truth, quality):
        marked = [(p["start_s"], p["end_s"]) for p in quality["problems"] if p["kind"] in HIDING]
        true = [tuple(s) for s in truth["bad_spans"]]
        covered = length_of(both(marked, true))
        self.spoilt_s["true"] += length_of(true)
        self.spoilt_s["covered"] += covered
        self.spoilt_s["rest"] += truth["duration_s"] - length_of(true)
        self.spoilt_s["false"] += length_of(marked) - covered
        if quality["heart_to_noise_db"] is None:
            self.snr_none += 1
        else:
            self.snr_errors_db.append(quality["heart_to_noise_db"] - truth["snr_db"])
        hum_hz, true_hz = quality["hum_hz"] or 0, truth.get("hum_hz")
        if true_hz:
            self.hum["right" if abs(hum_hz - true_hz) < 1 else "missed"] += 1
        else:
            self.hum["false" if hum_hz else "quiet"] += 1

    def f1(self):
        return share(2 * self.hit, 2 * self.hit + self.extra + self.missed)


def share(part, whole):
    return part / whole if whole else math.nan


def told(x, digits=3):
    return "-" if math.isnan(x) else "%.*f" % (digits, x)


def middle(x):
    """Median and robust spread (1.4826 times the median distance from it), as text in two columns."""
    if not x:
        return ["-", "-"]
    mid = statistics.median(x)
    return ["%+.1f" % mid, "%.1f" % (1.4826 * statistics.median(abs(v - mid) for v in x))]


def table(title, head, rows):
    print("\n" + title)
    wide = [max(len(str(row[i])) for row in [head] + rows) for i in range(len(head))]
    for row in [head] + rows:
        print("  " + "  ".join(str(v).ljust(w) if i == 0 else str(v).rjust(w) for i, (v, w) in enumerate(zip(row, wide))).rstrip())


def sounds_row(tier, t):
    m = t.murmur
    return [tier, t.n, t.failed, told(t.f1()), told(share(t.rate["right"], t.n)), t.rate["gross"], t.rate["none"], told(share(t.rhythm, t.n)),
            told(share(m["tp"], m["tp"] + m["fn"])), told(share(m["tn"], m["tn"] + m["fp"])), told(share(m["phase"], m["tp"])),
            told(share(m["timing"], m["tp"])), told(share(m["shape"], m["tp"])), m["undetermined"]]


def quality_row(tier, t):
    s = t.spoilt_s
    return [tier] + list(t.grades.values()) + [told(share(s["covered"], s["true"])), told(share(s["false"], s["rest"]))] \
        + middle(t.snr_errors_db) + [t.snr_none] + list(t.hum.values())


def onset_row(tier, t):
    row = [tier]
    for name in ("S1", "S2"):
        errors_ms = [1000 * e for e in t.errors_s[name]]
        row += [len(errors_ms)] + middle(errors_ms)
        row.append(told(share(sum(abs(e) <= 20 for e in errors_ms), len(errors_ms))))
    return row


def calibration(said):
    rows = []
    for k in range(10):
        inside = [(p, right) for p, right in said if k / 10 <= p < (k + 1) / 10 or (k == 9 and p >= 1)]
        if inside:
            rows.append(["%.1f-%.1f" % (k / 10, (k + 1) / 10), len(inside), told(statistics.fmean(p for p, _ in inside)),
                         told(statistics.fmean(float(right) for _, right in inside))])
    return rows


def show(tallies):
    table("Sounds, rate, rhythm and murmur (shares; gross, none and not determined are counts)",
          ["tier", "n", "failed", "F1", "rate", "gross", "none", "rhythm", "sens", "spec", "phase", "timing", "shape", "murmur undet."],
          [sounds_row(k, t) for k, t in tallies.items()])
    table("Quality (grades; share of spoilt time covered, of other time marked; heart over noise against truth, dB; hum)",
          ["tier", "good", "fair", "poor", "unusable", "covered", "false", "dB error", "spread", "none", "hum right", "missed", "false", "rightly none"],
          [quality_row(k, t) for k, t in tallies.items()])
    table("Onsets against truth, ms (median, robust spread, share within 20 ms)",
          ["tier", "S1", "bias", "spread", "<=20", "S2", "bias", "spread", "<=20"], [onset_row(k, t) for k, t in tallies.items()])
    head = ["said", "beats", "mean", "right"]
    table("Confidence against how often the beat is right", head, calibration(tallies["all"].confidence))
    table("Name confidence against how often the names are right", head, calibration(tallies["all"].name_confidence))


def note(base, truth, report):
    """One line on a recording that was not read well."""
    one = Tally()
    one.add(truth, report)
    if report and (one.f1() < 0.9 or one.rate["gross"] or one.rate["none"]):
        print("%s: %s, F1 %s, rate %s for %.1f, grade %s, names %.2f; %s" % (
            os.path.basename(base), truth["tier"], told(one.f1()), report["rate"]["bpm"], truth["median_bpm"] or math.nan,
            report["quality"]["grade"], max((b["name_confidence"] for b in report["beats"]), default=0), " ".join(truth["arguments"])))


def measure(a, folder):
    make = [sys.executable, os.path.join(os.path.dirname(os.path.abspath(__file__)), "make_set.py"), a.program, folder, str(a.count), str(a.seed)]
    subprocess.run(make, check=True)
    bases = sorted(os.path.join(folder, f[:-4]) for f in os.listdir(folder) if f.endswith(".wav"))
    truths = [read_truth(b) for b in bases]
    with ThreadPoolExecutor(PROCESSES) as pool:
        reports = list(pool.map(lambda bt: read_report(a.program, bt[0], bt[1]["species"]), zip(bases, truths)))
    tallies = {tier: Tally() for tier in TIERS}
    for base, truth, report in zip(bases, truths, reports):
        tallies[truth["tier"]].add(truth, report)
        tallies["all"].add(truth, report)
        if a.verbose:
            note(base, truth, report)
    return tallies


def verdict(a, every):
    faults = []
    if not every.f1() >= a.floor_f1:
        faults.append("F1 over all is %s, the floor is %g" % (told(every.f1(), 4), a.floor_f1))
    if every.rate["gross"] > a.most_gross * every.n:
        faults.append("%d of %d rates are grossly wrong, at most %g of them may be" % (every.rate["gross"], every.n, a.most_gross))
    if every.failed:
        faults.append("%d recordings could not be analysed" % every.failed)
    print("\n" + ("; ".join(faults) if faults else "Every floor holds."))
    return 1 if faults else 0


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("program")
    p.add_argument("--count", type=int, default=120)
    p.add_argument("--seed", type=int, default=2026)
    p.add_argument("--folder", help="keep the recordings here")
    p.add_argument("--floor-f1", type=float, default=0.95)
    p.add_argument("--most-gross", type=float, default=0.01)
    p.add_argument("--verbose", action="store_true", help="a line on every recording that was not read well")
    a = p.parse_args()
    if a.folder:
        tallies = measure(a, a.folder)
    else:
        with tempfile.TemporaryDirectory(prefix="girthline-accuracy-") as folder:
            tallies = measure(a, folder)
    show(tallies)
    sys.exit(verdict(a, tallies["all"]))


if __name__ == "__main__":
    main()
