# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""settings.py GIRTHLINE SETTINGS.md: the file of --settings as people write it, wrong and right, and the page that names every limit."""
import json
import os
import re
import subprocess
import sys
import tempfile

GIRTHLINE, PAGE = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])
ENDS = os.path.join(os.path.dirname(os.path.abspath(__file__)), '../fuzz/corpus/settings')

# What stands in the file, and the words of the sentence that refuses it.
REFUSED = (
    ('[rythm]\npause_ratio = 2\n', 'line 1', '[rythm]', 'did you mean [rhythm]'),
    ('[hearts]\n', 'line 1', 'known are [quality]'),
    ('[rhythm]\npause_rato = 2\n', 'line 2', 'did you mean pause_ratio'),
    ('[rhythm]\nPause_Ratio = 2\n', 'line 2', 'Pause_Ratio'),
    ('# mine\n\n[rhythm]\ngood_beats_n = 9\n', 'line 4', 'belongs into [quality]'),
    ('[rhythm]\nsomething = 2\n', 'line 2', '--settings-template'),
    ('[rhythm]\npause_ratio = 1,8\n', 'line 2', 'pause_ratio = 1,8', 'decimal point'),
    ('[rhythm]\npause_ratio = 100\n', 'line 2', 'from 1.1 to 5'),
    ('[rhythm]\npause_ratio = -2\n', 'line 2', 'from 1.1 to 5'),
    ('[rhythm]\npause_ratio = nan\n', 'line 2', 'plain number'),
    ('[rhythm]\npause_ratio = 1e999\n', 'line 2', 'plain number'),
    ('[rhythm]\npause_ratio = 2 times\n', 'line 2', 'without its unit'),
    ('[rhythm]\npause_ratio =\n', 'line 2', 'missing'),
    ('[rhythm]\npause_ratio = # 2\n', 'line 2', 'missing'),
    ('[rhythm]\npause_ratio\n', 'line 2', 'neither'),
    ('[rhythm]\n= 2\n', 'line 2', 'name before the ='),
    ('[quality]\ngood_beats_n = 8.5\n', 'line 2', 'whole number'),
    ('[rhythm]\npause_ratio = 2\n[quality]\n[rhythm]\npause_ratio = 2\n', 'line 5', 'line 2 already'),
    ('pause_ratio = 2\n', 'line 1', 'before the first section'),
    ('[rhythm] # mine\n', 'line 1', 'nothing behind it'),
    ('[rhythm\n', 'line 1', '[name]'),
    ('[rhythm]\npause_ratio = 2\0\n', 'line 2', 'zero byte'),
    (b'[rhythm]\n# \xe9\n', 'line 2', 'UTF-8'),
    ('[rhythm]\n'.encode('utf-16'), 'line 1', 'UTF-16'),
    ('[rhythm]\n' + 'x' * 5000 + ' = 2\n', 'line 2', 'unknown name xxx'),
)
# Forms that all say the same.
SAME = ('[rhythm]\npause_ratio = 2\n', '\ufeff[rhythm]\r\npause_ratio=2.0\r\n', '; mine\n\n  [ rhythm ]  \n\tpause_ratio : 2 ; times\n# end',
        '[quality]\n[rhythm]\npause_ratio = 2e0 # times\n[quality]\ngood_beats_n = 8')


def run(*words, code=0):
    done = subprocess.run([GIRTHLINE, *words], capture_output=True, check=False)
    assert done.returncode == code, (words, done.returncode, done.stderr)
    return done


def report(*words):
    return run('report', 'heart.wav', '--json', '-', *words).stdout


def write(text, path='own.ini'):
    with open(path, 'wb') as f:
        f.write(text if isinstance(text, bytes) else text.encode())
    return path


def every_fault_names_its_line():
    for text, *words in REFUSED:
        path = write(text)
        for command in (('report', 'heart.wav', '--json', '-'), ('batch', 'heart.wav', '--out', 'set'), ('exam', 'exam.ini', '--json', '-')):
            done = run(*command, '--settings', path, code=2)
            said = done.stderr.decode()
            assert not done.stdout and said.count('\n') == 1 and path in said and len(said) < 400, said
            for word in words:
                assert word in said, (text, word, said)
        assert not os.path.exists('set')


def the_template_changes_nothing():
    template = run('report', '--settings-template').stdout
    assert template == run('batch', '--settings-template').stdout == run('exam', '--settings-template').stdout
    assert report('--settings', write(template)) == report() == report('--settings', write(''))


def every_form_of_a_file_says_the_same():
    reports = {report('--settings', write(text)) for text in SAME}
    assert len(reports) == 1
    changed, usual = json.loads(reports.pop()), json.loads(report())
    assert changed['tool']['settings_hash'] != usual['tool']['settings_hash']
    note = [f for f in changed['findings'] if f['kind'] == 'settings-changed']
    assert len(note) == 1 and 'rhythm.pause_ratio is 2, usually 1.6' in note[0]['evidence'], note
    assert not [f for f in usual['findings'] if f['kind'] == 'settings-changed']


def an_exam_says_so_too():
    usual = json.loads(run('exam', 'exam.ini', '--json', '-').stdout)
    changed = json.loads(run('exam', 'exam.ini', '--json', '-', '--settings', write('[rhythm]\npause_ratio = 2\n')).stdout)
    assert changed['tool']['settings_hash'] != usual['tool']['settings_hash']
    assert [f for f in changed['findings'] if f['kind'] == 'settings-changed']
    assert [f for f in changed['recordings'][0]['report']['findings'] if f['kind'] == 'settings-changed']


def no_output_overwrites_the_file():
    path = write('[rhythm]\n')
    for words in (('report', 'heart.wav'), ('exam', 'exam.ini')):
        assert b'is an input' in run(*words, '--settings', path, '--json', path, '--force', code=2).stderr
    with open(path, 'rb') as f:
        assert f.read() == b'[rhythm]\n'


def the_page_names_every_limit():
    with open(PAGE, encoding='utf-8') as f:
        page = f.read()
    block = re.search(r'```ini\n(.*?)```', page, re.S).group(1)
    assert block == run('report', '--settings-template').stdout.decode(), 'docs/settings.md: copy what girthline report --settings-template prints'


def at_the_ends(template):
    """Two files, made of the ranges that the template states: every limit at its lowest, and at its highest."""
    files, ends = ([], []), None
    for line in template.splitlines():
        stated = re.search(r'\((?:[^();]*, )?([\d.e-]+) to ([\d.e-]+);', line)
        ends = stated.groups() if line.startswith('#') and stated else ends
        for file, k in zip(files, (0, 1)):
            if line.startswith('['):
                file.append(line)
            elif re.match(r'\w+ =', line):
                file.append(f"{line.split(' =')[0]} = {ends[k]}")
    return ['\n'.join(file) + '\n' for file in files]


def every_limit_may_lie_at_its_ends():
    for name, text in zip(('lowest.ini', 'highest.ini'), at_the_ends(run('report', '--settings-template').stdout.decode())):
        with open(os.path.join(ENDS, name), encoding='utf-8') as f:
            assert f.read() == text, f'{name} of the corpus does not list every limit at its end'
        done = subprocess.run([GIRTHLINE, 'report', 'heart.wav', '--json', '-', '--quiet', '--settings', write(text)], capture_output=True, check=False)
        assert done.returncode in (0, 1) and not done.stderr and json.loads(done.stdout)['schema'], (name, done)


with tempfile.TemporaryDirectory() as folder:
    os.chdir(folder)
    run('synth', 'heart.wav', '--bpm', '40', '--rhythm', 'pauses', '--seconds', '20', '--seed', '3', '--quiet')
    write('[animal]\nspecies = horse\n[recording left]\nfile = heart.wav\n', 'exam.ini')
    for test in (every_fault_names_its_line, the_template_changes_nothing, every_form_of_a_file_says_the_same, an_exam_says_so_too,
                 no_output_overwrites_the_file, the_page_names_every_limit, every_limit_may_lie_at_its_ends):
        test()
        print('ok', test.__name__)
