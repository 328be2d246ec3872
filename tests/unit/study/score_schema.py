#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""The output of girthline score against docs/score.schema.json, each null against its reason, and its exit codes.

usage: score_schema.py SCHEMA GIRTHLINE
"""
import json
import os
import subprocess
import sys
import tempfile

try:
    import jsonschema
except ImportError:
    print('skipped: the Python module jsonschema is missing (Debian: python3-jsonschema)')
    sys.exit(77)

SCHEMA, PROGRAM = (os.path.abspath(p) for p in sys.argv[1:3])


def nulls(value, pointer=''):
    if value is None:
        yield pointer
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from nulls(inner, f'{pointer}/{key}')


def score(*args, code=0):
    done = subprocess.run([PROGRAM, 'score', *args], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert done.returncode == code, (args, done.returncode, done.stderr)
    return done.stdout


def report(name, onsets, bpm):
    return {'schema': 'girthline.report.v1', 'recording': {'file': name, 'from_s': 0, 'to_s': 9}, 'rate': {'bpm': bpm}, 'extra_sounds': [],
            'beats': [{'s1': {'onset_s': t}, 's2': None} for t in onsets]}


def main():
    with open(SCHEMA, encoding='utf-8') as f:
        validator = jsonschema.Draft202012Validator(json.load(f))
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        reports = [report('a.wav', [1, 2, 3], 60), report('b.wav', [], None), report('c.wav', [1], 50)]
        with open('all.ndjson', 'w') as f:
            f.write(''.join(json.dumps(r) + '\n' for r in reports))
        with open('all.json', 'w') as f:
            json.dump({'schema': 'girthline.reports.v1', 'reports': reports}, f, indent=2)
        with open('one.json', 'w') as f:
            json.dump(reports[0], f, indent=2)
        for name in 'ab':
            with open(name + '.truth.csv', 'w') as f:
                f.write('time_s,sound\n1.01,S1\n1.4,S2\n2.02,S1\n')
        outputs = [score(*args, '--json', '-') for args in (('all.ndjson', '--reference', '.'), ('all.json', '--reference', '.', '--against', 'all.ndjson', '--extra'),
                                                            ('one.json', '--reference', 'a.truth.csv'))]
        for text in outputs:
            document = json.loads(text)
            validator.validate(document)
            reasons = document.pop('undetermined')
            assert sorted(nulls(document)) == sorted(reasons), set(nulls(document)) ^ set(reasons)
        assert json.loads(outputs[0])['recordings'] == json.loads(score('all.json', '--reference', '.', '--json', '-'))['recordings']
        score('all.ndjson', code=2)
        score('--reference', '.', code=2)
        score('all.ndjson', '--reference', 'a.truth.csv', code=2)
        score('all.ndjson', '--reference', '.', '--tolerance', '0,1', code=2)
        score('all.ndjson', '--reference', 'nowhere', code=3)
        score('a.truth.csv', '--reference', '.', code=3)
        os.mkdir('empty')
        score('all.ndjson', '--reference', 'empty', code=3)
        with open('a.truth.csv', 'a') as f:
            f.write('3,S9\n')
        score('all.ndjson', '--reference', '.', code=2)
        os.chdir('/')
    return 0


if __name__ == '__main__':
    sys.exit(main())
