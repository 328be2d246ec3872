#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Writes fft.h: real Fourier transforms by scipy.fft.rfft (double precision) of a signal any language can make again.

    python3 tests/reference/fft.py > tests/reference/fft.h      (made with scipy 1.10.1)
"""

import numpy as np
import scipy.fft

LENGTHS = (2, 16, 30, 50)  # the shortest, a power of two, 2*3*5, 2*5*5


def signal(n):
    """x[i] = ((7 i^2 + 3 i + 1) mod 31) / 16 - 1: exact in a float."""
    i = np.arange(n)
    return ((7 * i * i + 3 * i + 1) % 31) / 16 - 1


print('// SPDX-FileCopyrightText: 2026 The girthline authors')
print('// SPDX-License-Identifier: MIT')
print('// Written by fft.py: scipy.fft.rfft of x[i] = ((7 i^2 + 3 i + 1) mod 31) / 16 - 1, pairs (real, imaginary).')
for n in LENGTHS:
    print(f'static const double RFFT_{n}[{2 * (n // 2 + 1)}] = {{')
    for z in scipy.fft.rfft(signal(n)):
        print(f'    {z.real:.17g}, {z.imag:.17g},')
    print('};')
