# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""girthline visits run in a folder of its own, and its database looked at with Python's own SQLite."""

import contextlib
import os
import sqlite3
import subprocess
import sys
import tempfile
import unittest

import made_exam
from made_exam import exam, report

PROGRAM = os.path.abspath(sys.argv.pop(1))


class VisitsCase(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        os.chdir(self.folder.name)
        self.addCleanup(os.chdir, "/")
        self.env = {"HOME": self.folder.name, "PATH": os.environ["PATH"], "LSAN_OPTIONS": os.environ.get("LSAN_OPTIONS", "")}

    def run_it(self, *words, code=0, **more):
        r = subprocess.run([PROGRAM, "visits", *words], stdin=subprocess.DEVNULL, capture_output=True, env=self.env, **more)
        out, err = r.stdout.decode(), r.stderr.decode()
        self.assertEqual(r.returncode, code, (words, out, err))
        return out, err

    def do(self, *words, **more):
        return self.run_it("--db", "v.db", *words, **more)

    def put(self, name, value):
        return made_exam.write(name, value)

    def two(self):
        self.do("add", self.put("a.json", exam(report())))
        self.do("add", self.put("b.json", exam(report(bpm=48), date="2026-03-02")))

    @contextlib.contextmanager
    def base(self, name="v.db"):
        with contextlib.closing(sqlite3.connect(name)) as db:
            yield db
            db.commit()

    def bytes_of(self, name):
        with open(name, "rb") as f:
            return f.read()

    def count(self):
        with self.base() as db:
            return db.execute("SELECT count(*) FROM visits").fetchone()[0]
