#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Makes the sample recordings again, to the byte: sh samples/make.sh [FOLDER]. Needs a built girthline (sh samples/try.sh
# builds it; GIRTHLINE names another one). The recordings are simulated; the patients are invented.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
girthline=${GIRTHLINE:-$here/../build/src/cli/girthline}
out=${1:-$here}

# make NAME OPTION...
make() {
  name=$1
  shift
  "$girthline" synth "$out/$name.wav" --truth "$out/$name.truth.csv" --rate-hz 4000 --force --quiet "$@"
}

make maren-at-rest --species horse --bpm 36 --rhythm regular --snr-db 26 --noise breath --seconds 20 --seed 101
make tobin-settling --species horse --bpm 38 --rhythm settling --snr-db 22 --noise breath --seconds 25 --seed 102
make oriel-pauses --species horse --bpm 35 --rhythm pauses --s4 --snr-db 24 --noise breath --seconds 25 --seed 113
make fennick-irregular --species horse --bpm 48 --rhythm irregular --snr-db 22 --noise breath --seconds 25 --seed 104
make isolde-murmur --species horse --bpm 38 --rhythm regular --murmur 'systole mid crescendo-decrescendo' --level-db -10 \
  --snr-db 24 --noise breath --seconds 20 --seed 105
make quill-noisy --species horse --bpm 44 --rhythm regular --snr-db -14 --noise wind,handling,gut,voice --seconds 20 --seed 106
make pepin-dog --species dog --bpm 96 --rhythm cyclic --snr-db 22 --noise breath --seconds 15 --seed 107

# Two visits of one mare, a year apart: visit-1.ini and visit-2.ini. Short and at 2000 Hz, so that they stay small.
# visit FOLDER NAME OPTION...
visit() {
  mkdir -p "$out/$1"
  path=$out/$1/$2
  shift 2
  "$girthline" synth "$path.wav" --truth "$path.truth.csv" --rate-hz 2000 --seconds 16 --species horse --rhythm regular --noise breath --force --quiet "$@"
}

flow='systole mid crescendo-decrescendo'
leak='systole holo plateau'
visit visit-1 left-pulmonic --bpm 37 --murmur "$flow" --level-db -9 --snr-db 26 --seed 211
visit visit-1 left-aortic --bpm 36 --murmur "$flow" --level-db -14 --snr-db 25 --seed 202
visit visit-1 left-mitral --bpm 36 --snr-db 25 --s4 --seed 203
visit visit-1 right-tricuspid --bpm 37 --snr-db 24 --seed 204
visit visit-2 left-pulmonic --bpm 38 --murmur "$flow" --level-db -9 --snr-db 26 --seed 221
visit visit-2 left-aortic --bpm 38 --murmur "$flow" --level-db -14 --snr-db 25 --seed 212
visit visit-2 left-mitral --bpm 39 --murmur "$leak" --level-db -8 --snr-db 25 --seed 213
visit visit-2 right-tricuspid --bpm 38 --snr-db 24 --seed 224
visit visit-2 after-20-min --bpm 47 --murmur "$leak" --level-db -8 --snr-db 23 --seed 215
