# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Examinations made by hand, in the form girthline exam writes them: what a test needs of them, and no more."""

import itertools
import json

RECORDINGS = itertools.count()  # no two reports are of one recording unless they say so


def phase(level=-10.0, half=1.0, **more):
    p = {"phase": "systole", "timing": "holo", "shape": "plateau", "level_db": level, "level_db_interval": [level - half, level + half], "loudness": "softer",
         "peak_hz": 180, "band_hz": [100, 300], "musical": False, "beats_fraction": 0.9, "ends_before_s2": True, "confidence": 0.9}
    p.update(more)
    return p


def intervals(bpm, n=30, spread=0.02):
    """n intervals that are shorter and longer by turns."""
    out, at = [], 0.5
    for i in range(n):
        long_s = 60 / bpm * (1 + spread * (1 if i % 2 else -1))
        out.append({"start_s": round(at, 4), "end_s": round(at + long_s, 4), "used": True})
        at += long_s
    return out


def report(bpm=36.0, phases=(), limit=(-25.0, -25.0), present=..., pattern="regular", extra=(), rate_hz=4000, encoding="PCM_16", species="horse", grade="good",
           side="left", area="mitral", after=None, n=30, content_hash=None, sure=0.9):
    present = bool(phases) if present is ... else present
    undetermined = {} if present is not None else {"/murmur/present": "the recording is too noisy between the beats"}
    return {
        "schema": "girthline.report.v1", "tool": {"name": "girthline", "version": "0.1.0", "settings_hash": "xxh3-128:" + "0" * 32},
        "recording": {"file": "a.wav", "content_hash": content_hash or f"xxh3-128:{next(RECORDINGS):032x}", "duration_s": 60, "sample_rate_hz": rate_hz, "channels": 1, "channel_used": 1,
                      "encoding": encoding, "recorded_at": None, "side": side, "area": area, "minutes_after_exercise": after},
        "species": species, "species_assumed": False,
        "quality": {"grade": grade, "usable_s": 55, "heart_to_noise_db": 20},
        "beats": [], "extra_sounds": list(extra),
        "rate": {"bpm": bpm, "mean_bpm": bpm, "settled_bpm": bpm, "counted": []},
        "rhythm": {"pattern": pattern, "confidence": sure, "intervals": intervals(bpm, n) if bpm else [], "used_count": n, "mean_interval_s": round(60 / bpm, 4) if bpm else None,
                   "sdnn_ms": 33.9 if bpm else None, "rmssd_ms": 66.7 if bpm else None, "onset_jitter_ms": 2.0},
        "murmur": {"present": present, "detection_limit_db": {"systole": limit[0], "diastole": limit[1]}, "phases": list(phases)},
        "findings": [], "undetermined": undetermined, "caution": "A screening aid."}


def exam(reports, date="2025-03-01", name="Marlow", identifier="GL-0042", species="horse", **examination):
    reports = [reports] if isinstance(reports, dict) else list(reports)
    animal = {k: v for k, v in (("name", name), ("identifier", identifier), ("species", species)) if v is not None}
    known = [r["rate"]["bpm"] for r in reports if r["rate"]["bpm"]]
    return {
        "schema": "girthline.exam.v1", "animal": animal, "examination": {k: v for k, v in dict(date=date, **examination).items() if v is not None}, "signs": {},
        "elsewhere": {},
        "recordings": [{"name": f"r{i}", "side": r["recording"]["side"], "area": r["recording"]["area"],
                        "minutes_after_exercise": r["recording"]["minutes_after_exercise"], "report": r} for i, r in enumerate(reports)],
        "rate": {"bpm": known[0] if known else None}, "rhythm": {"pattern": "regular"}, "murmurs": [], "not_recorded": [], "recovery": [], "findings": [],
        "undetermined": {}, "caution": "A screening aid, not a diagnosis: a licensed veterinarian decides."}


def write(path, value):
    with open(path, "w", encoding="utf-8") as f:
        json.dump(value, f, indent=1)
    return str(path)
