#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# build.sh OUT: builds the Debian packages of this tree into the folder OUT. The tree itself stays as it is: a copy is built. First
#   apt-get install build-essential
#   apt-get build-dep docs/packaging
# Options for dpkg-buildpackage may follow OUT; DEB_BUILD_OPTIONS=nocheck leaves the tests out.
set -eu
[ $# -gt 0 ] || {
  echo "usage: build.sh OUT [OPTION-OF-DPKG-BUILDPACKAGE...]" >&2
  exit 2
}
tree=$(cd "$(dirname "$0")/../.." && pwd)
mkdir -p "$1"
out=$(cd "$1" && pwd)
shift
copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT
trap 'exit 1' HUP INT TERM

mkdir "$copy/girthline"
(cd "$tree" && tar -c --exclude='./build*' --exclude=./.git --exclude=node_modules --exclude=__pycache__ .) | tar -x --no-same-owner -C "$copy/girthline"
cp -R "$tree/docs/packaging/debian" "$copy/girthline/debian"
(cd "$copy/girthline" && dpkg-buildpackage -us -uc -b "$@")
cp "$copy"/*.deb "$copy"/*.buildinfo "$copy"/*.changes "$out"
