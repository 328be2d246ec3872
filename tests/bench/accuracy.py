#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Measure the analysis on simulated recordings whose truth is known.

    accuracy.py PROGRAM [--count N] [--troubles N] [--extras N] [--seed N] [--folder FOLDER] [--recordings FOLDER] [--verbose] [floors]

Makes a set with make_set.py beside this file (--count recordings of three tiers, --troubles of each trouble, --extras with sounds
besides S1 and S2), or takes the recordings that lie in FOLDER with their truth (--recordings). Reads each with `PROGRAM report --json -` and prints how often
each answer is right. Exits 1 when a floor does not hold or a recording cannot be analysed. The same arguments print the same
numbers. Standard library only.

A sound is right within 100 ms of a true one of its name, one to one, outside the spoilt stretches; a rate within 2 % or
1 a minute of the true median or mean, grossly wrong when more than 25 % from both; a murmur's phase, timing and shape
(the first phase told) are shares of the murmurs found.
"""
import argparse
import math
import os
import statistics
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

from tally import Calibration, Tally
from tally_more import Events, Extras
from truth import read_report, read_truth, share

PROCESSES = 2
TIERS = ("clean", "field", "hard")
PATTERNS = ("regular", "cyclic", "pauses", "early-beats", "irregular", "undetermined")


def told(x, digits=3):
    return "-" if isinstance(x, float) and math.isnan(x) else "%.*f" % (digits, x) if isinstance(x, float) else x


def robust_spread(x):
    """1.4826 times the median distance from the median."""
    mid = statistics.median(x)
    return 1.4826 * statistics.median(abs(v - mid) for v in x)


def middle(x):
    """Median and robust spread, as text in two columns."""
    return ["%+.1f" % statistics.median(x), "%.1f" % robust_spread(x)] if x else ["-", "-"]


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
    near = share(sum(abs(e) <= 2 for e in t.snr_errors_db), len(t.snr_errors_db))
    return [tier] + list(t.grades.values()) + [told(share(s["covered"], s["true"])), told(share(s["false"], s["rest"]))] \
        + middle(t.snr_errors_db) + [told(near), t.snr_none] + list(t.hum.values()) \
        + [told(share(t.best["given"], t.n)), told(share(t.best["clean"], t.best["given"])), told(share(t.best["long"], t.best["given"]))]


def onset_row(tier, t):
    row = [tier]
    for name in ("S1", "S2"):
        errors_ms = [1000 * e for e in t.errors_s[name]]
        row += [len(errors_ms)] + middle(errors_ms)
        row.append(told(share(sum(abs(e) <= 20 for e in errors_ms), len(errors_ms))))
    return row


def show_calibration(title, said):
    c = Calibration(said)
    head = ["said", "beats", "mean", "right"]
    for kind, bins in (("ten equal widths", c.by_width()), ("ten equal numbers", c.by_number())):
        table("%s against how often it is right, %s: expected calibration error %s" % (title, kind, told(c.error(bins), 4)), head,
              [[label, n, told(mean), told(right)] for label, n, mean, right in bins])


def events_rows(e):
    p, a, r = e.pauses, e.atrial, e.early
    return [["15 s windows counted to the beat", e.counted, told(share(e.exact, e.counted))],
            ["clear 15 s windows that are counted (may pass 1: others are, too)", e.clear, told(share(e.counted, e.clear))],
            ["settled rate within 2 a minute (not told: %d)" % e.settled_none, e.settling, told(share(e.settled, e.settling))],
            ["RMSSD of 50 ms and more within 10 %%, clean (not told: %d)" % e.rmssd_none, e.rmssd_n, told(share(e.rmssd_right, e.rmssd_n))],
            ["pauses found (invented: %d)" % p["false"], p["true"], told(share(p["found"], p["true"]))],
            ["their ratio within 0.15", p["found"], told(share(p["ratio"], p["found"]))],
            ["atrial sounds alone in them found (invented: %d)" % a["false"], a["true"], told(share(a["found"], a["true"]))],
            ["early beats found (invented: %d)" % r["false"], r["true"], told(share(r["found"], r["true"]))]]


class Results:
    """The recordings of a set, in groups."""

    def __init__(self):
        self.tiers, self.species, self.every = {}, {}, Tally()
        self.events, self.extras, self.clean_extras = Events(), Extras(), Extras()

    def add(self, truth, report):
        for group, key in ((self.tiers, truth["tier"]), (self.species, truth["species"])):
            group.setdefault(key, Tally()).add(truth, report)
        self.every.add(truth, report)
        self.events.add(truth, report)
        self.extras.add(truth, report)
        if truth["tier"] == "clean":
            self.clean_extras.add(truth, report)

    def tier(self, name):
        return self.tiers.get(name, Tally())

    def rows(self):
        order = [t for t in TIERS if t in self.tiers] + [t for t in self.tiers if t not in TIERS]
        return [(t, self.tiers[t]) for t in order] + [("all", self.every)]


def show(title, results):
    print("\n" + title)
    head = ["tier", "n", "failed", "F1", "rate", "gross", "none", "rhythm", "sens", "spec", "phase", "timing", "shape", "murmur undet."]
    table("Sounds, rate, rhythm and murmur (shares; gross, none and not determined are counts)", head, [sounds_row(k, t) for k, t in results.rows()])
    table("The same by species", head, [sounds_row(k, t) for k, t in results.species.items()])
    table("Onsets against truth, ms (median, robust spread, share within 20 ms)",
          ["tier", "S1", "bias", "spread", "<=20", "S2", "bias", "spread", "<=20"], [onset_row(k, t) for k, t in results.rows()])


def show_extras(title, results):
    for name, extras in (("clean", results.clean_extras), ("all", results.extras)):
        table("%s, %s (recordings that have them, share found; that have not, share claimed; times within 20 ms)" % (title, name),
              ["sound", "with", "found", "without", "claimed", "times", "<=20"], [[told(v) for v in row] for row in extras.rows()])


def show_all(results):
    table("Rhythm (rows: true, columns: told)", ["true"] + list(PATTERNS),
          [[t] + [results.every.named.get((t, p), 0) for p in PATTERNS] for t in PATTERNS[:-1]])
    table("Events and counts", ["what", "n", "share"], events_rows(results.events))
    table("Quality (grades; share of spoilt time covered, of other time marked; heart over noise against truth, dB; hum; best stretch)",
          ["tier", "good", "fair", "poor", "unusable", "covered", "false", "dB error", "spread", "<=2", "none", "hum right", "missed", "false", "rightly none",
           "best", "clean", "long"], [quality_row(k, t) for k, t in results.rows()])
    show_extras("Extra sounds", results)
    show_calibration("Confidence", results.every.confidence)
    show_calibration("Name confidence", results.every.name_confidence)
    sure = [p for p, right in results.tier("clean").confidence if right]
    print("\nRight beats of clean recordings that carry 0.9 or more: %s of %d" % (told(share(sum(p >= 0.9 for p in sure), len(sure))), len(sure)))


def note(base, truth, report):
    """One line on a recording that was not read well."""
    one = Tally()
    one.add(truth, report)
    if report and (one.f1() < 0.9 or one.rate["gross"] or one.rate["none"] or not one.rhythm):
        print("%s: %s, F1 %s, rate %s for %.1f, %s for %s, grade %s, names %.2f; %s" % (
            os.path.basename(base), truth["tier"], told(one.f1()), report["rate"]["bpm"], truth["median_bpm"] or math.nan, report["rhythm"]["pattern"],
            truth["rhythm"], report["quality"]["grade"], max((b["name_confidence"] for b in report["beats"]), default=0), " ".join(truth["arguments"])))


def read_set(a, folder):
    bases = sorted(os.path.join(folder, f[:-4]) for f in os.listdir(folder) if f.endswith(".wav"))
    truths = [read_truth(b) for b in bases]
    with ThreadPoolExecutor(PROCESSES) as pool:
        reports = list(pool.map(lambda bt: read_report(a.program, bt[0], bt[1]["species"]), zip(bases, truths)))
    results = Results()
    for base, truth, report in zip(bases, truths, reports):
        results.add(truth, report)
        if a.verbose:
            note(base, truth, report)
    return results


def made_set(a, folder, name, count, *options):
    place = os.path.join(folder, name)
    make = [sys.executable, os.path.join(os.path.dirname(os.path.abspath(__file__)), "make_set.py"), a.program, place, str(count), str(a.seed), *options]
    subprocess.run(make, check=True)
    return read_set(a, place)


def extras_faults(a, results):
    """The sounds besides S1 and S2 in clean recordings, held against their floors."""
    faults = []
    for kind in ("S3", "S4", "split-S1", "split-S2", "click"):
        c = results.clean_extras.of[kind]
        if c["found"] < a.floor_extras * c["with"]:
            faults.append("%s found in %d of %d clean recordings, the floor is %g of them" % (kind, c["found"], c["with"], a.floor_extras))
        if c["claimed"] > a.most_extras * c["without"]:
            faults.append("%s claimed in %d of %d clean recordings without, at most %g of them may be" % (kind, c["claimed"], c["without"], a.most_extras))
    return faults


def verdict(a, results, troubles, extras):
    """The floors that were given, held against what was measured."""
    faults = []
    every = results.every if results else Tally()
    shares = {"F1 over all": (every.f1(), a.floor_f1), "rhythm": (share(every.rhythm, every.n), a.floor_rhythm)} if results else {}
    if troubles:
        shares.update({"F1 under trouble, " + k: (t.f1(), a.floor_trouble) for k, t in troubles.tiers.items()})
    faults += ["%s is %s, the floor is %g" % (k, told(x, 4), floor) for k, (x, floor) in shares.items() if not x >= floor]
    for r in filter(None, (results, troubles)):
        if r.every.rate["gross"] > a.most_gross * r.every.n:
            faults.append("%d of %d rates are grossly wrong, at most %g of them may be" % (r.every.rate["gross"], r.every.n, a.most_gross))
        if r.every.failed:
            faults.append("%d recordings could not be analysed" % r.every.failed)
    if results and Calibration.error(Calibration(every.confidence).by_width()) > a.most_calibration_error:
        faults.append("the expected calibration error of the confidence passes %g" % a.most_calibration_error)
    clean_ms = [1000 * e for e in results.tier("clean").errors_s["S1"]] if results else []
    if clean_ms and robust_spread(clean_ms) > a.most_spread_ms:
        faults.append("S1's onsets in clean recordings spread %.1f ms, at most %g are allowed" % (robust_spread(clean_ms), a.most_spread_ms))
    faults += extras_faults(a, extras) if extras else []
    print("\n" + ("; ".join(faults) if faults else "Every floor holds."))
    return 1 if faults else 0


def measure(a, folder):
    results = read_set(a, a.recordings) if a.recordings else made_set(a, folder, "tiers", a.count) if a.count else None
    troubles = made_set(a, folder, "troubles", a.troubles, "--troubles") if a.troubles else None
    extras = made_set(a, folder, "extras", a.extras, "--extras") if a.extras else None
    if results:
        show("The three tiers", results)
        show_all(results)
    if troubles:
        show("Troubles that the tiers do not show", troubles)
    if extras:
        show_extras("Recordings made for the sounds besides S1 and S2", extras)
    return verdict(a, results, troubles, extras)


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("program")
    p.add_argument("--count", type=int, default=120, help="recordings over the three tiers")
    p.add_argument("--troubles", type=int, default=0, help="recordings of each trouble")
    p.add_argument("--extras", type=int, default=0, help="recordings made for the sounds besides S1 and S2")
    p.add_argument("--seed", type=int, default=2026)
    p.add_argument("--folder", help="keep the recordings here")
    p.add_argument("--recordings", help="measure what lies here instead of making a set")
    p.add_argument("--floor-f1", type=float, default=0.95)
    p.add_argument("--floor-rhythm", type=float, default=0)
    p.add_argument("--floor-trouble", type=float, default=0)
    p.add_argument("--floor-extras", type=float, default=0, help="of the clean recordings that have a sound besides S1 and S2")
    p.add_argument("--most-extras", type=float, default=1, help="of those that have not")
    p.add_argument("--most-spread-ms", type=float, default=5, help="robust spread of S1's onsets in clean recordings")
    p.add_argument("--most-gross", type=float, default=0.01)
    p.add_argument("--most-calibration-error", type=float, default=1)
    p.add_argument("--verbose", action="store_true", help="a line on every recording that was not read well")
    a = p.parse_args()
    if a.folder:
        sys.exit(measure(a, a.folder))
    with tempfile.TemporaryDirectory(prefix="girthline-accuracy-") as folder:
        code = measure(a, folder)
    sys.exit(code)


if __name__ == "__main__":
    main()
