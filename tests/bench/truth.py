# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""What is true of a simulated recording, what a report says, and how the two are laid side by side. Standard library only."""
import csv
import json
import math
import subprocess
import sys

TOLERANCE_S = 0.100
BESIDE_SPOILT_S = 0.25  # sounds this near a spoilt stretch count neither way


def read_truth(base):
    with open(base + ".truth.json", encoding="utf-8") as f:
        truth = json.load(f)
    with open(base + ".truth.csv", encoding="utf-8", newline="") as f:
        rows = list(csv.DictReader(f))
    for name in ("S1", "S2", "S3", "S4"):
        truth[name] = [float(r["time_s"]) for r in rows if r["sound"] == name]
    truth.setdefault("arguments", [])
    return truth


def read_report(program, base, species):
    done = subprocess.run([program, "report", base + ".wav", "--species", species, "--json", "-", "--quiet"],
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    if done.returncode not in (0, 1):
        print("%s: exit %d: %s" % (base, done.returncode, done.stderr.decode(errors="replace")), file=sys.stderr)
        return None
    return json.loads(done.stdout)


def argument(truth, name):
    """The value that was given to the simulator for --name, or None."""
    args = truth["arguments"]
    return args[args.index("--" + name) + 1] if "--" + name in args else None


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


def gaps(times):
    return [b - a for a, b in zip(times, times[1:])]


def rmssd_ms(intervals_s):
    d = gaps(intervals_s)
    return 1000 * math.sqrt(sum(x * x for x in d) / len(d)) if d else math.nan


def share(part, whole):
    return part / whole if whole else math.nan
