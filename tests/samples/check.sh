#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# check.sh GIRTHLINE SOURCE: the sample recordings are what samples/make.sh makes, to the byte, whatever the compiler; each
# is listed with its species; together they are small.
set -u
girthline=$1
samples=$2/samples
most_kb=2000

"$girthline" synth --help 2>/dev/null | grep -q -e --seed || {
  echo "girthline synth is not there"
  exit 77
}
made=$(mktemp -d) || exit 1
trap 'rm -rf "$made"' EXIT
GIRTHLINE=$girthline sh "$samples/make.sh" "$made" || exit 1

bad=0
n=0
for path in "$samples"/*.wav; do
  name=${path##*/}
  n=$((n + 1))
  for file in "$name" "${name%.wav}.truth.csv"; do
    cmp "$samples/$file" "$made/$file" || bad=$((bad + 1))
  done
  grep -q "^$name,[a-z]*,[A-Z][a-z]*,\(left\|right\),[a-z]*\$" "$samples/recordings.csv" || {
    echo "$name is not listed in recordings.csv"
    bad=$((bad + 1))
  }
  grep -q "\`$name\`" "$samples/README.md" || {
    echo "$name is not told of in README.md"
    bad=$((bad + 1))
  }
done
for path in "$samples"/visit-*/*.wav; do
  name=${path#"$samples"/}
  n=$((n + 1))
  for file in "$name" "${name%.wav}.truth.csv"; do
    cmp "$samples/$file" "$made/$file" || bad=$((bad + 1))
  done
  grep -q "^file = $name\$" "$samples/${name%%/*}.ini" || {
    echo "$name is not named in ${name%%/*}.ini"
    bad=$((bad + 1))
  }
done
for path in "$made"/*.wav "$made"/visit-*/*.wav; do
  [ -f "$samples/${path#"$made"/}" ] || {
    echo "${path#"$made"/} is made but does not lie in samples/"
    bad=$((bad + 1))
  }
done
kb=$(cat "$samples"/*.wav "$samples"/visit-*/*.wav | wc -c)
kb=$((kb / 1000))
[ "$kb" -le "$most_kb" ] || {
  echo "the recordings take $kb kB; $most_kb are the most"
  bad=$((bad + 1))
}
echo "$n recordings, $kb kB, $bad faults"
[ "$n" -ge 6 ] && [ "$bad" -eq 0 ]
