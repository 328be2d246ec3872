# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""docs.py GIRTHLINE SOURCE: what the pages say of the program and of one another is so: links lead somewhere, commands and options
exist, the drawing is what its program draws, pictures are small."""
import glob
import importlib.util
import os
import re
import subprocess
import sys
import unittest

GIRTHLINE, SOURCE = (os.path.abspath(arg) for arg in sys.argv[1:3])
PAGES = sorted(glob.glob(os.path.join(SOURCE, '*.md')) + glob.glob(os.path.join(SOURCE, 'docs', '*.md')) + glob.glob(os.path.join(SOURCE, 'samples', '**', '*.md'), recursive=True))
COMMANDS = ('report', 'exam', 'visits', 'batch', 'score', 'synth')
MOST_PICTURE_BYTES = 150_000


def read(path):
    with open(path, encoding='utf-8') as f:
        return f.read()


def anchors(text):
    """As they are made of headings: small letters, blanks as hyphens, signs left out."""
    heads = re.findall(r'^#+ (.*)$', text, re.M)
    return {re.sub(r'[^\w\- ]', '', head.lower()).replace(' ', '-') for head in heads}


def options(command):
    done = subprocess.run([GIRTHLINE, command, '--help'], capture_output=True, check=True)
    return set(re.findall(r'^  (--[a-z0-9-]+)', done.stdout.decode(), re.M))


class Docs(unittest.TestCase):
    def test_every_link_leads_somewhere(self):
        self.assertGreater(len(PAGES), 8)
        for page in PAGES:
            for link in re.findall(r'\]\(([^)\s]+)\)', read(page)):
                if '://' in link:
                    continue
                path, _, anchor = link.partition('#')
                target = os.path.normpath(os.path.join(os.path.dirname(page), path)) if path else page
                self.assertTrue(os.path.exists(target), f'{page} leads to {link}')
                if anchor:
                    self.assertIn(anchor, anchors(read(target)), f'{page} leads to {link}')

    def test_commands_and_options_exist(self):
        known = {command: options(command) for command in COMMANDS}
        every = set.union(*known.values())
        for page in PAGES:
            for line in read(page).splitlines():
                for command in re.findall(r'girthline ([a-z]+)', line):
                    if command in known and re.search(rf'^\s*girthline {command} |`girthline {command} ', line):
                        code = line.split('#')[0] if line.startswith('girthline') else re.search(rf'girthline {command}[^`]*', line).group()
                        for option in re.findall(r'(?<![\w-])(--[a-z][a-z0-9-]+)', code):
                            self.assertIn(option, known[command], f'{page}: {line}')
                if os.path.basename(page) in ('using.md', 'recording.md', 'visits.md'):
                    for option in re.findall(r'`(--[a-z][a-z0-9-]+)', line):
                        self.assertIn(option, every, f'{page}: {line}')

    def test_the_drawing_is_what_its_program_draws(self):
        folder = os.path.join(SOURCE, 'docs', 'images')
        spec = importlib.util.spec_from_file_location('pipeline', os.path.join(folder, 'pipeline.py'))
        drawing = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(drawing)
        self.assertEqual(read(os.path.join(folder, 'pipeline.svg')), drawing.draw())

    def test_pictures_are_small_and_shown(self):
        shown = {os.path.normpath(os.path.join(os.path.dirname(page), link)) for page in PAGES for link in re.findall(r'!\[[^\]]*\]\(([^)]+)\)', read(page))}
        pictures = glob.glob(os.path.join(SOURCE, 'docs', 'images', '*.png')) + glob.glob(os.path.join(SOURCE, 'docs', 'images', '*.svg'))
        self.assertTrue(pictures)
        for path in pictures:
            self.assertLessEqual(os.path.getsize(path), MOST_PICTURE_BYTES, path)
            self.assertIn(os.path.normpath(path), shown, 'a picture that no page shows')


if __name__ == '__main__':
    unittest.main(argv=sys.argv[:1])
