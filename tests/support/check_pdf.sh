#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Holds the document of a result made by hand against qpdf, and looks for its words as a reader's search does.
# usage: check_pdf.sh PAGE_SAMPLE full|empty|hostile
set -eu
dir=$(mktemp -d) || exit 2
trap 'rm -rf "$dir"' EXIT
"$1" "$2" pdf >"$dir/a.pdf"
qpdf --check "$dir/a.pdf" >"$dir/log" 2>&1 || { cat "$dir/log"; exit 1; }
pdftotext -layout "$dir/a.pdf" "$dir/a.txt"
for words in 'The answer' 'How far to trust it' 'The numbers' 'A screening aid, not a diagnosis' 'Settled rate' 'Spoilt spans' 'page 2 of 2'; do
  grep -q "$words" "$dir/a.txt" || { echo "cannot be found: $words"; exit 1; }
done
if [ "$2" = full ]; then
  grep -q 'aortic area; 30.0.s' "$dir/a.txt" || { echo "how long it lasts is not told"; exit 1; }
  grep -q '7.4 to 10.8.s (2.0 times the usual)' "$dir/a.txt" || { echo "the pause is not told"; exit 1; }
fi
