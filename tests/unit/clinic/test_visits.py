# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""girthline visits, run as a program, its database looked at with Python's own SQLite. usage: test_visits.py PROGRAM"""

import contextlib
import json
import os
import pty
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import unittest

import made_exam
from made_exam import exam, phase, report

PROGRAM = os.path.abspath(sys.argv.pop(1))
HOSTILE = "<b>&\"'); DROP TABLE visits;-- \u202e\u001b[31m\U0001F40E"
N_KILLS = 20


class Visits(unittest.TestCase):
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

    # The file.
    def test_the_database_is_strict_versioned_ours_and_has_a_log(self):
        self.two()
        with self.base() as db:
            value = lambda name: db.execute("PRAGMA " + name).fetchone()[0]
            self.assertEqual((value("application_id"), value("user_version"), value("journal_mode")), (0x6769726C, 2, "wal"))
            self.assertEqual(value("integrity_check"), "ok")
            tables = {r[1]: r[5] for r in db.execute("PRAGMA table_list") if not r[1].startswith("sqlite_")}
            self.assertEqual(tables, {"animals": 1, "visits": 1})
            self.assertEqual([r[2] for r in db.execute("PRAGMA foreign_key_list(visits)")], ["animals"])
            stored = db.execute("SELECT exam FROM visits WHERE id = 1").fetchone()[0]
        self.assertEqual(stored.encode(), self.bytes_of("a.json"))

    def test_an_older_version_is_brought_up_to_date_and_keeps_its_visits(self):
        self.two()
        with self.base() as db:
            db.execute("DROP INDEX visit_by_date")
            db.execute("PRAGMA user_version = 1")
        self.assertIn("2026-03-02", self.do("list")[0])
        self.do("add", self.put("c.json", exam(report(), date="2027-01-01")))
        with self.base() as db:
            self.assertEqual(db.execute("PRAGMA user_version").fetchone()[0], 2)
            self.assertEqual(db.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'visit_by_date'").fetchone()[0], 1)
        self.assertEqual(self.count(), 3)

    def test_newer_foreign_and_damaged_files_are_refused_and_left_alone(self):
        self.two()
        with self.base() as db:
            db.execute("PRAGMA user_version = 99")
            db.execute("PRAGMA journal_mode = DELETE")
        with self.base("foreign.db") as db:
            db.execute("CREATE TABLE mine (x)")
        with open("text.db", "w") as f:
            f.write("these are notes, no database; " * 100)
        self.put("c.json", exam(report(), date="2027-01-01"))
        for name, word in (("v.db", "newer"), ("foreign.db", "another program"), ("text.db", "no database")):
            before = self.bytes_of(name)
            for action in (("list",), ("add", "c.json"), ("remove", "1", "--yes"), ("check",)):
                self.assertIn(word, self.run_it("--db", name, *action, code=5)[1])
            self.assertEqual(self.bytes_of(name), before)

    def test_a_damaged_file_is_found_by_check(self):
        self.two()
        with self.base() as db:
            db.execute("PRAGMA journal_mode = DELETE")
        whole = self.bytes_of("v.db")
        with open("v.db", "wb") as f:
            f.write(whole[:4096] + b"\xff" * 4096 + whole[8192:])
        self.assertIn("v.db", self.do("check", code=5)[1])
        with open("v.db", "wb") as f:
            f.write(whole[: len(whole) // 2])
        self.assertIn("v.db", self.do("check", code=5)[1])

    def test_check_finds_an_examination_that_was_tampered_with(self):
        self.two()
        self.do("check")
        with self.base() as db:
            db.execute("UPDATE visits SET exam = replace(exam, '\"bpm\": 48', '\"bpm\": 30') WHERE id = 2")
            db.execute("UPDATE visits SET exam = '{' WHERE id = 1")
        err = self.do("check", code=5)[1]
        self.assertIn("visit 1 is not JSON", err)
        self.assertIn("visit 2 is not what was added", err)

    def test_a_locked_file_is_said_and_nothing_is_lost(self):
        self.two()
        with contextlib.closing(sqlite3.connect("v.db", isolation_level=None)) as db:
            db.execute("BEGIN IMMEDIATE")
            self.assertIn("locked", self.do("add", self.put("c.json", exam(report(), date="2027-01-01")), code=5)[1])
            self.assertIn("2026-03-02", self.do("list")[0])  # reading goes on
        self.assertEqual(self.count(), 2)

    def test_a_full_disk_is_said_and_nothing_is_lost(self):
        self.two()
        size = os.path.getsize("v.db")
        big = self.put("big.json", exam(report(), date="2027-01-01", history="x" * 400000))
        limit = lambda: (signal.signal(signal.SIGXFSZ, signal.SIG_IGN), resource.setrlimit(resource.RLIMIT_FSIZE, (size + 60000, size + 60000)))
        self.assertIn("nothing was changed", self.do("add", big, code=4, preexec_fn=limit)[1])
        self.do("check")
        self.assertEqual(self.count(), 2)

    def test_a_read_only_place_can_be_read_and_says_that_it_cannot_be_changed(self):
        os.mkdir("shut")
        self.run_it("--db", "shut/v.db", "add", self.put("a.json", exam(report())))
        os.chmod("shut/v.db", 0o444)
        os.chmod("shut", 0o555)
        os.chmod(".", 0o755)
        self.addCleanup(os.chmod, "shut", 0o755)
        who = {"user": 65534} if os.geteuid() == 0 else {}
        try:
            subprocess.run([PROGRAM, "--version"], check=True, capture_output=True, **who)
        except (OSError, subprocess.SubprocessError):
            self.skipTest("the program cannot be run by another user")
        self.assertIn("2025-03-01", self.run_it("--db", "shut/v.db", "list", **who)[0])
        self.run_it("--db", "shut/v.db", "check", **who)
        self.put("b.json", exam(report(), date="2026-01-01"))
        self.assertIn("read-only", self.run_it("--db", "shut/v.db", "add", "b.json", code=4, **who)[1])
        self.assertIn("shut", self.run_it("--db", "shut/new.db", "add", "b.json", code=4, **who)[1])

    # The place.
    def test_the_default_place_is_made_for_its_owner_alone(self):
        self.put("a.json", exam(report()))
        self.assertIn("no visits are kept yet", self.run_it("list")[1])
        self.assertFalse(os.path.exists(".local"))
        self.env["XDG_DATA_HOME"] = "relative"  # ignored, as the specification says
        self.run_it("add", "a.json")
        self.assertTrue(os.path.exists(".local/share/girthline/visits.db"))
        self.assertFalse(os.path.exists("relative"))
        self.env["XDG_DATA_HOME"] = os.path.join(self.folder.name, "data")
        self.run_it("add", "a.json")
        self.assertEqual(os.stat("data/girthline").st_mode & 0o777, 0o700)
        with open("file", "w"):
            pass
        self.env["XDG_DATA_HOME"] = os.path.join(self.folder.name, "file")
        self.assertIn("--db", self.run_it("add", "a.json", code=4)[1])

    def test_a_given_path_is_a_path_whatever_it_looks_like(self):
        self.put("a.json", exam(report()))
        for name in ("file:x.db?mode=memory", ":memory:", "a%20b?.db", "'; DROP.db"):
            self.run_it("--db", name, "add", "a.json")
            self.assertTrue(os.path.isfile(name), name)
            self.assertIn("Marlow", self.run_it("--db", name, "list")[0])
        self.run_it("--db", "", "list", code=2)
        self.run_it("--db", "missing.db", "list", code=5)
        self.assertFalse(os.path.exists("missing.db"))

    # Animals and visits.
    def test_the_same_examination_twice_changes_nothing_and_a_corrected_one_needs_replace(self):
        self.two()
        self.assertIn("nothing was changed", self.do("add", "a.json")[1])
        moved = exam(report())
        moved["recordings"][0]["report"]["recording"]["file"] = "../elsewhere/a.wav"
        self.assertIn("nothing was changed", self.do("add", self.put("m.json", moved))[1])
        self.put("c.json", exam(report(bpm=40)))
        self.assertIn("--replace", self.do("add", "c.json", code=5)[1])
        self.assertEqual(self.do("show", "1", "--json", "-")[0].encode(), self.bytes_of("a.json"))
        self.do("add", "c.json", "--replace")
        self.assertEqual(self.do("show", "1", "--json", "-")[0].encode(), self.bytes_of("c.json"))
        self.assertEqual(self.count(), 2)

    def test_an_animal_is_its_identifier_else_its_name_and_species(self):
        self.do("add", self.put("a.json", exam(report(), identifier=None)))
        self.do("add", self.put("b.json", exam(report(), identifier=None, date="2026-01-01")))
        self.do("add", self.put("c.json", exam(report(species="donkey"), identifier=None, species="donkey")))
        err = self.do("list", "Marlow", code=5)[1]
        self.assertIn("2 visits", err)
        self.assertIn("donkey", err)
        self.assertIn("2026-01-01", self.do("list", "marlow", "--species", "horse")[0])
        self.do("compare", "Marlow", code=5)
        self.do("add", self.put("d.json", exam(report(), identifier="X1")))  # an identifier is another animal
        self.assertIn("write its identifier", self.do("add", self.put("e.json", exam(report(), identifier=None, date="2027-01-01")), code=5)[1])
        self.do("add", self.put("f.json", exam(report(), name="Marlow II", identifier="X1", date="2027-01-01")))  # renamed
        self.assertEqual(self.do("list", "X1")[0].count("\n"), 3)
        self.do("add", self.put("g.json", exam(report(), name=None, identifier=None)), code=2)

    def test_hostile_names_are_kept_and_shown_calmly(self):
        self.do("add", self.put("a.json", exam(report(), name=HOSTILE, identifier=None)))
        self.do("add", self.put("b.json", exam(report(), name=HOSTILE, identifier=None, date="2026-01-01", examiner="<script>alert(1)</script>")))
        out = self.do("list", HOSTILE)[0] + self.do("show", "2")[0] + self.do("compare", HOSTILE)[0]
        self.assertNotIn("\u001b", out)
        self.assertNotIn("\u202e", out)
        page = self.do("compare", HOSTILE, "--html", "-")[0]
        self.assertNotIn("<b>", page)
        self.assertNotIn("<script", page)
        self.assertEqual(json.loads(self.do("compare", HOSTILE, "--json", "-")[0])["animal"]["name"], HOSTILE)
        self.assertEqual(self.count(), 2)

    def test_what_is_no_examination_is_refused_and_begins_no_history(self):
        recordless = exam(report())
        recordless["recordings"] = []
        for name, value in (("r.json", report()), ("n.json", recordless), ("o.json", {"schema": "other"}), ("d.json", exam(report(), date="14.3.2026"))):
            self.do("add", self.put(name, value), code=3)
        with open("broken.json", "w") as f:
            f.write('{"schema": ')
        self.assertIn("line 1", self.do("add", "broken.json", code=3)[1])
        self.do("add", "missing.json", code=3)
        self.assertFalse(os.path.exists("v.db"))

    def test_a_removed_visit_leaves_a_copy_that_add_takes_back(self):
        self.two()
        self.assertIn("--yes", self.do("remove", "1", code=2)[1])
        self.assertEqual(self.count(), 2)
        self.do("remove", "1", "--yes")
        self.assertEqual(self.count(), 1)
        self.assertEqual(self.bytes_of("v.db.visit-1.json"), self.bytes_of("a.json"))
        self.do("show", "1", code=5)
        self.do("add", "v.db.visit-1.json")
        self.assertEqual(self.do("show", "3", "--json", "-")[0].encode(), self.bytes_of("a.json"))  # a number is never given twice
        self.do("remove", "9", "--yes", code=5)
        self.do("remove", "x", "--yes", code=2)

    def test_remove_asks_at_a_terminal(self):
        self.two()
        for answer, left in ((b"no\n", 2), (b"\n", 2), (b"yes please\n", 2), (b"y\n", 1)):
            try:
                master, slave = pty.openpty()
            except OSError:
                self.skipTest("no terminal can be made here (/dev/pts is missing)")
            p = subprocess.Popen([PROGRAM, "visits", "--db", "v.db", "remove", "2"], stdin=slave, stdout=slave, stderr=slave, env=self.env)
            os.write(master, answer)
            self.assertEqual(p.wait(), 0)
            os.close(slave)
            os.close(master)
            self.assertEqual(self.count(), left, answer)

    def test_a_copy_that_cannot_be_written_keeps_the_visit(self):
        self.two()
        limit = lambda: (signal.signal(signal.SIGXFSZ, signal.SIG_IGN), resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)))
        self.do("remove", "1", "--yes", code=4, preexec_fn=limit)
        self.assertEqual(self.count(), 2)

    def test_export_holds_every_visit_as_it_was_added(self):
        self.two()
        whole = json.loads(self.do("export")[0])
        self.assertEqual(whole["schema"], "girthline.visits.v1")
        lines = [json.loads(line) for line in self.do("export", "--lines")[0].splitlines()]
        self.assertEqual({line.pop("schema") for line in lines}, {"girthline.visit.v1"})
        self.assertEqual(whole["visits"], lines)
        for name, visit in zip(("a.json", "b.json"), lines):
            self.assertEqual(visit["exam"], json.loads(self.bytes_of(name)))
        self.do("export", "all.json")
        self.assertEqual(json.loads(self.bytes_of("all.json")), whole)
        self.do("export", "all.jsonl", "--lines")
        self.do("export", "all.jsonl", "--lines")  # its own output is written over
        self.do("export", "v.db", code=2)  # never over the history itself
        self.do("export", "/dev/full", code=4)

    def test_an_export_is_taken_back_in_either_form(self):
        self.two()
        self.do("add", self.put("c.json", exam(report(), date=None)))
        self.do("export", "all.json")
        self.do("export", "all.jsonl", "--lines")
        self.assertEqual(self.do("add", "all.json")[1].count("nothing was changed"), 3)
        for i, name in enumerate(("all.json", "all.jsonl")):
            self.run_it("--db", f"new{i}.db", "add", name)
            self.run_it("--db", f"new{i}.db", "check")
            new = json.loads(self.run_it("--db", f"new{i}.db", "export")[0])
            self.assertEqual([v["exam"] for v in new["visits"]], [v["exam"] for v in json.loads(self.bytes_of("all.json"))["visits"]])
        with open("cut.jsonl", "wb") as f:
            f.write(self.bytes_of("all.jsonl")[:-40])
        self.run_it("--db", "cut.db", "add", "cut.jsonl", code=3)
        self.assertFalse(os.path.exists("cut.db"))

    # Several programs, and kills.
    def test_writers_at_once_all_finish(self):
        names = [self.put(f"e{i}.json", exam(report(), date=f"2026-01-{i + 1:02}", name=f"N{i % 2}", identifier=f"I{i % 2}")) for i in range(8)]
        running = [subprocess.Popen([PROGRAM, "visits", "--db", "v.db", "add", n], env=self.env, stderr=subprocess.DEVNULL) for n in names]  # also begin it at once
        self.assertEqual([p.wait() for p in running], [0] * 8)
        self.assertEqual(self.count(), 8)
        with self.base() as db:
            self.assertEqual(db.execute("SELECT count(*) FROM animals").fetchone()[0], 2)
        self.do("check")

    def wait_for_log(self, program, least_bytes):
        while program.poll() is None:
            with contextlib.suppress(FileNotFoundError):
                if os.path.getsize("v.db-wal") > least_bytes:
                    return

    def test_killed_at_any_moment_a_visit_is_whole_or_absent(self):
        self.two()
        added = 3
        big = lambda i: self.put("k.json", exam(report(), date=f"2027-01-{i + 1:02}", history="x" * 3000000))
        name, begun = big(29), time.monotonic()
        self.do("add", name)
        whole_s = time.monotonic() - begun  # only spreads the kills over the work; what must hold, holds at any moment
        for i in range(N_KILLS):
            name = big(i)
            p = subprocess.Popen([PROGRAM, "visits", "--db", "v.db", "add", name], env=self.env, stderr=subprocess.DEVNULL)
            if i % 2:  # amid the write: the log has grown that far
                self.wait_for_log(p, 3000000 * (i - 1) / (N_KILLS - 2))
            else:
                with contextlib.suppress(subprocess.TimeoutExpired):
                    p.wait(timeout=whole_s * (0.3 + 0.9 * i / N_KILLS))
            p.kill()
            p.wait()
            self.do("check")
            now = self.count()
            self.assertIn(now, (added, added + 1))
            if p.returncode == 0:
                self.assertEqual(now, added + 1)
            added = now

    # Comparing.
    def changes(self, first, second, code=0):
        for n in ("v.db", "v.db-wal", "v.db-shm"):
            with contextlib.suppress(FileNotFoundError):
                os.remove(n)
        self.do("add", self.put("a.json", first))
        self.do("add", self.put("b.json", second))
        made = json.loads(self.do("compare", "GL-0042", "--json", "-", code=code)[0])
        self.assertEqual(made["schema"], "girthline.comparison.v1")
        return made["changes"]

    def verdict(self, first, second, what, area="mitral"):
        rows = [c for c in self.changes(exam(first), exam(second, date="2026-03-02")) if c["what"] == what and (c["area"] == area or c["whole_visit"] and area is None)]
        self.assertEqual(len(rows), 1, what)
        self.assertTrue(rows[0]["reason"])
        return rows[0]["verdict"]

    def test_verdicts_are_those_defined(self):
        S, D = "murmur-systole", "murmur-diastole"
        early = [phase(timing="early", shape="decrescendo")]
        soft, loud = [phase(-12)], [phase(-4)]
        s3 = [{"kind": "S3", "beats_fraction": 0.9, "delay_s": 0.15, "level_db": -12, "confidence": 0.9, "onsets_s": []}]
        rare = [dict(s3[0], beats_fraction=0.2)]
        table = [
            # (first, second, what, verdict)
            (report(bpm=36), report(bpm=44), "rate", "increased"), (report(bpm=44), report(bpm=36), "rate", "decreased"),
            (report(bpm=36), report(bpm=39), "rate", "within-repeatability"),  # under 4
            (report(bpm=36), report(bpm=None), "rate", "undetermined"), (report(), report(species="donkey"), "rate", "not-comparable"),
            (report(), report(rate_hz=8000), "rate", "within-repeatability"), (report(bpm=36), report(bpm=44), "mean-interval", "decreased"),
            (report(), report(pattern="pauses"), "rhythm", "changed"), (report(), report(pattern="pauses", sure=0.69), "rhythm", "undetermined"), (report(), report(), "rhythm", "within-repeatability"),
            (report(), report(pattern="undetermined"), "rhythm", "undetermined"), (report(), report(), "sdnn", "within-repeatability"),
            (report(extra=s3), report(), "extra-sound-S3", "undetermined"), (report(extra=rare), report(extra=s3), "extra-sound-S3", "increased"),
            (report(extra=s3), report(extra=s3, encoding="MP3"), "extra-sound-S3", "not-comparable"),
            (report(phases=soft), report(phases=loud), S, "increased"), (report(phases=loud), report(phases=soft), S, "decreased"),
            (report(phases=[phase(-10)]), report(phases=[phase(-4.1)]), S, "within-repeatability"),  # 5.9 dB
            (report(phases=[phase(-10)]), report(phases=[phase(-4)]), S, "increased"),  # 6 dB
            (report(phases=[phase(-10, 5)]), report(phases=[phase(-3, 5)]), S, "within-repeatability"),  # 7 dB of 7.07
            (report(), report(phases=soft), S, "new"), (report(phases=soft), report(), S, "gone"),
            (report(phases=soft), report(limit=(-11, -25)), S, "undetermined"),  # the second could not have shown it
            (report(phases=[phase(-12, 1)]), report(limit=(-13.5, -25)), S, "gone"), (report(phases=[phase(-12, 1)]), report(limit=(-13.3, -25)), S, "undetermined"),
            (report(phases=soft), report(present=None), S, "undetermined"), (report(phases=soft), report(present=None, grade="unusable", bpm=None), S, "undetermined"),
            (report(phases=soft), report(limit=(None, None)), S, "undetermined"), (report(), report(), S, "within-repeatability"),
            (report(), report(present=None), S, "undetermined"), (report(), report(phases=[phase(-12, phase="diastole")]), D, "new"),
            (report(), report(phases=[phase(-12, phase="diastole")]), S, "within-repeatability"),
            (report(phases=soft), report(phases=early), S + "-timing", "changed"), (report(phases=soft), report(phases=early), S + "-shape", "changed"),
            (report(phases=soft), report(phases=early, limit=(-10.5, -25)), S + "-timing", "undetermined"),
            (report(phases=soft), report(phases=loud, rate_hz=44100), S, "not-comparable"), (report(), report(phases=soft, species="foal"), S, "not-comparable"),
            (report(phases=[phase(-12, phase="continuous")]), report(phases=soft), "murmur-phase", "changed"),
            (report(phases=[phase(-12, phase="continuous")]), report(phases=soft, limit=(-25, -11)), "murmur-phase", "undetermined"),
            (report(), report(phases=[phase(-12, phase="continuous")]), "murmur-continuous", "new"),
            (report(), report(phases=[phase(-12, peak_hz=400, band_hz=[350, 450])]), S, "new"),
            (report(phases=soft), report(phases=[phase(-12, peak_hz=500, band_hz=[450, 550])]), S + "-pitch", "increased"),
            (report(), report(after=5), "rate", "not-comparable"), (report(after=5), report(after=5, bpm=60), "rate", "increased"),
            (report(after=5), report(after=10), "rate", "not-comparable"),
        ]
        for i, (first, second, what, want) in enumerate(table):
            with self.subTest(row=i, what=what):
                self.assertEqual(self.verdict(first, second, what), want)

    def test_other_species_and_other_places_are_not_comparable(self):
        for row in self.changes(exam(report()), exam(report(), date="2026-03-02", species="foal")):
            self.assertEqual(row["verdict"], "not-comparable")
        rows = self.changes(exam(report()), exam(report(side="right", area="tricuspid", phases=[phase()]), date="2026-03-02"))
        self.assertEqual([(r["what"], r["area"], r["verdict"]) for r in rows if not r["whole_visit"]],
                         [("recording", "mitral", "not-comparable"), ("recording", "tricuspid", "not-comparable")])
        self.assertEqual([r["verdict"] for r in rows if r["whole_visit"] and r["what"] == "rate"], ["within-repeatability"])

    def test_what_differs_between_recordings_of_one_visit_is_no_change(self):
        first, second = [report(bpm=36), report(bpm=44, area="aortic")], [report(bpm=44), report(bpm=44, area="aortic")]
        rows = self.changes(exam(first), exam(second, date="2026-03-02"))
        rates = {r["area"]: (r["verdict"], r["repeatability"]) for r in rows if r["what"] == "rate"}
        self.assertEqual(rates["mitral"][0], "within-repeatability")
        self.assertAlmostEqual(rates["mitral"][1], 1.96 * (32 + 0.2**2) ** 0.5, delta=0.1)  # 36 and 44: a standard deviation of sqrt 32

    def test_rest_is_held_against_rest_where_both_have_it(self):
        rows = self.changes(exam([report(after=5, bpm=60), report(bpm=36)]), exam([report(bpm=37), report(after=15, bpm=50)], date="2026-03-02"))
        rates = {r["minutes_after_exercise"]: r["verdict"] for r in rows if r["what"] == "rate" and not r["whole_visit"]}
        self.assertEqual(rates, {None: "within-repeatability", 5: "not-comparable"})

    def test_the_last_two_visits_are_compared_unless_others_are_named(self):
        self.two()
        self.do("add", self.put("c.json", exam(report(bpm=30), date="2024-01-01")))
        ids = lambda *more: [json.loads(self.do("compare", "Marlow", *more, "--json", "-")[0])[k]["id"] for k in ("first", "second")]
        self.assertEqual(ids(), [1, 2])
        self.assertEqual(ids("2", "3"), [2, 3])
        self.do("add", self.put("o.json", exam(report(), name="Oda", identifier="GL-7")))
        self.do("compare", "Marlow", "1", "4", code=5)
        self.do("compare", "Marlow", "1", "1", code=5)
        self.do("compare", "Marlow", "1", "77", code=5)
        self.do("compare", "Oda", code=5)
        self.do("compare", "Nobody", code=5)
        self.do("compare", "Marlow", "1", code=2)

    def test_the_page_shows_the_course_and_says_what_the_verdicts_rest_on(self):
        self.do("add", self.put("a.json", exam(report(phases=[phase()]))))
        self.do("add", self.put("b.json", exam(report(bpm=40), date="2026-03-02")))
        self.do("compare", "Marlow", "--html", "c.html", "--json", "c.json")
        page = self.bytes_of("c.html").decode()
        for words in ("Over all visits", "Murmur in systole, left mitral", "larger and not known", "licensed veterinarian decides", "within repeatability", 'class="told">gone'):
            self.assertIn(words, page)
        self.do("compare", "Marlow", "--html", "a.json", code=4)  # no file of this program
        self.do("add", self.put("d.json", exam(report(phases=[phase(phase()["level_db"] + 5.9)]), date="2026-06-02")))
        self.assertIn("under 6 dB, which is never called", " ".join(self.do("compare", "Marlow", "1", "3", "--text", "-")[0].split()))

    def test_the_answer_says_whether_nothing_differs_or_nothing_could_be_compared(self):
        self.do("add", self.put("a.json", exam(report())))
        self.do("add", self.put("b.json", exam(report(), date="2026-03-02")))
        self.do("add", self.put("c.json", exam(report(after=10), date="2026-04-02")))
        self.assertIn("No change that counts", self.do("compare", "Marlow", "1", "2", "--html", "-")[0])
        self.assertIn("No place could be compared", self.do("compare", "Marlow", "2", "3", "--html", "-")[0])

    def test_every_number_of_the_page_is_that_of_the_json(self):
        self.do("add", self.put("a.json", exam(report(phases=[phase()]))))
        self.do("add", self.put("b.json", exam(report(bpm=40, phases=[phase(level_db=-21)]), date="2026-03-02")))
        self.do("compare", "Marlow", "--html", "c.html", "--json", "c.json")
        changes = json.loads(self.bytes_of("c.json"))["changes"]
        rows = re.findall(r'<tr class="verdict-([^"]*)">(.*?)</tr>', self.bytes_of("c.html").decode(), re.S)
        self.assertEqual(len(rows), len(changes))
        n = 0
        for (verdict, row), change in zip(rows, changes):
            self.assertEqual(verdict, change["verdict"])
            cells = dict(re.findall(r'<td data-name="([^"]*)">(.*?)</td>', row))
            for name, key in (("First", "first"), ("Second", "second"), ("Change", "change"), ("Repeatability", "repeatability")):
                if isinstance(change[key], bool) or not isinstance(change[key], (int, float)) or not cells[name]:
                    continue
                shown = cells[name].replace("\N{MINUS SIGN}", "-")
                half_step = 0.5 * 10 ** -len(shown.partition(".")[2])
                self.assertLessEqual(abs(float(shown) - change[key]), half_step * 1.11, (change["what"], key))  # the JSON is rounded too
                n += 1
        self.assertGreater(n, 15)

    def test_the_document_is_the_same_each_time_and_can_be_searched(self):
        self.do("add", self.put("a.json", exam(report(phases=[phase()]))))
        self.do("add", self.put("b.json", exam(report(bpm=40), date="2026-03-02")))
        self.do("compare", "Marlow", "--pdf", "c.pdf", "--json", "c.json")
        self.do("compare", "Marlow", "--pdf", "again.pdf")
        document = self.bytes_of("c.pdf")
        self.assertEqual(document, self.bytes_of("again.pdf"))
        self.assertTrue(document.startswith(b"%PDF-"))
        self.assertIn(b"(20260302000000Z", document)  # the date of the second visit, never the clock
        if shutil.which("qpdf"):
            subprocess.run(["qpdf", "--check", "c.pdf"], check=True, capture_output=True)
        if shutil.which("pdftotext"):
            text = subprocess.run(["pdftotext", "-layout", "c.pdf", "-"], check=True, capture_output=True).stdout.decode()
            for words in ("What differs", "Murmur in systole: gone", "Side by side", "Over all visits", "larger and", "licensed veterinarian decides", "page 1."):
                self.assertIn(words, text)
        self.do("compare", "Marlow", "--pdf", "a.json", code=4)
        self.do("compare", "Marlow", "--pdf", "c.pdf", "--html", "c.pdf", code=2)


if __name__ == "__main__":
    sys.dont_write_bytecode = True
    unittest.main(verbosity=1)
