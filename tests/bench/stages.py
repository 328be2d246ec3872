# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""stages.py GIRTHLINE [--seconds N] [--rate-hz N] [--into PAGE.md]: what each stage costs, in instructions counted by callgrind.

Instructions do not depend on how busy the machine is; they are a processor's time only roughly. The program needs debug information
(buildtype debugoptimized), which tells the source file of each instruction, inlined ones too."""
import argparse
import collections
import os
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import table  # noqa: E402

# The first pattern that is found in a source file's path, or else in the library's, names the row.
ROWS = (
    (r'xxhash', 'content hash (xxHash)'),
    (r'audio/decimate', 'decimator'),
    (r'/audio/', 'audio: recognise, read, choose the channel'),
    (r'/filter/|base/biquad', 'band-pass filters'),
    (r'/envelope/', 'envelopes and background'),
    (r'quality/clipping', 'quality: clipping'),
    (r'quality/hum', 'quality: hum'),
    (r'/quality/', 'quality: the rest'),
    (r'segment/(extra|peaks)', 'extra sounds'),
    (r'/segment/', 'decoder'),
    (r'/rhythm/', 'rhythm'),
    (r'/murmur/', 'murmur'),
    (r'/findings/|/report/|/cli/|jansson', 'findings and report'),
    (r'base/fft|kissfft', 'FFTs (all stages)'),
    (r'base/statistics', 'quantiles (all stages)'),
    (r'base/weighted', 'smoothing (all stages)'),
    (r'base/levels', 'levels of powers (all stages)'),
    (r'base/extremes', 'smallest and largest (clipping, picture of the whole)'),
    (r'base/maths', 'exp, log, sin, cos (all stages)'),
    (r'/base/|pipeline', 'the rest of it'),
    (r'sndfile|FLAC|vorbis|opus', 'libsndfile'),
    (r'', 'C library and start'),
)
COST = re.compile(r'^(?:\+|-)?(?:0x)?[0-9a-f*]+ (\d+)')


def row_of(path, library):
    for text in (path, library):
        for pattern, name in ROWS[:-1]:
            if text and re.search(pattern, text):
                return name
    return ROWS[-1][1]


def self_costs(path):
    """{(source file, library): instructions} of a callgrind file; a call's own cost belongs to what is called."""
    names = {}
    costs = collections.Counter()
    source = library = ''
    called = False

    def name(kind, text):
        number, _, given = text.partition(' ')
        if not number.startswith('('):
            return text
        if given:
            names[kind, number] = given
        return names.get((kind, number), '')

    with open(path, encoding='utf-8', errors='replace') as f:
        for line in f:
            key, equals, rest = line.rstrip('\n').partition('=')
            if equals and key in ('fl', 'fi', 'fe'):
                source = name('file', rest)
            elif equals and key == 'ob':
                library = name('object', rest)
            elif equals and key in ('cfl', 'cfi'):
                name('file', rest)
            elif equals and key == 'cob':
                name('object', rest)
            elif equals and key == 'calls':
                called = True
            elif not equals and COST.match(line):
                if not called:
                    costs[source, library] += int(COST.match(line).group(1))
                called = False
    return costs


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument('girthline')
    parser.add_argument('--seconds', type=int, default=120)
    parser.add_argument('--rate-hz', type=int, default=44100)
    parser.add_argument('--into', metavar='PAGE.md')
    given = parser.parse_args()
    girthline = os.path.abspath(given.girthline)
    with tempfile.TemporaryDirectory() as folder:
        sound, counted = os.path.join(folder, 'sound.wav'), os.path.join(folder, 'callgrind.out')
        subprocess.run([girthline, 'synth', sound, '--seconds', str(given.seconds), '--rate-hz', str(given.rate_hz), '--bpm', '40', '--noise', 'breath,gut,handling',
                        '--snr-db', '15', '--seed', '7', '--quiet'], check=True)
        subprocess.run(['valgrind', '--tool=callgrind', '--callgrind-out-file=' + counted, '--quiet', girthline, 'report', sound, '--json', os.path.join(folder, 'out.json'),
                        '--quiet'], check=True, stdout=subprocess.DEVNULL)
        costs = self_costs(counted)
    rows = collections.Counter()
    for (source, library), n in costs.items():
        rows[row_of(source, library)] += n
    if not rows['decoder']:
        sys.exit(f'{girthline} has no debug information: build it with --buildtype=debugoptimized')
    total = sum(rows.values())
    text = table.markdown(('part', 'share', 'million instructions a second of sound'),
                          [(name, f'{100 * n / total:.1f} %', f'{n / given.seconds / 1e6:.2f}') for name, n in rows.most_common()] +
                          [('all', '100 %', f'{total / given.seconds / 1e6:.2f}')])
    text += f'\n{given.seconds} s at {given.rate_hz} Hz, counted by callgrind.\n'
    print(text, end='')
    if given.into:
        table.put(given.into, 'stages', text)


if __name__ == '__main__':
    main()
