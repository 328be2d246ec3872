#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# archive.sh OUT.a EXPORTS.map WHOLE.a ALSO.a... -- OBJCOPY AR COMPILER...: an archive of one object that shows the names of the map
# and no others: all of WHOLE.a, and of the rest what it needs. An ordinary archive would show every name that two files share.
set -eu
out=$1
map=$2
whole=$3
shift 3
also=
while [ "$1" != -- ]; do
  also="$also $1"
  shift
done
objcopy=$2
ar=$3
shift 3

object=$out.o
keep=$out.names
sed -n 's/^ *\(girthline_[a-z_*]*\);$/\1/p' "$map" >"$keep"
[ -s "$keep" ] || {
  echo "$map names nothing to keep" >&2
  exit 1
}
# shellcheck disable=SC2086 # a list of paths that the build made
"$@" -r -nostdlib -o "$object" -Wl,--whole-archive "$whole" -Wl,--no-whole-archive $also
"$objcopy" --wildcard --keep-global-symbols="$keep" "$object"
rm -f "$out"
"$ar" Drcs "$out" "$object"
rm -f "$object" "$keep"
