# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""speed.py GIRTHLINE READ_THROUGH [--into PAGE.md] [--quick]: how fast, as ratios, all made and measured in this call.

One hour of 44.1 kHz against reading it through with sf_readf_float; 24 hours of 4 kHz against one; two jobs against one; and the peak
memory of each. Goals are held by the clock, which is what a user waits for: run it on a quiet machine of two processors or more. Processor
time, of all threads together, stands beside it: a busy machine hardly tells there. The least of three, but for the day. Ends with 1 where a
goal is missed. --quick: a tenth of every length, and no goals."""
import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import table  # noqa: E402

TRIES = 3
N_SET = 24  # recordings of the batch


def measure(*words):
    """(processor seconds, seconds by the clock, peak MiB) of one run."""
    start = time.monotonic()
    pid = os.posix_spawn(words[0], words, os.environ, file_actions=((os.POSIX_SPAWN_OPEN, 1, '/dev/null', os.O_WRONLY, 0),))
    _, status, usage = os.wait4(pid, 0)
    clock_s = time.monotonic() - start
    if os.waitstatus_to_exitcode(status) > 1:
        sys.exit(f'{" ".join(words)} ended {os.waitstatus_to_exitcode(status)}')
    return usage.ru_utime + usage.ru_stime, clock_s, usage.ru_maxrss / 1024


def least(runs):
    return min(r[0] for r in runs), min(r[1] for r in runs), max(r[2] for r in runs)


def best(*words, tries=TRIES):
    return least([measure(*words) for _ in range(tries)])


def ratio(one, other):
    return one[0] / other[0], one[1] / other[1]


class Bench:
    def __init__(self, girthline, reader, quick):
        self.girthline, self.reader, self.scale = girthline, reader, 0.1 if quick else 1
        self.rows, self.missed = [], []

    def made(self, name, hours, rate_hz):
        subprocess.run([self.girthline, 'synth', name, '--seconds', str(round(3600 * hours * self.scale)), '--rate-hz', str(rate_hz), '--bpm', '40', '--noise',
                        'breath,gut,handling', '--snr-db', '15', '--seed', '7', '--quiet'], check=True)

    def add_row(self, what, clock, processor, goal, unit, least=False):
        holds = goal is None or (clock >= goal if least else clock <= goal)
        if not holds:
            self.missed.append(what)
        wanted = '' if goal is None else f'{"at least" if least else "at most"} {goal:g} {unit}'.strip()
        self.rows.append((what, f'{clock:.2f} {unit}', '' if processor is None else f'{processor:.2f} {unit}', wanted if holds else wanted + ', **missed**'))

    def add(self, what, times, unit, goal=None, least=False):
        """times: in processor time, by the clock. A goal is the most, or the least, that may come out by the clock."""
        self.add_row(what, times[1], times[0], goal, unit, least)

    def add_memory(self, what, mib, goal):
        self.add_row(what, mib, None, goal, 'MiB')

    def report(self, name, tries=TRIES):
        return best(self.girthline, 'report', name, '--json', 'out.json', '--force', '--quiet', tries=tries)

    def an_hour_of_sound(self):
        self.made('hour.wav', 1, 44100)
        read = best(self.reader, 'hour.wav')
        run = self.report('hour.wav')
        os.remove('hour.wav')
        self.add('1 h at 44.1 kHz read through (sf_readf_float)', read, 's')
        self.add('1 h at 44.1 kHz analysed to JSON, hash included', run, 's')
        self.add('the second against the first', ratio(run, read), 'times', 3)
        self.add_memory('its peak memory', run[2], 32)

    def a_day_of_sound(self):
        self.made('hour.wav', 1, 4000)
        hour = self.report('hour.wav')
        os.remove('hour.wav')
        self.made('day.wav', 24, 4000)
        day = self.report('day.wav', tries=1)
        os.remove('day.wav')
        self.add('1 h at 4 kHz', hour, 's')
        self.add('24 h at 4 kHz', day, 's')
        self.add('the second against the first', ratio(day, hour), 'times', 26)
        self.add_memory('peak memory of the day', day[2], 64)

    def two_jobs(self):
        os.mkdir('set')
        for i in range(N_SET):
            subprocess.run([self.girthline, 'synth', f'set/{i:02}.wav', '--seconds', str(round(300 * self.scale)), '--rate-hz', '8000', '--seed', str(i), '--quiet'], check=True)
        runs = {1: [], 2: []}
        for k in range(TRIES):
            for jobs in runs:
                runs[jobs].append(measure(self.girthline, 'batch', 'set', '--out', f'out{jobs}{k}', '--jobs', str(jobs), '--quiet'))
        one, two = (least(runs[jobs]) for jobs in (1, 2))
        self.add(f'{N_SET} recordings of 5 min, one job', one, 's')
        self.add('two jobs', two, 's')
        self.add('as fast as one', (None, one[1] / two[1]), 'times', 1.8, least=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument('girthline')
    parser.add_argument('reader')
    parser.add_argument('--into', metavar='PAGE.md')
    parser.add_argument('--quick', action='store_true')
    given = parser.parse_args()
    page = given.into and os.path.abspath(given.into)
    bench = Bench(os.path.abspath(given.girthline), os.path.abspath(given.reader), given.quick)
    if shutil.disk_usage(tempfile.gettempdir()).free < 2e9:
        sys.exit('2 GB of room are needed in the folder for temporary files')
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        bench.an_hour_of_sound()
        bench.a_day_of_sound()
        bench.two_jobs()
        os.chdir('/')
    text = table.markdown(('what', 'measured (times: by the clock)', 'the same in processor time', 'goal'), bench.rows) + f'\nMeasured on {table.processor()}; load {os.getloadavg()[0]:.1f} at the end.\n'
    print(text, end='')
    if page and not given.quick:
        table.put(page, 'speed', text)
    if given.quick:
        return 0
    for what in bench.missed:
        print('missed:', what)
    return 1 if bench.missed else 0


if __name__ == '__main__':
    sys.exit(main())
