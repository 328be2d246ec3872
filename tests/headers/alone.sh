#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# alone.sh INCLUDE-FOLDER LANGUAGE STANDARD COMPILER...: each installed header compiles by itself, twice in one file and
# ahead of code, with warnings as errors.
set -u
include=$1
language=$2
standard=$3
shift 3
n=0
bad=0
for path in "$include"/girthline/*.h; do
  header=girthline/${path##*/}
  n=$((n + 1))
  printf '#include <%s>\n#include <%s>\nint after_all(void);\n' "$header" "$header" |
    "$@" -x "$language" -std="$standard" -Wall -Wextra -Wpedantic -Werror -fsyntax-only -I"$include" - || {
    echo "$header does not compile alone as $standard"
    bad=$((bad + 1))
  }
done
echo "$n headers, $bad bad"
[ "$n" -gt 0 ] && [ "$bad" -eq 0 ]
