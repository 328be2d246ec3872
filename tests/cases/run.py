# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""run.py GIRTHLINE TABLE: every row of the bad-input table through the program itself."""
import json
import os
import shlex
import subprocess
import sys
import tempfile
import threading

import inputs

HEART_BPM = 36.0  # what inputs.py asks synth for; the summary rounds


def read_table(path):
    with open(path, encoding='utf-8') as f:
        for line in f:
            if line.strip() and not line.startswith('#'):
                yield [cell.strip() for cell in line.rstrip('\n').split('|')]


def listing(folder):
    """Every file below, with its length and time of change: what a refused run must leave as it was."""
    out = {}
    for base, _, names in os.walk(folder):
        for name in names:
            path = os.path.join(base, name)
            out[os.path.relpath(path, folder)] = (os.stat(path).st_size, os.stat(path).st_mtime_ns)
    return out


class Grower(threading.Thread):
    """Appends sound to a file until told to stop, as a recorder at work does."""

    def __init__(self, path, sound):
        super().__init__()
        self.path, self.sound, self.done = path, sound, threading.Event()

    def run(self):
        with open(self.path, 'ab', buffering=0) as f:
            for at in range(0, len(self.sound), 2000):
                if self.done.wait(0.002):
                    return
                f.write(self.sound[at:at + 2000])


def nulls(value, pointer=''):
    if value is None:
        yield pointer
    elif isinstance(value, dict):
        for key, inner in value.items():
            if pointer or key != 'undetermined':
                yield from nulls(inner, f'{pointer}/{key}')
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from nulls(inner, f'{pointer}/{i}')


def unusable_faults(report):
    """A recording without a heart: nothing is claimed, and each silence says why."""
    reasons = report['undetermined']
    claims = {
        'rate.bpm': report['rate']['bpm'], 'murmur.present': report['murmur']['present'],
        'systolic limit': report['murmur']['detection_limit_db']['systole'], 'diastolic limit': report['murmur']['detection_limit_db']['diastole'],
        'heart to noise': report['quality']['heart_to_noise_db'], 'beats': report['beats'] or None, 'extra sounds': report['extra_sounds'] or None,
    }
    for name, value in claims.items():
        if value is not None:
            yield f'{name} is {value}'
    if report['quality']['grade'] != 'unusable':
        yield f"graded {report['quality']['grade']}"
    if report['rhythm']['pattern'] != 'undetermined':
        yield f"rhythm {report['rhythm']['pattern']}"
    for pointer in ('/rate/bpm', '/murmur/present', '/rhythm/pattern'):
        if len(reasons.get(pointer, '')) < 20:
            yield f'no reason for {pointer}'
    for finding in report['findings']:
        if finding['urgency'] != 'routine':
            yield f"urgent without a heart: {finding['text']}"


def report_faults(report, code):
    for pointer in nulls(report):
        if pointer not in report['undetermined']:
            yield f'{pointer} is null without a reason'
    if code == 1:
        yield from unusable_faults(report)
    elif abs(report['rate']['bpm'] - HEART_BPM) > 1:
        yield f"a rate of {report['rate']['bpm']}"


class Case:
    def __init__(self, girthline, row, folder):
        self.girthline = girthline
        self.name, self.input, command, code, words, written = row
        self.in_path, self.out = os.path.join(folder, 'in.wav'), os.path.join(folder, 'out')
        self.folder = folder
        os.mkdir(self.out)
        self.maker = inputs.Maker(girthline, folder)
        names = {'in': self.in_path, 'out': self.out, 'heart': self.maker.heart()}
        self.command = [word.format(**names) for word in shlex.split(command)]
        self.code = int(code)
        self.words = [w.format(**names) for w in words.split(';') if w]
        self.written = [] if written == '-' else written.split()

    def run(self):
        """Faults, or None where this machine cannot show the case."""
        grower = None
        if self.input == 'growing':
            self.maker.make('heart', self.in_path)
            with open(self.maker.heart(), 'rb') as f:
                grower = Grower(self.in_path, f.read()[44:])
            grower.start()
        else:
            self.maker.make(self.input, self.in_path)
        if self.name == 'output folder read-only':
            os.chmod(self.out, 0o555)
            if os.access(self.out, os.W_OK):
                return None
        before = listing(self.folder)
        done = subprocess.run([self.girthline, *self.command], stdin=subprocess.DEVNULL, capture_output=True, check=False)
        if grower:
            grower.done.set()
            grower.join()
        os.chmod(self.out, 0o755)
        return list(self.faults(done, before))

    def faults(self, done, before):
        said, shown = done.stderr.decode(), done.stdout.decode()
        if done.returncode != self.code:
            yield f'ended {done.returncode}, not {self.code}'
        place = said if self.code >= 2 else ' '.join(shown.split())
        for word in self.words:
            if word not in place:
                yield f'does not say "{word}"'
        if self.code >= 2 and (said.count('\n') != 1 + len(self.written) or not said.startswith('girthline: ')):
            yield 'not one sentence'
        if self.code >= 2 and shown and not self.written:
            yield f'printed {shown[:60]!r}'
        after = listing(self.folder)
        if sorted(os.listdir(self.out)) != sorted(self.written):
            yield f'left {sorted(os.listdir(self.out))}'
        if self.input != 'growing' and {k: v for k, v in after.items() if not k.startswith('out/')} != before:
            yield 'touched what it was given'
        for name in self.written:
            yield from self.whole(os.path.join(self.out, name))

    def whole(self, path):
        with open(path, encoding='utf-8') as f:
            text = f.read()
        if path.endswith('.json'):
            yield from report_faults(json.loads(text), self.code)
        elif not text.rstrip().endswith('</html>'):
            yield f'{os.path.basename(path)} is not whole'


def main():
    girthline, table = sys.argv[1:]
    os.environ.update(LC_ALL='C.UTF-8', COLUMNS='80')
    bad = ran = 0
    for row in read_table(table):
        with tempfile.TemporaryDirectory() as folder:
            faults = Case(girthline, row, folder).run()
        ran += 1
        if faults is None:
            print(f'skipped: {row[0]}: this user may write anywhere (root)')
        for fault in faults or []:
            print(f'{row[0]}: {fault}')
        bad += bool(faults)
    print(f'{ran} cases, {bad} with faults')
    return 1 if bad or not ran else 0


if __name__ == '__main__':
    sys.exit(main())
