#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""The rules of DEVELOPERS.md that a program can hold: python3 tests/style.py ROOT prints every breach, one a line."""

import os
import re
import sys

CODE = ('.c', '.h', '.py', '.sh', '.mjs', '.js', '.css')
TEXT = CODE + ('.md', '.build', '.txt', '.json', '.csv', '.svg', '.html', '.yml', '.scd')
SKIP_FOLDERS = re.compile(r'^(\.git|build.*|corpus|node_modules|__pycache__|subprojects)$')
MOST_FILE_LINES = 500
MOST_FUNCTION_LINES = 60

# Which folder of src/ may include which other ones; base/ and the own folder always. A stage knows no sibling.
STAGES = ('audio', 'filter', 'envelope', 'quality', 'segment', 'rhythm', 'murmur', 'findings')
MAY_INCLUDE = {
    'base': (),
    'report': (),
    'clinic': ('report',),
    'study': ('report',),
    'synth': ('audio',),  # sound is written in one place
    'cli': ('report', 'clinic', 'study', 'synth'),
}
MAY_INCLUDE.update({stage: () for stage in STAGES})
CORE = STAGES + ('base',)

# A library's header and the only places that may know it.
ONLY_IN = (
    (r'sndfile\.h', r'src/(audio/|synth/write\.c$)'),  # the simulator streams recordings of any length
    (r'kiss_fft\w*\.h', r'src/base/fft\.c$'),
    (r'sqlite3\.h', r'src/clinic/'),
    (r'(jansson|xxhash|soxr)\.h', r'src/(report|clinic|study)/'),
    (r'(cairo[\w-]*|pango/\w+)\.h', r'src/report/'),
    (r'threads\.h', r'^$'),  # breaks under a thread checker; pthreads work
)
# Words of the C library, where they are not used, and the exception. The library neither prints nor ends the program, asks
# for memory in one place, and takes no elementary function whose last place hangs on the processor where numbers are made.
NUMBERS = r'src/(%s|synth)/|src/(pipeline|window)\.c$' % '|'.join(CORE)
NOT_CALLED_IN = (
    (r'(malloc|calloc|realloc|strdup|strndup|asprintf)', r'src/', r'src/base/memory\.c$'),
    (r'(v?printf|puts|putchar|perror|exit|abort|_exit)', r'src/', r'src/cli/'),
    (r'(exp|exp2|log|log2|log10|log1p|pow|sin|cos|tan|atan|atan2|tanh|cbrt)f?', NUMBERS, r'src/base/maths\.c$'),
)
# Paths of one machine, and hosts that packages come from.
PLACES = (
    r'(?<![\w.:/])/(work|root|home)/\w',
    r'/tmp/b-',
    r'//[\w.-]*\b(registry|deb|security|snapshot|pypi|pythonhosted|npmjs|crates|rubygems|maven|proxy|mirror)[\w-]*\.[\w.-]*(org|io|com|net)\b',
)
# What no page or message of this program may claim, and what is not left in a tree.
WORDS = (
    (r'\bdiagnosed (with|as)\b', r'^src/'),
    (r'\b(is|looks) healthy\b', r'^src/'),
    (r'\b(proves|rules out|confirms) (a |the )?(disease|fibrillation|regurgitation|stenosis|block)\b', r'^src/'),
    (r'\b(has|suffers from) (atrial fibrillation|heart failure|valve disease|a heart block)\b', r'^src/'),
    (r'\b(TODO|FIXME|XXX|HACK)\b', r''),
)


def files(root):
    for folder, folders, names in os.walk(root):
        folders[:] = sorted(f for f in folders if not SKIP_FOLDERS.match(f))
        for name in sorted(names):
            yield os.path.relpath(os.path.join(folder, name), root).replace(os.sep, '/')


def is_text(path):
    return path.endswith(TEXT) or path in ('.ci/run', '.gitignore', 'LICENSE')


def check_form(path, text, lines):
    if '\r' in text:
        yield 1, 'has carriage returns'
    if text and not text.endswith('\n'):
        yield len(lines), 'does not end in a newline'
    if path.endswith(CODE + ('.build',)) or path == '.ci/run':
        head = '\n'.join(lines[:4])
        if 'SPDX-FileCopyrightText: ' not in head or 'SPDX-License-Identifier: MIT' not in head:
            yield 1, 'lacks the two SPDX lines'
        for i, line in enumerate(lines, 1):
            if line != line.rstrip():
                yield i, 'has white space at its end'
            if '\t' in line:
                yield i, 'has a tab'
    if path.endswith(CODE) and not path.startswith('tests/reference/') and len(lines) > MOST_FILE_LINES:
        yield len(lines), f'is over {MOST_FILE_LINES} lines long'


def check_functions(path, lines):
    """A body opens on a line that starts in column 0 or ends a signature that does, and closes with } in column 0."""
    start = None
    for i, line in enumerate(lines, 1):
        if re.match(r'[A-Za-z_]', line):
            start = i
        if line.rstrip() == '}' and start:
            if '(' in lines[start - 1] and i - start + 1 > MOST_FUNCTION_LINES:
                yield start, f'is a function of {i - start + 1} lines; {MOST_FUNCTION_LINES} are the most'
            start = None


def check_includes(path, lines):
    match = re.match(r'src/(\w+)/', path)
    for i, line in enumerate(lines, 1):
        include = re.match(r'\s*#\s*include\s*(["<])([^">]+)[">]', line)
        if not include:
            continue
        mark, name = include.groups()
        for header, places in ONLY_IN:
            if re.search(f'(^|/){header}$', name) and path.startswith('src/') and not re.search(places, path):
                yield i, f'includes {name}, which only {places} may know'
        if match and mark == '"' and '/' in name:
            own, other = match.group(1), name.split('/')[0]
            if own not in MAY_INCLUDE:
                yield i, f'src/{own} is not listed in tests/style.py'
            elif other not in ('base', own) + MAY_INCLUDE[own]:
                yield i, f'includes {name}: src/{own} may include base/ and its own headers'


def strip_c(line):
    """Without string contents and // comments, near enough for looking up calls."""
    return re.sub(r'//.*', '', re.sub(r'"(\\.|[^"\\])*"', '""', line))


def check_calls(path, lines):
    for names, where, exception in NOT_CALLED_IN:
        if not re.match(where, path) or re.match(exception, path):
            continue
        for i, line in enumerate(lines, 1):
            found = re.search(rf'(?<![\w.>])({names})\s*\(', strip_c(line))
            if found:
                yield i, f'calls {found.group(1)}: only {exception} may'


def check_streams(path, lines):
    for i, line in enumerate(lines, 1):
        if not path.startswith('src/cli/') and re.search(r'\b(stdout|stderr)\b', strip_c(line)):
            yield i, 'uses a standard stream: only src/cli/ may'


def check_words(path, lines):
    if path == 'tests/style.py':
        return
    for i, line in enumerate(lines, 1):
        for place in PLACES:
            if re.search(place, line):
                yield i, 'names a path of one machine or a host that packages come from'
        for word, places in WORDS:
            found = re.search(word, line)
            if found and re.search(places, path):
                yield i, f'says "{found.group(0)}"'


def check(root, path):
    with open(os.path.join(root, path), encoding='utf-8', newline='') as handle:
        text = handle.read()
    lines = text.split('\n')
    if lines and lines[-1] == '':
        lines.pop()
    yield from check_form(path, text, lines)
    yield from check_words(path, lines)
    if path.endswith(('.c', '.h')):
        yield from check_functions(path, lines)
        yield from check_includes(path, lines)
    if path.startswith('src/') and path.endswith('.c'):
        yield from check_calls(path, lines)
        yield from check_streams(path, lines)


def main():
    root = sys.argv[1]
    n = 0
    for path in files(root):
        if is_text(path):
            for line, what in check(root, path):
                n += 1
                print(f'{path}:{line}: {what}')
    print(f'{n} breaches of the style' if n else 'the style holds')
    return 1 if n else 0


if __name__ == '__main__':
    sys.exit(main())
