#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""pipeline.py: draws pipeline.svg, the stages from a file to a report. Standard library only; a test compares the bytes."""
import os
from xml.sax.saxutils import escape

WIDTH, HEIGHT = 960, 940
INK, LINE, PALE, RULE = '#1c2733', '#5b6b7a', '#eef2f4', '#c3ccd3'
LINE_N = 16  # between lines of text

# name: (x, y, width, title, lines); the lines say what goes out, its unit, and the delay.
BOXES = {
    'file': (330, 16, 300, 'a recording', ['a file, or its bytes, or standard input']),
    'audio': (330, 96, 300, 'audio', ['samples at their own rate, 1 to 192 kHz,', 'one channel, full scale 1', 'delay: none']),
    'push': (660, 206, 280, 'quality: push', ['clipping, digital gaps (spans, s)', 'delay: none']),
    'decimate': (330, 206, 300, 'audio: decimate', ['samples near 2 kHz, flat to 700 Hz', 'delay: taken out']),
    'window': (330, 296, 300, 'a window', ['up to 120 s; 20 s shared with the next']),
    'mark': (660, 366, 280, 'quality: mark', ['spoilt spans by kind (s)', 'delay: none']),
    'filter': (20, 366, 280, 'filter', ['two bands; for a horse 30 to 120 Hz', 'delay: none, there and back']),
    'envelope': (20, 476, 280, 'envelope', ['dB over the background, 100 a second', 'power, 400 a second', 'delay: none, symmetric']),
    'segment': (330, 466, 300, 'segment', ['S1 and S2 of every beat: onset, peak,', 'offset (s), confidence (0 to 1);', 'or a refusal with its reason', 'delay: none']),
    'given': (660, 476, 280, 'or sounds given by hand', ['time_s,sound: S1, S2']),
    'extra': (20, 620, 280, 'segment: extra', ['S3, S4, splits, clicks: share of beats,', 'delay_s, level_db', 'delay: none']),
    'murmur': (330, 620, 300, 'murmur', ['present, phase, timing, shape, level (dB),', 'pitch (Hz), detection limit (dB)', 'delay: none']),
    'measure': (660, 620, 280, 'quality: measure', ['heart over noise (dB), breaths a minute,', 'the grade', 'delay: none']),
    'rhythm': (20, 736, 280, 'rhythm', ['rate (a minute), intervals (s),', 'spread (ms), pattern, pauses, early beats']),
    'findings': (330, 754, 300, 'findings', ['sentences with evidence, advice, urgency']),
    'report': (330, 854, 300, 'report', ['the result as JSON, text, page, document,', 'pictures']),
}
# from, to, points between them; straight down where there are none.
ARROWS = [
    ('file', 'audio'), ('audio', 'decimate'), ('decimate', 'window'), ('extra', 'rhythm'), ('murmur', 'findings'), ('findings', 'report'), ('filter', 'envelope'),
]
PATHS = [
    'M630 134 H800 V200', 'M800 264 V360',                     # audio -> push -> mark
    'M630 318 H700 V360', 'M330 318 H160 V360',                # window -> mark, filter
    'M660 394 H645 V440 H520 V460',                            # mark -> segment
    'M300 514 H324', 'M660 500 H636',                          # envelope, given -> segment
    'M480 560 V614', 'M400 560 V590 H160 V614', 'M560 560 V590 H800 V614',  # segment -> three measures
    'M300 776 H324', 'M800 698 V776 H636',                     # rhythm, measure -> findings
]


def height(lines):
    return 30 + LINE_N * len(lines)


def box(x, y, width, title, lines):
    out = [f'<rect x="{x}" y="{y}" width="{width}" height="{height(lines)}" rx="3" fill="{PALE}" stroke="{RULE}"/>',
           f'<text x="{x + 12}" y="{y + 20}" font-weight="bold">{escape(title)}</text>']
    for i, line in enumerate(lines):
        out.append(f'<text x="{x + 12}" y="{y + 20 + LINE_N * (i + 1)}" font-size="12.5">{escape(line)}</text>')
    return out


def down(a, b):
    x = BOXES[a][0] + BOXES[a][2] // 2
    return f'M{x} {BOXES[a][1] + height(BOXES[a][4])} V{BOXES[b][1] - 6}'


def draw():
    out = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" viewBox="0 0 {WIDTH} {HEIGHT}" '
           f'font-family="DejaVu Sans, sans-serif" font-size="14" fill="{INK}" role="img" aria-label="The stages from a recording to a report">',
           '<title>The stages from a recording to a report</title>',
           f'<defs><marker id="tip" viewBox="0 0 8 8" refX="4" refY="4" markerWidth="7" markerHeight="7" orient="auto"><path d="M0 0 L8 4 L0 8 Z" fill="{LINE}"/></marker></defs>',
           f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>']
    for path in [down(a, b) for a, b in ARROWS] + PATHS:
        out.append(f'<path d="{path}" fill="none" stroke="{LINE}" stroke-width="1.3" marker-end="url(#tip)"/>')
    for name in BOXES:
        out += box(*BOXES[name])
    for x, y, words in ((20, 345, 'for each window:'), (20, 818, 'rhythm and findings: at the end, over all beats')):
        out.append(f'<text x="{x}" y="{y}" font-style="italic" fill="{LINE}">{words}</text>')
    return '\n'.join(out + ['</svg>', ''])


if __name__ == '__main__':
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'pipeline.svg'), 'w', encoding='utf-8') as f:
        f.write(draw())
