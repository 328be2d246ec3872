#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Every column of recordings.csv and beats.csv is the field of the JSON report that docs/formats.md says it is, to the character.

usage: columns.py GIRTHLINE STOOD-IN    (STOOD-IN: the program with a pipeline that fills every field)
"""
import csv
import json
import os
import subprocess
import sys
import tempfile

PROGRAM, STOOD_IN = (os.path.abspath(p) for p in sys.argv[1:3])

# Where a column's field stands; what is named elsewhere or put together has a function below.
PATHS = {
    'file': 'recording/file', 'species': 'species', 'species_assumed': 'species_assumed', 'side': 'recording/side', 'area': 'recording/area',
    'duration_s': 'recording/duration_s', 'sample_rate_hz': 'recording/sample_rate_hz', 'channels': 'recording/channels',
    'channel_used': 'recording/channel_used', 'encoding': 'recording/encoding', 'recorded_at': 'recording/recorded_at',
    'grade': 'quality/grade', 'usable_s': 'quality/usable_s', 'heart_to_noise_db': 'quality/heart_to_noise_db',
    'clipped_fraction': 'quality/clipped_fraction', 'hum_hz': 'quality/hum_hz', 'breaths_per_min': 'quality/breaths_per_min',
    'rate_bpm': 'rate/bpm', 'mean_rate_bpm': 'rate/mean_bpm', 'settled_rate_bpm': 'rate/settled_bpm', 'min_rate_bpm': 'rate/min_bpm',
    'max_rate_bpm': 'rate/max_bpm', 'standing': 'rate/standing', 'pattern': 'rhythm/pattern', 'pattern_confidence': 'rhythm/confidence',
    'intervals_used_count': 'rhythm/used_count', 'mean_interval_s': 'rhythm/mean_interval_s', 'sdnn_ms': 'rhythm/sdnn_ms',
    'rmssd_ms': 'rhythm/rmssd_ms', 'interval_cv_percent': 'rhythm/interval_cv_percent', 'pnn50_percent': 'rhythm/pnn50_percent',
    'sd1_ms': 'rhythm/sd1_ms', 'sd2_ms': 'rhythm/sd2_ms', 'sample_entropy': 'rhythm/sample_entropy',
    'onset_jitter_ms': 'rhythm/onset_jitter_ms', 'longest_interval_s': 'rhythm/longest_interval_s', 'murmur_present': 'murmur/present',
    'murmur_phase': 'murmur/phases/0/phase', 'murmur_timing': 'murmur/phases/0/timing', 'murmur_shape': 'murmur/phases/0/shape',
    'murmur_level_db': 'murmur/phases/0/level_db', 'murmur_peak_hz': 'murmur/phases/0/peak_hz',
    'murmur_beats_fraction': 'murmur/phases/0/beats_fraction', 'limit_systole_db': 'murmur/detection_limit_db/systole',
    'limit_diastole_db': 'murmur/detection_limit_db/diastole', 'content_hash': 'recording/content_hash', 'version': 'tool/version',
    'settings_hash': 'tool/settings_hash',
}
MADE = {
    'beats_count': lambda r: str(len(r['beats'])), 'pauses_count': lambda r: str(len(r['rhythm']['pauses'])),
    'early_count': lambda r: str(len(r['rhythm']['early'])), 'extra_sounds': lambda r: ' '.join(x['kind'] for x in r['extra_sounds']),
    'findings': lambda r: ' '.join(f['kind'] for f in r['findings']),
    'status': lambda r: 'unusable' if r['quality']['grade'] == 'unusable' else 'analysed',
}
OWN = ('number', 'animal', 'reason', 'page')  # not in the report
BEAT = {f'{s}_{k}_s': f'{s}/{k}_s' for s in ('s1', 's2') for k in ('onset', 'peak', 'offset')} | {'confidence': 'confidence',
                                                                                                'name_confidence': 'name_confidence'}


def at(value, path):
    for key in path.split('/'):
        if isinstance(value, list):
            value = value[int(key)] if int(key) < len(value) else None
        else:
            value = None if value is None else value[key]
    return {True: 'true', False: 'false', None: ''}.get(value, value) if not isinstance(value, str) else value


def read(folder, name):
    with open(os.path.join(folder, name), newline='', encoding='utf-8') as f:
        return list(csv.DictReader(f, strict=True))


def columns_are_the_reports_fields(folder, animals):
    with open(os.path.join(folder, 'reports.ndjson'), encoding='utf-8') as f:
        reports = [json.loads(line, parse_float=str, parse_int=str) for line in f]
    table = read(folder, 'recordings.csv')
    assert set(table[0]) == set(PATHS) | set(MADE) | set(OWN), set(table[0]) ^ (set(PATHS) | set(MADE) | set(OWN))
    analysed = [row for row in table if row['status'] != 'failed']
    assert len(analysed) == len(reports)
    for row, report in zip(analysed, reports):
        for column in PATHS:
            assert row[column] == at(report, PATHS[column]), f'{row["file"]} {column}: {row[column]!r} is not {at(report, PATHS[column])!r}'
        for column, make in MADE.items():
            assert row[column] == make(report), f'{row["file"]} {column}: {row[column]!r} is not {make(report)!r}'
        assert row['animal'] == animals[row['file']] and bool(row['reason']) == (row['status'] == 'unusable')
    for row in table:  # what was not read has its own columns and no others
        if row['status'] == 'failed':
            assert {c for c in row if row[c]} == {'number', 'file', 'status', 'reason', 'species', 'species_assumed', 'content_hash', 'version',
                                               'settings_hash'}, row
    with open(os.path.join(folder, 'batch.json'), encoding='utf-8') as f:
        summary = json.load(f)
    assert [summary[k] for k in ('inputs', 'analysed', 'unusable', 'failed')] == \
        [len(table)] + [sum(row['status'] == s for row in table) for s in ('analysed', 'unusable', 'failed')], summary
    beats = [(r, str(i + 1), b) for r in reports for i, b in enumerate(r['beats'])]
    rows = read(folder, 'beats.csv')
    assert len(rows) == len(beats)
    for row, (report, number, beat) in zip(rows, beats):
        assert row['beat'] == number and row['file'] == report['recording']['file'] and row['content_hash'] == report['recording']['content_hash']
        for column in BEAT:
            assert row[column] == at(beat, BEAT[column]), f'{row["file"]} beat {number} {column}'
    return {c for row in analysed for c in row if row[c]}


def main():
    def synth(name, *options):
        subprocess.run([PROGRAM, 'synth', name, '--quiet', '--rate-hz', '2000', *options], check=True)

    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        synth('horse.wav', '--seconds', '30', '--seed', '3', '--rhythm', 'pauses', '--s4', '--murmur', 'systole mid crescendo-decrescendo')
        synth('dog.wav', '--seconds', '12', '--seed', '4', '--species', 'dog', '--murmur', 'systole holo plateau', '--level-db', '-3')
        synth('noise.wav', '--seconds', '8', '--seed', '5', '--snr-db', '-20')
        with open('torn.wav', 'wb') as f:
            f.write(b'RIFF')
        with open('list.csv', 'w', encoding='utf-8') as f:
            f.write('file,species,animal,side,area\nhorse.wav,,Oriel,left,aortic\n\ndog.wav,dog,Sorrel,,\nnoise.wav,,,right,\ntorn.wav,,,,\n')
        animals = {'horse.wav': 'Oriel', 'dog.wav': 'Sorrel', 'noise.wav': '', 'torn.wav': ''}
        seen = set()
        for out, program in (('out', PROGRAM), ('made', STOOD_IN)):
            subprocess.run([program, 'batch', 'list.csv', '--out', out, '--quiet'], check=True, stderr=subprocess.DEVNULL)
            seen |= columns_are_the_reports_fields(out, animals)
        never = (set(PATHS) | set(MADE)) - seen
        assert never <= {'sample_entropy', 'recorded_at'}, f'never filled: {never}'


main()
