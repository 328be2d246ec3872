# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Read by tests/run.sh and samples/try.sh (`. tests/support/setup.sh`): which Debian packages are needed, putting in those
# that are missing, and laying a build folder. POSIX sh.

# shellcheck disable=SC2034 # the lists are used by those that read this

# What a build needs.
packages_build='gcc libc6-dev meson ninja-build pkgconf python3-minimal
  libsndfile1-dev libkissfft-dev libjansson-dev libxxhash-dev libsqlite3-dev libcairo2-dev libpango1.0-dev libsoxr-dev fonts-dejavu-core scdoc'
# What the tests need besides: the second compiler, C++ for the headers, the unit test library, the interpreter of the checks,
# what checks and reads a PDF and the manual, the definitions a locale with a decimal comma is made of, what reads the code, and the
# thread checker's runtime.
packages_tests='clang g++ libcmocka-dev python3 python3-jsonschema qpdf poppler-utils man-db locales cppcheck libclang-rt-14-dev'
# What the slow tests need besides.
packages_full='valgrind clang-tidy gcovr r-base-core'
# What the test of the Debian packages needs.
packages_package='debootstrap'
# What the job array test needs.
packages_cluster='slurmctld slurmd slurm-client slurm-wlm-basic-plugins munge parallel'

# packages_missing NAME...: prints those that dpkg does not know as installed.
packages_missing() {
  for package_ in "$@"; do
    status_=$(dpkg-query -W -f '${db:Status-Status}' "$package_" 2>/dev/null) || status_=
    [ "$status_" = installed ] || printf '%s ' "$package_"
  done
}

# as_root COMMAND...: run it as root; sudo asks for a password only where there is a terminal to ask on.
as_root() {
  if [ "$(id -u)" -eq 0 ]; then
    "$@"
  elif command -v sudo >/dev/null 2>&1; then
    if (: </dev/tty) 2>/dev/null; then sudo "$@"; else sudo -n "$@"; fi
  else
    return 1
  fi
}

apt_() {
  as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y -o DPkg::Lock::Timeout=300 -o Dpkg::Use-Pty=0 "$@" </dev/null
}

# packages_install LOG NAME...: install what is missing. Asks the mirror for its lists only when something is. Returns
# non-zero, with a sentence on standard error, when that cannot be done.
packages_install() {
  log_=$1
  shift
  missing_=$(packages_missing "$@")
  [ -n "$missing_" ] || return 0
  echo "installing: $missing_"
  # shellcheck disable=SC2086 # a list of words
  if apt_ update >"$log_" 2>&1 && apt_ install --no-install-recommends $missing_ >>"$log_" 2>&1; then
    return 0
  fi
  tail -n 5 "$log_" >&2
  echo "These packages could not be installed: $missing_" >&2
  echo "Run as root or with sudo, or let someone who may run: apt-get install $missing_" >&2
  return 1
}

# configure FOLDER OPTION...: lay the folder anew unless it was laid here with the same options.
configure() {
  folder_=$1
  shift
  wanted_="$PWD $(meson --version) ${CC:-cc} $*"
  if [ -f "$folder_/build.ninja" ] && [ "$(cat "$folder_/laid-with.txt" 2>/dev/null)" = "$wanted_" ]; then return 0; fi
  rm -rf "$folder_"
  mkdir -p "$folder_"
  meson setup "$folder_" "$@" && printf '%s\n' "$wanted_" >"$folder_/laid-with.txt"
}
