# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Intervals of a real heart with early beats, for intervals_208.csv beside this file.

    /usr/bin/python3 intervals_208.py > intervals_208.csv     (needs numpy and scipy; the ECG comes with scipy, nothing is fetched)

The ECG is the open excerpt that scipy carries: record 208 (19:35 to 24:35, lead MLII, 360 Hz) of the MIT-BIH Arrhythmia
Database (Moody and Mark 2001, IEEE Eng Med Biol 20(3):45-50; Goldberger et al. 2000, Circulation 101(23):e215-e220; Open Data
Commons Attribution License). The beats are found here, by a plain detector of steep deflections; the database's own
annotations are not used. Where the electrode moved, beats are hidden or doubled: intervals no ventricle makes are left out
and the next one follows, so the list is of real intervals in their order, but for a few joins. `early` is 1 where the interval is
0.85 or less of the usual one around it (the median of nine).
"""
import sys
import warnings

import numpy as np
from scipy import signal

FS_HZ = 360
BAND_HZ = (5, 22)       # a ventricle's deflection; T waves lie lower
JOIN_S = 0.11           # the energy of one complex, narrow or wide, in one hump
APART_S = 0.28          # no two ventricular beats are closer
LEVEL_S = 8             # the level a hump is held against is the median of the humps this near
SHARE = 0.28            # of that level: smaller humps are T waves and noise
EARLY_RATIO = 0.85
LEAST_S, MOST_S = 0.40, 1.20  # of an interval: the median is 0.57 s; beyond these lie only places where the electrode moved


def electrocardiogram():
    try:
        from scipy import datasets  # scipy 1.10 and later asks the network for it: the packaged file comes first
    except ImportError:
        datasets = None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from scipy.misc import electrocardiogram as carried
            return carried()
    except ImportError:
        return datasets.electrocardiogram()


def beats(ecg):
    sos = signal.butter(2, BAND_HZ, "bandpass", fs=FS_HZ, output="sos")
    band = signal.sosfiltfilt(sos, ecg)
    wide = int(JOIN_S * FS_HZ)
    hump = signal.filtfilt(np.ones(wide) / wide, [1.0], band ** 2)
    peaks, _ = signal.find_peaks(hump, distance=int(APART_S * FS_HZ))
    size = np.sqrt(np.maximum(hump[peaks], 0))
    times = peaks / FS_HZ
    tall = size > 0.5 * np.quantile(size, 0.8)
    kept = []
    for i, t in enumerate(times):
        around = size[(np.abs(times - t) <= LEVEL_S) & tall]
        if len(around) and size[i] >= SHARE * np.median(around):
            kept.append(peaks[i])
    # The centre of the complex's energy: as steady for a wide complex as for a narrow one.
    out = []
    for p in kept:
        a, b = max(0, p - wide), min(len(band), p + wide + 1)
        w = band[a:b] ** 2
        out.append((a + np.sum(w * np.arange(b - a)) / np.sum(w)) / FS_HZ)
    return np.array(out)


def readable(gaps):
    """Without what no ventricle made: too long ones, and too short ones with the one after them."""
    out, skip = [], False
    for gap in gaps:
        if not skip and LEAST_S <= gap <= MOST_S:
            out.append(gap)
        skip = gap < LEAST_S
    return np.array(out)


def early(gaps):
    """True for each interval that is short against the median of the nine around it."""
    flags = []
    for i, gap in enumerate(gaps):
        start = min(max(i - 4, 0), max(len(gaps) - 9, 0))
        flags.append(bool(gap <= EARLY_RATIO * np.median(gaps[start:start + 9])))
    return flags


def main():
    gaps = readable(np.diff(beats(electrocardiogram())))
    if not (len(gaps) > 480 and 95 < 60 / gaps.mean() < 110):
        sys.exit("the intervals are not plausible: %d, mean %.3f s" % (len(gaps), gaps.mean()))
    print("# Intervals of record 208 (19:35 to 24:35) of the MIT-BIH Arrhythmia Database, Open Data Commons Attribution License;")
    print("# Moody and Mark 2001, IEEE Eng Med Biol 20(3):45-50. Found by intervals_208.py, which tells how.")
    print("interval_s,early")
    for gap, e in zip(gaps, early(gaps)):
        print("%.4f,%d" % (gap, e))


if __name__ == "__main__":
    main()
