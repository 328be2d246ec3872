# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""manners.py GIRTHLINE SOURCE: what holds for every command: help, manual and completion name the same options; options stand
before or behind files; text fits the terminal; colour only there; the same bytes in any locale."""
import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import unittest

GIRTHLINE, SOURCE = (os.path.abspath(arg) for arg in sys.argv[1:3])
COMMANDS = ('report', 'exam', 'visits', 'batch', 'score', 'synth')
MAN = os.path.join(SOURCE, 'docs', 'man')
COMPLETION = os.path.join(SOURCE, 'docs', 'completion', 'girthline')
SAMPLES = os.path.join(SOURCE, 'samples')
WIDTHS = (40, 55, 70, 80, 99, 120, 200)


def environment(**more):
    kept = {k: v for k, v in os.environ.items() if k not in ('COLUMNS', 'NO_COLOR', 'TERM', 'POSIXLY_CORRECT', 'LANG') and not k.startswith('LC_')}
    return {**kept, 'LC_ALL': 'C.UTF-8', **more}


def girthline(*args, cwd=None, stdin=None, **more):
    """Standard output in bytes; the program must end with 0."""
    done = subprocess.run([GIRTHLINE, *args], input=stdin, stdin=None if stdin is not None else subprocess.DEVNULL, capture_output=True, check=False,
                          cwd=cwd, env=environment(**more))
    if done.returncode:
        raise AssertionError(f'{args} ended {done.returncode}: {done.stderr.decode()}')
    return done.stdout


def on_terminal(args, cwd, columns, errors=False, **more):
    """What the program prints (errors: says) on a terminal of its own."""
    try:
        main, side = pty.openpty()
    except OSError:
        raise unittest.SkipTest('this machine makes no terminal') from None
    fcntl.ioctl(side, termios.TIOCSWINSZ, struct.pack('HHHH', 40, columns, 0, 0))
    streams = {'stdout': subprocess.DEVNULL, 'stderr': side} if errors else {'stdout': side, 'stderr': subprocess.DEVNULL}
    with subprocess.Popen([GIRTHLINE, *args], stdin=subprocess.DEVNULL, cwd=cwd, env=environment(**more), **streams):
        os.close(side)
        out = b''
        while True:
            try:
                piece = os.read(main, 65536)
            except OSError:
                break
            if not piece:
                break
            out += piece
    os.close(main)
    return out.decode().replace('\r\n', '\n')


def help_options(command):
    text = girthline(*([command] if command else []), '--help').decode()
    return set(re.findall(r'^  --([a-z0-9-]+)', text, re.M))


def man_options(command):
    with open(os.path.join(MAN, f'girthline-{command}.1.scd' if command else 'girthline.1.scd'), encoding='utf-8') as f:
        lines = [line for line in f if line.startswith('*--')]
    return {name for line in lines for name in re.findall(r'\*--([a-z0-9-]+)\*', line)}


def completed(*words, cwd='.'):
    """What the completion offers for the last word."""
    script = '. "$0"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _girthline; [ ${#COMPREPLY[@]} -eq 0 ] || printf "%s\\0" "${COMPREPLY[@]}"'
    done = subprocess.run(['bash', '--norc', '-c', script, COMPLETION, *words], capture_output=True, check=True, cwd=cwd, env=environment())
    if done.stderr:
        raise AssertionError(done.stderr.decode())
    return done.stdout.decode().split('\0')[:-1]


class Folder(unittest.TestCase):
    """A folder with a recording, an examination of it, a history of two visits."""

    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp(prefix='girthline-manners-')
        for n, level in ((1, '-10'), (2, '-3')):
            girthline('synth', f'a{n}.wav', '--seconds', '12', '--rate-hz', '2000', '--murmur', 'systole holo plateau', '--level-db', level,
                      '--truth', f'a{n}.truth.csv', '--quiet', cwd=cls.folder)
            with open(os.path.join(cls.folder, f'v{n}.ini'), 'w', encoding='utf-8') as f:
                f.write('[animal]\nname = Linnet of the long and narrow valley\nidentifier = TVP-0412-0815-4711\nspecies = horse\n[examination]\n'
                        f'date = 202{n}-05-19\nhistory = In light work.\n  No complaint.\n[signs]\ntemperature_c = 37.{n}\n[recording left mitral]\n'
                        f'file = a{n}.wav\nside = left\narea = mitral\n')
            girthline('exam', '--json', f'v{n}.json', f'v{n}.ini', cwd=cls.folder)
            girthline('visits', '--db', 'v.db', '--quiet', 'add', f'v{n}.json', cwd=cls.folder)

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.folder)


class Options(unittest.TestCase):
    def test_help_and_manual_name_the_same_options(self):
        for command in ('',) + COMMANDS:
            with self.subTest(command):
                self.assertTrue(help_options(command))
                self.assertEqual(help_options(command), man_options(command))

    def test_completion_offers_the_same_options(self):
        self.assertEqual({w[2:] for w in completed('girthline', '--')}, help_options(''))
        for command in COMMANDS:
            with self.subTest(command):
                self.assertEqual({w[2:] for w in completed('girthline', command, '--')}, help_options(command))

    def test_every_command_is_in_help_manual_and_completion(self):
        self.assertEqual(set(re.findall(r'^  ([a-z]+) ', girthline('--help').decode(), re.M)), set(COMMANDS))
        with open(os.path.join(MAN, 'girthline.1.scd'), encoding='utf-8') as f:
            self.assertEqual(set(re.findall(r'See \*girthline-([a-z]+)\*\(1\)', f.read())), set(COMMANDS))
        self.assertEqual(set(completed('girthline', '')), {*COMMANDS, 'help', '--help', '--version'})

    def test_help_on_a_command_is_its_help(self):
        for command in COMMANDS:
            self.assertEqual(girthline('help', command), girthline(command, '--help'))


class Manual(unittest.TestCase):
    @unittest.skipUnless(shutil.which('scdoc') and shutil.which('man'), 'scdoc and man make and check the manual')
    def test_pages_are_made_without_a_warning(self):
        pages = [name for name in os.listdir(MAN) if name.endswith('.scd')]
        self.assertGreaterEqual(len(pages), 10)
        for name in pages:
            with self.subTest(name), tempfile.TemporaryDirectory() as folder:
                path = os.path.join(folder, name[:-4])
                with open(path, 'wb') as f:
                    subprocess.run(['sh', os.path.join(MAN, 'page.sh'), 'scdoc', os.path.join(MAN, name), '1.2.3'], stdout=f, check=True)
                done = subprocess.run(['man', '--warnings', '-l', path], capture_output=True, check=True, env=environment(MANWIDTH='80'))
                self.assertEqual(done.stderr.decode(), '')
                self.assertIn('girthline 1.2.3', done.stdout.decode())

    def test_every_page_that_is_named_is_there(self):
        for name in os.listdir(MAN):
            if not name.endswith('.scd'):
                continue
            with open(os.path.join(MAN, name), encoding='utf-8') as f:
                named = re.findall(r'\*(girthline[a-z-]*)\*\((\d)\)', f.read())
            for page, section in named:
                self.assertTrue(os.path.exists(os.path.join(MAN, f'{page}.{section}.scd')), f'{name} names {page}({section})')


class Completion(Folder):
    def test_values_of_options(self):
        self.assertEqual(completed('girthline', 'report', '--species', 'do'), ['donkey', 'dog'])
        self.assertEqual(completed('girthline', 'report', '--species', '=', 'do'), ['donkey', 'dog'])
        self.assertEqual(completed('girthline', 'report', '--side', '='), ['left', 'right'])
        self.assertEqual(completed('girthline', 'synth', '--rhythm', 'p'), ['pauses'])
        self.assertEqual(len(completed('girthline', 'batch', '--species', '')), 10)

    def test_files_a_command_reads(self):
        self.assertEqual(completed('girthline', 'report', 'a', cwd=self.folder), ['a1.wav', 'a2.wav'])
        self.assertEqual(completed('girthline', 'exam', '', cwd=self.folder), ['v1.ini', 'v2.ini'])
        self.assertEqual(completed('girthline', 'visits', '--db', 'v.db', 'add', 'v1', cwd=self.folder), ['v1.ini', 'v1.json'])
        self.assertEqual(completed('girthline', 'report', '--beats', '', cwd=self.folder), ['a1.truth.csv', 'a2.truth.csv'])
        self.assertEqual(completed('girthline', 'report', '--quiet', '--', 'a1', cwd=self.folder), ['a1.wav'])

    def test_names_with_spaces_and_signs_stay_whole(self):
        with tempfile.TemporaryDirectory() as folder:
            for name in ('left side.wav', "groom's.WAV", 'a*b.flac', 'notes.txt'):
                with open(os.path.join(folder, name), 'wb'):
                    pass
            os.mkdir(os.path.join(folder, 'old ones'))
            self.assertEqual(set(completed('girthline', 'report', '', cwd=folder)), {'left side.wav', "groom's.WAV", 'a*b.flac', 'old ones'})

    def test_actions_of_visits(self):
        self.assertEqual(set(completed('girthline', 'visits', '--db', 'v.db', '')), {'add', 'list', 'show', 'compare', 'export', 'check', 'remove'})
        self.assertEqual(completed('girthline', 'help', 's'), ['score', 'synth'])


class Terminal(Folder):
    TEXTS = (('report', 'a1.wav', '--text', '-'), ('exam', 'v1.ini', '--text', '-'), ('visits', '--db', 'v.db', 'list'),
             ('visits', '--db', 'v.db', 'show', '1'), ('visits', '--db', 'v.db', 'compare', 'TVP-0412-0815-4711'), ('score', 'set.ndjson', '--reference', '.'))

    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        with open(os.path.join(cls.folder, 'set.ndjson'), 'wb') as f:
            for name in ('a1.wav', 'a2.wav'):
                f.write(girthline('report', name, '--json', '-', cwd=cls.folder) + b'\n')

    def fits(self, text, width, what):
        for line in text.splitlines():
            self.assertLessEqual(len(line), width, f'{what} at {width}: {line}')
            self.assertEqual(line, line.rstrip(' '), f'{what} at {width} ends a line with a space')

    def test_text_fits_in_what_columns_says(self):
        for width in WIDTHS:
            for command in ('',) + COMMANDS:
                args = ([command] if command else []) + ['--help']
                self.fits(girthline(*args, COLUMNS=str(width)).decode(), min(width, 100), args)
            for args in self.TEXTS:
                self.fits(girthline(*args, cwd=self.folder, COLUMNS=str(width)).decode(), min(width, 100), args)

    def test_text_fits_in_the_terminal(self):
        for width in (50, 90):
            for args in self.TEXTS:
                self.fits(on_terminal(args, self.folder, width), width, args)

    def test_words_do_not_hang_on_the_width(self):
        for args in self.TEXTS[:2] + self.TEXTS[-1:]:
            texts = {''.join(girthline(*args, cwd=self.folder, COLUMNS=str(width)).decode().split()) for width in WIDTHS}
            self.assertEqual(len(texts), 1, args)

    def test_a_number_and_its_unit_stand_on_one_line(self):
        texts = [*self.TEXTS, *((command, '--help') for command in COMMANDS)]
        for width in range(40, 101):
            for args in texts if width in WIDTHS else (texts[-1], self.TEXTS[-1]):
                torn = re.search(r'[0-9]\n *(%|s|ms|min|dB|Hz)(?![\w%])', girthline(*args, cwd=self.folder, COLUMNS=str(width)).decode())
                self.assertIsNone(torn, (args, width))

    def test_what_is_no_width_counts_as_none(self):
        usual = girthline('--help')
        for columns in ('', '0', '-5', 'wide', '80x'):
            self.assertEqual(girthline('--help', COLUMNS=columns), usual)

    def test_colour_is_on_a_terminal_alone_and_never_with_no_color(self):
        for args in self.TEXTS[:2]:
            self.assertIn('\033[', on_terminal(args, self.folder, 80, TERM='xterm'))
            self.assertIn('\033[', on_terminal(args, self.folder, 80, TERM='xterm', NO_COLOR=''))
            for more in ({'TERM': 'xterm', 'NO_COLOR': '1'}, {'TERM': 'dumb'}, {}):
                self.assertNotIn('\033', on_terminal(args, self.folder, 80, **more))
            self.assertNotIn(b'\033', girthline(*args, cwd=self.folder, TERM='xterm'))

    def test_a_minus_sign_is_a_dash_on_a_terminal_without_utf8(self):
        for args in (('report', 'a2.wav', '--text', '-'), ('visits', '--db', 'v.db', 'show', '1')):
            usual = on_terminal(args, self.folder, 80)
            self.assertIn('\u2212', usual)
            for more in ({'LC_ALL': 'de_DE.ISO-8859-1'}, {'LC_ALL': '', 'LC_CTYPE': 'C'}, {'LC_ALL': ''}, {'LC_ALL': '', 'LC_CTYPE': 'POSIX', 'LANG': 'C.UTF-8'}):
                self.assertEqual(on_terminal(args, self.folder, 80, **more), usual.replace('\u2212', '-'))
                self.assertEqual(girthline(*args, cwd=self.folder, **more), girthline(*args, cwd=self.folder))
            for more in ({'LC_ALL': 'en_GB.utf8'}, {'LC_ALL': '', 'LC_CTYPE': '', 'LANG': 'C.UTF-8'}):
                self.assertEqual(on_terminal(args, self.folder, 80, **more), usual)

    def test_progress_is_written_over_only_where_a_line_can_be(self):
        able = on_terminal(('batch', 'a1.wav', 'a2.wav', '--out', 'able'), self.folder, 40, errors=True, TERM='xterm')
        self.assertIn('\r2 of 2 done', able)
        for n, kind in enumerate(({'TERM': 'dumb'}, {})):
            said = on_terminal(('batch', 'a1.wav', 'a2.wav', '--out', f'dumb{n}'), self.folder, 80, errors=True, **kind)
            self.assertNotIn('\r', said)
            self.assertNotIn('\033', said)

    def test_a_file_is_the_same_whatever_the_terminal(self):
        for n, width in enumerate((40, 200)):
            girthline('report', 'a1.wav', '--text', f'{n}.txt', cwd=self.folder, COLUMNS=str(width))
            girthline('visits', '--db', 'v.db', 'compare', 'TVP-0412-0815-4711', '--text', f'c{n}.txt', cwd=self.folder, COLUMNS=str(width))
        for name in ('', 'c'):
            with open(os.path.join(self.folder, f'{name}0.txt'), 'rb') as a, open(os.path.join(self.folder, f'{name}1.txt'), 'rb') as b:
                self.assertEqual(a.read(), b.read())


class Order(Folder):
    """The same command line in another order, and under POSIXLY_CORRECT."""
    LINES = ((['report', '--json', '-', '--side', 'left', 'a1.wav'], ['report', 'a1.wav', '--side=left', '--json=-']),
             (['exam', '--json', '-', 'v1.ini'], ['exam', 'v1.ini', '--json', '-']),
             (['visits', '--db', 'v.db', '--text', '-', 'show', '1'], ['visits', 'show', '1', '--text', '-', '--db', 'v.db']),
             (['score', '--reference', '.', '--json', '-', 'r.json'], ['score', 'r.json', '--json', '-', '--reference', '.']))

    def test_options_stand_before_or_behind_files(self):
        girthline('report', 'a1.wav', '--json', 'r.json', '--force', cwd=self.folder)
        for before, behind in self.LINES:
            wanted = girthline(*before, cwd=self.folder)
            self.assertTrue(wanted)
            self.assertEqual(girthline(*behind, cwd=self.folder), wanted)
            self.assertEqual(girthline(*behind, cwd=self.folder, POSIXLY_CORRECT='1'), wanted)
            dashed = [word for word in before if word not in ('a1.wav', 'v1.ini', 'show', '1', 'r.json')]
            self.assertEqual(girthline(*dashed, '--', *(word for word in before if word not in dashed), cwd=self.folder), wanted)

    def test_synth_and_batch_under_posixly_correct(self):
        for n, more in enumerate(({}, {'POSIXLY_CORRECT': '1'})):
            girthline('synth', f'p{n}.wav', '--seconds', '3', '--quiet', cwd=self.folder, **more)
            girthline('batch', 'a1.wav', '--quiet', '--out', f'set{n}', cwd=self.folder, **more)
        for name in ('p{}.wav', 'set{}/recordings.csv', 'set{}/beats.csv'):
            with open(os.path.join(self.folder, name.format(0)), 'rb') as a, open(os.path.join(self.folder, name.format(1)), 'rb') as b:
                self.assertEqual(a.read(), b.read())

    def test_a_dash_is_standard_input(self):
        with open(os.path.join(self.folder, 'a1.wav'), 'rb') as f:
            self.assertIn(b'"file": "stdin"', girthline('report', '-', '--json', '-', stdin=f.read()))
        with open(os.path.join(self.folder, 'v1.ini'), 'rb') as f:
            self.assertIn(b'girthline.exam.v1', girthline('exam', '-', '--json', '-', cwd=self.folder, stdin=f.read()))
        exam = girthline('visits', '--db', 'v.db', 'show', '2', '--json', '-', cwd=self.folder)
        girthline('visits', '--db', 'other.db', 'add', '-', cwd=self.folder, stdin=exam)
        self.assertEqual(girthline('visits', '--db', 'other.db', 'show', '1', '--json', '-', cwd=self.folder), exam)
        girthline('report', 'a1.wav', '--json', 's.json', '--force', cwd=self.folder)
        with open(os.path.join(self.folder, 's.json'), 'rb') as f:
            self.assertIn(b'girthline.score.v1', girthline('score', '-', '--reference', '.', '--json', '-', cwd=self.folder, stdin=f.read()))


class Locale(Folder):
    """A locale whose decimal sign is a comma, made on the spot where the machine can."""

    def setUp(self):
        self.locales = tempfile.mkdtemp(prefix='girthline-locale-')
        self.addCleanup(shutil.rmtree, self.locales)
        if not shutil.which('localedef'):
            self.skipTest('localedef is not there to make de_DE.UTF-8')
        made = subprocess.run(['localedef', '--no-archive', '-i', 'de_DE', '-f', 'UTF-8', os.path.join(self.locales, 'de_DE.UTF-8')], capture_output=True, check=False)
        self.more = {'LOCPATH': self.locales, 'LC_ALL': 'de_DE.UTF-8', 'LANG': 'de_DE.UTF-8'}
        shown = subprocess.run([shutil.which('printf') or 'printf', '%.1f', '1'], capture_output=True, check=False, env=environment(**self.more)).stdout
        if shown != b'1,0':
            self.skipTest(f'de_DE.UTF-8 cannot be made here (Debian package locales): {made.stderr.decode()[:100]}')

    def test_everything_is_the_same_where_the_decimal_sign_is_a_comma(self):
        lines = [('report', 'a1.wav', f'--{form}', '-', '--from', '0.5') for form in ('json', 'html', 'text', 'pdf')]
        lines += [('exam', 'v1.ini', f'--{form}', '-') for form in ('json', 'html', 'text', 'pdf')]
        lines += [('visits', '--db', 'v.db', 'compare', 'TVP-0412-0815-4711', f'--{form}', '-') for form in ('json', 'html', 'text')]
        for args in lines:
            with self.subTest(args):
                self.assertEqual(girthline(*args, cwd=self.folder, **self.more), girthline(*args, cwd=self.folder))

    def test_files_are_the_same_where_the_decimal_sign_is_a_comma(self):
        for n, more in enumerate(({}, self.more)):
            girthline('synth', f'l{n}.wav', '--truth', f'l{n}.csv', '--facts', f'l{n}.json', '--seconds', '3.5', '--quiet', cwd=self.folder, **more)
            girthline('batch', 'a1.wav', 'a2.wav', '--quiet', '--out', f'l{n}', cwd=self.folder, **more)
            os.mkdir(os.path.join(self.folder, f'f{n}'))
            girthline('report', 'a1.wav', '--figures', f'f{n}', '--quiet', cwd=self.folder, **more)
        pictures = sorted(os.listdir(os.path.join(self.folder, 'f0')))
        self.assertTrue(pictures)
        names = ['l{}.wav', 'l{}.csv', 'l{}.json', 'l{}/recordings.csv', 'l{}/beats.csv', 'l{}/index.html'] + ['f{}/' + name for name in pictures]
        for name in names:
            with open(os.path.join(self.folder, name.format(0)), 'rb') as a, open(os.path.join(self.folder, name.format(1)), 'rb') as b:
                self.assertEqual(a.read(), b.read(), name)


if __name__ == '__main__':
    unittest.main(argv=sys.argv[:1])
