# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""builds.py PROGRAM PROGRAM...: the same recordings through several builds of the program (compilers, optimisation, sanitizers).

No word, truth, null, count or name may differ from the first one's report, and a number by at most one unit in its last printed place,
numbers inside a sentence included. The recordings are simulated, of many species, rhythms, murmurs, noises and rates."""
import concurrent.futures
import json
import os
import re
import subprocess
import sys
import tempfile
from decimal import Decimal

RECORDINGS = {
    'regular': ('horse', '--bpm 36 --seconds 40 --rate-hz 4000 --seed 1'),
    'pauses': ('horse', '--bpm 40 --rhythm pauses --s4 --seconds 45 --rate-hz 8000 --seed 2'),
    'irregular': ('horse', '--bpm 60 --rhythm irregular --seconds 40 --rate-hz 4000 --seed 3'),
    'early': ('horse', '--bpm 38 --rhythm early-beats --seconds 45 --rate-hz 4000 --seed 4'),
    'dog': ('dog', '--bpm 90 --rhythm cyclic --seconds 40 --rate-hz 4000 --seed 5 --split-s2-ms 40'),
    'holo': ('horse', '--bpm 40 --murmur systole_holo_plateau --seconds 40 --rate-hz 8000 --seed 6'),
    'diastole': ('horse', '--bpm 40 --murmur diastole_early_decrescendo --level-db -8 --snr-db 14 --noise breath,gut --seconds 40 --rate-hz 4000 --seed 7'),
    'noisy': ('horse', '--bpm 42 --snr-db 6 --noise breath,handling,hum,wind --seconds 40 --rate-hz 44100 --seed 8'),
    'cat': ('cat', '--bpm 170 --seconds 25 --rate-hz 4000 --seed 9 --click'),
    'long': ('horse', '--bpm 34 --snr-db 10 --noise handling,voice --seconds 260 --rate-hz 2000 --seed 10'),
    'hopeless': ('horse', '--bpm 40 --snr-db -6 --noise wind,voice --seconds 30 --rate-hz 4000 --seed 12'),
    'settling': ('foal', '--bpm 90 --rhythm settling --seconds 60 --rate-hz 4000 --seed 13'),
    'short': ('horse', '--bpm 40 --seconds 5 --rate-hz 4000 --seed 14'),
}
NUMBER = re.compile(r'(?<![A-Za-z0-9:-])\d+(?:\.\d+)?')


class Number(str):
    """As it is printed."""


def run(program, *words):
    done = subprocess.run([program, *words], capture_output=True, check=False)
    if done.returncode > 1:
        sys.exit(f'{program} {" ".join(words)} ended {done.returncode}: {done.stderr.decode()}')
    return done.stdout


def near(a, b):
    """Equal, or one unit apart in the last place printed of either."""
    places = max(len(x.partition('.')[2]) for x in (a, b))
    return a == b or abs(Decimal(a) - Decimal(b)) <= Decimal(1).scaleb(-places)


def sentence_differs(a, b):
    if NUMBER.sub('#', a) != NUMBER.sub('#', b):
        return True
    return not all(near(x, y) for x, y in zip(NUMBER.findall(a), NUMBER.findall(b)))


def differences(a, b, pointer=''):
    """Yields (pointer, a, b, by_more_than_a_unit)."""
    if type(a) is not type(b):
        yield pointer, a, b, True
    elif isinstance(a, dict):
        if list(a) != list(b):
            yield pointer, list(a), list(b), True
        for key in a.keys() & b.keys():
            yield from differences(a[key], b[key], f'{pointer}/{key}')
    elif isinstance(a, list):
        if len(a) != len(b):
            yield pointer, f'{len(a)} items', f'{len(b)} items', True
        for i, (x, y) in enumerate(zip(a, b)):
            yield from differences(x, y, f'{pointer}/{i}')
    elif a != b:
        far = not near(a, b) if isinstance(a, Number) else not isinstance(a, str) or sentence_differs(a, b)
        yield pointer, a, b, far


def report(program, name):
    text = run(program, 'report', name + '.wav', '--species', RECORDINGS[name][0], '--side', 'left', '--area', 'aortic', '--json', '-')
    return json.loads(text, parse_float=Number, parse_int=Number)


def main():
    programs = [os.path.abspath(p) for p in sys.argv[1:]]
    if len(programs) < 2:
        sys.exit(__doc__)
    n_far = n_near = 0
    with tempfile.TemporaryDirectory() as folder, concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        os.chdir(folder)
        for name, (species, words) in RECORDINGS.items():
            run(programs[0], 'synth', name + '.wav', '--species', species, '--quiet', *(w.replace('_', ' ') for w in words.split()))
        jobs = {(program, name): pool.submit(report, program, name) for program in programs for name in RECORDINGS}
        for name in RECORDINGS:
            first = jobs[programs[0], name].result()
            for program in programs[1:]:
                for pointer, a, b, far in differences(first, jobs[program, name].result()):
                    n_far += far
                    n_near += not far
                    print(f'{"DIFFERS" if far else "one unit"}: {name} {pointer}: {a} and, with {program}, {b}')
    print(f'{len(RECORDINGS)} recordings, {len(programs)} builds: {n_near} numbers one unit apart, {n_far} differences beyond that')
    return n_far > 0


if __name__ == '__main__':
    sys.exit(main())
