#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Each command's main path under valgrind: sh tests/valgrind.sh GIRTHLINE. Wrong accesses, values never set and memory that nothing holds any more are
# faults, but for those of support/valgrind.supp. GIRTHLINE: a build by gcc (valgrind 3.19 cannot read what clang 14 writes for debuggers) without
# a sanitizer. Exit code: 0 clean, 1 faults, 77 valgrind is not there.
set -u
command -v valgrind >/dev/null 2>&1 || exit 77
here=$(cd "$(dirname "$0")" && pwd)
program=$(cd "$(dirname "$1")" && pwd)/$(basename "$1")
place=$(mktemp -d) || exit 1
trap 'rm -rf "$place"' EXIT
cd "$place" || exit 1
n=0
n_bad=0

# holds CODE COMMAND...: the command ends with CODE, and valgrind with nothing to say.
holds() {
  code_=$1
  shift
  n=$((n + 1))
  valgrind --quiet --error-exitcode=99 --leak-check=full --show-leak-kinds=definite --errors-for-leak-kinds=definite \
    --suppressions="$here/support/valgrind.supp" --log-file=said.txt "$program" "$@" >out.txt 2>err.txt
  got_=$?
  if [ "$got_" -ne "$code_" ] || [ -s said.txt ]; then
    n_bad=$((n_bad + 1))
    echo "FAULT: girthline $*: ends with $got_, not $code_"
    cat said.txt err.txt
  else
    echo "clean: girthline $*"
  fi
}

exam() {
  printf '[animal]\nname = Marlow\nidentifier = GL-7\nspecies = horse\n[examination]\ndate = %s\n[signs]\npulse_per_min = 36\n' "$1"
  printf '[recording a]\nfile = heart.wav\nside = left\narea = mitral\n'
}

holds 0 synth heart.wav --truth heart.csv --facts heart.json --seconds 8 --rate-hz 2000 --bpm 75 --murmur 'systole holo plateau' --snr-db 30 --seed 1 --quiet
mkdir set truth
cp heart.wav set/a.wav
cp heart.csv truth/a.truth.csv
printf 'no sound' >set/b.wav
exam 2025-03-01 >first.ini
exam 2026-03-01 >second.ini
holds 0 report heart.wav --json r.json --html r.html --text r.txt --marked m.wav --clip c.wav
holds 0 report heart.wav --pdf r.pdf
holds 0 report heart.wav --figures figures --quiet
holds 0 report heart.wav --beats heart.csv --json b.json
holds 0 exam first.ini --json first.json --html e.html --text e.txt
holds 0 exam second.ini --json second.json --pdf e.pdf
holds 0 visits --db v.db add first.json
holds 0 visits --db v.db add second.json
holds 0 visits --db v.db list
holds 0 visits --db v.db show 1
holds 0 visits --db v.db compare GL-7 --json c.json --html c.html --pdf c.pdf --text c.txt
holds 0 visits --db v.db export all.json
holds 0 visits --db v.db check
holds 0 visits --db v.db remove 1 --yes
holds 0 batch set --out out --reports --jobs 2 --quiet
holds 0 batch set --out shards --shard 1/2 --quiet
holds 0 batch set --out shards --shard 2/2 --quiet
holds 0 batch --merge shards
holds 0 score out/reports.ndjson --reference truth --resamples 100 --json s.json
holds 3 report first.ini --json never.json
for recording in "$here"/fuzz/corpus/recording/layer-iii.mp3 "$here"/fuzz/corpus/recording/opus.ogg "$here"/fuzz/corpus/recording/s8.flac; do
  holds 0 report "$recording" --species dog --quiet --json "$(basename "$recording").json"
done
echo "$n commands, $n_bad with faults"
[ "$n_bad" -eq 0 ]
