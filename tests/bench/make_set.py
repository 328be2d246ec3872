#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Make a benchmark set of simulated recordings over species, rate, rhythm, murmur, noise and level.

    make_set.py PROGRAM FOLDER COUNT SEED [--only SPECIES,...] [--troubles | --extras]

PROGRAM is `girthline` (its synth command is used) or the synth command alone. Each recording NAME gets NAME.wav,
NAME.truth.csv (time_s,sound) and NAME.truth.json (what was asked for and what came out, with its tier). The same
arguments make the same set. With --troubles the recordings are of ten troubles in turn, COUNT of each, and the trouble is
their tier. Standard library only.
"""
import argparse
import json
import math
import os
import random
import subprocess
import sys
import wave

from codec import through_four_bits

# Share of the set, and the rates drawn from, at rest and (where given) excited, in beats a minute.
SPECIES = {
    "horse": (60, (26, 48), (90, 200)),
    "foal": (10, (62, 118), (120, 150)),
    "dog": (12, (58, 150), (150, 190)),
    "cat": (8, (125, 215), (215, 240)),
    "donkey": (2, (36, 66), (90, 150)),
    "cattle": (2, (48, 84), (90, 130)),
    "calf": (2, (80, 140), (140, 170)),
    "sheep": (1.5, (60, 118), (120, 150)),
    "goat": (1.5, (68, 132), (132, 150)),
    "human": (1, (52, 98), (100, 140)),
}
EXCITED_SHARE = 0.10
RHYTHMS = {
    "horse": {"regular": 32, "cyclic": 16, "pauses": 18, "early-beats": 14, "irregular": 20},
    "dog": {"regular": 30, "cyclic": 35, "pauses": 5, "early-beats": 15, "irregular": 15},
    "cat": {"regular": 75, "cyclic": 5, "early-beats": 15, "irregular": 5},
    "other": {"regular": 55, "cyclic": 15, "pauses": 5, "early-beats": 15, "irregular": 10},
}
MURMUR_SHARE = 0.55
MURMURS = [  # weight, words, musical share
    (26, "systole holo plateau", 0.10),
    (12, "systole early decrescendo", 0),
    (16, "systole mid crescendo-decrescendo", 0.05),
    (12, "systole late crescendo", 0.05),
    (16, "diastole holo decrescendo", 0.55),
    (8, "diastole early decrescendo", 0.15),
    (7, "diastole late crescendo", 0),
    (3, "continuous holo plateau", 0),
]
TIERS = [  # name, signal-to-noise range in dB, noises always there
    ("clean", (18, 28), []),
    ("field", (8, 15), ["breath"]),
    ("hard", (1, 7), ["breath", "gut", "handling"]),
]
# What the tiers do not show; a list of options, or a change made to the finished samples. Levels are choices: as bad as a
# listener would still count the heart through.
TROUBLES = {
    "voices": ["--noise", "voice", "--snr-db", "9"],
    "wind": ["--noise", "wind", "--snr-db", "9"],
    "gain control": ["--agc", "--noise", "breath", "--snr-db", "14"],
    "clipping": ["--gain-db", "26", "--snr-db", "16"],
    "too quiet": ["--gain-db", "-40", "--snr-db", "18"],
    "put on": ["--put-on", "--noise", "breath", "--snr-db", "14"],
    "knocks": ["--knocks", "%knocks", "--snr-db", "18"],
    "muffled": ["--muffled", "--noise", "breath", "--snr-db", "10"],
    "coarse codec": ["--noise", "breath", "--snr-db", "14"],
    "second channel": ["--channels", "2", "--noise", "voice,breath", "--snr-db", "14"],
}
# Recordings for the sounds besides S1 and S2: each of them is there in a share, on its own or with others.
EXTRAS_SHARE = 0.3
EXTRAS_TIERS = ["clean", "clean", "clean", "field"]
EXTRAS_MURMUR_SHARE = 0.35
LENGTHS_S = [15, 20, 30, 40]
RATES_HZ = [2000, 4000, 4000]


def weighted(r, table):
    return r.choices(list(table), weights=list(table.values()))[0]


def rhythm_options(r, species, bpm, excited):
    rhythm = "regular" if excited else weighted(r, RHYTHMS.get(species, RHYTHMS["other"]))
    options = ["--rhythm", rhythm]
    if rhythm == "pauses" and r.random() < 0.15:
        options += ["--pause-beats", "2"]
    if rhythm == "cyclic":
        options += ["--cycle-depth", "%.1f" % r.uniform(8, 20 if species == "dog" else 15)]
    if rhythm == "regular" and not excited and r.random() < 0.22:
        options = ["--rhythm", "settling", "--settle", "%.0f" % r.uniform(20, 55)]
    return rhythm, options


def sound_options(r, species, bpm, rhythm):
    options = []
    large = species not in ("dog", "cat", "human")
    if large and bpm < 70:
        if rhythm != "irregular" and r.random() < 0.4:
            options.append("--s4")
        if r.random() < 0.25:
            options.append("--s3")
    if r.random() < 0.12:
        options += ["--split-s2-ms", "%.0f" % r.uniform(20, 45 if large else 28)]
    if r.random() < MURMUR_SHARE:
        _, words, musical = r.choices(MURMURS, weights=[m[0] for m in MURMURS])[0]
        if r.random() < musical:
            words += " musical"
        options += ["--murmur", words, "--level-db", "%.2f" % r.uniform(-14, 3)]
    return options


def recorder_options(r, tier, noises):
    options = []
    if r.random() < 0.12:
        noises.append("hum")
        options += ["--hum-hz", r.choice(["50", "60"])]
    if tier != "clean":
        for noise, share in (("dropout", 0.12), ("voice", 0.08), ("wind", 0.06)):
            if r.random() < share:
                noises.append(noise)
    for option, share in (("--agc", 0.06), ("--muffled", 0.07), ("--put-on", 0.05 if tier != "clean" else 0)):
        if r.random() < share:
            options.append(option)
    if r.random() < 0.07:
        options += ["--resonance", "%.0f" % r.uniform(60, 350)]
    if r.random() < 0.07:
        options += ["--clip", "0.9", "--gain-db", "%.1f" % r.uniform(11, 15)]
    else:
        options += ["--gain-db", "%.1f" % r.uniform(-16, 9)]
    if r.random() < 0.05:
        options += ["--dc", "%.3f" % r.uniform(-0.06, 0.06)]
    return options


def recording(r, index, only):
    table = {name: row[0] for name, row in SPECIES.items() if not only or name in only}
    species = weighted(r, table)
    _, rest, fast = SPECIES[species]
    excited = r.random() < EXCITED_SHARE
    bpm = r.uniform(*(fast if excited else rest))
    tier, snr, noises = TIERS[index % len(TIERS)]
    noises = list(noises)
    rhythm, options = rhythm_options(r, species, bpm, excited)
    options += ["--species", species, "--bpm", "%.2f" % bpm, "--snr-db", "%.1f" % r.uniform(*snr)]
    options += ["--seconds", str(r.choice(LENGTHS_S)), "--rate-hz", str(r.choice(RATES_HZ)), "--seed", str(r.getrandbits(48))]
    options += sound_options(r, species, bpm, rhythm) + recorder_options(r, tier, noises)
    options += ["--noise", ",".join(noises) or "none"]
    return "s%05d-%s" % (index, species), tier, options


def troubled(r, index, only):
    """One recording of the trouble whose turn it is: resting rates, any rhythm, sounds as elsewhere."""
    table = {name: row[0] for name, row in SPECIES.items() if not only or name in only}
    species = weighted(r, table)
    bpm = r.uniform(*SPECIES[species][1])
    trouble = list(TROUBLES)[index % len(TROUBLES)]
    rhythm, options = rhythm_options(r, species, bpm, False)
    options += ["--species", species, "--bpm", "%.2f" % bpm, "--seconds", str(r.choice(LENGTHS_S)), "--rate-hz", "4000", "--seed", str(r.getrandbits(48))]
    options += sound_options(r, species, bpm, rhythm)
    # Knocks at another rate than the heart's, so that they are told apart by more than their sound.
    knocks = "%.1f" % min(300, bpm * r.choice([0.6, 0.75, 1.35, 1.6]))  # as many as synth can make
    options += [knocks if o == "%knocks" else o for o in TROUBLES[trouble]]
    return "t%05d-%s" % (index, species), trouble, options


def with_extras(r, index, only):
    """One recording for the sounds besides S1 and S2: resting rates, any rhythm."""
    table = {name: math.sqrt(row[0]) for name, row in SPECIES.items() if not only or name in only}
    species = weighted(r, table)
    bpm = r.uniform(*SPECIES[species][1])
    tier, snr, noises = next(t for t in TIERS if t[0] == EXTRAS_TIERS[index % len(EXTRAS_TIERS)])
    rhythm, options = rhythm_options(r, species, bpm, False)
    options += ["--species", species, "--bpm", "%.2f" % bpm, "--snr-db", "%.1f" % r.uniform(*snr), "--noise", ",".join(noises) or "none"]
    options += ["--seconds", str(r.choice(LENGTHS_S)), "--rate-hz", str(r.choice(RATES_HZ)), "--seed", str(r.getrandbits(48))]
    for option, there in (("--s3", bpm < 110), ("--s4", bpm < 110 and rhythm != "irregular"), ("--click", True)):
        if there and r.random() < EXTRAS_SHARE:
            options.append(option)
    for option in ("--split-s1-ms", "--split-s2-ms"):
        if r.random() < EXTRAS_SHARE:
            options += [option, "%.0f" % r.uniform(20, 45)]
    if r.random() < EXTRAS_MURMUR_SHARE:
        _, words, _ = r.choices(MURMURS, weights=[m[0] for m in MURMURS])[0]
        options += ["--murmur", words, "--level-db", "%.2f" % r.uniform(-14, 0)]
    return "x%05d-%s" % (index, species), tier, options


def coarsen(path):
    with wave.open(path, "rb") as f:
        form, frames = f.getparams(), f.readframes(f.getnframes())
    with wave.open(path, "wb") as f:
        f.setparams(form)
        f.writeframes(through_four_bits(frames))


def add_tier(path, tier, options):
    with open(path, encoding="utf-8") as f:
        facts = json.load(f)
    facts["tier"] = tier
    facts["arguments"] = options
    with open(path, "w", encoding="utf-8") as f:
        json.dump(facts, f, indent=1)
        f.write("\n")


def main():
    p = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    p.add_argument("program")
    p.add_argument("folder")
    p.add_argument("count", type=int)
    p.add_argument("seed", type=int)
    p.add_argument("--troubles", action="store_true")
    p.add_argument("--extras", action="store_true", help="recordings for the sounds besides S1 and S2")
    p.add_argument("--only", default="", help="species, with commas between")
    a = p.parse_args()
    only = set(filter(None, a.only.split(",")))
    if only - set(SPECIES):
        p.error("unknown species: " + ", ".join(sorted(only - set(SPECIES))))
    command = [a.program] if "synth" in os.path.basename(a.program) else [a.program, "synth"]
    os.makedirs(a.folder, exist_ok=True)
    r = random.Random(a.seed)
    kind = troubled if a.troubles else with_extras if a.extras else recording
    for i in range(a.count * len(TROUBLES) if a.troubles else a.count):
        name, tier, options = kind(random.Random(r.getrandbits(64)), i, only)
        base = os.path.join(a.folder, name)
        files = [base + ".wav", "--truth", base + ".truth.csv", "--facts", base + ".truth.json", "--quiet", "--force"]
        done = subprocess.run(command + files + options, check=False)
        if done.returncode:
            sys.exit("%s: exit %d with %s" % (name, done.returncode, " ".join(options)))
        if tier == "coarse codec":
            coarsen(base + ".wav")
        add_tier(base + ".truth.json", tier, options)


if __name__ == "__main__":
    main()
