#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""A batch of short hearts, noise and what is no recording by four threads, under the thread checker: not one warning, and the same
tables as by one thread. And each TEST, a program that shares work out among threads.

usage: threads.py GIRTHLINE TEST...    (built with -fsanitize=thread)
"""
import os
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
TESTS = [os.path.abspath(name) for name in sys.argv[2:]]
HERE = os.path.dirname(os.path.abspath(__file__))
N_RECORDINGS = 10
TABLES = ('recordings.csv', 'beats.csv', 'reports.ndjson', 'index.html')


def prefix():
    """Old sanitizer runtimes cannot stand today's spread of addresses."""
    command = ['setarch', os.uname().machine, '-R']
    return command if subprocess.run(command + ['true'], stderr=subprocess.DEVNULL).returncode == 0 else []


def run(*args, program=PROGRAM):
    options = 'suppressions=%s:exitcode=66:halt_on_error=0' % os.path.join(HERE, 'support', 'threads.supp')
    done = subprocess.run(prefix() + [program, *args], env=dict(os.environ, TSAN_OPTIONS=options), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    said = done.stderr.decode(errors='replace')
    if done.returncode or 'ThreadSanitizer' in said:
        print(said[:8000])
        sys.exit('%s: ended with %d' % (' '.join((program, *args)), done.returncode))


def main():
    for test in TESTS:
        run(program=test)
    with tempfile.TemporaryDirectory(prefix='girthline-threads-') as folder:
        inputs = os.path.join(folder, 'in')
        os.mkdir(inputs)
        for i in range(N_RECORDINGS):
            run('synth', os.path.join(inputs, 'heart-%d.wav' % i), '--species', 'dog', '--seconds', '3', '--rate-hz', str((4000, 2000, 8000)[i % 3]),
                '--seed', str(i + 1), '--quiet')
        with open(os.path.join(inputs, 'torn.flac'), 'wb') as f:
            f.write(b'fLaC torn')
        for jobs, more in (('4', ['--reports']), ('1', ['--reports'])):
            out = os.path.join(folder, jobs)
            os.mkdir(out)
            run('batch', inputs, '--out', out, '--jobs', jobs, '--quiet', *more)
        for name in TABLES:
            with open(os.path.join(folder, '4', name), 'rb') as one, open(os.path.join(folder, '1', name), 'rb') as other:
                assert one.read() == other.read(), '%s differs with the number of threads' % name


main()
