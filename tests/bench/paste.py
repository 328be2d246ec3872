#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""paste.py NAME <OUTPUT: puts what a benchmark printed into docs/validation.md, between the marks of that name."""
import os
import re
import sys

PAGE = os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', '..', 'docs', 'validation.md')


def main():
    name = sys.argv[1]
    with open(PAGE, encoding='utf-8') as f:
        page = f.read()
    new, n = re.subn(rf'(<!-- {re.escape(name)}: begin -->\n```\n).*?(```\n<!-- {re.escape(name)}: end -->)',
                     lambda m: m[1] + sys.stdin.read().strip('\n') + '\n' + m[2], page, flags=re.S)
    if n != 1:
        sys.exit(f'docs/validation.md has no marks of the name {name}')
    with open(PAGE, 'w', encoding='utf-8') as f:
        f.write(new)


if __name__ == '__main__':
    main()
