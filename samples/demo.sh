#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Writes the finished documents of the two sample visits into docs/demo, those the README names: sh samples/demo.sh GIRTHLINE
# with the path of a built program. Run it again after a change that a reader of a report would see.
set -eu
if [ $# -ne 1 ]; then
  echo "usage: sh samples/demo.sh GIRTHLINE" >&2
  exit 2
fi
girthline=$(realpath "$1")
cd "$(dirname "$0")"
history=$(mktemp -d)
trap 'rm -rf "$history"' EXIT
for visit in visit-1 visit-2; do
  "$girthline" exam "$visit.ini" --pdf "../docs/demo/$visit.pdf" --json "$history/$visit.json"
  "$girthline" visits --db "$history/visits.db" add "$history/$visit.json"
done
"$girthline" visits --db "$history/visits.db" compare Linnet --pdf ../docs/demo/linnet-compared.pdf
