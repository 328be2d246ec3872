#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Fuzzes each target with libFuzzer under the address and undefined-behaviour sanitizers.

usage: python3 tests/fuzz/run.py MINUTES [TARGET...]

Builds with clang into build-fuzz and fuzzes each target (all of them without TARGET) for MINUTES, one after the other, on one core. Each
begins with its files under corpus/ and with what earlier runs found worth keeping (build-fuzz/kept/TARGET). Bytes that break something
are written to build-fuzz/broken/TARGET-*; once it is mended they belong into the corpus. Exit code: 0 nothing broke, 1 something did,
77 clang or its fuzzer is not there.
"""

import os
import re
import shutil
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
BUILD = os.path.join(ROOT, 'build-fuzz')
# Bytes at most: a few seconds of sound, a few pages of text. The time is shared out among several lengths: short recordings are a header
# and little to analyse, many a second; long ones have beats.
LONGEST = {'annotation': 3000, 'examination': 4000, 'history': 20000, 'journal': 4000, 'list': 3000, 'page': 400, 'recording': (1500, 10500), 'report_json': 8000, 'settings': 3000}
RUN_S = 25  # a single input that takes longer hangs (milliseconds are usual)
MEMORY_MB = 3000
RESTARTS = 5  # after a finding, for as long as time is left

# Without trace-cmp: numbers are compared so often that it takes two thirds of the time. Strings are seen by their own functions.
COVERAGE = '-fsanitize=fuzzer-no-link -fno-sanitize-coverage=trace-cmp'


def build(targets):
    if not shutil.which('clang'):
        sys.exit(77)
    os.makedirs(BUILD, exist_ok=True)
    log = os.path.join(BUILD, 'build.log')
    with open(log, 'w') as out:
        if not os.path.exists(os.path.join(BUILD, 'build.ninja')):
            setup = ['meson', 'setup', BUILD, ROOT, '-Dbuildtype=debugoptimized', '-Db_ndebug=false', '-Db_lundef=false',
                     '-Db_sanitize=address,undefined', '-Dc_args=' + COVERAGE]
            subprocess.run(setup, env=dict(os.environ, CC='clang'), stdout=out, stderr=out, check=True)
        names = ['tests/fuzz/fuzz_' + t for t in targets]
        done = subprocess.run(['ninja', '-C', BUILD] + names, stdout=out, stderr=out)
    if done.returncode:
        text = open(log).read()
        print(text[-2000:])
        sys.exit(77 if 'unknown target' in text else 1)


def without_random_addresses():
    """Old sanitizer runtimes cannot stand today's spread of addresses."""
    prefix = ['setarch', os.uname().machine, '-R']
    return prefix if subprocess.run(prefix + ['true'], stderr=subprocess.DEVNULL).returncode == 0 else []


def environment():
    return dict(os.environ, LSAN_OPTIONS='suppressions=%s:print_suppressions=0' % os.path.join(ROOT, 'tests/support/leaks.supp'),
                UBSAN_OPTIONS='halt_on_error=1:abort_on_error=1:print_stacktrace=1')


def runs_in(log):
    """How many inputs a log tells of: the number at the head of its last line of progress."""
    last = 0
    for line in open(log, errors='replace'):
        progress = re.match(r'#(\d+)\s', line)
        if progress:
            last = int(progress[1])
    return last


def fuzz(target, seconds, prefix):
    """(inputs tried, findings)"""
    longest = LONGEST.get(target, 4000)
    lengths = longest if isinstance(longest, tuple) else (longest,)
    rounds = [fuzz_up_to(n, target, seconds / len(lengths), prefix) for n in lengths]
    return tuple(sum(each) for each in zip(*rounds))


def fuzz_up_to(n_bytes, target, seconds, prefix):
    kept, broken = os.path.join(BUILD, 'kept', target), os.path.join(BUILD, 'broken')
    os.makedirs(kept, exist_ok=True)
    os.makedirs(broken, exist_ok=True)
    until, tried, found = time.time() + seconds, 0, 0
    for k in range(RESTARTS + 1):
        left = int(until - time.time())
        if left < 1:
            break
        log = os.path.join(BUILD, '%s-%d-%d.log' % (target, n_bytes, k))
        command = [os.path.join(BUILD, 'tests/fuzz/fuzz_' + target), '-max_total_time=%d' % left, '-max_len=%d' % n_bytes,
                   '-timeout=%d' % RUN_S, '-rss_limit_mb=%d' % MEMORY_MB, '-artifact_prefix=%s/%s-' % (broken, target), kept,
                   os.path.join(HERE, 'corpus', target)]
        with open(log, 'w') as out:
            code = subprocess.run(prefix + command, env=environment(), stdout=out, stderr=out).returncode
        tried += runs_in(log)
        if code == 0:
            break
        found += 1
        print('%s broke: %s' % (target, log))
    return tried, found


def main(arguments):
    if not arguments or not arguments[0].replace('.', '', 1).isdigit():
        print(__doc__)
        return 2
    known = sorted(os.listdir(os.path.join(HERE, 'corpus')))
    targets = arguments[1:] or known
    for t in targets:
        if t not in known:
            print('there is no target %s; there are: %s' % (t, ', '.join(known)))
            return 2
    build(targets)
    prefix, worst = without_random_addresses(), 0
    for t in targets:
        tried, found = fuzz(t, float(arguments[0]) * 60, prefix)
        print('%s: %d inputs, %d findings' % (t, tried, found), flush=True)
        worst = max(worst, 1 if found else 0)
    return worst


if __name__ == '__main__':
    sys.exit(main(sys.argv[1:]))
