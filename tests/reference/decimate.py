#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Writes tests/unit/audio/decimate_reference.h: the decimator's outputs by scipy (python3-scipy), in double precision.

From the same specification (pass 700 Hz, 86 dB): the first of two stages as sums of neighbours, each turned to one of its zeros, folded with each other; the
last by scipy.signal.firwin with a Kaiser window, or, where it makes up for a first one, as an integral by scipy.integrate under the same window. They are
applied by scipy.signal.upfirdn; which factors they have, and how many zeros the first, is written here by hand, not taken from the program.
Usage: python3 decimate.py > ../unit/audio/decimate_reference.h
"""
import math
import numpy as np
from scipy import integrate, signal

PASS_HZ, STOP_DB = 700.0, 86.0
CASES = [(8000.0, (2, 6), 2, 3001), (11025.0, (3, 6), 2, 4000), (44100.0, (11, 5), 2, 9000), (46000.0, None, 23, 9000), (192000.0, (32, 4), 3, 40000)]


def comb(fs_hz, factor, n_zeros):
    h = np.ones(1)
    for zero in 2 * math.pi * PASS_HZ / fs_hz * np.cos(math.pi * (2 * np.arange(n_zeros) + 1) / (2 * n_zeros)):
        h = np.convolve(h, np.exp(1j * zero * (np.arange(factor) - (factor - 1) / 2)))
    return h.real / h.real.sum()


def gain(h, f_hz, fs_hz):
    return (h * np.cos(2 * math.pi * f_hz / fs_hz * (np.arange(len(h)) - (len(h) - 1) / 2))).sum()


def taps(fs_hz, factor, before):
    stop_hz = fs_hz / factor - PASS_HZ
    half = math.ceil((STOP_DB - 7.95) / (2.285 * 2 * math.pi * (stop_hz - PASS_HZ) / fs_hz) / 2)
    # Our window reaches 0 one sample beyond its ends; firwin's ends on its last sample: design two longer and cut.
    beta = 0.1102 * (STOP_DB - 8.7)
    n = 2 * half + 1
    h = signal.firwin(n + 2, (PASS_HZ + stop_hz) / 2, window=('kaiser', beta), scale=False, fs=fs_hz)[1:-1]
    if before is not None:
        first, first_hz = before
        for i in range(n):
            whole, _ = integrate.quad(lambda f: 2 / fs_hz / gain(first, f, first_hz), 0, (PASS_HZ + stop_hz) / 2, weight='cos', wvar=2 * math.pi * (i - half) / fs_hz)
            h[i] = whole * np.kaiser(n + 2, beta)[i + 1]
    return h / h.sum()


def decimate(x, fs_hz, first, factor):
    up = first[0] if first else 1
    n_out = math.ceil(len(x) / (up * factor))
    h = comb(fs_hz, *first) if first else np.ones(1)
    stage = taps(fs_hz / up, factor, (h, fs_hz) if first else None)
    spread = np.zeros((len(stage) - 1) * up + 1)  # one long filter at the input's rate (noble identity)
    spread[::up] = stage
    h = np.convolve(h, spread)
    up *= factor
    delay = (len(h) - 1) // 2
    y = np.convolve(x, h)[delay:]
    assert np.allclose(signal.upfirdn(h, x)[delay:][:10], y[:10])
    return y[::up][:n_out]


def noise(n):
    seed, out = 12345, []
    for _ in range(n):
        seed = (seed * 1664525 + 1013904223) % 2**32
        out.append((seed >> 8) / 8388608.0 - 1.0)
    return np.array(out)


print('// SPDX-FileCopyrightText: 2026 The girthline authors\n// SPDX-License-Identifier: MIT')
print('// Written by tests/reference/decimate.py; do not edit.')
print('typedef struct decimate_reference {\n  double fs_hz;\n  size_t n_in, n_out, step, n_kept;\n  double out[64];\n} decimate_reference;\n')
print('static const decimate_reference REFERENCES[] = {')
for fs_hz, first, factor, n in CASES:
    y = decimate(noise(n), fs_hz, first, factor)
    step = max(1, len(y) // 50)
    kept = y[::step][:64]
    print(f'    {{{fs_hz}, {n}, {len(y)}, {step}, {len(kept)},\n     {{{", ".join(repr(float(v)) for v in kept)}}}}},')
print('};\nenum { N_REFERENCES = sizeof REFERENCES / sizeof *REFERENCES };')
