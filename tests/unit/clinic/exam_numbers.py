# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""exam_numbers.py EXAM.json EXAM.html: the numbers of the examination's own part of the page are those of its JSON: the
rate at rest, the row of each recording after exercise, and rate and murmurs under each place's picture. The numbers of each
recording's part are held by page_numbers.py."""
import json
import re
import sys

with open(sys.argv[1], encoding="utf-8") as f:
    exam = json.load(f)
with open(sys.argv[2], encoding="utf-8") as f:
    page = f.read()
own = page[page.index('<article id="examination">'):page.index("</article>")]
plain = lambda html: re.sub(r"\s+", " ", re.sub("<[^>]*>", " ", html).replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", " ")).strip()
rounded = lambda x: f"{x:.0f}".replace("-0", "0") if round(x) == 0 else f"{x:.0f}"
faults, n = [], 0


def holds(words, text):
    global n
    n += 1
    if words not in text:
        faults.append(f"{words!r} is not in {text[:160]!r}")


rate = exam["rate"]
if rate["settled_bpm"] is not None:
    holds(f"Rate at rest {rounded(rate['settled_bpm'])} beats a minute", plain(own))
    if abs(rate["mean_bpm"] - rate["bpm"]) > 0.05 * rate["bpm"]:  # beats that are missing or come early
        holds(f"The mean over all beats is {rounded(rate['mean_bpm'])}", plain(own))
    elif "mean over all beats" in plain(own[:own.index("</section>")]):
        faults.append("a mean is said that is the rate over again")
rows = [plain(row) for row in re.findall(r"<tr role=\"row\">.*?</tr>", own[own.index('class="recovery"'):], re.S)][1:] if exam["recovery"] else []
if len(rows) != len(exam["recovery"]):
    faults.append(f"{len(rows)} rows for {len(exam['recovery'])} recordings after exercise")
for row, point in zip(rows, exam["recovery"]):
    bpm = point["bpm"]
    holds(f"{rounded(point['minutes_after_exercise'])} min {'not determined' if bpm is None else rounded(bpm)}", row)
    if bpm is not None and rate["settled_bpm"]:
        over = 100 * (bpm / rate["settled_bpm"] - 1)
        holds("as at rest" if abs(over) < 0.5 else f"{rounded(abs(over))} % {'over' if over > 0 else 'under'} rest", row)
captions = [plain(c) for c in re.findall(r"<figcaption>(.*?)</figcaption>", own[own.index('class="areas"'):], re.S)]
for caption, recording in zip(captions, exam["recordings"]):
    report = recording["report"]
    if not report or report["quality"]["grade"] == "unusable":
        continue
    here = report["rate"]["settled_bpm"] if report["rate"]["settled_bpm"] is not None else report["rate"]["bpm"]
    if here is not None:
        holds(f"{rounded(here)} a minute", caption)
    for phase in report["murmur"]["phases"]:
        if phase["level_db"] is not None:
            holds(f"{rounded(phase['level_db'])} dB against S1", caption)
print("\n".join(faults) or f"{n} numbers of the examination agree")
sys.exit(bool(faults) or n < 6)
