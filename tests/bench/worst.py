#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""What the costliest sound costs: memory and processor time of sounds made to be hard, against a heart of the same length and rate.

usage: worst.py GIRTHLINE [--time] [--seconds N]

Without --time only memory is held to its bound (a test: the same on any machine); with it processor time is too (a benchmark).
Checked builds are too heavy to weigh and are passed over (exit 77).
"""
import argparse
import math
import os
import random
import struct
import subprocess
import sys
import tempfile

MOST_MEMORY_RATIO, MEMORY_SLACK_KIB = 1.5, 4096  # of a heart's; what an ordinary heart differs by from another
MOST_TIME_RATIO = 6.0                             # a choice: an hour must not become a night
CHECKED_KIB = 60000                               # more for a heart of two minutes: a build with a sanitizer in it


def noise(n, fs_hz, rng):
    return [rng.uniform(-0.5, 0.5) for _ in range(n)]


def clicks(per_s):
    def make(n, fs_hz, rng):
        x = [rng.uniform(-0.001, 0.001) for _ in range(n)]
        for k in range(int(n / fs_hz * per_s)):
            x[int(k * fs_hz / per_s)] = 0.8
        return x
    return make


def jittered(per_s):
    def make(n, fs_hz, rng):
        x, at = [rng.uniform(-0.001, 0.001) for _ in range(n)], 0.0
        while at < n - 1:
            x[int(at)] = rng.uniform(-0.9, 0.9)
            at += fs_hz / per_s * rng.uniform(0.3, 1.7)
        return x
    return make


def tone(hz):
    return lambda n, fs_hz, rng: [0.5 * math.sin(2 * math.pi * hz * i / fs_hz) for i in range(n)]


def chirp(n, fs_hz, rng):
    return [0.5 * math.sin(2 * math.pi * (20 + 400.0 * i / n) * i / fs_hz) for i in range(n)]


def square(hz):
    return lambda n, fs_hz, rng: [0.9 if i * hz / fs_hz % 1 < 0.5 else -0.9 for i in range(n)]


def bursts(n, fs_hz, rng):
    """Noise that swells and falls at every rate a heart can have, one after the other."""
    phase, x = 0.0, []
    for i in range(n):
        phase += (0.3 + 5.0 * i / n) / fs_hz
        x.append(rng.uniform(-0.8, 0.8) * max(0.0, math.sin(2 * math.pi * phase)) ** 8)
    return x


def torn(n, fs_hz, rng):
    """Sound and nothing in turns of a third of a second: as many spans as there can be."""
    return [rng.uniform(-0.9, 0.9) if int(i * 3 / fs_hz) % 2 else 0.0 for i in range(n)]


def walk(n, fs_hz, rng):
    x, at = [], 0.0
    for _ in range(n):
        at = 0.999 * at + rng.uniform(-0.05, 0.05)
        x.append(max(-0.99, min(0.99, at)))
    return x


def silence(n, fs_hz, rng):
    return [0.0] * n


HARD = {
    'noise': noise, 'silence': silence, 'walk': walk, 'chirp': chirp, 'bursts': bursts, 'torn': torn, 'tone 40 Hz': tone(40), 'tone 120 Hz': tone(120),
    'clicks 1 a second': clicks(1), 'clicks 8 a second': clicks(8), 'clicks 60 a second': clicks(60), 'impulses every 5 s': clicks(0.2),
    'jittered clicks': jittered(3), 'jittered clicks, dense': jittered(25), 'square 1.5 Hz': square(1.5), 'square 4 Hz': square(4), 'square 33 Hz': square(33),
}


def write_wav(path, x, fs_hz):
    data = struct.pack('<%dh' % len(x), *(round(32767 * v) for v in x))
    with open(path, 'wb') as f:
        f.write(struct.pack('<4sI8sIHHIIHH4sI', b'RIFF', len(data) + 36, b'WAVEfmt ', 16, 1, 1, fs_hz, 2 * fs_hz, 2, 16, b'data', len(data)) + data)


def make_apart(make, path, n, fs_hz):
    """In a process of its own: a program begins with the memory of what started it as its peak."""
    child = os.fork()
    if not child:
        write_wav(path, make(n, fs_hz, random.Random(7)), fs_hz)
        os._exit(0)
    assert os.waitpid(child, 0)[1] == 0


def cost(program, path, species):
    """(seconds of processor time, largest KiB)"""
    process = subprocess.Popen([program, 'report', path, '--species', species, '--json', os.devnull, '--force', '--quiet'], stdout=subprocess.DEVNULL,
                               stderr=subprocess.PIPE)
    said = process.stderr.read().decode()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        sys.exit('%s ended with %d: %s' % (path, process.returncode, said))
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('program')
    parser.add_argument('--time', action='store_true')
    parser.add_argument('--seconds', type=int, default=130)
    args = parser.parse_args()
    program, worst = os.path.abspath(args.program), 0
    rates = ((2000, 'horse'), (8000, 'dog'), (44100, 'foal')) if args.time else ((2000, 'horse'),)
    with tempfile.TemporaryDirectory(prefix='girthline-worst-') as folder:
        path = os.path.join(folder, 'x.wav')
        for fs_hz, species in rates:
            subprocess.run([program, 'synth', path, '--species', species, '--seconds', str(args.seconds), '--rate-hz', str(fs_hz), '--seed', '3', '--quiet', '--force'],
                           check=True)
            usual_s, usual_kib = cost(program, path, species)
            if usual_kib > CHECKED_KIB:
                print('passed over: a build with a checker in it')
                return 77
            print('%6d Hz  %-24s %7.2f s %8d KiB' % (fs_hz, 'a heart (%s)' % species, usual_s, usual_kib))
            for name, make in HARD.items():
                make_apart(make, path, args.seconds * fs_hz, fs_hz)
                took_s, kib = cost(program, path, species)
                heavy = kib > MOST_MEMORY_RATIO * usual_kib + MEMORY_SLACK_KIB
                slow = args.time and took_s > MOST_TIME_RATIO * usual_s
                worst |= heavy or slow
                print('%6d Hz  %-24s %7.2f s %8d KiB%s%s' % (fs_hz, name, took_s, kib, '  TOO MUCH MEMORY' if heavy else '', '  TOO SLOW' if slow else ''), flush=True)
    return int(worst)


if __name__ == '__main__':
    sys.exit(main())
