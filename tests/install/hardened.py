#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""hardened.py copies|no-copies PROGRAM LIBRARY...: what readelf says of how the installed files defend themselves, and that
none asks for a call that opens a connection or starts another program."""

import re
import shutil
import subprocess
import sys


NEVER_ASKED = re.compile(r'\bUND +(socket|connect|bind|listen|accept4?|send(?:to|msg|mmsg)|getaddrinfo|gethostby\w+|system|popen|v?fork|posix_spawnp?|exec[lv]p?e?|execveat|fexecve|dlm?open)@')


def read(*arguments):
    return subprocess.run(['readelf', '-W', *arguments], check=True, capture_output=True, text=True).stdout


def faults_of(path, is_program, has_checked_copies):
    segments, dynamic, names = read('-l', path), read('-d', path), read('--syms', '--dyn-syms', path)
    if 'DYN' not in read('-h', path):
        yield 'has fixed addresses'
    if is_program and not re.search(r'FLAGS_1.*\bPIE\b', dynamic):
        yield 'is no position-independent program'
    if 'GNU_RELRO' not in segments:
        yield 'has no read-only relocations'
    if not re.search(r'\b(BIND_NOW|NOW)\b', dynamic):
        yield 'leaves relocations writable (no "now")'
    stack = re.search(r'GNU_STACK.*', segments)
    if not stack or 'E' in stack.group(0).split()[-2]:
        yield 'has an executable stack'
    if re.search(r'LOAD.* RWE ', segments):
        yield 'has memory that is writable and executable'
    if 'TEXTREL' in dynamic:
        yield 'has text relocations'
    for call in sorted({m[1] for m in NEVER_ASKED.finditer(names)}):
        yield f'can call {call}'
    if '__stack_chk_fail' not in names:
        yield 'has no stack protector'
    if has_checked_copies and not re.search(r'\b__(mem|str|v?f?s?n?printf|p?read|v?as|realpath)\w*_chk\b', names):
        yield 'has no checked copies'


def main():
    if not shutil.which('readelf'):
        print('skipped: readelf is not here')
        return 77
    n = 0
    for k, path in enumerate(sys.argv[2:]):
        for fault in faults_of(path, k == 0, sys.argv[1] == 'copies'):
            n += 1
            print(f'{path} {fault}')
    print(f'{n} faults' if n else f'{len(sys.argv) - 2} files are hardened')
    return 1 if n else 0


if __name__ == '__main__':
    sys.exit(main())
