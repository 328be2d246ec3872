# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""hostile.py GIRTHLINE TABLE some|all [FOLDER]: the texts of the table in the places where a text from outside can stand: each
in every place, or each in one, by turns; all of them in a set's tables.

A page's elements and attributes are those of a page with a plain name; a text for a terminal moves nothing; a table has one
line a row and no field a spreadsheet would calculate; JSON reads back. FOLDER: leave pages with all of them, for a browser."""
import csv
import json
import os
import re
import shutil
import struct
import subprocess
import sys
import tempfile
from html.parser import HTMLParser

import run

MOST_NAME_BYTES = 200  # a file system takes 255; an ending comes behind
# What moves a cursor, the direction of writing or the end of a line. A line feed ends lines of our own.
ACTS = re.compile('[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]')
CALCULATES = re.compile(r'[=+@\t\r]|-(?![\d.])')
ESCAPES = {'n': b'\n', 'r': b'\r', 't': b'\t', 'p': b'|', '\\': b'\\'}


def unescaped(text):
    def one(m):
        form = m.group(1)
        if form[0] == 'x':
            return bytes([int(form[1:], 16)]).decode('latin-1')
        data = chr(int(form[1:], 16)).encode() if form[0] in 'uU' else ESCAPES[form]
        return data.decode('latin-1')

    raw = text.encode().decode('latin-1')  # bytes one by one, so that any can be made
    return re.sub(r'\\(x[0-9a-fA-F]{2}|u[0-9a-fA-F]{4}|U[0-9a-fA-F]{8}|[nrtp\\])', one, raw).encode('latin-1')


def texts_of(table):
    for name, text, times in run.read_table(table):
        yield name, unescaped(text) * int(times or 1)


class Skeleton(HTMLParser):
    """The elements and the names of their attributes; what a text could only change by getting out of its place."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.parts = []
        self.text = ''
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.parts.append((tag, *(name for name, _ in attrs)))

    def handle_endtag(self, tag):
        self.parts.append('/' + tag)

    def handle_comment(self, data):
        self.parts.append('comment')

    def handle_data(self, data):
        self.text += data


class Tester:
    def __init__(self, girthline):
        self.girthline, self.faults, self.plain, self.exam = girthline, [], {}, None

    def run(self, *words, codes=(0,)):
        done = subprocess.run([self.girthline, *words], stdin=subprocess.DEVNULL, capture_output=True, timeout=120, check=False)
        if done.returncode not in codes:
            self.fault(f'{words[0]} ended {done.returncode}: {done.stderr[:200]!r}')
        self.calm(words[0] + ' on standard error', done.stderr)
        return done.returncode, done.stdout

    def fault(self, what):
        self.faults.append(f'{self.name}: {what}')

    def calm(self, where, data):
        try:
            text = data.decode()
        except UnicodeDecodeError:
            self.fault(f'{where}: not UTF-8')
            return
        if ACTS.search(text):
            self.fault(f'{where}: {ACTS.search(text).group(0)!r} came through')

    def page(self, kind, path):
        with open(path, encoding='utf-8') as f:
            page = f.read()
        parts = Skeleton(page).parts
        if parts != self.plain.setdefault(kind, parts):
            at = next((i for i, (a, b) in enumerate(zip(parts, self.plain[kind])) if a != b), min(len(parts), len(self.plain[kind])))
            self.fault(f'{kind}: its elements differ at {at}: {parts[at:at + 3]} instead of {self.plain[kind][at:at + 3]}')
        bare = re.search('[\u202a-\u202e\u2066-\u2069\x00-\x08\x0b\x0c\x0e-\x1f\x7f]', page)
        if bare:
            self.fault(f'{kind}: {bare.group(0)!r} came through')

    def json(self, path):
        with open(path, 'rb') as f:
            return json.loads(f.read().decode())  # strict: bare controls and ill-formed bytes are faults

    def text(self, path):
        with open(path, 'rb') as f:
            self.calm(path, f.read())


def file_name(text):
    name = text.replace(b'/', b'_').replace(b'\0', b'_')[:MOST_NAME_BYTES]
    return name if name not in (b'', b'.', b'..') else b'dots' + name


def in_a_file_name(t, text):
    name = file_name(text) + b'.wav'
    shutil.copy(b'heart.wav', b'set/' + name)
    t.run('report', '--json', 'r.json', '--html', 'r.html', '--text', 'r.txt', '--pdf', 'r.pdf', '--force', '--', b'set/' + name)
    shown = t.json('r.json')['recording']['file']
    if '/' in shown.replace('set/', '', 1):
        t.fault(f'the report names {shown!r}')
    t.page('report', 'r.html')
    t.text('r.txt')
    t.run('report', b'none/' + name, codes=(3,))


def tagged(text):
    """heart.wav with the text as its title, artist, comment and date."""
    with open('heart.wav', 'rb') as f:
        data = f.read()
    tags = b'INFO'
    for tag in (b'INAM', b'IART', b'ICMT', b'ICRD', b'ISFT'):
        tags += tag + struct.pack('<I', len(text) + 1) + text + b'\0' + b'\0' * ((len(text) + 1) % 2)
    data += b'LIST' + struct.pack('<I', len(tags)) + tags
    return data[:4] + struct.pack('<I', len(data) - 8) + data[8:]


def in_tags(t, text):
    with open('tagged.wav', 'wb') as f:
        f.write(tagged(text))
    t.run('report', 'tagged.wav', '--json', 'r.json', '--html', 'r.html', '--text', 'r.txt', '--marked', 'm.wav', '--force')
    recorded_at = t.json('r.json')['recording']['recorded_at']
    if recorded_at and not re.fullmatch(r'[\d:TZ+. -]+', recorded_at):
        t.fault(f'recorded_at is {recorded_at!r}')
    t.page('report of a tagged one', 'r.html')
    t.text('r.txt')


EXAM = (b'[animal]\nname = %s\nidentifier = GL-7\nbreed = %s\nspecies = horse\n[examination]\ndate = 2026-03-01\nexaminer = %s\npractice = %s\nreason = %s\n'
        b'[signs]\nnotes = %s\noedema = %s\n[elsewhere]\necg = %s\n[recording left one]\nfile = heart.wav\nside = left\narea = mitral\nnotes = %s\n')


def in_an_examination(t, text):
    with open('e.ini', 'wb') as f:
        f.write(EXAM % ((text,) * 9))
    code, _ = t.run('exam', 'e.ini', '--json', 'e.json', '--html', 'e.html', '--text', 'e.txt', '--pdf', 'e.pdf', '--force', codes=(0, 2))
    if code:
        return
    t.json('e.json')
    t.text('e.txt')
    if text.strip(b' \t\r\n') and b'\n' not in text and b'\r' not in text:  # what begins a new line is another file
        t.page('examination', 'e.html')


def in_a_history(t, text):
    if not t.exam:
        with open('e.json', encoding='utf-8') as f:
            t.exam = f.read()
    shown = text.decode(errors='replace')
    for name in ('v.db', 'v.db-wal', 'v.db-shm'):
        if os.path.exists(name):
            os.remove(name)
    for date in ('2025-03-01', '2026-03-01'):
        exam = json.loads(t.exam)
        exam['animal'].update(name=shown, breed=shown)
        exam['examination'].update(date=date, examiner=shown, reason=shown)
        exam['signs'].update(notes=shown)
        exam['recordings'][0]['name'] = shown
        with open('h.json', 'w', encoding='utf-8') as f:
            json.dump(exam, f)
        t.run('visits', '--db', 'v.db', 'add', 'h.json')
    t.run('visits', '--db', 'v.db', 'compare', '--json', 'c.json', '--html', 'c.html', '--text', 'c.txt', '--force', '--', 'GL-7')
    t.json('c.json')
    t.page('comparison', 'c.html')
    t.text('c.txt')
    for words in (('list',), ('list', '--', text.replace(b'\0', b'') or b'x'), ('show', '1'), ('check',)):
        _, out = t.run('visits', '--db', 'v.db', *words, codes=(0, 5) if len(words) > 1 and words[0] == 'list' else (0,))
        t.calm('visits ' + words[0], out)


def in_a_set(t, texts):
    """All names in one folder, and all texts as animals of a list: one line a row, whatever they are."""
    t.name = 'all of them'
    names = sorted(os.listdir(b'set'))
    t.run('batch', 'set', '--out', 'tables', '--reports', '--quiet')
    with open('list.csv', 'w', newline='', encoding='utf-8') as f:
        rows = csv.writer(f)
        rows.writerow(['file', 'animal'])
        rows.writerows([f'copy{i}.wav', text.decode(errors='replace')] for i, (_, text) in enumerate(texts) if b'\0' not in text)
    os.mkdir('one')
    shutil.copy('heart.wav', 'one')
    with open('one/text.wav', 'w', encoding='utf-8') as f:
        f.write('no sound')
    t.run('batch', 'one', '--out', 'plain', '--reports', '--quiet')
    with open('plain/index.html', encoding='utf-8') as f:
        plain = Skeleton(f.read())
    known = {part for part in plain.parts if isinstance(part, tuple)}
    for i in range(len(texts)):
        os.link('heart.wav', f'copy{i}.wav')
    t.run('batch', 'list.csv', '--out', 'listed', '--quiet')
    for folder, n in (('tables', len(names)), ('listed', len(texts))):
        with open(f'{folder}/recordings.csv', newline='', encoding='utf-8') as f:
            data = f.read()
        if len(data.splitlines()) != n + 1 or data.count('\n') != n + 1:
            t.fault(f'{folder}/recordings.csv: {data.count(chr(10))} lines for {n} rows')
        for record in csv.reader(data.splitlines(True), strict=True):
            for field in record:
                if CALCULATES.match(field):
                    t.fault(f'{folder}/recordings.csv: the field {field!r}')
        t.text(f'{folder}/recordings.csv')
        with open(f'{folder}/index.html', encoding='utf-8') as f:
            page = Skeleton(f.read())
        strange = {part for part in page.parts if isinstance(part, tuple)} - known
        if strange or 'comment' in page.parts or page.parts.count('/form') != plain.parts.count('/form') or page.parts.count('/tr') < n:
            t.fault(f'{folder}/index.html: {strange}')
        for line in open(f'{folder}/reports.ndjson', encoding='utf-8'):
            json.loads(line)


def leave_pages(t, folder, texts):
    """For a browser: one recording, one examination, two visits and two sets with all texts that can stand there."""
    os.makedirs(folder, exist_ok=True)
    together = b' '.join(text for _, text in texts if len(text) < 200 and not re.search(rb'[\x00-\x1f]', text)).decode(errors='ignore').encode()
    in_an_examination(t, together + b' ' + b'W' * 4000)
    in_a_history(t, together + b' ' + b'W' * 4000)
    t.run('report', '--html', 'r.html', '--force', '--', *[path for path in sorted(os.path.join(b'set', name) for name in os.listdir(b'set')) if os.path.getsize(path) > 1000][:12])
    for name in ('r.html', 'e.html', 'c.html'):
        shutil.copy(name, os.path.join(folder, f'inert-{name}'))
    for name in ('tables', 'listed'):
        shutil.copy(f'{name}/index.html', os.path.join(folder, f'inert-{name}.html'))


def main():
    girthline, table = (os.path.abspath(path) for path in sys.argv[1:3])
    everything = sys.argv[3] == 'all'
    pages = os.path.abspath(sys.argv[4]) if len(sys.argv) > 4 else None
    texts = list(texts_of(table))
    t = Tester(girthline)
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.mkdir('set')
        t.name = 'making'
        t.run('synth', 'heart.wav', '--seconds', '5', '--bpm', '60', '--rate-hz', '2000', '--snr-db', '30', '--noise', 'none', '--quiet')
        t.name = 'a plain name'
        places = in_a_file_name, in_tags, in_an_examination, in_a_history
        for place in places:
            place(t, b'Marlow')
        for i, (t.name, text) in enumerate(texts):
            with open(b'set/' + file_name(text) + b'.wav', 'wb') as f:
                f.write(b'no sound')
            for k, place in enumerate(places):
                if everything or k == i % len(places):
                    place(t, text)
        in_a_set(t, texts)
        if pages:
            leave_pages(t, pages, texts)
        os.chdir('/')
    for fault in t.faults:
        print(fault)
    print(f'{len(texts)} texts, {len(t.faults)} faults')
    return 1 if t.faults or not texts else 0


if __name__ == '__main__':
    sys.exit(main())
