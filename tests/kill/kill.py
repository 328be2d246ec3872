# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""kill.py GIRTHLINE N: the program killed N times while it works on a set, and N times while it writes a history.

The places of the kills come from a fixed seed, as parts of the time that the work takes, which is learnt on the way: that
time only spreads them over the work; what must hold, holds at any moment. After each kill everything finished is whole; in the end the same
commands give the same bytes as without a kill."""
import json
import os
import random
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', 'unit', 'clinic'))
import made_exam  # noqa: E402

PROGRAM, N_KILLS = os.path.abspath(sys.argv[1]), int(sys.argv[2])
SEED = 2026
TABLES = ('recordings.csv', 'beats.csv', 'reports.ndjson', 'index.html', 'batch.json')
BATCH = ('batch', 'set', '--reports', '--jobs', '2', '--quiet', '--out')


def run(*words, code=0):
    done = subprocess.run([PROGRAM, *words], stdin=subprocess.DEVNULL, capture_output=True, check=False)
    assert done.returncode == code, (words, done.returncode, done.stderr)
    return done.stdout


class Killer:
    """Starts the program and kills it; keeps about as many kills amid the work as runs that were over before."""

    def __init__(self, source, whole_s):
        self.source, self.whole_s, self.n, self.n_amid = source, whole_s, 0, 0

    def run(self, words):
        """None, or the exit code of a run that was over before."""
        process = subprocess.Popen([PROGRAM, *words], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(self.source.uniform(0, 1) * self.whole_s)
        process.kill()
        code = process.wait()
        assert code in (-9, 0), (words, code)
        self.n += 1
        self.n_amid += code < 0
        self.whole_s *= 1.2 if code < 0 else 0.7
        return None if code < 0 else code


def timed(*words):
    begun = time.monotonic()
    run(*words)
    return time.monotonic() - begun


def read(path):
    with open(path, 'rb') as f:
        return f.read()


def tree(folder):
    """Every finished file below: what the batch keeps for itself is hidden."""
    out = {}
    for base, _, names in os.walk(folder):
        for name in names:
            if not name.startswith('.girthline-'):
                path = os.path.join(base, name)
                out[os.path.relpath(path, folder)] = read(path)
    return out


def temporaries(folder):
    return [name for _, _, names in os.walk(folder) for name in names if name.endswith('.tmp')]


# ---- a set

def make_set():
    os.mkdir('set')
    for i in range(5):
        run('synth', f'set/heart{i}.wav', '--seconds', '3', '--rate-hz', '2000', '--seed', str(i), '--quiet')
    with open('set/text.wav', 'w', encoding='utf-8') as f:
        f.write('no sound\n')


def check_finished(folder, whole):
    """A finished file has all its bytes; with batch.json all tables are there."""
    now = tree(folder)
    for name, data in now.items():
        assert whole[name] == data, f'{name} is not whole: {len(data)} bytes of {len(whole[name])}'
    if 'batch.json' in now:
        assert all(name in now for name in TABLES), sorted(now)


def kill_batch(source):
    make_set()
    killer = Killer(source, timed(*BATCH, 'whole'))
    whole = tree('whole')
    folder, n_folders, records = None, 0, 0
    for _ in range(N_KILLS):
        if not folder:
            n_folders += 1
            folder, records = f'out{n_folders}', 0
        code = killer.run((*BATCH, folder))
        if os.path.isdir(folder):
            check_finished(folder, whole)
        journal = os.path.join(folder, '.girthline-batch.journal')
        kept = read(journal).count(b'\nR ') if os.path.exists(journal) else 0
        assert kept >= records - 1, 'a finished row was lost'  # the last may have been torn
        records = kept
        if code == 0:
            folder = None
    for i in range(1, n_folders + 1):
        run(*BATCH, f'out{i}')
        assert tree(f'out{i}') == whole, f'out{i} has other bytes'
        assert not temporaries(f'out{i}'), temporaries(f'out{i}')
    print(f'batch: {killer.n} kills, {killer.n_amid} amid the work, {n_folders} folders')
    assert killer.n_amid


# ---- a history

def db(*words):
    return ('visits', '--db', 'v.db', *words)


def kept_visits():
    """date -> (number, examination): the history as it stands; whole, or this fails."""
    if not os.path.exists('v.db'):
        return {}
    check = subprocess.run([PROGRAM, *db('check', '--quiet')], capture_output=True, check=False)
    if check.returncode == 5 and b'no visit history was begun in it' in check.stderr:
        return {}  # killed while the file was begun
    assert check.returncode == 0, check.stderr
    lines = [json.loads(line) for line in run(*db('export', '--lines')).splitlines()]
    return {line['exam']['examination']['date']: (line['id'], line['exam']) for line in lines}


def make_exams(n):
    for i in range(n):
        for name, bpm in ((f'e{i}.json', 30 + i % 20), (f'changed{i}.json', 31 + i % 20)):
            made_exam.write(name, made_exam.exam(made_exam.report(bpm=bpm, n=200), date=f'{2000 + i // 12}-{i % 12 + 1:02}-01'))


def load(name):
    with open(name, encoding='utf-8') as f:
        return json.load(f)


def copies():
    return [load(name) for name in os.listdir('.') if name.startswith('v.db.visit-')]


def one_write(killer, i, before):
    """An addition, a correction or a removal, killed."""
    exam = load(f'e{i}.json')
    date = exam['examination']['date']
    kind = killer.source.choice(('add', 'replace', 'remove')) if date in before else 'add'
    words = {'add': db('add', f'e{i}.json', '--replace'), 'replace': db('add', f'changed{i}.json', '--replace'),
             'remove': db('remove', str(before[date][0]) if date in before else '1', '--yes')}[kind]
    after = {'add': exam, 'replace': load(f'changed{i}.json'), 'remove': None}[kind]
    code = killer.run(words)
    now = kept_visits()
    assert {d: e for d, (_, e) in now.items() if d != date} == {d: e for d, (_, e) in before.items() if d != date}, 'another visit changed'
    got, was = now.get(date, (0, None))[1], before.get(date, (0, None))[1]
    assert got == after or (code is None and got == was), f'{kind}: neither as before nor as after'
    if kind == 'remove' and got is None:
        assert was in copies(), 'removed without a copy'


def kill_visits(source):
    n_exams = 12
    make_exams(n_exams)
    killer = Killer(source, timed('visits', '--db', 'time.db', 'add', 'e0.json'))
    for _ in range(N_KILLS):
        one_write(killer, source.randrange(n_exams), kept_visits())
    assert not temporaries('.') or all(name.startswith('.girthline-') for name in temporaries('.'))
    for i in range(n_exams):
        run(*db('add', f'e{i}.json', '--replace'))
    assert {d: e for d, (_, e) in kept_visits().items()} == {load(f'e{i}.json')['examination']['date']: load(f'e{i}.json') for i in range(n_exams)}
    print(f'visits: {killer.n} kills, {killer.n_amid} amid the work')
    assert killer.n_amid


def main():
    for work in (kill_batch, kill_visits):
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            work(random.Random(SEED))
            os.chdir('/')


if __name__ == '__main__':
    main()
