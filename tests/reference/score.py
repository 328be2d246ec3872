#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""girthline score computed a second time, from its description, with the standard library only.

usage: score.py GIRTHLINE    makes reports and references with every kind of fault, scores them both ways, compares.
"""
import csv
import json
import math
import os
import random
import statistics
import subprocess
import sys
import tempfile

MASK = (1 << 64) - 1
KINDS = ('S1', 'S2', 'S3', 'S4')


class SplitMix:
    def __init__(self, seed):
        self.state = seed & MASK

    def below(self, n):
        self.state = (self.state + 0x9e3779b97f4a7c15) & MASK
        z = self.state
        z = ((z ^ (z >> 30)) * 0xbf58476d1ce4e5b9) & MASK
        z = ((z ^ (z >> 27)) * 0x94d049bb133111eb) & MASK
        z ^= z >> 31
        return int((z >> 11) * 2.0 ** -53 * n)


def ratio(a, b):
    return a / b if b else None


def quantile(values, q):
    values = sorted(values)
    at = q * (len(values) - 1)
    low = math.floor(at)
    high = min(low + 1, len(values) - 1)
    return values[low] + (at - low) * (values[high] - values[low])


def interval(values, resamples):
    values = [v for v in values if v is not None]
    if not values or len(values) < 0.5 * resamples:
        return None
    return [quantile(values, 0.025), quantile(values, 0.975)]


def match(reference, detected, tolerance, excluded):
    """Every pair within reach, nearest first; each sound once. Returns errors of pairs, misses, false detections."""
    pairs = sorted((round(abs(d - r) * 1e9), i, k) for i, r in enumerate(reference) for k, d in enumerate(detected)
                   if abs(d - r) <= tolerance + 1e-9)
    used, taken, errors = set(), set(), []

    def counts(t):
        return not any(a <= t < b for a, b in excluded)
    for _, i, k in pairs:
        if i in used or k in taken:
            continue
        used.add(i)
        taken.add(k)
        if counts(reference[i]):
            errors.append(detected[k] - reference[i])
    missed = sum(1 for i, r in enumerate(reference) if i not in used and counts(r))
    false = sum(1 for k, d in enumerate(detected) if k not in taken and counts(d))
    return errors, missed, false


def measures(errors, missed, false):
    n = len(errors)
    return {
        'reference_count': n + missed, 'detected_count': n + false, 'matched_count': n,
        'sensitivity': ratio(n, n + missed), 'ppv': ratio(n, n + false), 'f1': ratio(2 * n, 2 * n + missed + false),
        'timing_error_median_s': statistics.median(errors) if n else None,
        'timing_error_sd_s': statistics.stdev(errors) if n > 1 else None,
        'timing_error_mean_s': sum(errors) / n if n else None,
    }


def resampled(draws, resamples):
    """draws: (matched, missed, false, sum of errors) a resample."""
    return {
        'sensitivity_interval': interval([ratio(m, m + s) for m, s, f, e in draws], resamples),
        'ppv_interval': interval([ratio(m, m + f) for m, s, f, e in draws], resamples),
        'f1_interval': interval([ratio(2 * m, 2 * m + s + f) for m, s, f, e in draws], resamples),
        'timing_error_mean_s_interval': interval([ratio(e, m) for m, s, f, e in draws], resamples),
    }


def measure_recording(tally, seed, resamples):
    errors, missed, false = tally
    n = len(errors) + missed + false
    out = measures(*tally)
    source, draws = SplitMix(seed), []
    for _ in range(resamples):
        m = s = 0
        e = 0.0
        for _ in range(n):
            at = source.below(n)
            if at < len(errors):
                m += 1
                e += errors[at]
            elif at < len(errors) + missed:
                s += 1
        draws.append((m, s, n - m - s, e))
    out.update(resampled(draws, resamples))
    for key, plain in (('sensitivity', None), ('ppv', None), ('f1', None), ('timing_error_mean_s', None)):
        if out[key] is None:
            out[key + '_interval'] = plain
    return out


def read_rows(path):
    with open(path, newline='', encoding='utf-8') as f:
        return list(csv.reader(f))[1:]


def score_one(report, folder, tolerance, kinds):
    stem = os.path.splitext(report['recording']['file'])[0]
    paths = [os.path.join(folder, s + e) for s in (stem, os.path.basename(stem)) for e in ('.csv', '.truth.csv')]
    path = next((p for p in paths if os.path.exists(p)), None)
    if not path:
        return None
    base = path[:-len('.truth.csv')] if path.endswith('.truth.csv') else path[:-len('.csv')]
    excluded = [(-math.inf, report['recording']['from_s']), (report['recording']['to_s'], math.inf)]
    if os.path.exists(base + '.exclude.csv'):
        excluded += [(float(a), float(b)) for a, b in read_rows(base + '.exclude.csv')]
    reference = {k: sorted(float(t) for t, s in read_rows(path) if s == k) for k in KINDS}
    detected = {k: [] for k in KINDS}
    for beat in report['beats']:
        for k in ('S1', 'S2'):
            if beat[k.lower()]:
                detected[k].append(beat[k.lower()]['onset_s'])
    for extra in report['extra_sounds']:
        if extra['kind'] in KINDS:
            detected[extra['kind']] += extra['onsets_s']
    tallies = {k: match(reference[k], sorted(detected[k]), tolerance, excluded) for k in kinds}
    tallies['all'] = (sum((tallies[k][0] for k in kinds), []), sum(tallies[k][1] for k in kinds), sum(tallies[k][2] for k in kinds))
    s1 = reference['S1']
    gaps = [b - a for a, b in zip(s1, s1[1:]) if not any(b >= x and a < y for x, y in excluded)]
    return tallies, report['rate']['bpm'], 60 / statistics.median(gaps) if gaps else None


def percent(scored):
    return None if scored[1] is None or not scored[2] else 100 * (scored[1] - scored[2]) / scored[2]


def pool(scored, kinds, seed, resamples):
    source = SplitMix(seed)
    picks = [[source.below(len(scored)) for _ in scored] for _ in range(resamples)] if len(scored) > 1 else []
    out = {}
    for k in kinds:
        all_of = ([e for s in scored for e in s[0][k][0]], sum(s[0][k][1] for s in scored), sum(s[0][k][2] for s in scored))
        out[k] = measures(*all_of)
        sums = [(len(s[0][k][0]), s[0][k][1], s[0][k][2], sum(s[0][k][0])) for s in scored]
        out[k].update(resampled([tuple(sum(sums[i][n] for i in pick) for n in range(4)) for pick in picks], resamples))
    errors = [None if percent(s) is None else abs(percent(s)) for s in scored]
    known = [e for e in errors if e is not None]
    out['recordings'] = len(scored)
    out['rates_count'] = len(known)
    out['rate_error_median_percent'] = statistics.median(known)
    out['rate_error_mean_percent'] = sum(known) / len(known)
    means = []
    for pick in picks:
        drawn = [errors[i] for i in pick if errors[i] is not None]
        means.append(sum(drawn) / len(drawn) if drawn else None)
    out['rate_error_mean_percent_interval'] = interval(means, resamples)
    out['rate_within_5_percent_fraction'] = sum(e <= 5 for e in known) / len(known)
    return out


def compare(first, second, seed, resamples):
    def measured(pick, run):
        m, s, f = (sum(n) for n in zip(*((len(run[i][0]['all'][0]), run[i][0]['all'][1], run[i][0]['all'][2]) for i in pick)))
        return ratio(m, m + s), ratio(m, m + f), ratio(2 * m, 2 * m + s + f)

    def difference(pick):
        return [None if a is None or b is None else a - b for a, b in zip(measured(pick, first), measured(pick, second))]
    everyone = range(len(first))
    each = [difference([i])[2] for i in everyone]
    better, worse = sum(e is not None and e > 0 for e in each), sum(e is not None and e < 0 for e in each)
    n = better + worse
    p = min(1, 2 * sum(math.comb(n, i) for i in range(min(better, worse) + 1)) / 2 ** n)
    source = SplitMix(seed)
    drawn = [difference([source.below(len(first)) for _ in everyone]) for _ in range(resamples)]
    out = {'recordings': len(first), 'better_count': better, 'worse_count': worse, 'equal_count': len(first) - n, 'sign_test_p': p}
    for i, name in enumerate(('sensitivity', 'ppv', 'f1')):
        out[name + '_difference'] = difference(everyone)[i]
        out[name + '_difference_interval'] = interval([d[i] for d in drawn], resamples)
    return out


def same(want, got, where, places):
    if isinstance(want, list) and isinstance(got, list):
        return all([same(w, g, where, places) for w, g in zip(want, got)])
    ok = want == got or (want is not None and got is not None and abs(want - got) <= 0.51 * 10 ** -places)
    if not ok:
        print(f'{where}: {got} instead of {want}')
    return ok


def same_measures(want, got, where):
    return all([same(value, got[key], f'{where}/{key}', 5 if key.endswith('_s') or '_s_' in key else 3 if 'percent' in key and 'fraction' not in key else 4)
                for key, value in want.items() if not isinstance(value, dict)])


def detected(source, times, quality):
    """Jittered, some lost, some doubled, some invented."""
    out = []
    for t in times:
        if source.random() < quality:
            out.append(round(t + source.gauss(-0.008, 0.03), 4))
        if source.random() < 0.1:
            out.append(round(t + source.uniform(-0.3, 0.3), 4))
    return sorted(x for x in out if x >= 0)


def make_report(source, name, truth, quality, to_s):
    sounds = {k: detected(source, [t for t, s in truth if s == k], quality) for k in KINDS}
    beats = [{'s1': {'onset_s': t}, 's2': None} for t in sounds['S1']] + [{'s1': None, 's2': {'onset_s': t}} for t in sounds['S2']]
    return {'schema': 'girthline.report.v1', 'tool': {'version': '0', 'settings_hash': 'none'},
            'recording': {'file': name, 'from_s': 0.5 if name.startswith('rec3') else 0, 'to_s': to_s}, 'beats': beats,
            'extra_sounds': [{'kind': k, 'onsets_s': sounds[k]} for k in ('S3', 'S4')],
            'rate': {'bpm': None if source.random() < 0.2 else round(40 * source.gauss(1, 0.04), 2)}}


def make(folder, n):
    source = random.Random(7)
    with open(os.path.join(folder, 'first.ndjson'), 'w') as first, open(os.path.join(folder, 'second.ndjson'), 'w') as second:
        for i in range(n):
            truth, t = [], 0.3
            while t < 20:
                truth += [(t, 'S1'), (t + 0.45, 'S2')] + ([(t + 0.62, 'S3'), (t + 1.3, 'S4')] if i % 3 == 0 else [])
                t += source.uniform(1.3, 1.7)
            name = f'rec{i}.wav' if i % 4 else f'sub/rec{i}.wav'
            ending = '.truth.csv' if i % 2 else '.csv'
            if i != 5:  # one has no reference
                with open(os.path.join(folder, f'rec{i}{ending}'), 'w', newline='') as f:
                    f.write('time_s,sound\r\n' + ''.join(f'{t:.5f},{s}\r\n' for t, s in truth))
            if i % 3 == 1:
                with open(os.path.join(folder, f'rec{i}.exclude.csv'), 'w') as f:
                    f.write('start_s,end_s\n2.0,5.25\n11,12.5\n')
            first.write(json.dumps(make_report(source, name, truth, 0.9, 20)) + '\n')
            second.write(json.dumps(make_report(source, name, truth, 0.8, 20)) + '\n')


def check(program, folder, tolerance, extra):
    seed, resamples = 11, 200
    done = subprocess.run([program, 'score', 'first.ndjson', '--reference', '.', '--against', 'second.ndjson', '--tolerance', str(tolerance), '--seed', str(seed),
                           '--resamples', str(resamples), '--json', '-'] + (['--extra'] if extra else []), cwd=folder, stdout=subprocess.PIPE, check=True)
    got = json.loads(done.stdout)
    kinds = KINDS if extra else KINDS[:2]
    runs = []
    for name in ('first', 'second'):
        with open(os.path.join(folder, name + '.ndjson'), encoding='utf-8') as f:
            runs.append([score_one(json.loads(line), folder, tolerance, kinds) for line in f])
    kinds = kinds + ('all',)
    ok = True
    for i, scored in enumerate(runs[0]):
        where = f'recording {i}'
        ok &= same(float(scored is not None), float(got['recordings'][i]['scored']), where, 0)
        if not scored:
            continue
        for k in kinds:
            number = 4 if k == 'all' else KINDS.index(k)
            ok &= same_measures(measure_recording(scored[0][k], seed + 8 * (i + 1) + number, resamples), got['recordings'][i][k], f'{where}/{k}')
        ok &= same(percent(scored), got['recordings'][i]['rate_error_percent'], where + '/rate', 3)
    scored = [[s for s in run if s] for run in runs]
    pooled = pool(scored[0], kinds, seed, resamples)
    for k in kinds:
        ok &= same_measures(pooled[k], got['pooled'][k], f'pooled/{k}')
    ok &= same_measures(pooled, got['pooled'], 'pooled')
    ok &= same_measures(compare(scored[0], scored[1], seed, resamples), got['comparison'], 'comparison')
    return ok


def main():
    with tempfile.TemporaryDirectory() as folder:
        make(folder, 14)
        ok = all([check(os.path.abspath(sys.argv[1]), folder, tolerance, extra) for tolerance, extra in ((0.1, False), (0.03, True), (0, False), (0.25, True))])
    print('the same' if ok else 'differs')
    return 0 if ok else 1


if __name__ == '__main__':
    sys.exit(main())
