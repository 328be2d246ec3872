# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""girthline visits, run as a program: the history and what is kept in it. usage: test_visits.py PROGRAM"""

import contextlib
import json
import os
import pty
import resource
import signal
import sqlite3
import subprocess
import sys
import time
import unittest

from made_exam import exam, phase, report
from visits_case import PROGRAM, VisitsCase

HOSTILE = "<b>&\"'); DROP TABLE visits;-- \u202e\u001b[31m\U0001F40E"
N_KILLS = 20


class Visits(VisitsCase):
    # The file.
    def test_the_list_says_what_was_found_and_what_was_not_determined(self):
        heard, noisy = report(bpm=36.4), report(bpm=None, present=None)
        rows = ((exam(heard), "1 recording, 36/min, murmurs: 0"), (exam([noisy, noisy]), "2 recordings, rate not determined, murmurs: not determined"),
                (exam([heard, noisy]), "2 recordings, 36/min, murmurs: 0"), (exam([noisy, heard]) | {"murmurs": [{}]}, "2 recordings, 36/min, murmurs: 1"))
        for k, (made, words) in enumerate(rows):
            made["examination"]["date"] = f"2026-01-0{k + 1}"
            self.do("add", self.put("a.json", made))
            self.assertIn(words, " ".join(self.do("list")[0].split(made["examination"]["date"])[1].split()).replace("Marlow GL-0042 horse ", ""))

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
        moved = json.loads(self.bytes_of("a.json"))
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
        # The one without an identifier has no word of its own any more: two of its visits tell which.
        self.do("compare", "Marlow", "--species", "horse", code=5)
        self.assertIn("visit 1, 2025-03-01", " ".join(self.do("compare", "Marlow", "1", "2")[0].split()))
        self.assertIn("visit 3 is another animal's", self.do("compare", "Marlow", "1", "3", code=5)[1])
        self.do("add", self.put("f.json", exam(report(), name="Marlow II", identifier="X1", date="2027-01-01")))  # renamed
        self.assertEqual(self.do("list", "X1")[0].count("\n"), 3)
        self.do("add", self.put("g.json", exam(report(), name=None, identifier=None)), code=2)

    def test_an_unknown_animal_is_said_with_the_nearest_that_is_known(self):
        self.two()
        for words in (("list", "Marlo"), ("compare", "marlwo")):
            self.assertIn("did you mean Marlow?", self.do(*words, code=5)[1])
        self.assertEqual(self.do("list", "Bellamy", code=5)[1], "girthline: no animal Bellamy is in v.db; girthline visits list shows all\n")
        self.assertIn("no dog Marlow", self.do("list", "Marlow", "--species", "dog", code=5)[1])
        self.assertIn("did you mean GL-0042?", self.do("list", "GL-042", code=5)[1])
        self.assertIn("did you mean GL-0042?", self.do("list", "gl-042", code=5)[1])
        self.assertTrue(self.do("list", "MARLWO", code=5)[1].endswith("; girthline visits list shows all; did you mean Marlow?\n"))

    def test_what_is_near_to_anything_is_not_offered(self):
        for i, (name, identifier) in enumerate((("Bo", "1"), ("Ann", "1234"), ("Marlow", "B"))):
            self.do("add", self.put(f"{i}.json", exam(report(), name=name, identifier=identifier)))
        for word in ("7", "C", "Bu", "12", "1235", "An", "x"):
            self.assertEqual(self.do("list", word, code=5)[1], f"girthline: no animal {word} is in v.db; girthline visits list shows all\n")
        for word in ("anne", "Amn"):
            self.assertIn("did you mean Ann?", self.do("list", word, code=5)[1])

    def test_an_animal_begun_beside_one_much_like_it_is_said(self):
        self.do("add", self.put("a.json", exam(report(), identifier=None)))
        quite_another = (exam(report(), name="Martha", identifier=None), exam(report(), name="Ma", identifier=None), exam(report(species="donkey"), identifier=None, species="donkey"))
        alike = (exam(report(), name="marlow", identifier=None), exam(report(), identifier="X1"), exam(report(), name="Marlw", identifier=None),
                 exam(report(), name="Márlow", identifier=None), exam(report(), name="Marllow", identifier="X7"))
        for value in quite_another:
            self.assertNotIn("a new animal", self.do("add", self.put("b.json", value))[1])
        for value in alike:
            err = self.do("add", self.put("c.json", value))[1]
            self.assertIn("a new animal was begun", err)
            self.assertIn("Marlow, horse, without an identifier", err)
            self.assertNotIn("donkey", err)
        self.assertNotIn("a new animal", self.do("add", self.put("d.json", exam(report(), identifier="X2", name="Marlow III")))[1])
        err = self.do("add", self.put("e.json", exam(report(), identifier="x2", name="Another")))[1]
        self.assertIn("identifier X2", err)
        self.assertEqual(self.do("add", "e.json", "--quiet", "--replace")[1].count("a new animal"), 0)
        self.assertEqual(self.do("add", self.put("f.json", exam(report(), identifier="x2", date="2027-01-01")))[1].count("new animal"), 0)

    def test_animals_told_apart_by_a_number_or_by_identifiers_are_not_alike(self):
        for name, identifier in (("Mare 12", None), ("Mare 13", None), ("Mare 2", None), ("Bo", None), ("Bu", None), ("Linnet", "A1"), ("Linnett", "A2")):
            self.assertNotIn("a new animal", self.do("add", self.put("a.json", exam(report(), name=name, identifier=identifier)))[1], name)
        for name in ("Mares 13", "bo", "Linett"):
            self.assertIn("a new animal", self.do("add", self.put("a.json", exam(report(), name=name, identifier=None)))[1], name)

    def test_the_same_recordings_under_another_date_are_told(self):
        heard = report()
        self.do("add", self.put("a.json", exam(heard, date="2026-01-01")))
        err = self.do("add", self.put("b.json", exam(heard, date="2026-01-02")))[1]
        self.assertIn("its recordings are those of visit 1 too; if its date was put right here, remove visit 1", err)
        other = report(), report()
        for value, content in zip(other, ("xxh3-128:" + "7" * 32, None)):
            value["recording"]["content_hash"] = content
        self.assertNotIn("recordings are those of", self.do("add", self.put("c.json", exam(other[0], date="2026-01-03")))[1])
        self.assertNotIn("recordings are those of", self.do("add", self.put("d.json", exam(other[1], date="2026-01-04")))[1])
        self.assertNotIn("recordings are those of", self.do("add", self.put("e.json", exam(other[1], date="2026-01-05")))[1])  # nothing is known of either
        self.assertNotIn("recordings are those of", self.do("add", self.put("f.json", exam(heard, identifier="X9", name="Another")))[1])
        self.assertNotIn("recordings are those of", self.do("add", self.put("b.json", exam(report(bpm=41, content_hash=heard["recording"]["content_hash"]), date="2026-01-02")), "--replace")[1])
        self.assertEqual(self.do("add", self.put("g.json", exam(heard, date="2026-01-06")), "--quiet")[1], "")

    def test_what_another_version_wrote_is_shown_too(self):
        value = exam(report())
        value["animal"].update(sex="mare", age_days=4000, colour="bay")
        value["signs"] = {"notes": "calm", "lungs": "clear", "weight_kg": 512.5, "scores": [1, 2], "nothing": None, "empty": ""}
        value["elsewhere"] = {"bloods": "sent in"}
        value["recordings"][0]["notes"] = "leg drawn\nforward"
        self.do("add", self.put("a.json", value))
        shown = " ".join(self.do("show", "1")[0].split())
        for words in ("Animal Sex mare colour bay", "Signs Notes calm lungs clear weight_kg 512.5 scores kept, and shown by --json alone",
                      "Found elsewhere bloods sent in", "; notes: leg drawn forward"):
            self.assertIn(words, shown)
        for words in ("age_days", "nothing", "empty", "Name Marlow"):
            self.assertNotIn(words, shown)

    def test_list_and_show_say_what_the_examination_said(self):
        settled = exam(report(bpm=45, phases=[phase(-7.5, phase="continuous"), phase(-0.04, phase="diastole", timing="early", shape="decrescendo")]))
        for rate in (settled["rate"], settled["recordings"][0]["report"]["rate"]):
            rate.update(bpm=45, settled_bpm=39.5)  # read off the page of the examination as 40
        settled["findings"] = [{"kind": "irregular", "text": "It is irregular.", "urgency": "before-work"}]
        after = report(bpm=95.5, after=2.25)
        after["rate"]["settled_bpm"] = 90
        settled["signs"] = {"capillary_refill_s": 1.5, "jugular_left": "empty"}
        settled["recordings"].append({"name": "r1", "side": "left", "area": "mitral", "minutes_after_exercise": 2.25, "report": after})
        self.do("add", self.put("a.json", settled))
        self.assertIn("2 recordings, 40/min,", self.do("list")[0])
        shown = " ".join(self.do("show", "1")[0].split())
        self.assertIn("left mitral: rate 40 a minute; rhythm regular; murmur through systole and diastole, holo, plateau, \N{MINUS SIGN}7.5 dB against S1; "
                      "murmur in diastole, early, decrescendo, 0.0 dB against S1", shown)
        self.assertIn("left mitral, 2.25 min after exercise: rate 96 a minute", shown)
        self.assertIn("before work It is irregular.", shown)
        self.assertIn("Capillary refill, s 1.5 Left jugular vein empty", shown)

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
        self.assertIn("visit 1 was removed; its copy is v.db.visit-1.json", self.do("remove", "1", "--yes")[1])
        self.assertEqual(self.count(), 1)
        self.assertEqual(self.bytes_of("v.db.visit-1.json"), self.bytes_of("a.json"))
        self.do("show", "1", code=5)
        self.do("add", "v.db.visit-1.json")
        self.assertEqual(self.do("show", "3", "--json", "-")[0].encode(), self.bytes_of("a.json"))  # a number is never given twice
        self.do("remove", "9", "--yes", code=5)
        self.do("remove", "x", "--yes", code=2)

    def test_a_copy_is_written_over_nothing(self):
        self.two()
        for k in range(1, 1000):
            with open("v.db.visit-1.json" if k == 1 else f"v.db.visit-1-{k}.json", "w") as f:
                f.write("mine")
        self.assertIn("no name is free for the copy of visit 1; nothing was removed", self.do("remove", "1", "--yes", code=5)[1])
        self.assertEqual(self.count(), 2)
        os.remove("v.db.visit-1-3.json")
        self.assertEqual(self.do("remove", "1", "--yes", "--quiet"), ("", ""))
        self.assertEqual(self.bytes_of("v.db.visit-1-3.json"), self.bytes_of("a.json"))
        self.assertEqual({self.bytes_of(name) for name in os.listdir() if "visit-1" in name}, {b"mine", self.bytes_of("a.json")})
        self.assertEqual(self.count(), 1)

    @contextlib.contextmanager
    def asked(self):
        """Visit 2 is to be removed, and the question stands on the terminal."""
        try:
            master, slave = pty.openpty()
        except OSError:
            self.skipTest("no terminal can be made here (/dev/pts is missing)")
        p = subprocess.Popen([PROGRAM, "visits", "--db", "v.db", "remove", "2"], stdin=slave, stdout=slave, stderr=slave, env=self.env)
        os.close(slave)
        said = b""
        while b"[y/N]" not in said:
            said += os.read(master, 10000)
        self.assertIn(b"Visit 2: ", said)
        self.assertIn(b"Take visit 2 out of the history (a copy is kept)?", said)
        yield p, master
        os.close(master)

    def said_at_last(self, p, terminal):
        said = b""
        with contextlib.suppress(OSError):  # how a terminal ends that nobody holds open any more
            while some := os.read(terminal, 10000):
                said += some
        return p.wait(), said

    def test_remove_asks_at_a_terminal(self):
        self.two()
        for answer, left in ((b"no\n", 2), (b"\n", 2), (b"yes please\n", 2), (b"y\n", 1)):
            with self.asked() as (p, terminal):
                os.write(terminal, answer)
                code, said = self.said_at_last(p, terminal)
            self.assertEqual(code, 0)
            self.assertIn(b"nothing was removed" if left == 2 else b"visit 2 was removed", said)
            self.assertEqual(self.count(), left, answer)

    def test_a_visit_that_was_changed_while_it_was_asked_for_stays(self):
        self.two()
        with self.asked() as (p, terminal):
            self.do("add", self.put("c.json", exam(report(bpm=51), date="2026-03-02")), "--replace")
            os.write(terminal, b"y\n")
            code, said = self.said_at_last(p, terminal)
        self.assertEqual(code, 5)
        self.assertIn(b"visit 2 was changed by another program meanwhile; nothing was removed", said)
        self.assertEqual(self.do("show", "2", "--json", "-")[0].encode(), self.bytes_of("c.json"))
        self.assertEqual([name for name in os.listdir() if "visit-2" in name], [])

    def test_a_copy_that_cannot_be_written_keeps_the_visit(self):
        self.two()
        limit = lambda: (signal.signal(signal.SIGXFSZ, signal.SIG_IGN), resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)))
        self.do("remove", "1", "--yes", code=4, preexec_fn=limit)
        self.assertEqual(self.count(), 2)

    def test_a_number_is_written_in_digits_and_is_no_less_than_one(self):
        self.two()
        for word in ("0", "00", "+1", " 1", "1 ", "1x", "1.0", "0x1", "", "99999999999999999999"):
            self.assertIn(f"{word} is no visit's number: girthline visits list shows them", self.do("show", word, code=2)[1])
            self.do("remove", word, "--yes", code=2)
            self.do("compare", "Marlow", "1", word, code=2)
        self.do("show", "9223372036854775807", code=5)
        self.assertEqual(self.count(), 2)

    def test_a_stranger_s_file_is_written_over_by_force_alone(self):
        for n, name in enumerate(("a.json", "b.json")):
            said = self.do("add", self.put(name, exam(report(), date=f"2026-03-0{n + 1}")))[1]
            self.assertTrue(said.startswith(f"girthline: {name} is visit {n + 1} in v.db\n"), said)
        for words in (("show", "1", "--json", "f"), ("show", "1", "--text", "f"), ("export", "f"), ("compare", "Marlow", "--html", "f"), ("compare", "Marlow", "--pdf", "f")):
            with open("f", "w") as f:
                f.write("mine")
            self.assertIn("not written by girthline", self.do(*words, code=4)[1])
            self.assertEqual(self.bytes_of("f"), b"mine")
            self.do(*words, "--force")
            self.assertNotEqual(self.bytes_of("f"), b"mine")

    def test_an_export_says_when_a_visit_was_added(self):
        before = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
        self.two()
        after = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime())
        for visit in json.loads(self.do("export")[0])["visits"]:
            self.assertRegex(visit["added_at"], r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$")
            self.assertTrue(before <= visit["added_at"] <= after, visit["added_at"])

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


if __name__ == "__main__":
    sys.dont_write_bytecode = True
    unittest.main(verbosity=1)
