#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""full_disk.py GIRTHLINE: each command on a disk that is full after so many pages, for every number of them until it has room.

A small file system in memory, in a mount namespace of its own: as root, or where a user may make one (else exit code 77). On a full disk a
command ends with 4 (or, where SQLite finds it full, 5) and a sentence; what it leaves is whole; with room made, the same command gives what it
gives on an empty disk.
"""
import os
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
PAGE = 4096
COMMANDS = (
    ('report', 'report', '../in/heart.wav', '--json', 'a.json', '--html', 'a.html', '--text', 'a.txt', '--marked', 'm.wav', '--clip', 'c.wav'),
    ('document', 'report', '../in/heart.wav', '--pdf', 'a.pdf', '--figures', '.'),
    ('exam', 'exam', '../in/exam.ini', '--json', 'e.json', '--html', 'e.html'),
    ('visits', 'visits', '--db', 'v.db', 'add', '../in/exam.json'),
    ('batch', 'batch', '../in/set', '--out', '.', '--reports', '--quiet'),
    ('synth', 'synth', 's.wav', '--truth', 's.csv', '--seconds', '3', '--seed', '4'),
)
MOST_STEPS = 12  # sizes tried of each command, the smallest ones among them


def run(*words, cwd=None):
    return subprocess.run([PROGRAM, *words], cwd=cwd, stdin=subprocess.DEVNULL, capture_output=True, check=False)


def make_inputs():
    os.makedirs('in/set')
    for name, seconds in (('in/heart.wav', '8'), ('in/set/a.wav', '3'), ('in/set/b.wav', '3')):
        assert run('synth', name, '--seconds', seconds, '--rate-hz', '2000', '--bpm', '75', '--seed', '1', '--quiet').returncode == 0
    with open('in/exam.ini', 'w', encoding='utf-8') as f:
        f.write('[animal]\nname = Marlow\nspecies = horse\n[examination]\ndate = 2026-01-02\n[recording a]\nfile = heart.wav\n')
    assert run('exam', 'in/exam.ini', '--json', 'in/exam.json').returncode <= 1


def tree(folder):
    """Finished files; what the batch and SQLite keep for themselves apart."""
    out = {}
    for base, _, names in os.walk(folder):
        for name in names:
            if not name.startswith(('.girthline-batch', 'v.db')):
                with open(os.path.join(base, name), 'rb') as f:
                    out[os.path.relpath(os.path.join(base, name), folder)] = f.read()
    return out


def mount(pages):
    subprocess.run(['mount', '-t', 'tmpfs', '-o', f'size={pages * PAGE}', 'tmpfs', 'disk'], check=True)


def pages_of(folder):
    return sum(-(-os.path.getsize(os.path.join(base, name)) // PAGE) for base, _, names in os.walk(folder) for name in names)


def history(folder):
    return run('visits', '--db', 'v.db', 'list', cwd=folder).stdout


def one_size(name, words, pages, whole, code):
    """True: there was room."""
    mount(pages)
    try:
        done = run(*words, cwd='disk')
        now = tree('disk')
        said = done.stderr.decode(errors='replace')
        for path, data in now.items():
            assert whole['files'].get(path) == data, f'{name}, {pages} pages: {path} is not whole'
        if done.returncode != code:
            assert done.returncode in (4, 5) and said.startswith('girthline'), (name, pages, done.returncode, said)
            assert '..' not in said and ' : ' not in said, (name, said)  # a library's own way to write a sentence
            subprocess.run(['mount', '-o', 'remount,size=64m', 'disk'], check=True)
            again = run(*words, cwd='disk')
            assert again.returncode == code, (name, pages, again.stderr)
        assert tree('disk') == whole['files'], f'{name}, {pages} pages: other bytes'
        assert history('disk') == whole['history'], f'{name}, {pages} pages: another history'
        return done.returncode == code
    finally:
        subprocess.run(['umount', 'disk'], check=True)


def fill(name, *words):
    mount(16384)
    code = run(*words, cwd='disk').returncode
    whole = {'files': tree('disk'), 'history': history('disk')}
    most = pages_of('disk') + 8
    subprocess.run(['umount', 'disk'], check=True)
    assert code <= 1, (name, code)
    n_full = 0
    for pages in sorted(set(range(1, 5)) | set(range(5, most + 1, max(1, most // MOST_STEPS)))):
        n_full += not one_size(name, words, pages, whole, code)
    assert n_full, f'{name}: the disk was never full'
    print(f'{name}: full {n_full} times, up to {most} pages')


def main():
    if 'GIRTHLINE_OWN_MOUNTS' not in os.environ:
        own = ['unshare', '-m'] if os.geteuid() == 0 else ['unshare', '-U', '-r', '-m']
        if not shutil.which('unshare') or subprocess.run([*own, 'mount', '-t', 'tmpfs', 'tmpfs', '/mnt'], stderr=subprocess.DEVNULL, check=False).returncode:
            print('no file system can be mounted here')
            return 77
        return subprocess.run([*own, sys.executable, *sys.argv], env=dict(os.environ, GIRTHLINE_OWN_MOUNTS='1'), check=False).returncode
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.mkdir('disk')
        make_inputs()
        for command in COMMANDS:
            fill(*command)
        os.chdir('/')
    return 0


if __name__ == '__main__':
    sys.exit(main())
