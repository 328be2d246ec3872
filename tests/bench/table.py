# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""A markdown table, printed and put into its place in a page."""
import os
import platform
import re


def processor():
    try:
        with open('/proc/cpuinfo', encoding='utf-8') as f:
            names = re.findall(r'^model name\s*: (.*)$', f.read(), re.M)
    except OSError:
        names = []
    return f'{names[0] if names else platform.machine()}, {os.cpu_count()} processors'


def markdown(head, rows):
    lines = ['| ' + ' | '.join(head) + ' |', '|' + '|'.join(' --- ' if i == 0 else ' ---: ' for i in range(len(head))) + '|']
    return '\n'.join(lines + ['| ' + ' | '.join(str(cell) for cell in row) + ' |' for row in rows]) + '\n'


def put(page, name, text):
    """Between <!-- name --> and <!-- end of name --> of the page."""
    with open(page, encoding='utf-8') as f:
        whole = f.read()
    pattern = re.compile(rf'(<!-- {name} -->\n).*?(<!-- end of {name} -->)', re.S)
    assert pattern.search(whole), f'{page} has no place for {name}'
    with open(page, 'w', encoding='utf-8') as f:
        f.write(pattern.sub(lambda m: m.group(1) + text + m.group(2), whole))
