#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Builds girthline and analyses the sample recordings: sh samples/try.sh. Installs the Debian packages a build needs, those
# that are missing, as root or with sudo. Run it as often as you like.
set -eu
cd "$(dirname "$0")/.."
. tests/support/setup.sh

if [ $# -gt 0 ]; then
  echo "usage: sh samples/try.sh   (builds girthline in build/ and analyses the recordings in samples/)" >&2
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
{
  read -r _header
  while IFS=, read -r file species animal side area; do
    echo
    echo "----- $animal: $file ($species, $side $area)"
    code=0
    "$girthline" report --species "$species" --side "$side" --area "$area" --out "$out" "samples/$file" </dev/null || code=$?
    n=$((n + 1))
    # 1: analysed and judged unusable, which is the right answer for one of them.
    if [ "$code" -gt 1 ] && [ "$code" -gt "$worst" ]; then worst=$code; fi
  done
} <samples/recordings.csv

echo
if [ "$worst" -ne 0 ]; then
  echo "$n recordings; at least one could not be analysed (exit code $worst)" >&2
  exit "$worst"
fi
echo "$n recordings analysed. Their pages, to open in a browser:"
for page in "$out"/*.html; do
  if [ -f "$page" ]; then echo "  $PWD/$page"; fi
done
