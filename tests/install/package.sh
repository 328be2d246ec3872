#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# package.sh SOURCE [FOLDER]: builds the Debian packages of docs/packaging in a fresh Debian, puts them into another fresh one, has
# the sample recordings analysed there by an ordinary user, builds an example against them, takes them out again and looks for what
# stayed. Needs root, debootstrap and a Debian mirror; exits 77 where they cannot be had. FOLDER (default: a temporary one) holds
# both systems and the packages; a given one is kept. The unit tests are not run in there (DEB_BUILD_OPTIONS=nocheck).
set -u
source=$(cd "$1" && pwd) || exit 2
suite=bookworm

skip() {
  echo "skipped: $1"
  exit 77
}
fail() {
  echo "FAILED: $1" >&2
  [ -z "${2:-}" ] || tail -n 30 "$2" >&2
  exit 1
}

[ "$(id -u)" -eq 0 ] || skip "only root can make a fresh system"
command -v debootstrap >/dev/null 2>&1 || skip "debootstrap is not here"
if [ -n "${2:-}" ]; then
  work=$2
  mkdir -p "$work" || exit 1
else
  work=$(mktemp -d) || exit 1
  trap 'rm -rf --one-file-system "$work"' EXIT
  trap 'exit 1' HUP INT TERM
fi

# inside SYSTEM COMMAND...: run it there, with nothing of this environment.
inside() {
  system_=$1
  shift
  env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/root LC_ALL=C.UTF-8 DEBIAN_FRONTEND=noninteractive DEB_BUILD_OPTIONS=nocheck \
    DEB_BUILD_PROFILES=nocheck chroot "$work/$system_" "$@" </dev/null
}
apt_inside() {
  system_=$1
  shift
  inside "$system_" apt-get -q -y -o Dpkg::Use-Pty=0 "$@"
}
# Names of the files of a system but for what apt and dpkg keep for themselves.
files_of() {
  (cd "$work/$1" && find . -xdev -path ./proc -prune -o -path ./var/cache -prune -o -path ./var/lib/apt -prune -o -path ./var/lib/dpkg -prune -o \
    -path ./var/log -prune -o -path ./tmp -prune -o -print | sort)
}

echo "making two fresh systems ($suite)"
if [ ! -f "$work/bare.done" ]; then
  rm -rf --one-file-system "$work/bare"
  debootstrap --variant=minbase "$suite" "$work/bare" >"$work/debootstrap.log" 2>&1 || skip "debootstrap could not make a system: $(tail -n 1 "$work/debootstrap.log")"
  : >"$work/bare.done"
fi
for system in build use; do
  rm -rf --one-file-system "${work:?}/$system"
  cp -a "$work/bare" "$work/$system" || fail "no room for a fresh system"
done

echo "building the packages"
mkdir -p "$work/build/src"
(cd "$source" && tar -c --exclude='./build*' --exclude=./.git --exclude=node_modules --exclude=__pycache__ .) | tar -x --no-same-owner -C "$work/build/src" ||
  fail "the tree cannot be copied"
{ apt_inside build update && apt_inside build install --no-install-recommends build-essential lintian; } >"$work/packages.log" 2>&1 ||
  skip "build tools could not be installed: $(tail -n 1 "$work/packages.log")"
apt_inside build --no-install-recommends build-dep /src/docs/packaging >>"$work/packages.log" 2>&1 ||
  fail "what the package needs to be built cannot be installed" "$work/packages.log"
inside build sh /src/docs/packaging/build.sh /packages >"$work/build.log" 2>&1 || fail "the package does not build" "$work/build.log"
[ -d "$source/docs/man" ] && without= || without='--suppress-tags no-manual-page'
inside build sh -c "lintian --allow-root --tag-display-limit 0 --fail-on error,warning $without /packages/*.changes" >"$work/lintian.log" 2>&1 ||
  fail "lintian finds fault" "$work/lintian.log"
echo "   lintian: no error, no warning"

echo "using them"
files_of use >"$work/before.txt"
mkdir "$work/use/tmp/debs" && cp "$work"/build/packages/*.deb "$work/use/tmp/debs" || fail "there are no packages"
rm -f "$work"/use/tmp/debs/*-dbgsym_*
{ apt_inside use update && inside use sh -c 'apt-get -q -y -o Dpkg::Use-Pty=0 --no-install-recommends install /tmp/debs/girthline_*.deb'; } >"$work/use.log" 2>&1 ||
  fail "the program's package cannot be installed" "$work/use.log"
cp "$source/tests/install/use_samples.sh" "$work/use/tmp/"
mkdir -m 777 "$work/use/tmp/out"
inside use runuser -u nobody -- sh /tmp/use_samples.sh /usr/share/girthline/samples /tmp/out >>"$work/use.log" 2>&1 || fail "the samples are not analysed" "$work/use.log"
tail -n 1 "$work/use.log" | sed 's/^/   /'

inside use sh -c 'apt-get -q -y -o Dpkg::Use-Pty=0 --no-install-recommends install /tmp/debs/*.deb gcc libc6-dev pkgconf libmp3lame-dev' >>"$work/use.log" 2>&1 ||
  fail "the libraries' packages cannot be installed" "$work/use.log"
for kind in '' --static; do
  inside use sh -c "cd /tmp/out && cc /usr/share/doc/girthline/examples/write_report.c -o write_report \$(pkg-config $kind --cflags --libs girthline-report)" \
    >>"$work/use.log" 2>&1 || fail "an example does not build (pkg-config $kind)" "$work/use.log"
  inside use runuser -u nobody -- /tmp/out/write_report /usr/share/girthline/samples/maren-at-rest.wav /tmp/out/a.json /tmp/out/a.html >>"$work/use.log" 2>&1 ||
    fail "an example does not run" "$work/use.log"
  cmp -s "$work/use/tmp/out/a.json" "$work/use/tmp/out/maren-named.json" || fail "an example writes another report than the program"
done
echo "   an example builds and runs"

echo "taking them out"
inside use sh -c 'dpkg-query -W -f "\${Package}\n" | grep girthline | xargs apt-get -q -y -o Dpkg::Use-Pty=0 --purge autoremove' >>"$work/use.log" 2>&1 ||
  fail "the packages cannot be removed" "$work/use.log"
files_of use >"$work/after.txt"
left=$(comm -13 "$work/before.txt" "$work/after.txt" | grep -i girthline)
[ -z "$left" ] || fail "removed, and this stayed: $left"
inside use sh -c 'dpkg --audit; dpkg-query -W | grep girthline' | grep . && fail "the packages are not gone"
echo "the packages build, install, work and leave nothing behind"
