# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""well_formed.py PROGRAM [ARGUMENT...]: what the program prints is HTML whose elements close, whose ids are unique and
found where they are named, and which names nothing outside itself."""
import subprocess
import sys
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "img", "input", "hr"}
REFERENCES = ("aria-labelledby", "aria-describedby")


class Page(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.named, self.faults, self.in_article = [], set(), [], [], False

    def fault(self, text):
        self.faults.append(f"line {self.getpos()[0]}: {text}")

    def handle_startendtag(self, tag, attrs):
        self.attributes(tag, attrs)

    def handle_starttag(self, tag, attrs):
        self.attributes(tag, attrs)
        if tag not in VOID:
            self.open.append(tag)

    def attributes(self, tag, attrs):
        if len({name for name, _ in attrs}) != len(attrs):
            self.fault(f"<{tag}> has an attribute twice")
        for name, value in attrs:
            if name == "id":
                if value in self.ids:
                    self.fault(f"id {value} twice")
                self.ids.add(value)
            elif name == "style" or name.startswith("on"):
                self.fault(f"<{tag}> has {name}")
            elif name in ("href", "xlink:href", "src", "action", "srcset", "poster"):
                if value.startswith("#"):
                    self.named.append(value[1:])
                elif not value.startswith(("data:audio/wav;base64,", "data:text/csv;base64,", "data:image/png;base64,")):
                    self.fault(f"<{tag}> names {value[:60]}")
            elif name in REFERENCES:
                self.named += value.split()
            elif name == "clip-path":
                self.named.append(value[len("url(#"):-1])

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.fault(f"</{tag}> closes what is not open")


page = Page()
text = subprocess.run(sys.argv[1:], check=True, stdout=subprocess.PIPE).stdout.decode("utf-8")
page.feed(text)
page.close()
if page.open:
    page.faults.append(f"left open: {page.open}")
page.faults += [f"no element has the id {name}" for name in page.named if name not in page.ids]
if "<!DOCTYPE html>" not in text[:20]:
    page.faults.append("no document type")
print("\n".join(page.faults) or f"well formed: {len(text)} characters")
sys.exit(bool(page.faults))
