#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# use_samples.sh SAMPLES OUT: the installed program on the installed samples: each recording, both examinations, their comparison, a batch.
set -eu
samples=$1
out=$2
cd /
unset HOME

girthline --version
n=0
{
  read -r _header
  while IFS=, read -r file species _animal side area; do
    code=0
    girthline report --species "$species" --side "$side" --area "$area" --out "$out" "$samples/$file" </dev/null || code=$?
    case $file in *noisy*) want=1 ;; *) want=0 ;; esac
    [ "$code" -eq "$want" ] || {
      echo "$file: exit code $code instead of $want" >&2
      exit 1
    }
    [ -s "$out/${file%.wav}.html" ] && [ -s "$out/${file%.wav}.json" ]
    n=$((n + 1))
  done
} <"$samples/recordings.csv"
girthline report "$samples/maren-at-rest.wav" --json - >"$out/maren-named.json"
girthline report "$samples/maren-at-rest.wav" --pdf "$out/maren.pdf"
for visit in visit-1 visit-2; do
  girthline exam --out "$out" "$samples/$visit.ini"
  girthline visits --db "$out/visits.db" add "$out/$visit.json"
done
girthline visits --db "$out/visits.db" compare Linnet --html "$out/compared.html"
girthline batch "$samples" --out "$out/batch"
echo "$n recordings, 2 examinations, 1 comparison, 1 batch by the installed program"
