#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Builds girthline, analyses the sample recordings, the two examinations of one mare, and compares these two visits:
# sh samples/try.sh. Installs the Debian packages a build needs, those that are missing, as root or with sudo. Run it as
# often as you like.
set -eu
cd "$(dirname "$0")/.."
. tests/support/setup.sh

if [ $# -gt 0 ]; then
  echo "usage: sh samples/try.sh   (builds girthline in build/, analyses the samples and says where the pages are)" >&2
  [ "$1" = --help ] && exit 0
  exit 2
fi

mkdir -p build-logs
# shellcheck disable=SC2086 # a list of words
packages_install build-logs/packages.log $packages_build || exit 1

echo "building girthline (log: build-logs/try.log)"
if ! configure build --buildtype=release >build-logs/try.log 2>&1 || ! meson compile -C build girthline:executable >>build-logs/try.log 2>&1; then
  tail -n 20 build-logs/try.log >&2
  echo "girthline does not build; the whole log is build-logs/try.log" >&2
  exit 1
fi

girthline=$PWD/build/src/cli/girthline
out=build/samples-report
mkdir -p "$out"
n=0
worst=0

# run COMMAND...: run it and keep the worst exit code. 1 is analysed and judged unusable, the right answer for one recording.
run() {
  code=0
  "$@" </dev/null || code=$?
  if [ "$code" -gt 1 ] && [ "$code" -gt "$worst" ]; then worst=$code; fi
}

{
  read -r _header
  while IFS=, read -r file species animal side area; do
    echo
    echo "----- $animal: $file ($species, $side $area)"
    run "$girthline" report --species "$species" --side "$side" --area "$area" --out "$out" "samples/$file"
    n=$((n + 1))
  done
} <samples/recordings.csv

# Two visits of Linnet, a year apart. The history is the demonstration's own, beside the build, not the one in the home folder.
history=build/visits.db
for visit in visit-1 visit-2; do
  echo
  echo "----- Linnet: $visit.ini (an examination)"
  run "$girthline" exam --out "$out" "samples/$visit.ini"
  run "$girthline" visits --db "$history" add --replace "$out/$visit.json"
done
echo
echo "----- Linnet: the two visits compared"
run "$girthline" visits --db "$history" compare Linnet
run "$girthline" visits --db "$history" compare Linnet --html "$out/linnet-compared.html"

echo
if [ "$worst" -ne 0 ]; then
  echo "$n recordings, 2 examinations, 1 comparison; at least one went wrong (exit code $worst)" >&2
  exit "$worst"
fi
echo "$n recordings and 2 examinations analysed, the 2 visits compared. Their pages, to open in a browser:"
for page in "$out"/*.html; do
  if [ -f "$page" ]; then echo "  $PWD/$page"; fi
done
