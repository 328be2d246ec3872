#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# exam.sh GIRTHLINE SOURCE: the program on the sample examinations and on faulty ones: outputs, exit codes, the schema.
set -u
girthline=$1
source=$2
dir=$(mktemp -d) || exit 2
trap 'rm -rf "$dir"' EXIT
bad=0

# ends CODE OPTION...: the exit code is CODE
ends() {
  want=$1
  shift
  "$girthline" exam "$@" >"$dir/out" 2>"$dir/err" </dev/null
  got=$?
  [ "$got" -eq "$want" ] || {
    echo "exam $*: exit $got, want $want: $(cat "$dir/err")"
    bad=$((bad + 1))
  }
}

# says WORDS FILE
says() {
  grep -q -e "$1" "$2" || {
    echo "\"$1\" is missing in $2"
    bad=$((bad + 1))
  }
}

cp -r "$source"/samples/visit-* "$dir"
ends 0 "$dir/visit-1.ini" --json "$dir/one.json" --html "$dir/one.html" --text "$dir/one.txt"
says "Mucous membranes" "$dir/one.txt" # not the key of the file
ends 0 "$dir/visit-1.ini" --json "$dir/again.json"
cmp "$dir/one.json" "$dir/again.json" || bad=$((bad + 1))
says '"leaning": "fits-flow-pattern"' "$dir/one.json"
says 'a flow murmur' "$dir/one.txt"
says 'By all beats counted the heart beat' "$dir/one.json" # beside the rate by the usual interval
asked=$(grep -n 'What this asks for' "$dir/one.html" | head -n 1 | cut -d : -f 1)
[ "${asked:-0}" -gt 0 ] && [ "$asked" -lt "$(grep -n 'The areas beside one another' "$dir/one.html" | cut -d : -f 1)" ] || { # what is urgent comes before pictures
  echo "the page asks for nothing, or shows the areas first"
  bad=$((bad + 1))
}
says 'A screening aid, not a diagnosis' "$dir/one.html"
ends 0 "$dir/visit-2.ini" --json "$dir/two.json"
says '"leaning": "asks-for-echo"' "$dir/two.json"
says '"minutes_after_exercise": 20, "bpm": 4' "$dir/two.json"

# To print: the examination's own pages, then one for each recording under its own name; the same bytes each time, and no fault in the file.
ends 0 "$dir/visit-2.ini" --pdf "$dir/two.pdf"
ends 0 "$dir/visit-2.ini" --pdf "$dir/again.pdf"
cmp "$dir/two.pdf" "$dir/again.pdf" || bad=$((bad + 1))
[ "$(head -c 5 "$dir/two.pdf")" = %PDF- ] || bad=$((bad + 1))
if command -v qpdf >/dev/null; then
  qpdf --check "$dir/two.pdf" >"$dir/qpdf.txt" 2>&1 || { cat "$dir/qpdf.txt"; bad=$((bad + 1)); }
fi
if command -v pdftotext >/dev/null; then
  pdftotext -layout "$dir/two.pdf" "$dir/two.txt"
  says 'Linnet, visit of 2026-05-19' "$dir/two.txt"
  # A name in Arabic letters turns no line about: its last letter stands at the left margin, 39.9 pt, and the date behind it.
  sed 's/^name = .*/name = نجمة/' "$dir/visit-2.ini" >"$dir/arabic.ini"
  ends 0 "$dir/arabic.ini" --pdf "$dir/arabic.pdf"
  pdftotext -l 1 -bbox "$dir/arabic.pdf" "$dir/arabic.txt"
  says 'xMin="39\.[0-9]*" [^>]*>ة<' "$dir/arabic.txt"
  says 'A screening aid, not a diagnosis' "$dir/two.txt"
  says 'Between the beats  *A murmur through the whole of systole' "$dir/two.txt"
  says 'Identifier: TVP-0412  *Sex: mare' "$dir/two.txt" # two short facts on a line
  says 'Place: Wexmere, stable' "$dir/two.txt"
  says 'Reason: yearly examination  *History: The owner says' "$dir/two.txt"
  says 'After exercise' "$dir/two.txt"
  says 'after hard work' "$dir/two.txt"
  says 'After 20 min: 46 a minute; 2. % over rest; regular' "$dir/two.txt"
  [ "$(grep -c 'Screening aid, not a diagnosis. Made by' "$dir/two.txt")" = $((5 + $(grep -c 'before the recordings\. Screening' "$dir/two.txt"))) ] || {
    echo "not a page for each recording"
    bad=$((bad + 1))
  }
  for name in 'left pulmonic' 'left aortic' 'left mitral' 'right tricuspid' 'after lungeing'; do
    tr '\f' '\n' <"$dir/two.txt" | grep -qx "$name" || {
      echo "no page is headed $name"
      bad=$((bad + 1))
    }
  done
fi

# A recording named after its place says that once.
ends 0 "$dir/visit-2.ini" --text "$dir/summary.txt"
says '^  left pulmonic  *Rate: ' "$dir/summary.txt"
says '^  after lungeing  *left mitral, 20 min after exercise. Rate: ' "$dir/summary.txt"

# After exercise: the curve on the page with the published bounds, and as a file of its own beside each recording's pictures.
ends 0 "$dir/visit-2.ini" --html "$dir/two.html" --no-sound
says 'The rate coming back' "$dir/two.html"
says '30 to 45 minutes after hard work (Patteson' "$dir/two.html"
grep -q 'The rate coming back' "$dir/one.html" && bad=$((bad + 1)) # nothing was recorded after exercise
ends 4 "$dir/visit-2.ini" --figures "$dir/nowhere/none"
ends 0 "$dir/visit-2.ini" --figures "$dir/pictures" --quiet
for name in recovery.svg recovery.png 3-left-mitral-sound.svg 5-after-lungeing-cycle.png; do
  [ -s "$dir/pictures/visit-2-$name" ] || {
    echo "no picture visit-2-$name"
    bad=$((bad + 1))
  }
done
ends 0 "$dir/visit-2.ini" --figures "$dir/pictures" --quiet
echo mine >"$dir/pictures/visit-2-recovery.svg"
ends 4 "$dir/visit-2.ini" --figures "$dir/pictures" --quiet

# Nothing named: a summary, NAME.html and NAME.json.
ends 0 "$dir/visit-1.ini" --out "$dir" --no-sound
[ -s "$dir/visit-1.html" ] && [ -s "$dir/visit-1.json" ] || bad=$((bad + 1))
says 'Findings' "$dir/out"
ends 0 "$dir/visit-1.ini" --out "$dir" --no-sound --quiet

# A missing recording, a folder, a pipe and a file that is no audio: the others are analysed and written.
mkfifo "$dir/pipe.wav"
echo nothing >"$dir/text.wav"
cat >"$dir/partly.ini" <<'EOF'
[recording good]
file = visit-1/left-mitral.wav
[recording gone]
file = gone.wav
[recording pipe]
file = pipe.wav
[recording folder]
file = visit-1
[recording text]
file = text.wav
EOF
ends 3 "$dir/partly.ini" --json "$dir/partly.json" --html "$dir/partly.html" --no-sound
says 'Recordings in which it was not determined: 4\.' "$dir/partly.html"
says 'recording gone.*cannot be read' "$dir/err"
says 'pipe.wav is not a regular file' "$dir/err"
says '"pulse_deficit_per_min": null' "$dir/partly.json"
sed '/^\[recording good/,/^file/d' "$dir/partly.ini" >"$dir/none.ini"
ends 3 "$dir/none.ini" --json "$dir/none.json"

# Hand-written faults end 2, an output never overwrites an input, a foreign file stays.
printf '[signs]\ncapillary_refill_s = 2,5\n' >"$dir/comma.ini"
ends 2 "$dir/comma.ini"
says 'comma.ini, line 2: capillary_refill_s = 2,5: write the number with a decimal point' "$dir/err"
ends 2 "$dir/visit-1.ini" --json "$dir/visit-1/left-aortic.wav" --force
ends 2 "$dir/visit-1.ini" --json "$dir/visit-1.ini" --force
echo mine >"$dir/mine.json"
ends 4 "$dir/visit-1.ini" --json "$dir/mine.json"
ends 2 "$dir/visit-1.ini" --species foal
ends 3 "$dir/missing.ini"
ends 3 "$dir"

# The age: by the day; by the year of birth the least it may be, where that says enough.
age() {
  printf '[animal]\nspecies = %s\nborn = %s\n[examination]\ndate = 2026-05-04\n[recording a]\nfile = visit-1/left-mitral.wav\n' "$1" "$2" >"$dir/age.ini"
  ends 0 "$dir/age.ini" --json "$dir/age.json"
  says "\"age_days\": $3" "$dir/age.json"
}
age foal 2026-05-01 3
age foal 2026 null
age foal 2025 null
age horse 2026-05-01 3
age horse 2025 null # 124 days to 488
age horse 2024 489

# The template can be read back.
ends 0 --template
cp "$dir/out" "$dir/template.ini"
ends 3 "$dir/template.ini" --json "$dir/template.json"

# Odd names and notes stay what they are and stay harmless.
printf '[animal]\nname = </script><b>"x" & \xc3\xa9\n[signs]\nnotes = a ; b = "c" <i>\n  second\n[recording <u>]\nfile = visit-1/left-mitral.wav\nnotes = &amp;\n' >"$dir/odd.ini"
ends 0 "$dir/odd.ini" --json "$dir/odd.json" --html "$dir/odd.html"
grep -q -e '<b>"x"' -e '<i>' -e '<u>' "$dir/odd.html" && bad=$((bad + 1))
says 'second' "$dir/odd.html"
ends 0 "$dir/odd.ini" --pdf "$dir/odd.pdf"
ends 3 "$dir/none.ini" --pdf "$dir/none.pdf"

if python3 -c 'import jsonschema' 2>/dev/null; then
  python3 "$source/tests/reference/validate_exam.py" "$source/docs" "$dir/one.json" "$dir/two.json" "$dir/partly.json" "$dir/none.json" "$dir/template.json" "$dir/odd.json" || bad=$((bad + 1))
fi
if command -v python3 >/dev/null; then
  python3 "$source/tests/browser/well_formed.py" cat "$dir/one.html" || bad=$((bad + 1))
  python3 "$source/tests/browser/well_formed.py" cat "$dir/two.html" || bad=$((bad + 1))
  python3 "$source/tests/unit/clinic/exam_numbers.py" "$dir/one.json" "$dir/one.html" || bad=$((bad + 1))
  python3 "$source/tests/unit/clinic/exam_numbers.py" "$dir/two.json" "$dir/two.html" || bad=$((bad + 1))
  python3 "$source/tests/browser/well_formed.py" cat "$dir/odd.html" || bad=$((bad + 1))
fi
echo "$bad faults"
[ "$bad" -eq 0 ]
