#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Checkers that read the code: what they find and lint.txt has no reason for is a fault.

usage: python3 tests/lint.py TOOL...     cppcheck | tidy=BUILD | analyzer=BUILD

cppcheck takes seconds; tidy (clang-tidy, over a clang build folder) and analyzer (gcc -fanalyzer, over a gcc build folder) take minutes.
"""

import concurrent.futures
import glob
import json
import os
import re
import shlex
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
TABLE = os.path.join(ROOT, 'tests', 'lint.txt')
FOUND = re.compile(r'^(?P<file>[^:\n]+):(?P<line>\d+):(?:\d+:)? (?:warning|error|portability|performance|style): (?P<text>.*?) \[(?P<check>[\w.,+-]+)\]$', re.M)


def sources():
    return sorted(os.path.relpath(p, ROOT) for p in glob.glob(ROOT + '/src/**/*.c', recursive=True))


def output_of(command, folder=ROOT):
    return subprocess.run(command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True).stdout


def cppcheck(_):
    return [output_of(['cppcheck', '--enable=warning,performance,portability', '--std=c11', '--quiet', '-j', str(os.cpu_count()), '-Iinclude', '-Isrc',
                       '-D_GNU_SOURCE', '--library=gnu', '--library=posix', '--template={file}:{line}: {severity}: {message} [{id}]', 'src'])]


def tidy(build):
    def one(source):
        return output_of(['clang-tidy', '-p', build, '--quiet', source])

    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(one, sources()))


def analyzer(build):
    with open(os.path.join(build, 'compile_commands.json')) as f:
        commands = [c for c in json.load(f) if os.path.relpath(os.path.join(c['directory'], c['file']), ROOT).startswith('src/')]

    def one(c):
        words = shlex.split(c['command'])
        words[words.index('-o') + 1] = os.devnull
        # Unoptimised: what the optimiser leaves behind is harder to follow.
        return output_of([w for w in words if w not in ('-Werror', '-MD') and not w.startswith('-O')] + ['-O0', '-fanalyzer', '-fdiagnostics-color=never', '-fdiagnostics-plain-output', '-MF', os.devnull, '-MD'],
                         c['directory'])

    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        return list(pool.map(one, commands))


def read_table():
    rows = []
    for line in open(TABLE):
        if line.strip() and not line.startswith('#'):
            tool, file, check, why = (part.strip() for part in line.split('|'))
            assert why, line
            rows.append((tool, file, check))
    return rows


def main(arguments):
    tools = {'cppcheck': cppcheck, 'tidy': tidy, 'analyzer': analyzer}
    table, faults = read_table(), 0
    if not arguments or any(a.split('=')[0] not in tools for a in arguments):
        print(__doc__)
        return 2
    for argument in arguments:
        tool, _, build = argument.partition('=')
        build = os.path.abspath(build)
        met = set()
        for text in tools[tool](build):
            if re.search(r'fatal error|No such file', text):
                faults += 1
                print(text)
            for m in FOUND.finditer(text):
                path = os.path.join(build if tool == 'analyzer' else ROOT, m['file'])
                check = re.sub(r'CWE-\d+\] \[', '', m['check'])
                key = (tool, os.path.relpath(os.path.realpath(path), os.path.realpath(ROOT)), check)
                if key[1].startswith('..') or key in table:
                    met.add(key)
                    continue
                met.add(key)
                faults += 1
                print('%s: %s:%s: %s [%s]' % (tool, key[1], m['line'], m['text'], check))
        for key in table:
            if key[0] == tool and key not in met:
                faults += 1
                print('%s: lint.txt: %s [%s] is found no more: take the row out' % key)
        print('%s: read' % tool, flush=True)
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main(sys.argv[1:]))
