# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""damaged.py GIRTHLINE TABLE: every row of the table of damaged recordings through the program itself: the exit code, one
sentence with its words, or a report with as many frames as can be read. The language of the recipes stands at the table's top."""
import json
import math
import os
import struct
import subprocess
import sys
import tempfile

import run

EXIT_INPUT = 3


def noise(n):
    seed = 1
    for _ in range(n):
        seed = (seed * 1664525 + 1013904223) & 0xffffffff
        yield seed >> 24


def format_chunk(text):
    tag, channels, rate_hz, bits = (int(word) for word in text.split(','))
    frame = channels * ((bits + 7) // 8)
    return b'fmt ' + struct.pack('<IHHIIHH', 16, tag, channels, rate_hz, rate_hz * frame & 0xffffffff, frame, bits)


def piece(token):
    kind, _, rest = token.partition(':')
    if token[0] == "'":
        return token[1:].split("'")[0].replace('_', ' ').encode()
    if kind[:2] in ('le', 'be'):
        n = int(kind[2:]) // 8
        return (int(rest) & (1 << 8 * n) - 1).to_bytes(n, 'little' if kind[0] == 'l' else 'big')
    if kind == 'x':
        return bytes.fromhex(rest)
    if kind == 'fmt':
        return format_chunk(rest)
    if kind == 'f32':
        return struct.pack(f'<{rest.count(",") + 1}f', *(float(word) for word in rest.split(',')))
    if kind == 'sine':
        return b''.join(struct.pack('<h', round(8000 * math.sin(i * 0.1))) for i in range(int(rest)))
    return bytes(int(rest)) if kind == 'zero' else bytes(noise(int(rest)))


def faults_of(girthline, expected, words):
    done = subprocess.run([girthline, 'report', 'bella.wav', '--json', 'r.json', '--text', 'r.txt'], stdin=subprocess.DEVNULL, capture_output=True, timeout=60, check=False)
    said = done.stderr.decode()
    if expected[0] != 'ok':
        if done.returncode != EXIT_INPUT:
            yield f'ended {done.returncode}: {said}'
        if said.count('\n') != 1 or 'bella.wav' not in said:
            yield f'not one sentence with the name: {said!r}'
        yield from (f'does not say "{word}": {said}' for word in words.split(',') if word not in said)
        if os.path.exists('r.json') or os.path.exists('r.txt'):
            yield 'a report is written'
        return
    if done.returncode not in (0, 1) or said:
        yield f'ended {done.returncode}: {said}'
        return
    with open('r.json', encoding='utf-8') as f:
        report = json.load(f)
    recording = report['recording']
    if abs(recording['duration_s'] * recording['sample_rate_hz'] - int(expected[1])) > 0.5e-3 * recording['sample_rate_hz'] + 1e-6:
        yield f"{recording['duration_s']} s at {recording['sample_rate_hz']} Hz"
    with open('r.txt', encoding='utf-8') as f:
        if ('mended' in f.read()) != ('mended' in expected):
            yield 'says wrongly whether it was mended'
    yield from (f'{pointer} is null without a reason' for pointer in run.nulls(report) if pointer not in report['undetermined'])


def main():
    girthline, table = (os.path.abspath(path) for path in sys.argv[1:])
    n = bad = 0
    for name, expected, words, recipe in run.read_table(table):
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            with open('bella.wav', 'wb') as f:
                f.write(b''.join(piece(token) for token in recipe.split()))
            faults = list(faults_of(girthline, expected.split(), words))
            os.chdir('/')
        for fault in faults:
            print(f'{name}: {fault}')
        n += 1
        bad += bool(faults)
    print(f'{n} forms, {bad} with faults')
    return 1 if bad or n < 60 else 0


if __name__ == '__main__':
    sys.exit(main())
