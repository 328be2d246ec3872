#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Line coverage of src by the tests, a row a folder: sh tests/coverage.sh [BUILD]. Without BUILD build-coverage is made and every test but
# the long ones run in it; with BUILD (a build folder with -Db_coverage=true whose tests have run) it is only counted. Exit code 1: under
# the floor.
set -eu
cd "$(dirname "$0")/.."
floor_percent=90
build=${1:-build-coverage}
if [ $# -eq 0 ]; then
  [ -f "$build/build.ninja" ] || meson setup "$build" --buildtype=debug -Db_coverage=true
  meson compile -C "$build"
  meson test -C "$build" --no-rebuild --no-suite long --timeout-multiplier 10 || echo "some tests failed: what they would have reached is missing below"
fi
# A program that is killed amid writing its counters leaves a file that cannot be read: it is passed over.
gcovr --root . --filter 'src/' --csv --gcov-ignore-parse-errors "$build" >"$build/coverage.csv" 2>"$build/coverage.log"
awk -F, -v floor="$floor_percent" '
  NR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next }
  {
    n = split($at["filename"], part, "/")
    folder = n > 2 ? part[1] "/" part[2] : part[1]
    total[folder] += $at["line_total"]; hit[folder] += $at["line_covered"]
    all += $at["line_total"]; all_hit += $at["line_covered"]
  }
  END {
    for (f in total) printf "%-16s %6d of %6d lines  %5.1f %%\n", f, hit[f], total[f], 100 * hit[f] / total[f] | "sort"
    close("sort")
    if (!all) { print "nothing was counted"; exit 1 }
    printf "%-16s %6d of %6d lines  %5.1f %% (floor %d)\n", "all", all_hit, all, 100 * all_hit / all, floor
    exit 100 * all_hit < floor * all
  }' "$build/coverage.csv"
