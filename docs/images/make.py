#!/usr/bin/python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""make.py: the pictures of README.md and docs/using.md, taken of the pages that samples/try.sh makes (run that first). Needs Chromium
and Pillow (Debian: chromium python3-pil). What a picture does not show is hidden in a copy of the page; nothing of what it shows
is changed. Chromium's pictures are not the same bytes on every machine, so no test compares them."""
import os
import re
import subprocess
import sys
import tempfile

from PIL import Image, ImageChops

HERE = os.path.dirname(os.path.abspath(__file__))
MOST_BYTES = 150_000
MARGIN = 12
COLOURS = 256
HEIGHT = 3000
ONLY = 'article>*,footer{display:none}article>header'
PICTURES = (  # name, page, width, the most rows of it, style
    ('report-answer', 'oriel-pauses', 880, HEIGHT, ONLY + ',article>.answer,article>.trust,article>.asks{display:block}.asks li~li{display:none}'),
    ('report-pictures', 'oriel-pauses', 880, HEIGHT,
     'h1,main>p,article>*,footer{display:none}article>section{border:0!important;padding:0!important}article>.listen{display:block}'
     '.listen>*,.beside>*{display:none}.listen>.picture-detail,.listen>.picture-cycle,.listen>.beside,.beside>.picture-intervals{display:block}'),
    ('examination', 'visit-2', 900, HEIGHT,
     'article~article,article>*,footer{display:none}article>header,article>.answer,article>.beside-areas{display:block}.beside-areas figure:nth-of-type(n+4){display:none}'),
    ('report-noisy', 'quill-noisy', 880, 800, ONLY + ',article>.answer,article>.trust{display:block}'),
    ('compared', 'linnet-compared', 1000, 1000, 'article>.course,article>.caution,footer{display:none}'),
    ('index', 'index', 1100, 950, 'footer{display:none}'),
)


def page_with(pages, name, css, to):
    """The page's own policy allows no style but its own: the copy goes without it."""
    with open(os.path.join(pages, name + '.html'), encoding='utf-8') as f:
        page = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', '', f.read())
    with open(to, 'w', encoding='utf-8') as f:
        f.write(page.replace('</head>', f'<style>html,body{{background:#fff}}{css}</style></head>', 1))


def shot(page, width, to):
    subprocess.run(['chromium', '--headless', '--no-sandbox', '--disable-gpu', '--hide-scrollbars', '--force-color-profile=srgb',
                    '--force-device-scale-factor=1', f'--window-size={width},{HEIGHT}', '--virtual-time-budget=3000', f'--screenshot={to}', 'file://' + page],
                   check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def cut(path, most, to):
    """White margins away, no more than `most` rows, few colours."""
    image = Image.open(path).convert('RGB')
    left, top, right, bottom = ImageChops.difference(image, Image.new('RGB', image.size, 'white')).getbbox()
    box = (max(0, left - MARGIN), max(0, top - MARGIN), min(image.width, right + MARGIN), min(image.height, bottom + MARGIN, top + most))
    image.crop(box).quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(to, optimize=True)


def main():
    build = os.path.join(HERE, '..', '..', 'build')
    pages = os.path.join(build, 'samples-report')
    with tempfile.TemporaryDirectory() as work:
        subprocess.run([os.path.join(build, 'src', 'cli', 'girthline'), 'batch', os.path.join(HERE, '..', '..', 'samples', 'recordings.csv'), '--out', work,
                        '--quiet'], check=True)
        os.replace(os.path.join(work, 'index.html'), os.path.join(pages, 'index.html'))
        for name, page, width, most, css in PICTURES:
            page_with(pages, page, css, os.path.join(work, 'page.html'))
            shot(os.path.join(work, 'page.html'), width, os.path.join(work, 'shot.png'))
            to = os.path.join(HERE, name + '.png')
            cut(os.path.join(work, 'shot.png'), most, to)
            print(f'{name}.png: {os.path.getsize(to)} bytes')
            if os.path.getsize(to) > MOST_BYTES:
                sys.exit(f'{name}.png is over {MOST_BYTES} bytes')


if __name__ == '__main__':
    main()
