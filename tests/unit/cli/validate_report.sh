#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Holds a full, an empty and a double report against the schema, by a validator of its own.
# usage: validate_report.sh PROGRAM VALIDATOR SCHEMA
set -u
command -v python3 >/dev/null || { echo "skipped: python3 is missing"; exit 77; }
dir=$(mktemp -d) || exit 2
trap 'rm -rf "$dir"' EXIT
echo HEART >"$dir/heart.wav"
echo NOISE >"$dir/noise.wav"
"$1" report "$dir/heart.wav" --json "$dir/full.json"
"$1" report "$dir/noise.wav" --json "$dir/empty.json"
"$1" report "$dir/heart.wav" "$dir/noise.wav" --species human --side left --area mitral --json "$dir/both.json"
python3 "$2" "$3" "$dir/full.json" "$dir/empty.json" "$dir/both.json"
