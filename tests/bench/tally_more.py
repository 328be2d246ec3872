# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Counts how often the finer answers on simulated recordings are right: what is counted, settled rate, variability, pauses and
early beats, extra sounds."""
import statistics

from truth import argument, both, gaps, pairs, rmssd_ms, share

EVENT_S = 0.15    # a pause or early beat is found when its time is this near
RATIO_OFF = 0.15  # and a pause's ratio right when it is this near
ATRIAL_S = 0.060
EXTRA_S = 0.060   # an S3 or S4 is found when this near; its time is right within TIME_S
TIME_S = 0.020
SPLIT_MS = 30     # a split is audible from here (Patteson, Equine Cardiology 3.4.1)
NARROW_MS = 20    # between this and that it counts neither way, and stands in a row of its own
SETTLED_S = 8     # the true settled rate is that of the last seconds
WORTH_MS = 50     # RMSSD from here has to come back


class Events:
    def __init__(self):
        self.windows = self.counted = self.exact = self.clear = 0
        self.settling = self.settled = self.settled_none = 0
        self.rmssd_n = self.rmssd_right = self.rmssd_none = 0
        self.pauses = dict.fromkeys(("true", "found", "false", "ratio"), 0)
        self.atrial = dict.fromkeys(("true", "found", "false"), 0)
        self.early = dict.fromkeys(("true", "found", "false"), 0)

    def add(self, truth, report):
        if report is None:
            return
        self.add_counted(truth, report["rate"]["counted"])
        self.add_settled(truth, report["rate"]["settled_bpm"])
        self.add_rmssd(truth, report["rhythm"]["rmssd_ms"])
        if "pauses" in truth:
            self.add_pauses(truth, report["rhythm"]["pauses"])
            self.add_early(truth, report["rhythm"]["early"])

    def add_counted(self, truth, counted):
        n = int((truth["duration_s"] + 1e-9) // 15)
        self.windows += n
        self.clear += sum(not both([(15 * k, 15 * k + 15)], [tuple(s) for s in truth["bad_spans"]]) for k in range(n))
        self.counted += len(counted)
        self.exact += sum(c["beats"] == sum(c["start_s"] <= t < c["end_s"] for t in truth["S1"]) for c in counted)

    def add_settled(self, truth, settled_bpm):
        last = [b - a for a, b in zip(truth["S1"], truth["S1"][1:]) if b > truth["duration_s"] - SETTLED_S]
        if not truth.get("settling") or not last:
            return
        self.settling += 1
        self.settled_none += settled_bpm is None
        self.settled += settled_bpm is not None and abs(settled_bpm - 60 / statistics.median(last)) <= 2

    def add_rmssd(self, truth, told_ms):
        true_ms = rmssd_ms(gaps(truth["S1"]))
        if truth.get("tier") != "clean" or not true_ms >= WORTH_MS:
            return
        self.rmssd_n += 1
        self.rmssd_none += told_ms is None
        self.rmssd_right += told_ms is not None and abs(told_ms / true_ms - 1) <= 0.10

    def add_pauses(self, truth, told):
        spans = [tuple(s) for s in truth["bad_spans"]]
        want = [s for s in truth["pauses"] if not both([(s[0] - 0.25, s[1] + 0.25)], spans)]
        usual = statistics.median(gaps(truth["S1"])) if len(truth["S1"]) > 1 else 1
        self.pauses["true"] += len(want)
        for a, b in want:
            mine = [p for p in told if abs(p["start_s"] - a) <= EVENT_S and abs(p["end_s"] - b) <= EVENT_S]
            self.pauses["found"] += bool(mine)
            self.pauses["ratio"] += bool(mine) and abs(mine[0]["ratio"] - (b - a) / usual) <= RATIO_OFF
            # The last fourth sound in a pause belongs to the beat that ends it.
            alone = [t for t in truth["S4"] if a < t < b - 0.45 * usual]
            heard = mine[0]["atrial_onset_s"] if mine else []
            hits = len(pairs(alone, heard, ATRIAL_S))
            self.atrial["true"] += len(alone)
            self.atrial["found"] += hits
            self.atrial["false"] += len(heard) - hits
        if truth["rhythm"] != "irregular":  # whose long intervals are no dropped beats, but long enough to be listed
            self.pauses["false"] += sum(not any(abs(p["start_s"] - a) <= EVENT_S for a, _ in truth["pauses"]) for p in told)

    def add_early(self, truth, told):
        spans = [tuple(s) for s in truth["bad_spans"]]
        want = [t for t in truth["early"] if not both([(t - 1, t + 1)], spans)]
        listed = [e["onset_s"] for e in told]
        self.early["true"] += len(want)
        self.early["found"] += len(pairs(want, listed, EVENT_S))
        if truth["rhythm"] != "irregular":  # nothing is early against no pattern
            self.early["false"] += len(listed) - len(pairs(truth["early"], listed, EVENT_S))


def split_ms(truth, kind):
    return float(argument(truth, "split-s1-ms" if "S1" in kind else "split-s2-ms") or 0)


def truly_has(truth, kind):
    """True, False, or None where the truth does not say."""
    if kind in ("S3", "S4"):
        return bool(truth[kind])
    if kind == "click":
        return truth.get("click")
    if kind.startswith("split"):
        given = split_ms(truth, kind)
        wide, narrow = given >= SPLIT_MS, NARROW_MS <= given < SPLIT_MS
        return (narrow or None) if "narrow" in kind else (None if narrow else wide)


class Extras:
    KINDS = ("S3", "S4", "split-S1", "split-S2", "click", "split-S1 narrow", "split-S2 narrow")

    def __init__(self):
        self.of = {k: dict.fromkeys(("with", "found", "without", "claimed", "times", "near"), 0) for k in self.KINDS}

    def add(self, truth, report):
        if report is None:
            return
        told = {x["kind"]: x for x in report["extra_sounds"]}
        for kind in self.KINDS:
            c, has = self.of[kind], truly_has(truth, kind)
            if has is None:
                continue
            c["with" if has else "without"] += 1
            c["found" if has else "claimed"] += kind.split(" ")[0] in told
            if has and kind.startswith("split") and kind[:8] in told:
                c["times"] += 1
                c["near"] += abs(told[kind[:8]]["delay_s"] - split_ms(truth, kind) / 1000) <= TIME_S
            if has and kind in told and kind in ("S3", "S4"):
                found = pairs(truth[kind], sorted(told[kind]["onsets_s"]), EXTRA_S)
                c["times"] += len(found)
                c["near"] += sum(abs(g - w) <= TIME_S for w, g in found)

    def rows(self):
        return [[k, c["with"], share(c["found"], c["with"]), c["without"], share(c["claimed"], c["without"]), c["times"], share(c["near"], c["times"])]
                for k, c in self.of.items()]
