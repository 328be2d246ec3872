#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""What is said of short clips of real human hearts, by the class that their publishers gave them.

usage: clips.py GIRTHLINE FOLDER

FOLDER has a folder of WAV files for each class of the open set of Yaseen, Son and Kwon 2018 (Applied Sciences 8(12):2344): N (normal),
MR and MVP (a murmur in systole), MS (in diastole). The set is not part of this tree: without the folder the benchmark is passed over
(exit 77). No limit is chosen on it.
"""
import argparse
import glob
import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

PHASES = {'N': None, 'MR': 'systole', 'MVP': 'systole', 'MS': 'diastole'}


def report(program, clip):
    done = subprocess.run([program, 'report', clip, '--species', 'human', '--json', '-'], stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    if done.returncode > 1:
        sys.exit(f'{clip}: {done.stderr.decode()}')
    return json.loads(done.stdout)


def row(kind, reports):
    said = [r['murmur']['present'] for r in reports]
    phases = [[p['phase'] for p in r['murmur']['phases']][:1] for r in reports]
    no_beats = sum(not r['beats'] for r in reports)
    phase = f'{phases.count([PHASES[kind]]):5d}' if PHASES[kind] else '    -'
    lengths = sorted(r['recording']['duration_s'] for r in reports)
    return f'{kind:5s} {len(said):5d} {lengths[0]:5.1f} to {lengths[-1]:3.1f} {said.count(False):5d} {said.count(True):6d} {phase} {said.count(None):6d} {no_beats:8d}'


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument('program')
    ask.add_argument('folder')
    args = ask.parse_args()
    clips = {kind: sorted(glob.glob(os.path.join(glob.escape(args.folder), kind, '*.wav'))) for kind in PHASES}
    if not any(clips.values()):
        print(f'{args.folder}: no clips there, nothing is measured')
        sys.exit(77)
    print('class clips   seconds  none murmur phase  undet. no beats')
    with ThreadPoolExecutor(2) as pool:
        for kind, files in clips.items():
            if files:
                print(row(kind, list(pool.map(lambda clip: report(args.program, clip), files))))


if __name__ == '__main__':
    main()
