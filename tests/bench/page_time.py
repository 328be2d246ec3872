#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""How long the page of 30 s at 4 kHz takes beside one empty page drawn with pango and cairo.

    page_time.py PROGRAM EMPTY_PAGE [--rounds N] [--most-ratio X]

Each round runs, one after the other and each in a process of its own, EMPTY_PAGE, the report's JSON alone (the analysis) and
the page. What counts is processor time, which a busy machine hardly changes, and of it the lower quartile over the rounds.
The page's own time is that of the page less that of the JSON; the sound and every picture are in it. Exits 1 when it is
more than --most-ratio times the empty page. Standard library only.
"""
import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile


def processor_ms(command):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1e3 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)


def main():
    parser = argparse.ArgumentParser(usage=__doc__)
    parser.add_argument("program")
    parser.add_argument("empty_page")
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--most-ratio", type=float, default=0)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        wav = os.path.join(folder, "horse.wav")
        subprocess.run([options.program, "synth", wav, "--species", "horse", "--bpm", "38", "--rhythm", "regular", "--snr-db", "22", "--seconds", "30",
                        "--rate-hz", "4000", "--seed", "3"], check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        report = [options.program, "report", wav, "--species", "horse"]
        commands = {"empty": [options.empty_page], "json": report + ["--json", "-"], "page": report + ["--html", "-"]}
        took = {name: [] for name in commands}
        for _ in range(options.rounds):
            for name, command in commands.items():
                took[name].append(processor_ms(command))
    quartile = {name: statistics.quantiles(times, n=4)[0] for name, times in took.items()}
    own = quartile["page"] - quartile["json"]
    ratio = own / quartile["empty"]
    print("empty page %.1f ms; analysis %.1f ms; the page's own %.1f ms, %.2f times the empty one (all together %.1f times)"
          % (quartile["empty"], quartile["json"], own, ratio, quartile["page"] / quartile["empty"]))
    if options.most_ratio and ratio > options.most_ratio:
        sys.exit("more than %.2f times" % options.most_ratio)


main()
