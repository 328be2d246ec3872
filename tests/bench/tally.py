# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Counts how often the answers on simulated recordings are right: sounds, rate, confidence, murmur, quality."""
from truth import TOLERANCE_S, both, length_of, near, onsets, outside, pairs, share

HIDING = ("handling", "dropout")  # what the simulator calls a spoilt stretch


class Tally:
    """What is counted over a group of recordings."""

    def __init__(self):
        self.n = self.failed = 0
        self.hit = self.extra = self.missed = 0
        self.rate = dict.fromkeys(("right", "gross", "none"), 0)
        self.rhythm = 0
        self.named = {}            # (true pattern, told pattern): recordings
        self.murmur = dict.fromkeys(("tp", "fn", "fp", "tn", "undetermined", "phase", "timing", "shape"), 0)
        self.grades = dict.fromkeys(("good", "fair", "poor", "unusable"), 0)
        self.errors_s = {"S1": [], "S2": []}
        self.confidence = []       # (said, right)
        self.name_confidence = []  # (said, right)
        self.spoilt_s = dict.fromkeys(("true", "covered", "rest", "false"), 0.0)
        self.snr_errors_db = []
        self.snr_none = 0
        self.hum = dict.fromkeys(("right", "missed", "false", "quiet"), 0)
        self.best = dict.fromkeys(("given", "clean", "long"), 0)

    def add(self, truth, report):
        self.n += 1
        if report is None:
            self.failed += 1
            return
        self.grades[report["quality"]["grade"]] += 1
        self.rhythm += report["rhythm"]["pattern"] == truth["rhythm"]
        pair = (truth["rhythm"], report["rhythm"]["pattern"])
        self.named[pair] = self.named.get(pair, 0) + 1
        self.add_sounds(truth, report)
        self.add_beats(truth, report)
        self.add_rate(truth, report["rate"]["bpm"])
        self.add_murmur(truth["murmur"], report["murmur"])
        self.add_quality(truth, report["quality"])
        self.add_best(truth, report["quality"]["best_span"])

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
            self.hum["right" if abs(hum_hz - true_hz) <= 0.5 else "missed"] += 1
        else:
            self.hum["false" if hum_hz else "quiet"] += 1

    def add_best(self, truth, span):
        """The best stretch: given, clear of what is spoilt, and as long as an expert's (8 s, or half of a short recording)."""
        if not span or span["start_s"] is None:
            return
        self.best["given"] += 1
        self.best["clean"] += not both([(span["start_s"], span["end_s"])], [tuple(s) for s in truth["bad_spans"]])
        self.best["long"] += span["end_s"] - span["start_s"] >= min(8, truth["duration_s"] / 2)

    def f1(self):
        return share(2 * self.hit, 2 * self.hit + self.extra + self.missed)


class Calibration:
    """What is said against what is right, in ten bins of equal width or of equal number."""

    def __init__(self, said):
        self.said = sorted(said)

    @staticmethod
    def bin_of(label, part):
        return (label, len(part), share(sum(p for p, _ in part), len(part)), share(sum(r for _, r in part), len(part)))

    def by_width(self):
        parts = [[x for x in self.said if k / 10 <= x[0] < (k + 1) / 10 or (k == 9 and x[0] >= 1)] for k in range(10)]
        return [self.bin_of("%.1f-%.1f" % (k / 10, (k + 1) / 10), part) for k, part in enumerate(parts) if part]

    def by_number(self):
        n = len(self.said)
        parts = [self.said[n * k // 10:n * (k + 1) // 10] for k in range(10)]
        return [self.bin_of("tenth %d" % (k + 1), part) for k, part in enumerate(parts) if part]

    @staticmethod
    def error(bins):
        """Expected calibration error: the mean distance between said and right, by beats."""
        return share(sum(n * abs(said - right) for _, n, said, right in bins), sum(n for _, n, _, _ in bins))
