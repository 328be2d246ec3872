# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""girthline visits compare, run as a program. usage: test_visits_compare.py PROGRAM"""

import contextlib
import datetime
import json
import os
import re
import shutil
import subprocess
import sys
import unittest

from made_exam import exam, phase, report
from visits_case import VisitsCase


def number(shown):
    return float(shown.replace("\N{MINUS SIGN}", "-"))


class Course:
    """The wide picture under a heading, in pixels from its left and its top."""

    def __init__(self, page, heading):
        self.picture = page.partition(heading + "</h4>")[2].partition("</svg>")[0]
        labels = re.findall(r'x="38.0" y="([0-9.]+)"[^>]*>([^<]*)<', self.picture)
        (low_y, low), (high_y, high) = [(float(y), number(words)) for y, words in (labels[0], labels[-1])]
        self.per_unit = (low_y - high_y) / (high - low)

    def dots(self):  # the right edge of each, and its middle height
        return [(float(x), float(y)) for x, y in re.findall(r'class="f-first" d="M ([0-9.]+) ([0-9.]+) C', self.picture)]

    def bars(self):
        return [(float(low), float(high)) for x, low, again, high in re.findall(r'class="s-first" d="M ([0-9.]+) ([0-9.]+) L ([0-9.]+) ([0-9.]+) "', self.picture) if x == again]


class Comparing(VisitsCase):
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
            (report(bpm=36), report(bpm=39), "mean-interval", "within-repeatability"),  # 0.128 s; rates four apart would be 0.171 s
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
            # What a recording's own findings take back is no murmur that came or went.
            (report(), report(phases=soft, grade="poor"), S, "undetermined"), (report(phases=soft, grade="unusable"), report(), S, "undetermined"),
            (report(phases=[phase(-12, confidence=0.69)]), report(), S, "undetermined"), (report(phases=[phase(-12, confidence=0.7)]), report(), S, "gone"),
            (report(phases=[phase(-12, 1)]), report(limit=(-13.5, -25)), S, "gone"), (report(phases=[phase(-12, 1)]), report(limit=(-13.3, -25)), S, "undetermined"),
            (report(phases=soft), report(present=None), S, "undetermined"), (report(phases=soft), report(present=None, grade="unusable", bpm=None), S, "undetermined"),
            (report(phases=soft), report(limit=(None, None)), S, "undetermined"), (report(), report(), S, "within-repeatability"),
            (report(), report(present=None), S, "undetermined"), (report(), report(phases=[phase(-12, phase="diastole")]), D, "new"),
            (report(), report(phases=[phase(-12, phase="diastole")]), S, "within-repeatability"),
            (report(phases=soft), report(phases=early), S + "-timing", "changed"), (report(phases=soft), report(phases=early), S + "-shape", "changed"),
            (report(phases=soft), report(phases=early, limit=(-10.5, -25)), S + "-timing", "undetermined"),
            (report(phases=soft), report(phases=loud, rate_hz=44100), S, "not-comparable"), (report(phases=soft, rate_hz=44100), report(phases=loud), S, "not-comparable"), (report(), report(phases=soft, species="foal"), S, "not-comparable"),
            (report(phases=[phase(-12, phase="continuous")]), report(phases=soft), "murmur-phase", "changed"),
            (report(phases=[phase(-12, phase="continuous")]), report(phases=soft, limit=(-25, -11)), "murmur-phase", "undetermined"),
            (report(), report(phases=[phase(-12, phase="continuous")]), "murmur-continuous", "new"),
            (report(phases=[phase(-12, phase="continuous")]), report(limit=(-25, -11)), "murmur-continuous", "undetermined"),  # it has to show in both phases
            (report(phases=[phase(-12, phase="continuous")]), report(phases=[phase(-12, phase="diastole")]), "murmur-phase", "changed"),
            (report(phases=soft), report(phases=[phase(-12, peak_hz=331, band_hz=[231, 431])]), S + "-pitch", "increased"),  # 151 Hz of 141: half of each 200 Hz
            (report(phases=soft), report(phases=[phase(-12, peak_hz=320, band_hz=[220, 420])]), S + "-pitch", "within-repeatability"),
            (report(), report(phases=[phase(-12, peak_hz=400, band_hz=[350, 450])]), S, "new"),
            (report(phases=soft), report(phases=[phase(-12, peak_hz=500, band_hz=[450, 550])]), S + "-pitch", "increased"),
            (report(), report(after=5), "rate", "not-comparable"), (report(after=5), report(after=5, bpm=60), "rate", "increased"),
            (report(after=5), report(after=10), "rate", "not-comparable"),
        ]
        for i, (first, second, what, want) in enumerate(table):
            with self.subTest(row=i, what=what):
                self.assertEqual(self.verdict(first, second, what), want)

    def row(self, first, second, what, area="mitral"):
        return next(c for c in self.changes(exam(first), exam(second, date="2026-03-02")) if c["what"] == what and c["area"] == area)

    def test_a_share_of_beats_varies_as_agresti_and_coull_have_it(self):
        s3 = [{"kind": "S3", "beats_fraction": 0.9, "delay_s": 0.15, "level_db": -12, "confidence": 0.9, "onsets_s": []}]
        for n in (30, 100):  # by the intervals used; by the beats where they are listed
            one, other = report(extra=s3), report(extra=s3)
            one["beats"] = other["beats"] = [{}] * n if n > 30 else []
            p = (0.9 * n + 2) / (n + 4)
            self.assertAlmostEqual(self.row(one, other, "extra-sound-S3")["repeatability"], 1.96 * (2 * p * (1 - p) / (n + 4)) ** 0.5, delta=6e-4)

    def test_no_spread_is_held_for_less_than_the_onsets_uncertainty(self):
        wide, narrow = report(), report()
        wide["rhythm"]["sdnn_ms"] = 300.0
        self.assertEqual(self.row(narrow, wide, "sdnn")["verdict"], "increased")
        wide["rhythm"]["onset_jitter_ms"] = 200.0
        self.assertAlmostEqual(self.row(narrow, wide, "sdnn")["repeatability"], 1.96 * 200, delta=0.05)

    def test_a_place_without_its_area_is_no_place_for_sounds(self):
        row = self.row(report(phases=[phase()], area=None), report(area=None), "murmur-systole", None)
        self.assertEqual(row["verdict"], "not-comparable")
        self.assertIn("not stated", row["reason"])

    def test_the_course_of_a_continuous_murmur_shows_the_limit_of_both_phases(self):
        self.do("add", self.put("a.json", exam(report(phases=[phase(-12, phase="continuous")]))))
        self.do("add", self.put("b.json", exam(report(limit=(-25, -20)), date="2026-03-02")))
        self.assertIn("2026-03-02: none found; one could have shown from \N{MINUS SIGN}20.0 on", self.do("compare", "Marlow", "--html", "-")[0])

    def test_the_course_lays_each_visit_at_its_day(self):
        for dates in (("1899-12-31", "1900-02-28", "1900-03-01", "1900-03-31"), ("1999-12-31", "2000-02-28", "2000-02-29", "2000-03-01", "2000-04-01"),
                      ("2023-12-31", "2024-01-01", "2024-02-29", "2024-03-01", "2024-07-31", "2024-09-01", "2024-11-30", "2025-01-01")):
            for date in dates:
                self.do("add", self.put("a.json", exam(report(), date=date, name=dates[0], identifier=None)))
            x = [at for at, _ in Course(self.do("compare", dates[0], "--html", "-")[0], "Rate at rest").dots()]
            days = [datetime.date.fromisoformat(date).toordinal() for date in dates]
            per_day = (x[-1] - x[0]) / (days[-1] - days[0])
            self.assertGreater(per_day, 0)
            for at, day in zip(x, days, strict=True):
                self.assertAlmostEqual(at, x[0] + per_day * (day - days[0]), delta=0.1, msg=(dates, at))

    def test_a_murmur_s_course_shows_each_level_with_its_interval(self):
        levels = ((-20, 1.0), (-14, 2.5), (-11, 0.5))
        for i, (level, half) in enumerate(levels):
            worked = report(after=10, phases=[phase(level + 9, half=4.0)])
            self.do("add", self.put("a.json", exam([worked, report(phases=[phase(level, half=half)])], date=f"2026-0{i + 1}-01")))
        self.do("add", self.put("a.json", exam(report(limit=(-25, -21)), date="2026-05-01")))
        page = self.do("compare", "Marlow", "--html", "-")[0]
        course = Course(page, "Murmur in systole, left mitral")
        self.assertEqual(course.picture.count('class="f-note"'), 1)  # where none was found
        dots = course.dots()
        for (_, y), (low_y, high_y), (level, half) in zip(dots, course.bars(), levels, strict=True):
            self.assertAlmostEqual(dots[0][1] - y, course.per_unit * (level - levels[0][0]), delta=1)
            self.assertAlmostEqual(low_y - y, course.per_unit * half, delta=1)
            self.assertAlmostEqual(y - high_y, course.per_unit * half, delta=1)
        self.assertIn("2026-05-01: none found; one could have shown from \N{MINUS SIGN}25.0 on", page)

    def test_each_murmur_that_was_ever_heard_at_rest_has_its_course(self):
        early = phase(-8, phase="diastole", timing="early", shape="decrescendo")
        self.do("add", self.put("a.json", exam([report(phases=[phase()]), report(area="aortic", phases=[early])])))
        self.do("add", self.put("b.json", exam([report(), report(area="aortic", phases=[early, phase()]), report(area="pulmonic", after=5, phases=[phase()])], date="2026-03-02")))
        titles = re.findall(r"<h4 id=.course-\d+.>([^<]*)</h4>", self.do("compare", "Marlow", "--html", "-")[0])
        self.assertEqual(sorted(titles), ["Murmur in diastole, left aortic", "Murmur in systole, left aortic", "Murmur in systole, left mitral", "Rate at rest"])

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
        self.assertAlmostEqual(rates[None][1], 1.96 * (32 + 0.2**2) ** 0.5, delta=0.1)  # of the whole visit

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

    def test_of_several_recordings_of_a_place_course_and_rows_take_the_same(self):
        for name, date, level in (("a.json", "2025-03-01", -20), ("b.json", "2026-03-02", -12)):
            noisy, unread = report(grade="poor", limit=(-3, -3)), report()
            both = exam([unread, noisy, report(phases=[phase(level)])], date=date)
            both["recordings"][0]["report"] = None
            self.do("add", self.put(name, both))
        self.do("compare", "Marlow", "--html", "c.html", "--json", "c.json")
        row = next(c for c in json.loads(self.bytes_of("c.json"))["changes"] if c["what"] == "murmur-systole")
        self.assertEqual((row["first"], row["second"]), (-20, -12))
        course = self.bytes_of("c.html").decode().partition("Murmur in systole, left mitral</h4>")[2].partition("</figure>")[0]
        self.assertIn("2025-03-01: \N{MINUS SIGN}20.0", course)
        self.assertIn("2026-03-02: \N{MINUS SIGN}12.0", course)

    def test_the_answer_says_whether_nothing_differs_or_nothing_could_be_compared(self):
        self.do("add", self.put("a.json", exam(report())))
        self.do("add", self.put("b.json", exam(report(), date="2026-03-02")))
        self.do("add", self.put("c.json", exam(report(after=10), date="2026-04-02")))
        for form in ("--html", "--text"):
            self.assertIn("No change that counts", self.do("compare", "Marlow", "1", "2", form, "-")[0])
            self.assertIn("No place could be compared", self.do("compare", "Marlow", "2", "3", form, "-")[0])

    def test_the_answer_says_what_stands_against_all_comparisons_alike(self):
        self.do("add", self.put("a.json", exam(report())))
        self.do("add", self.put("b.json", exam(report(species="dog"), date="2026-03-02", species="dog")))
        for form in ("--html", "--text"):
            said = self.do("compare", "GL-0042", form, "-")[0].partition("No place could be compared")[2]
            self.assertIn("The visits name different species", " ".join(said.split())[:80])

    def test_one_recording_in_two_visits_is_held_against_nothing(self):
        heard = report(phases=[phase(-12)])
        row = self.row(heard, heard, "rate")
        self.assertEqual((row["verdict"], row["change"]), ("not-comparable", None))
        self.assertIn("the same recording", row["reason"])
        self.assertTrue(all(c["verdict"] == "not-comparable" for c in self.changes(exam(heard), exam([heard, report(area="aortic")], date="2026-03-02"))))
        for date in ("2025-03-01", "2026-03-02"):
            self.do("add", self.put("a.json", exam(heard, name="Bo", identifier="B1", date=date)))
        said = " ".join(self.do("compare", "Bo", "--text", "-")[0].split())
        self.assertIn("No place could be compared. Both visits name the same recording", said)
        other = [report(phases=[phase(-12)]) for _ in range(2)]
        for one in other:
            one["recording"]["content_hash"] = None  # not known to be the same
        self.assertEqual(self.row(*other, "rate")["verdict"], "within-repeatability")

    def test_the_text_says_what_differs_before_the_rows(self):
        self.do("add", self.put("a.json", exam(report())))
        self.do("add", self.put("b.json", exam(report(bpm=50, phases=[phase(-12)]), date="2026-03-02")))
        head, _, rest = self.do("compare", "Marlow")[0].partition("\nWhole visit\n")
        answers = " ".join(head.partition("What differs")[2].split())
        self.assertIn("Left mitral Murmur in systole: new. None at the first visit, \N{MINUS SIGN}12.0 dB at the second: ", answers)
        self.assertIn("Whole visit Rate at rest", answers)
        self.assertNotIn("within repeat", answers)
        self.assertRegex(rest, r"\n  Rhythm  .* within repeat\.\n")  # each in one line, at 80 columns
        self.env["COLUMNS"] = "86"
        self.assertRegex(self.do("compare", "Marlow")[0], r"\n  Rhythm  .* within repeatability\n")

    def test_the_answer_tells_of_a_murmur_that_cannot_be_compared(self):
        self.do("add", self.put("a.json", exam(report(phases=[phase(-16)]))))
        self.do("add", self.put("b.json", exam(report(phases=[phase(-2)], rate_hz=44100), date="2026-03-02")))  # another recorder
        self.do("add", self.put("c.json", exam(report(limit=(-11, -25)), date="2026-04-02")))
        for ids, first, words in ((("1", "2"), "All places No change that counts", "not comparable. \N{MINUS SIGN}16.0 dB at the first visit, \N{MINUS SIGN}2.0 dB at the second: the recordings have different sample rates"),
                                  (("1", "3"), "All places No change that counts", "undetermined. \N{MINUS SIGN}16.0 dB at the first visit, none at the second: not found at the second visit, but")):
            answers = " ".join(self.do("compare", "Marlow", *ids, "--text", "-")[0].partition("What differs")[2].partition("\nWhole visit\n")[0].split())
            self.assertTrue(answers.startswith(first), answers)
            self.assertIn("Left mitral Murmur in systole: " + words, answers)
            self.assertNotIn("diastole", answers)  # none was heard

    def test_the_answer_does_not_say_a_faster_rate_twice(self):
        self.do("add", self.put("a.json", exam(report(bpm=36))))
        self.do("add", self.put("b.json", exam(report(bpm=50), date="2026-03-02")))
        answers = self.do("compare", "Marlow", "--text", "-")[0].partition("What differs")[2].partition("\nWhole visit\n")[0]
        self.assertIn("Rate: increased", answers)
        self.assertNotIn("Mean interval", answers)

    def test_visits_named_against_their_dates_are_said_to_be(self):
        self.two()
        for form in ("--html", "--text"):
            self.assertIn("The second visit is the earlier one", self.do("compare", "Marlow", "2", "1", form, "-")[0])
            self.assertNotIn("earlier one", self.do("compare", "Marlow", "1", "2", form, "-")[0])

    def test_each_change_is_the_difference_of_the_numbers_beside_it(self):
        self.do("add", self.put("a.json", exam(report(bpm=36.65, phases=[phase(peak_hz=292.4)]))))
        self.do("add", self.put("b.json", exam(report(bpm=37.71, phases=[phase(level=-11.3, peak_hz=251.6)]), date="2026-03-02")))
        text = self.do("compare", "Marlow", "--html", "c.html", "--json", "c.json", "--text", "-")[0]
        self.assertRegex(text, r"36\.7 +37\.7 +\+1\.0 ")
        changes = [c for c in json.loads(self.bytes_of("c.json"))["changes"] if c["change"] is not None]
        rows = [dict(re.findall(r'<td[^>]* data-name="([^"]*)">(.*?)</td>', row)) for row in re.findall(r"<tr class=.verdict.*?</tr>", self.bytes_of("c.html").decode(), re.S)]
        rows = [row for row in rows if row["Change"]]
        self.assertEqual(len(rows), len(changes))
        for row, change in zip(rows, changes):
            self.assertEqual(round(change["second"] - change["first"], 6), change["change"])
            self.assertEqual(round(number(row["Second"]) - number(row["First"]), 6), number(row["Change"]))

    def test_every_number_of_the_page_is_that_of_the_json(self):
        self.do("add", self.put("a.json", exam(report(phases=[phase()]))))
        self.do("add", self.put("b.json", exam(report(bpm=40, phases=[phase(level_db=-21)]), date="2026-03-02")))
        self.do("compare", "Marlow", "--html", "c.html", "--json", "c.json")
        changes = json.loads(self.bytes_of("c.json"))["changes"]
        rows = re.findall(r'<tr class="verdict-([^"]*)"[^>]*>(.*?)</tr>', self.bytes_of("c.html").decode(), re.S)
        self.assertEqual(len(rows), len(changes))
        n = 0
        for (verdict, row), change in zip(rows, changes):
            self.assertEqual(verdict, change["verdict"])
            cells = dict(re.findall(r'<td[^>]* data-name="([^"]*)">(.*?)</td>', row))
            for name, key in (("First", "first"), ("Second", "second"), ("Change", "change"), ("Repeatability", "repeatability")):
                if isinstance(change[key], bool) or not isinstance(change[key], (int, float)) or not cells[name]:
                    continue
                shown = cells[name].replace("\N{MINUS SIGN}", "-")
                if name == "Change":  # of the numbers beside it, wherever they stand
                    change = dict(change, change=number(cells["Second"]) - number(cells["First"]))
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
