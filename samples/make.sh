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
