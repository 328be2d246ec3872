#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Measure what is said of murmurs on simulated recordings whose truth is known.

    murmur.py PROGRAM [--count N] [--seed N] [--given] [--laid N] [--beside DB] [--always=OPTIONS] [--folder FOLDER] [--rows FILE] [--floors]

Makes recordings as make_set.py does, half of them without a murmur, the rest over every phase, timing and shape at -20 to
0 dB, some with both phases and some continuous. Prints by level, tier, species, place in the cycle and trouble how often
murmurs are found and how they are named; and how well the detection limit is calibrated: into each of N murmur-free
recordings a murmur is laid, in systole and in diastole, as loud as that recording's own limit. --given hands the true beats
to the analysis, so that the decoder's faults stay out of it. --floors exits 1 when a floor is broken. The same arguments
print the same numbers. Standard library only.

"Not determined" counts as neither a find nor a clearance. Loud: -14 dB and louder. Phase is right when every phase told is
there and every phase there is told; timing, shape, pitch and level are shares of the single murmurs whose phase is right.
"""
import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor

import accuracy
import make_set

LOUD_DB = -14
NONE_SHARE, BOTH_SHARE, CONTINUOUS_SHARE = 0.5, 0.05, 0.05
SYSTOLE = ["systole holo plateau", "systole early decrescendo", "systole mid crescendo-decrescendo", "systole late crescendo"]
DIASTOLE = ["diastole holo decrescendo", "diastole early decrescendo", "diastole late crescendo"]
MUSICAL_SHARE = 0.2
PITCH_SHARE, LEVEL_DB = 0.15, 3
LEVELS_DB = [(-20, -17), (-17, -14), (-14, -11), (-11, -8), (-8, -4), (-4, 0)]
LAID_DB = (-45, 20)  # a limit outside of this is not tried
FLOORS = {"sensitivity": 0.85, "specificity": 0.78, "phase": 0.88, "laid": 0.80}  # well under what is reached: a fall shows


def words(r, table):
    return r.choice(table) + (" musical" if r.random() < MUSICAL_SHARE else "")


def draw_murmur(r):
    """[(words, level)], empty for none."""
    kind = r.random()
    level = lambda: round(r.uniform(-20, 0), 2)
    if kind < NONE_SHARE:
        return []
    if kind < NONE_SHARE + BOTH_SHARE:
        both = level()
        return [(words(r, SYSTOLE), both), (words(r, DIASTOLE), round(both + r.uniform(-6, 6), 2))]
    if kind < NONE_SHARE + BOTH_SHARE + CONTINUOUS_SHARE:
        return [(words(r, ["continuous holo plateau"]), level())]
    return [(words(r, r.choice([SYSTOLE, DIASTOLE])), level())]


def sounds(r, species, bpm, rhythm):
    """The extra sounds make_set.py draws, without its murmur."""
    options = make_set.sound_options(r, species, bpm, rhythm)
    if "--murmur" in options:
        at = options.index("--murmur")
        options = options[:at] + options[at + 4:]
    return options


def recording(r, index, always):
    species = make_set.weighted(r, {name: row[0] for name, row in make_set.SPECIES.items()})
    excited = r.random() < make_set.EXCITED_SHARE
    bpm = r.uniform(*make_set.SPECIES[species][2 if excited else 1])
    tier, snr, noises = make_set.TIERS[index % len(make_set.TIERS)]
    noises = list(noises)
    rhythm, options = make_set.rhythm_options(r, species, bpm, excited)
    options += ["--species", species, "--bpm", "%.2f" % bpm, "--snr-db", "%.1f" % r.uniform(*snr)]
    options += ["--seconds", str(r.choice(make_set.LENGTHS_S)), "--rate-hz", str(r.choice(make_set.RATES_HZ)), "--seed", str(r.getrandbits(48))]
    options += sounds(r, species, bpm, rhythm) + make_set.recorder_options(r, tier, noises) + ["--noise", ",".join(noises) or "none"] + always
    laid = {phase: words(r, table) for phase, table in (("systole", SYSTOLE), ("diastole", DIASTOLE))}
    return {"name": "m%05d-%s" % (index, species), "species": species, "tier": tier, "bpm": bpm, "options": options, "murmurs": draw_murmur(r), "laid": laid, "beside": r.uniform(-1, 1)}


def analyse(a, folder, case, murmurs, tag=""):
    """(truth, report or None) of the case with these murmurs in it."""
    base = os.path.join(folder, case["name"] + tag)
    command = [a.program, "synth", base + ".wav", "--truth", base + ".truth.csv", "--facts", base + ".truth.json", "--quiet", "--force"]
    for text, level_db in murmurs:
        command += ["--murmur", text, "--level-db", "%.2f" % level_db]
    subprocess.run(command + case["options"], check=True)
    given = ["--beats", base + ".truth.csv"] if a.given else []
    done = subprocess.run([a.program, "report", base + ".wav", "--species", case["species"], "--json", "-", "--quiet"] + given,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    with open(base + ".truth.json", encoding="utf-8") as f:
        truth = json.load(f)
    for end in ("wav", "truth.csv", "truth.json"):
        if not a.folder:
            os.remove(base + "." + end)
    return truth, json.loads(done.stdout) if done.returncode in (0, 1) else None


def measure(a, folder, case):
    truth, report = analyse(a, folder, case, case["murmurs"])
    row = {k: case[k] for k in ("name", "species", "tier", "bpm")}
    row.update(options=" ".join(case["options"]), true=truth["murmurs"], duration_s=truth["duration_s"], snr_db=truth["snr_db"], laid=[])
    row["told"] = report["murmur"] if report else {"present": None, "phases": [], "detection_limit_db": {"systole": None, "diastole": None}}
    row["grade"] = report["quality"]["grade"] if report else None
    row["n_beats"] = len(report["beats"]) if report else 0
    row["agc"] = "--agc" in case["options"]
    for phase in ("systole", "diastole") if case["try_laid"] and not case["murmurs"] else ():
        limit = row["told"]["detection_limit_db"][phase]
        if limit is None or not LAID_DB[0] <= limit <= LAID_DB[1]:
            continue
        level_db = limit + a.beside * case["beside"]
        _, again = analyse(a, folder, case, [(case["laid"][phase], level_db)], "-" + phase)
        found = bool(again) and any(p["phase"] in (phase, "continuous") for p in again["murmur"]["phases"])
        row["laid"].append({"phase": phase, "words": case["laid"][phase], "limit_db": limit, "level_db": level_db, "found": found,
                            "any": bool(again) and again["murmur"]["present"] is True})
    return row


def phases_of(row):
    return sorted(p["phase"] for p in row["told"]["phases"]), sorted(m["phase"] for m in row["true"])


def found(row):
    return row["told"]["present"] is True


def naming(rows):
    """Of the found: n, shares of phase, timing, shape, pitch, level, musical rightly told, and noise told musical."""
    hits = [r for r in rows if found(r)]
    right = [r for r in hits if phases_of(r)[0] == phases_of(r)[1]]
    single = [(r["told"]["phases"][0], r["true"][0]) for r in right if len(r["true"]) == 1]
    good = lambda ok, part: accuracy.told(accuracy.share(sum(bool(ok(p)) for p in part), len(part)), 2)
    tonal = [p for p in single if p[1]["musical"]]
    noise = [p for p in single if not p[1]["musical"]]
    return [len(hits), accuracy.told(accuracy.share(len(right), len(hits)), 2), good(lambda p: p[0]["timing"] == p[1]["timing"], single),
            good(lambda p: p[0]["shape"] == p[1]["shape"], single),
            good(lambda p: p[0]["peak_hz"] and abs(p[0]["peak_hz"] / p[1]["pitch_hz"] - 1) <= PITCH_SHARE, single),
            good(lambda p: p[0]["level_db"] is not None and abs(p[0]["level_db"] - p[1]["level_db"]) <= LEVEL_DB, single)] \
        + accuracy.middle([p[0]["level_db"] - p[1]["level_db"] for p in single if p[0]["level_db"] is not None]) \
        + [good(lambda p: p[0]["musical"] is True, tonal), good(lambda p: p[0]["musical"] is True, noise)]


NAMING = ["found", "phase", "timing", "shape", "pitch", "level", "dB bias", "spread", "musical", "noise so"]


def groups(rows, key, order=None):
    names = order or sorted({key(r) for r in rows})
    return [(n, [r for r in rows if key(r) == n]) for n in names]


def detection(rows):
    loud = [r for r in rows if r["true"] and max(m["level_db"] for m in r["true"]) >= LOUD_DB]
    soft = [r for r in rows if r["true"] and r not in loud]
    none = [r for r in rows if not r["true"]]
    part = lambda ok, some: accuracy.told(accuracy.share(sum(map(ok, some)), len(some)))
    return [len(loud), part(found, loud), len(soft), part(found, soft), len(none), part(lambda r: r["told"]["present"] is False, none),
            sum(map(found, none)), sum(r["told"]["present"] is None for r in none)]


DETECTION = ["loud", "found", "softer", "found", "none", "said none", "false", "undet."]


def place(row):
    return " + ".join(m["phase"] + " " + m["timing"] for m in row["true"]) if len(row["true"]) == 1 else "both"


def level_name(row):
    top = max(m["level_db"] for m in row["true"])
    return next(("%d to %d dB" % b for b in LEVELS_DB if b[0] <= top < b[1]), "louder")


TROUBLES = ["--agc", "--muffled", "--put-on", "--resonance", "--clip", "--s3", "--s4", "--split-s2-ms", "hum", "voice", "wind", "dropout"]


def show(rows):
    table = accuracy.table
    have = [r for r in rows if r["true"]]
    tiers = groups(rows, lambda r: r["tier"], ["clean", "field", "hard"]) + [("all", rows)]
    table("Found by tier (loud: %d dB and louder)" % LOUD_DB, ["tier"] + DETECTION, [[k] + detection(g) for k, g in tiers])
    table("Found by species", ["species"] + DETECTION, [[k] + detection(g) for k, g in groups(rows, lambda r: r["species"])])
    table("Found by trouble", ["trouble"] + DETECTION, [[k] + detection([r for r in rows if k in r["options"]]) for k in TROUBLES])
    table("Found and named by place", ["place", "loud", "found"] + NAMING,
          [[k] + detection(g)[:2] + naming(g) for k, g in groups(have, place)])
    table("Found and named by level", ["level", "n", "found"] + NAMING,
          [[k, len(g), accuracy.told(accuracy.share(sum(map(found, g)), len(g)))] + naming(g)
           for k, g in groups(have, level_name, ["%d to %d dB" % b for b in LEVELS_DB] + ["louder"]) if g])
    loud = [r for r in have if max(m["level_db"] for m in r["true"]) >= LOUD_DB]
    table("Loud ones named by tier", ["tier"] + NAMING, [[k] + naming([r for r in loud if k in (r["tier"], "all")]) for k in accuracy.TIERS])
    show_laid(rows)


def show_laid(rows):
    laid = [dict(x, tier=r["tier"]) for r in rows for x in r["laid"]]
    if not laid:
        return
    line = lambda name, some: [name, len(some), accuracy.told(accuracy.share(sum(x["found"] for x in some), len(some))),
                               accuracy.told(accuracy.share(sum(x["any"] for x in some), len(some)))] \
        + accuracy.middle([x["limit_db"] for x in some])
    rows = [line(p, [x for x in laid if x["phase"] == p]) for p in ("systole", "diastole")]
    rows += [line(t, [x for x in laid if x["tier"] == t]) for t in ("clean", "field", "hard")]
    rows += [line(k, g) for k, g in groups(laid, lambda x: " ".join(x["words"].split()[:2]))]
    accuracy.table("Murmurs laid at a recording's own detection limit", ["laid", "n", "found", "anything", "limit dB", "spread"], rows)


def verdict(rows):
    """What stands under its floor."""
    loud = [r for r in rows if r["true"] and max(m["level_db"] for m in r["true"]) >= LOUD_DB]
    none = [r for r in rows if not r["true"]]
    hits = [r for r in loud if found(r)]
    laid = [x for r in rows for x in r["laid"]]
    got = {"sensitivity": (len(hits), len(loud)), "specificity": (sum(r["told"]["present"] is False for r in none), len(none)),
           "phase": (sum(phases_of(r)[0] == phases_of(r)[1] for r in hits), len(hits)), "laid": (sum(x["found"] for x in laid), len(laid))}
    return ["%s is %.3f, the floor is %g" % (k, a / n, FLOORS[k]) for k, (a, n) in got.items() if n and a < FLOORS[k] * n]


def run(a, folder):
    os.makedirs(folder, exist_ok=True)
    r = random.Random(a.seed)
    cases = [recording(random.Random(r.getrandbits(64)), i, a.always.split()) for i in range(a.count)]
    free = 0
    for case in cases:
        case["try_laid"] = not case["murmurs"] and free < a.laid
        free += not case["murmurs"]
    with ThreadPoolExecutor(accuracy.PROCESSES) as pool:
        return list(pool.map(lambda case: measure(a, folder, case), cases))


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("program")
    p.add_argument("--count", type=int, default=240)
    p.add_argument("--seed", type=int, default=2026)
    p.add_argument("--laid", type=int, default=0, help="into so many murmur-free recordings murmurs are laid at the limit")
    p.add_argument("--beside", type=float, default=0, help="they are laid up to so many dB beside it, either way")
    p.add_argument("--given", action="store_true", help="with the true beats")
    p.add_argument("--always", default="", help="synth options for every recording, as --always=--agc")
    p.add_argument("--folder", help="keep the recordings here")
    p.add_argument("--rows", help="write one JSON object per recording here")
    p.add_argument("--floors", action="store_true")
    a = p.parse_args()
    if a.folder:
        rows = run(a, a.folder)
    else:
        with tempfile.TemporaryDirectory(prefix="girthline-murmur-") as folder:
            rows = run(a, folder)
    if a.rows:
        with open(a.rows, "w", encoding="utf-8") as f:
            f.writelines(json.dumps(r) + "\n" for r in rows)
    show(rows)
    faults = verdict(rows) if a.floors else []
    if a.floors:
        print("\n" + ("; ".join(faults) if faults else "Every floor holds."))
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
