# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""tricks.py GIRTHLINE TABLE: every row of the table of paths through the program itself."""
import fnmatch
import hashlib
import os
import shlex
import shutil
import socket
import stat
import subprocess
import sys
import tempfile

import run

HANGS_S = 60  # far beyond any of these commands: only one that waits for ever is that slow


def digest(path):
    with open(path, 'rb') as f:
        return hashlib.sha256(f.read()).hexdigest()


def listing(folder):
    out = {}
    for base, folders, names in os.walk(folder):
        for name in names + [f for f in folders if os.path.islink(os.path.join(base, f))]:
            path = os.path.join(base, name)
            mode = os.lstat(path).st_mode
            what = digest(path) if stat.S_ISREG(mode) else os.readlink(path) if stat.S_ISLNK(mode) else ''
            out[os.path.relpath(path, folder)] = (stat.S_IFMT(mode), what)
    return out


class Maker:
    """The words of the table's second column."""

    def __init__(self, girthline, heart, report):
        self.girthline, self.heart_path, self.report_path = girthline, heart, report

    def make(self, recipe):
        for step in recipe.split(';'):
            word, _, rest = step.strip().partition(' ')
            if word != '-':
                path, _, more = rest.partition(' ')
                getattr(self, word)(path, more)

    def put(self, path, text):
        with open(path, 'w', encoding='utf-8') as f:
            f.write(text.replace('\\n', '\n'))

    def heart(self, path, _):
        shutil.copy(self.heart_path, path)

    def ours(self, path, _):
        shutil.copy(self.report_path, path)

    def history(self, path, _):
        exam = os.path.join(os.path.dirname(self.report_path), 'exam.json')
        subprocess.run([self.girthline, 'visits', '--db', path, 'add', exam, '--quiet'], check=True)

    def link(self, path, target):
        os.symlink(target, path)

    def hard(self, path, target):
        os.link(target, path)

    def fifo(self, path, _):
        os.mkfifo(path)

    def socket(self, path, _):
        with socket.socket(socket.AF_UNIX) as s:
            s.bind(path)

    def dir(self, path, _):
        os.mkdir(path)


def faults_of(girthline, maker, row):
    name, made, command, code, words, changed = row
    os.mkdir('out')
    maker.heart('heart.wav', '')
    maker.put('foreign.txt', 'mine')
    maker.make(made)
    before = listing('.')
    try:
        done = subprocess.run([girthline, *shlex.split(command)], stdin=subprocess.DEVNULL, capture_output=True, timeout=HANGS_S, check=False)
    except subprocess.TimeoutExpired:
        return ['hangs']
    said, after = done.stderr.decode(), listing('.')
    faults = [f'does not say "{word}": {said}' for word in words.split(';') if word not in said]
    if done.returncode != int(code):
        faults.append(f'ended {done.returncode}, not {code}: {said}')
    if int(code) >= 2 and not said.startswith('girthline'):
        faults.append(f'says {said!r}')
    touched = sorted(path for path in {**before, **after} if before.get(path) != after.get(path))
    patterns = [] if changed == '-' else changed.split()
    faults += [f'changed {path}' for path in touched if not any(fnmatch.fnmatch(path, p) for p in patterns)]
    faults += [f'did not write {p}' for p in patterns if not any(fnmatch.fnmatch(path, p) for path in touched)]
    return faults


def main():
    girthline, table = (os.path.abspath(path) for path in sys.argv[1:])
    rows = list(run.read_table(table))
    bad = 0
    with tempfile.TemporaryDirectory() as top:
        heart, report = os.path.join(top, 'heart.wav'), os.path.join(top, 'report.json')
        subprocess.run([girthline, 'synth', heart, '--seconds', '5', '--bpm', '60', '--rate-hz', '2000', '--snr-db', '30', '--noise', 'none', '--quiet'], check=True)
        subprocess.run([girthline, 'report', heart, '--json', report], check=True)
        exam = os.path.join(top, 'exam.ini')
        with open(exam, 'w', encoding='utf-8') as f:
            f.write('[animal]\nname = Marlow\nidentifier = GL-7\n[examination]\ndate = 2025-03-01\n[recording a]\nfile = heart.wav\n')
        subprocess.run([girthline, 'exam', exam, '--json', os.path.join(top, 'exam.json'), '--quiet'], check=True)
        for i, row in enumerate(rows):
            folder = os.path.join(top, str(i))
            os.mkdir(folder)
            os.chdir(folder)
            faults = faults_of(girthline, Maker(girthline, heart, report), row)
            for fault in faults:
                print(f'{row[0]}: {fault}')
            bad += bool(faults)
        os.chdir('/')
    print(f'{len(rows)} cases, {bad} with faults')
    return 1 if bad or not rows else 0


if __name__ == '__main__':
    sys.exit(main())
