#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""examples.py PROGRAM SAMPLES FOLDER-OF-EXAMPLES: each example of docs/examples, built, is run on a sample recording and says what the
program says of it."""

import array
import json
import os
import re
import subprocess
import sys
import tempfile
import wave

PREFIX = 'example_'


def run(*command, code=0, stdin=None):
    done = subprocess.run(command, input=stdin, capture_output=True, timeout=120)
    if done.returncode != code:
        sys.exit('%s: exit code %d instead of %d\n%s' % (' '.join(command), done.returncode, code, done.stderr.decode()))
    return done.stdout.decode(), done.stderr.decode()


def expect(holds, sentence):
    if not holds:
        sys.exit(sentence)
    print(sentence)


def samples_of(path):
    """The recording's samples as native floats, and its rate."""
    with wave.open(path) as recording:
        numbers = array.array('h', recording.readframes(recording.getnframes()))
        if sys.byteorder == 'big':
            numbers.byteswap()
        return array.array('f', (x / 32768 for x in numbers)).tobytes(), recording.getframerate()


def check(program, samples, folder, scratch):
    def example(name):
        return os.path.join(folder, PREFIX + name)

    recording = os.path.join(samples, 'maren-at-rest.wav')
    want = json.loads(run(program, 'report', recording, '--json', '-')[0])

    out, _ = run(example('analyse_file'), recording)
    rate_bpm = float(re.search(r'^rate: ([0-9.]+) a minute$', out, re.MULTILINE).group(1))
    same_rate = abs(rate_bpm - want['rate']['bpm']) < 0.056  # both are rounded, to 0.1 and to 0.01
    expect('beats: %d\n' % len(want['beats']) in out and same_rate and want['caution'] in out,
           'analyse_file has the beats, the rate and the caution of the report')
    noisy, _ = run(example('analyse_file'), os.path.join(samples, 'quill-noisy.wav'), 'horse')
    expect('rate: not determined\n' in noisy and '/rate/bpm: ' in noisy, 'analyse_file says why there is no rate')
    _, error = run(example('analyse_file'), os.path.join(scratch, 'missing.wav'), code=1)
    expect('missing.wav' in error, 'analyse_file names the file that is not there')
    run(example('analyse_file'), recording, 'unicorn', code=2)

    sound, rate_hz = samples_of(recording)
    out, _ = run(example('push_blocks'), str(rate_hz), stdin=sound)
    onsets = [b['s1']['onset_s'] for b in want['beats'] if b['s1']]
    pushed = [float(line) for line in out.split('\n')[1:-1] if line != 'nan']
    same = len(pushed) == len(onsets) and all(abs(a - b) < 0.0006 for a, b in zip(pushed, onsets)) # both are rounded, to 1 and to 0.1 ms
    expect(len(onsets) > 10 and same, 'push_blocks has the first sounds of the report')
    run(example('push_blocks'), '17', stdin=sound, code=1)

    made, page = os.path.join(scratch, 'made.json'), os.path.join(scratch, 'made.html')
    run(example('write_report'), recording, made, page)
    with open(made, encoding='utf-8') as handle:
        expect(json.load(handle) == want, 'write_report writes the JSON of the program')
    run(program, 'report', recording, '--html', os.path.join(scratch, 'want.html'))
    with open(page, 'rb') as got, open(os.path.join(scratch, 'want.html'), 'rb') as wanted:
        expect(got.read() == wanted.read(), 'write_report writes the page of the program, to the byte')

    several = [os.path.join(samples, name) for name in ('maren-at-rest.wav', 'oriel-pauses.wav', 'quill-noisy.wav')] * 2
    out, _ = run(example('many_threads'), *several)
    lines = out.split('\n')[:-1]
    expect([line.split(': ')[0] for line in lines] == several and lines[:3] == lines[3:], 'many_threads gives each recording its own line, the same twice')


def main():
    program, samples, folder = sys.argv[1:]
    with tempfile.TemporaryDirectory() as scratch:
        check(program, samples, folder, scratch)


if __name__ == '__main__':
    main()
