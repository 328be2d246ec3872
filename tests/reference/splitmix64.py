#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""The first five numbers of splitmix64 (Steele, Lea and Flood 2014) for the seed 1234567, in exact integers."""

MASK = (1 << 64) - 1
state = 1234567
for _ in range(5):
    state = (state + 0x9E3779B97F4A7C15) & MASK
    z = state
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & MASK
    print(z ^ (z >> 31))
