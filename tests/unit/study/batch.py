#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""girthline batch as a program: bytes, interruptions, shards, hostile names, lists.

usage: batch.py GIRTHLINE STOOD-IN    (STOOD-IN: the program with a pipeline that answers at once)
"""
import collections
import csv
import fcntl
import json
import os
import pty
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import urllib.parse

PROGRAM, STOOD_IN = (os.path.abspath(p) for p in sys.argv[1:3])
TABLES = ('recordings.csv', 'beats.csv', 'reports.ndjson', 'index.html', 'batch.json')
HEARTS = 12  # recordings of three seconds: a run takes a fraction of a second


def run(*args, program=PROGRAM, code=0, **more):
    done = subprocess.run([program, 'batch', *args], stdout=subprocess.PIPE, stderr=subprocess.PIPE, **more)
    said = done.stderr.decode(errors='replace')
    assert done.returncode == code, f'{args}: ended with {done.returncode} instead of {code}: {said}'
    return said


def read(folder, name):
    with open(os.path.join(folder, name), 'rb') as f:
        return f.read()


def tables(folder):
    return {name: read(folder, name) for name in TABLES}


def restored(field):
    """The reversible form of docs/formats.md, read back into bytes."""
    if field.startswith("'%"):
        return urllib.parse.unquote_to_bytes(field[2:])
    return (field[1:] if field.startswith("'") else field).encode()


def rows(folder, name='recordings.csv'):
    with open(os.path.join(folder, name), newline='', encoding='utf-8') as f:
        return list(csv.DictReader(f, strict=True))


def put(path, data):
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, 'wb') as f:
        f.write(data)


def make_set():
    """Hearts, and everything that can lie about in a folder."""
    for i in range(HEARTS):
        subprocess.run([PROGRAM, 'synth', f'heart{i:02}.wav', '--seconds', '3', '--seed', str(i), '--rate-hz', '2000', '--quiet'], check=True)
        os.makedirs('set/inner/deep', exist_ok=True)
        os.rename(f'heart{i:02}.wav', f'set/{"inner/deep/" if i % 3 == 0 else ""}heart{i:02}.wav')
    put('set/empty.wav', b'')
    put('set/text.flac', b'no sound at all\n')
    put('set/torn.wav', read('set', 'heart01.wav')[:30])
    put('set/notes.txt', b'no recording')
    put('set/.hidden.wav', b'x')
    put('set/._heart.wav', b'x')
    os.symlink('..', 'set/inner/back')
    os.symlink('deep', 'set/inner/other')
    os.symlink('nowhere', 'set/dangling.wav')
    os.mkfifo('set/pipe.wav')


def rows_are_in_input_order_whatever_the_jobs():
    run('set', '--out', 'one', '--quiet', '--reports')
    whole = tables('one')
    for jobs in ('2', '3', '16'):
        run('set', '--out', 'jobs' + jobs, '--jobs', jobs, '--quiet', '--reports')
        assert tables('jobs' + jobs) == whole, f'--jobs {jobs} gives other bytes'
        for page in os.listdir('one/pages'):
            assert read('one/pages', page) == read(f'jobs{jobs}/pages', page), page
    table = rows('one')
    names = [r['file'] for r in table]
    assert names == sorted(names, key=lambda n: [p.encode() for p in n.split('/')]), names
    assert len(table) == HEARTS + 5 and [int(r['number']) for r in table] == list(range(1, len(table) + 1))
    status = {r['file']: r['status'] for r in table}
    assert all(status[f] == 'failed' for f in ('empty.wav', 'text.flac', 'torn.wav', 'dangling.wav', 'pipe.wav')), status
    assert all(r['reason'] for r in table if r['status'] != 'analysed')
    assert not any('hidden' in n or '._' in n for n in names)
    assert read('one', 'index.html').count(b'<td data-is="horse">horse (assumed)</td>') == len(table)


def a_phone_s_recordings_are_not_left_out_in_silence():
    put('phones/inner/a.M4A', b'not read')
    put('phones/b.wav', read('set', 'heart01.wav'))
    said = run('phones', '--out', 'p')
    assert 'left out: 1 in forms that are not read' in said and 'ffmpeg' in said, said
    assert not run('phones', '--out', 'p', '--quiet') and len(rows('p')) == 1


def every_table_names_version_settings_and_content():
    reports = [json.loads(line) for line in read('one', 'reports.ndjson').splitlines()]
    table = [r for r in rows('one') if r['status'] != 'failed']
    assert [r['recording']['file'] for r in reports] == [r['file'] for r in table]
    for report, row in zip(reports, table):
        assert row['content_hash'] == report['recording']['content_hash'] and row['version'] == report['tool']['version']
        assert row['settings_hash'] == report['tool']['settings_hash'] and int(row['beats_count']) == len(report['beats'])
        assert report['rate']['bpm'] == (float(row['rate_bpm']) if row['rate_bpm'] else None)
        assert os.path.exists('one/' + row['page']) and json.loads(read('one', row['page'].replace('.html', '.json'))) == report
    beats = rows('one', 'beats.csv')
    assert len(beats) == sum(len(r['beats']) for r in reports) and all(b['content_hash'] and b['version'] and b['settings_hash'] for b in beats)
    page = read('one', 'index.html').decode()
    assert page.count('<tr><td class="n">') == len(rows('one')) and "default-src 'none'" in page


def a_second_run_does_only_what_changed():
    before = tables('one')
    n = len(rows('one'))
    said = run('set', '--out', 'one', '--reports')
    kept = int(re.search(r'(\d+) of these were done before', said).group(1))
    assert tables('one') == before and kept == n - 2, said  # the two that could not be opened are tried again
    page = 'one/' + next(r['page'] for r in rows('one') if r['page'])
    os.remove(page)
    assert f'{n - 3} of these' in run('set', '--out', 'one', '--reports') and os.path.exists(page)
    assert f'{n - 2} of these' in run('set', '--out', 'one') and tables('one') == before  # pages that are there stay linked
    os.remove('jobs2/' + page.removeprefix('one/'))
    assert f'{n - 3} of these' in run('set', '--out', 'jobs2')
    linked = [r['page'] for r in rows('jobs2') if r['page']]
    assert len(linked) == HEARTS - 1 and all(os.path.exists('jobs2/' + p) for p in linked), linked
    run('set', '--out', 'jobs2', '--quiet', '--fresh')
    assert not any(r['page'] for r in rows('jobs2'))
    shutil.copytree('set', 'changed', symlinks=True, ignore=shutil.ignore_patterns('pipe.wav'))
    run('changed', '--out', 'two', '--quiet')
    shutil.copy('changed/heart01.wav', 'changed/heart02.wav')
    said = run('changed', '--out', 'two')
    assert f'{n - 1 - 2} of these' in said, said
    assert 'of these' not in run('changed', '--out', 'two', '--species', 'dog')
    assert 'of these' not in run('changed', '--out', 'two', '--species', 'dog', '--fresh')
    with open('own.ini', 'w', encoding='utf-8') as f:
        f.write('[rhythm]\npause_ratio = 1.7\n')
    assert 'of these' not in run('changed', '--out', 'two', '--species', 'dog', '--settings', 'own.ini')
    assert f'{n - 2} of these' in run('changed', '--out', 'two', '--species', 'dog', '--settings', 'own.ini')
    with open('own.ini', 'w', encoding='utf-8') as f:
        f.write('# the usual values, said aloud\n[rhythm]\npause_ratio = 1.6\n')
    assert 'of these' not in run('changed', '--out', 'two', '--species', 'dog', '--settings', 'own.ini')
    assert f'{n - 2} of these' in run('changed', '--out', 'two', '--species', 'dog')


def a_run_killed_at_any_moment_goes_on():
    source = random.Random(5)
    run('set', '--out', 'whole', '--quiet')
    finished = 0
    for _ in range(12):
        process = subprocess.Popen([PROGRAM, 'batch', 'set', '--out', 'killed', '--jobs', '2', '--quiet'], stdin=subprocess.DEVNULL)
        time.sleep(source.uniform(0.002, 0.2))
        process.kill()
        process.wait()
        if os.path.exists('killed/.girthline-batch.journal'):
            records = read('killed', '.girthline-batch.journal').count(b'\nR ')  # whole or torn at the end
            assert records >= finished - 1, 'a finished row was lost'
            finished = records
        if source.random() < 0.3 and os.path.exists('killed/.girthline-batch.journal'):
            with open('killed/.girthline-batch.journal', 'ab') as f:
                f.write(b'R 0123 half a record')
    run('set', '--out', 'killed', '--quiet')
    assert tables('killed') == tables('whole')


def shards_join_to_what_one_run_writes():
    run('set', '--out', 'whole', '--quiet')
    for i in (1, 3):
        run('set', '--out', 'shards', '--shard', f'{i}/3', '--quiet')
    assert '2-of-3' in run('--merge', 'shards', code=5)
    assert not os.path.exists('shards/recordings.csv')
    run('set', '--out', 'shards', '--shard', '2/3', '--quiet', '--jobs', '2')
    run('--merge', 'shards', '--quiet')
    assert tables('shards') == tables('whole')
    assert sum(len(rows('shards', f'recordings.{i}-of-3.csv')) for i in (1, 2, 3)) == len(rows('whole'))
    run('set', '--out', 'shards', '--shard', '2/3', '--quiet', '--species', 'dog')
    assert 'other settings' in run('--merge', 'shards', code=5)
    put('set/more.wav', read('set', 'heart01.wav'))
    run('set', '--out', 'shards', '--shard', '2/3', '--quiet')
    os.remove('set/more.wav')
    assert 'another set' in run('--merge', 'shards', code=5)


def where_the_set_lies_is_no_part_of_its_table():
    run('set', '--out', 'here', '--quiet')
    run(os.path.abspath('set'), '--out', 'there', '--quiet')
    assert tables('here') == tables('there')
    assert 'failed' in {r['status'] for r in rows('here')}


def names_are_read_back_exactly():
    names = [b'=1+1.wav', b'+1.wav', b'@sum.wav', b'-dash.wav', b"'quoted'.wav", b"'%41.wav", b'a,b "c".wav', b'line\nfeed.wav', b'tab\tx.wav', b'\t=x.wav', b'\r=x.wav',
             b' =blank.wav', b'not\xffutf8.wav', 'Fohlen-größe.wav'.encode(), b'x;=1.wav', b'<b>&.wav', b'%41.wav']
    for name in names:
        shutil.copy('set/heart01.wav', os.path.join(b'hostile', name)) if os.path.isdir('hostile') else put(os.path.join('hostile', os.fsdecode(name)), read('set', 'heart01.wav'))
    run('hostile', '--out', 'h', '--quiet', '--reports')
    fields = [r['file'] for r in rows('h')]
    assert [restored(f) for f in fields] == sorted(names), fields
    with open('h/recordings.csv', newline='', encoding='utf-8') as f:
        for record in csv.reader(f):
            for field in record:
                assert not re.match(r'[=+@\t\r]|-(?![\d.])', field), field
    page = read('h', 'index.html').decode('utf-8')
    assert '<b>' not in page and len(os.listdir('h/pages')) == 2 * len(names)
    assert len(read('h', 'recordings.csv').splitlines()) == len(names) + 1


def a_folder_too_deep_to_reach_is_a_row():
    here = os.getcwd()
    put('deep/heart.wav', read('set', 'heart01.wav'))
    os.chdir('deep')
    for _ in range(25):
        os.mkdir('d' * 200)
        os.chdir('d' * 200)
    put('./lost.wav', b'too deep')
    os.chdir(here)
    run('deep', '--out', 'deepout', '--quiet')
    lost, found = rows('deepout')
    assert found['file'] == 'heart.wav' and found['status'] != 'failed'
    assert lost['status'] == 'failed' and 'may be a folder' in lost['reason'], lost
    subprocess.run(['rm', '-rf', 'deep'], check=True)


def a_folder_that_may_not_be_read_is_a_row_but_where_it_was_asked_for():
    if os.geteuid() == 0:  # may read everything
        return
    put('closed/open.wav', read('set', 'heart01.wav'))
    os.makedirs('closed/shut', mode=0)
    run('closed', '--out', 'c', '--quiet')
    assert [(r['file'], r['status'] == 'failed') for r in rows('c')] == [('open.wav', False), ('shut', True)], rows('c')
    assert 'closed/shut cannot be read' in run('closed/shut', '--out', 'c2', code=3) and not os.path.exists('c2')
    os.chmod('closed/shut', 0o700)


def the_tables_open_in_r():
    """R's own reader sees the rows and the beats that Python's does, hostile names too."""
    if not shutil.which('Rscript'):
        print('     R is not installed (r-base-core): its reader was not asked')
        return
    script = os.path.join(os.path.dirname(os.path.abspath(__file__)), 'tables.R')
    for folder in ('h', 'one'):
        seen = subprocess.run(['Rscript', '--vanilla', script, folder], stdout=subprocess.PIPE, check=True).stdout.decode().splitlines()
        n_beats = collections.Counter(b['number'] for b in rows(folder, 'beats.csv'))
        for line, row in zip(seen, rows(folder), strict=True):
            number, name, status, rate, beats = line.split(',')
            assert (number, bytes.fromhex(name), status) == (row['number'], restored(row['file']), row['status']), line
            assert (float(rate) if rate else None) == (float(row['rate_bpm']) if row['rate_bpm'] else None), line
            assert int(beats) == n_beats[number], line


def another_version_does_every_row_again():
    version = subprocess.run([PROGRAM, '--version'], stdout=subprocess.PIPE, check=True).stdout.split()[-1]
    other = version[:-1] + (b'8' if version[-1:] == b'9' else b'9')
    program = read('/', PROGRAM)
    assert version + b'\0' in program
    put('bin/later', program.replace(version + b'\0', other + b'\0'))
    os.chmod('bin/later', 0o755)
    run('set', '--out', 'ver', '--quiet')
    assert 'of these were done' in run('set', '--out', 'ver')
    assert 'of these were done' not in run('set', '--out', 'ver', program='bin/later')
    assert {r['version'] for r in rows('ver')} == {other.decode()}
    assert other in read('ver', 'batch.json')


def progress_is_one_line_on_a_terminal():
    leader, follower = pty.openpty()
    process = subprocess.Popen([PROGRAM, 'batch', 'set', '--out', 'tty'], stderr=follower)
    os.close(follower)
    said = b''
    while True:
        try:
            more = os.read(leader, 4096)
        except OSError:  # the other side is closed
            break
        if not more:
            break
        said += more
    assert process.wait() == 0
    os.close(leader)
    lines = [line for line in said.split(b'\n') if line.strip()]
    assert re.search(rb'\r\d+ of \d+ done, \d+ failed', said) and len(lines) == 1, said  # the closing sentence alone stays
    assert b'\r\033[K' in said
    assert run('set', '--out', 'tty', '--quiet') == '' and run('set', '--out', 'tty').count('\n') == 2


def a_list_gives_species_and_place():
    put('lists/good.csv', b'\xef\xbb\xbffile,species,animal,side,area\r\n../set/heart01.wav,dog,"Pepin, the old one",left,mitral\r\n\r\n../set/missing.wav,,,,\r\n')
    run('lists/good.csv', '--out', 'l', '--quiet', '--species', 'foal')
    first, second = rows('l')
    assert (first['species'], first['animal'], first['side'], first['area'], first['species_assumed']) == ('dog', 'Pepin, the old one', 'left', 'mitral', 'false')
    assert second['status'] == 'failed' and second['species'] == 'foal' and second['file'] == '../set/missing.wav'
    assert b'<td>dog</td>' in read('l', 'index.html') and b'assumed)' not in read('l', 'index.html')
    faults = (('', 1), ('species\ndog\n', 1), ('file,speceis\na.wav,dog\n', 1), ('file;species\na.wav;dog\n', 1), ('file,species\na.wav,dog\nb.wav,unicorn\n', 3),
              ('file,side\na.wav,up\n', 2), ('file,area\n\na.wav,heart\n', 3), ('file\n"a.wav\n', 2), ('file\na"b.wav\n', 2), ('file,side\na.wav\n', 2), ('file,side\n"",left\n', 2),
              ('file\na.wav\na.wav\n', 3), ('file\na\0b.wav\n', 2), ('file\n"a"b.wav\n', 2))
    for text, line in faults:
        put('lists/bad.csv', text.encode())
        said = run('lists/bad.csv', '--out', 'bad', code=2)
        assert f'line {line}' in said, f'{text!r}: {said}'
        assert not os.path.exists('bad')


def what_is_said_of_all_reaches_each():
    args = ('set/heart01.wav', 'set/heart02.wav', '--out', 'said', '--reports')
    said = run(*args, '--species', 'foal', '--age-days', '20', '--side', 'right', '--area', 'tricuspid', '--minutes-after-exercise', '3', '--from', '0.5', '--to', '2.5')
    assert ' 0 failed' in said, said
    for line in read('said', 'reports.ndjson').splitlines():
        report = json.loads(line)
        recording = report['recording']
        told = [recording[key] for key in ('side', 'area', 'minutes_after_exercise', 'from_s', 'to_s')] + [report[key] for key in ('species', 'age_days', 'species_assumed')]
        assert told == ['right', 'tricuspid', 3, 0.5, 2.5, 'foal', 20, False], told
    sizes = {}
    for option in ((), ('--no-sound',)):
        assert 'of these' not in run(*args, *option, '--fresh')
        pages = [read('said', row['page']) for row in rows('said')]
        sizes[option] = sum(b'data:audio' in page for page in pages)
    assert sizes == {(): 2, ('--no-sound',): 0}, sizes
    with open('limits.ini', 'w', encoding='utf-8') as f:
        f.write('[rhythm]\npause_ratio = 1.7\n')
    usual = rows('said')[0]['settings_hash']
    run(*args, '--settings', 'limits.ini', '--quiet')
    assert rows('said')[0]['settings_hash'] != usual


def the_last_line_counts_the_rows():
    put('counted/noise.wav', b'NOISE')
    put('counted/heart.wav', b'HEART')
    put('counted/text.wav', b'')
    said = run('counted', '--out', 'c3', program=STOOD_IN)
    count = collections.Counter(row['status'] for row in rows('c3'))
    assert f"c3: {count['analysed']} analysed, {count['unusable']} unusable, {count['failed']} failed; recordings.csv says why" in said, said
    assert len(count) > 1, count
    os.remove('counted/text.wav')
    os.remove('counted/noise.wav')
    assert 'c3: 1 analysed, 0 unusable, 0 failed\n' in run('counted', '--out', 'c3', program=STOOD_IN)
    os.makedirs('none', exist_ok=True)
    assert '0 analysed, 0 unusable, 0 failed (no recording was found)' in run('none', '--out', 'c4')


def usage_is_checked_before_anything_is_done():
    for args in (('--jobs', '257'), ('--jobs', '2.5'), ('--jobs', '-1'), ('--jobs', ''), ('--jobs', '18446744073709551617'), ('--shard', '0/2'), ('--shard', '1/10001'),
                 ('--shard', '1/'), ('--shard', '/2'), ('--shard', '1/2/3'), ('--shard', '00000000000000001/2'), ('--from', '2', '--to', '2'), ('--from', '3', '--to', '2')):
        run('set', '--out', 'n', *args, code=2)
    for args in (('set', '--out', ''), ('set', '', '--out', 'n'), ('--merge', ''), ('--merge', 'whole', '--out', 'n'), ('--merge', 'whole', '--shard', '1/2')):
        run(*args, code=2)
    for args, code in ((('set',), 2), ((), 2), (('nowhere', '--out', 'n'), 3), (('-', '--out', 'n'), 2), (('set', '--out', 'n', '--jobs', '0'), 2),
                       (('set', '--out', 'n', '--shard', '4/3'), 2), (('set', '--out', 'n', '--shard', '3'), 2), (('--merge', 'nowhere'), 3),
                       (('set', 'set', '--out', 'n'), 2), (('set', './/./set/', '--out', 'n'), 2), (('set', '--out', 'set/heart01.wav'), 4), (('set', '--merge', 'whole'), 2)):
        run(*args, code=code)
    assert not os.path.exists('n')


def the_folder_is_not_shared_and_foreign_files_stay():
    os.makedirs('busy', exist_ok=True)
    with open('busy/.girthline-batch.lock', 'w') as f:
        fcntl.flock(f, fcntl.LOCK_EX)
        assert 'another run' in run('set', '--out', 'busy', code=5)
        assert 'another run' in run('set', '--out', 'busy', '--shard', '1/2', code=5)
        fcntl.flock(f, fcntl.LOCK_SH)
        run('set', '--out', 'busy', '--shard', '1/2', '--quiet')
    for name in TABLES:
        put('foreign/' + name, b'mine\n')
        assert name in run('set', '--out', 'foreign', code=4)
        assert read('foreign', name) == b'mine\n'
        shutil.rmtree('foreign')


def strict_lets_the_worst_row_count():
    run('set', '--out', 'whole', '--strict', '--quiet', code=3)
    run('set/heart01.wav', '--out', 'single', '--quiet')
    code = {'analysed': 0, 'unusable': 1}[rows('single')[0]['status']]
    run('set/heart01.wav', '--out', 'single', '--strict', '--quiet', code=code)
    put('noise/noise.wav', b'NOISE')
    run('noise', '--out', 'noisy', '--strict', '--quiet', code=1, program=STOOD_IN)


def a_full_disk_loses_no_finished_row():
    limit = 40000
    said = run('set', '--out', 'full', '--quiet', code=4, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit)))
    assert 'cannot be written' in said and not os.path.exists('full/recordings.csv')
    assert 'of these were done before' in run('set', '--out', 'full')
    assert tables('full') == tables('whole')


def signalled(number, *options):
    """(exit code, what was said): a run over one heart and a recording whose analysis never ends, when the heart's row is kept."""
    process = subprocess.Popen([STOOD_IN, 'batch', '../sleep', '--out', '../int', *options], cwd='sleep', stderr=subprocess.PIPE)
    while not os.path.exists('sleep/started'):
        time.sleep(0.01)
    process.send_signal(number)
    said = process.communicate()[1].decode()
    os.remove('sleep/started')
    assert not [n for n in os.listdir('int') if n.endswith('.tmp')] and not os.path.exists('int/recordings.csv')
    return process.returncode, said


def an_interrupt_ends_with_130_and_leaves_no_temporary():
    put('sleep/a.wav', b'HEART')
    put('sleep/b.wav', b'SLEEP')
    words = 'girthline: interrupted: 1 of 2 recordings are done and kept in ../int; the same command%s goes on from there\n'
    assert signalled(signal.SIGINT) == (130, words % '')
    assert signalled(signal.SIGINT) == (130, words % '')
    assert signalled(signal.SIGINT, '--fresh') == (130, words % ' without --fresh')
    assert signalled(signal.SIGINT, '--quiet') == (130, '')
    assert signalled(signal.SIGTERM) == (-signal.SIGTERM, words % '')
    put('sleep/b.wav', b'HEART too')
    assert '1 of these were done before' in run('../sleep', '--out', '../int', program=STOOD_IN, cwd='sleep')
    run('../sleep', '--out', '../uninterrupted', program=STOOD_IN, cwd='sleep')
    assert tables('int') == tables('uninterrupted')


def memory_does_not_grow_with_the_set():
    """What a row needs while it waits is a line in a table of offsets: a few hundred bytes, not its report."""
    peak = []
    options = os.environ.get('ASAN_OPTIONS', '') + ':quarantine_size_mb=1:thread_local_quarantine_size_kb=64'  # what is freed goes back, there too
    for n in (200, 3000):
        for i in range(n):
            put(f'many{n}/r{i:05}.wav', b'HEART %d' % i)
        script = ('import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True); '
                  'print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)')
        done = subprocess.run([sys.executable, '-c', script, STOOD_IN, 'batch', f'many{n}', '--out', f'out{n}', '--jobs', '2', '--quiet'], stdout=subprocess.PIPE, check=True,
                              env=dict(os.environ, ASAN_OPTIONS=options.lstrip(':')))
        peak.append(int(done.stdout))
        assert len(rows(f'out{n}')) == n
    assert peak[1] - peak[0] < 8192, f'{peak} KiB'


def a_journal_does_not_grow_for_ever():
    for i in range(5):
        run('many3000', '--out', 'again', '--quiet', '--from', str(i), program=STOOD_IN)
        size = os.path.getsize('again/.girthline-batch.journal')
        first = size if i == 0 else first
        assert size < 2.1 * first, (i, size, first)
        assert [n for n in os.listdir('again') if n.endswith('.new')] == []
    assert '3000 of these' in run('many3000', '--out', 'again', '--from', '4', program=STOOD_IN)


def a_file_that_grows_meanwhile_is_a_row():
    subprocess.run([PROGRAM, 'synth', 'grow.wav', '--seconds', '40', '--rate-hz', '8000', '--quiet'], check=True)
    put('growing/grow.wav', read('.', 'grow.wav'))
    process = subprocess.Popen([PROGRAM, 'batch', 'growing', '--out', 'g', '--quiet'])
    with open('growing/grow.wav', 'ab') as f:
        while process.poll() is None:
            f.write(b'x')
            f.flush()
            time.sleep(0.001)
    assert process.returncode == 0
    row, = rows('g')
    assert row['status'] == 'failed' and 'changed while' in row['reason'], row
    run('growing', '--out', 'g', '--quiet')
    assert rows('g')[0]['status'] == 'analysed'


TESTS = (rows_are_in_input_order_whatever_the_jobs, a_phone_s_recordings_are_not_left_out_in_silence, every_table_names_version_settings_and_content, a_second_run_does_only_what_changed, a_run_killed_at_any_moment_goes_on,
         shards_join_to_what_one_run_writes, where_the_set_lies_is_no_part_of_its_table, names_are_read_back_exactly, a_folder_too_deep_to_reach_is_a_row,
         a_folder_that_may_not_be_read_is_a_row_but_where_it_was_asked_for, the_tables_open_in_r,
         another_version_does_every_row_again, progress_is_one_line_on_a_terminal, a_list_gives_species_and_place, what_is_said_of_all_reaches_each, the_last_line_counts_the_rows, usage_is_checked_before_anything_is_done,
         the_folder_is_not_shared_and_foreign_files_stay, strict_lets_the_worst_row_count, a_full_disk_loses_no_finished_row,
         an_interrupt_ends_with_130_and_leaves_no_temporary, memory_does_not_grow_with_the_set, a_journal_does_not_grow_for_ever, a_file_that_grows_meanwhile_is_a_row)


def main():
    n_failed = 0
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        make_set()
        for test in TESTS:
            try:
                test()
                print('ok  ', test.__name__)
            except AssertionError as fault:
                n_failed += 1
                print('FAIL', test.__name__, fault)
        os.chdir('/')
    return 1 if n_failed else 0


if __name__ == '__main__':
    sys.exit(main())
