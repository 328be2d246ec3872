# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Samples through a coarse codec and back: adaptive differences of four bits, as telephone and game recorders have used
since the 1990s (IMA, recommended practices, 1992); the step table here is the same geometric growth of 1.1, rounded."""
import array

INDEX = [-1, -1, -1, -1, 2, 4, 6, 8]
STEPS = [7]
while len(STEPS) < 89:
    STEPS.append(min(32767, max(STEPS[-1] + 1, int(STEPS[-1] * 1.1 + 0.5))))


def through_four_bits(frames):
    """16-bit samples (bytes, native order) as they come back."""
    x = array.array("h", frames)
    value, index = 0, 0
    for i, want in enumerate(x):
        step = STEPS[index]
        off = want - value
        code = min(7, abs(off) * 4 // step)
        change = (2 * code + 1) * step // 8
        value = max(-32768, min(32767, value - change if off < 0 else value + change))
        index = max(0, min(88, index + INDEX[code]))
        x[i] = value
    return x.tobytes()
