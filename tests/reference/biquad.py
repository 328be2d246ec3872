#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Prints the scipy figures that tests/unit/base/test_biquad.c holds (numpy and scipy)."""
import numpy as np
from scipy.signal import butter, sosfiltfilt

fs = 2000.0
n = np.arange(400)
x = (0.3 + np.sin(2 * np.pi * 60 * n / fs) + 0.5 * np.sin(2 * np.pi * 333 * n / fs) + (n == 200)).astype(np.float32)
sos = np.vstack([butter(2, 45, "highpass", fs=fs, output="sos"), butter(2, 90, "lowpass", fs=fs, output="sos")])
radius = np.sqrt(sos[:, 5])
pad = int(np.max(np.log(1e-3) / np.log(radius))) + 2
y = sosfiltfilt(sos, x, padtype="odd", padlen=pad)
print("padlen", pad)
for i in (0, 1, 57, 200, 263, 398, 399):
    print(f"    {{{i}, {y[i]:.9f}}},")
