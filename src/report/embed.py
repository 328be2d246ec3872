# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""Writes a page's style (one file or several, one behind the other) and script as C text, each with the hash a content policy names it by."""
import base64
import hashlib
import json
import sys

*styles, script, output = sys.argv[1:]
with open(output, "w", encoding="ascii") as out:
    out.write("// Made by embed.py.\n")
    for name, paths in (("STYLE", styles), ("SCRIPT", [script])):
        text = ""
        for path in paths:
            with open(path, encoding="utf-8") as file:
                text += file.read().split("\n", 2)[2]  # the two licence lines stay here
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        out.write(f'#define PAGE_{name}_HASH "sha256-{digest}"\n')
        # A line is a literal of its own: ISO C promises only 4095 characters in one.
        lines = " ".join("\n  " + json.dumps(line + "\n") + "," for line in text.split("\n")[:-1])
        out.write(f"static const char *const PAGE_{name}[] = {{{lines}\n  0}};\n")
