#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# Builds the project and runs every test: gcc, clang, and once more under sanitizers. See --help.
set -u
cd "$(dirname "$0")/.." || exit 1
. tests/support/setup.sh

usage() {
  cat <<'END'
usage: sh tests/run.sh [--full] [--jobs N]

Installs the Debian packages the tests need (those that are missing; as root or with sudo), builds with warnings as
errors with gcc and with clang, runs every test with each, and once more under the address and undefined-behaviour
sanitizers. The browser test runs where Node and Chromium can be had. The last line says what passed; the exit code is
non-zero when anything failed.

  --full     also the long tests (meson suite "long"), every test under valgrind, the job array on a Slurm of its own, the
             Debian packages in fresh systems (as root, where debootstrap is), all checkers that read the code, the coverage of
             src by the tests, and each fuzz target for a minute
  --jobs N   compile N files at a time and run N tests at a time (default: the machine's choice)
  --help     this text

Everything is built in build-gcc, build-clang and build-sanitize, and the program once more without optimisation in build-debug-gcc and
build-debug-clang, to hold the reports of all five against each other; the logs lie in build-logs.
END
}

full=no
jobs=
while [ $# -gt 0 ]; do
  case $1 in
  --full) full=yes ;;
  --jobs)
    jobs=${2:-}
    case $jobs in '' | *[!0-9]* | 0*)
      echo "--jobs takes a whole number from 1, for example --jobs 2" >&2
      exit 2
      ;;
    esac
    shift
    ;;
  --help)
    usage
    exit 0
    ;;
  *)
    usage >&2
    exit 2
    ;;
  esac
  shift
done

LC_ALL=C.UTF-8
export LC_ALL
n_passed=0
n_failed=0
n_skipped=0
logs=
started=$(date +%s)

say() { printf '== %s (%s s)\n' "$*" "$(($(date +%s) - started))"; }

finish() {
  [ -z "$logs" ] || echo "logs:$logs"
  echo "$n_passed passed, $n_failed failed, $n_skipped skipped"
  [ "$n_failed" -eq 0 ]
  exit
}

# failed SENTENCE [LOG]: count one failure and show the end of its log.
failed() {
  n_failed=$((n_failed + 1))
  echo "FAILED: $1" >&2
  [ -z "${2:-}" ] || tail -n 40 "$2" >&2
}

# count_of LABEL LOG: the number behind a label in meson's closing table; 0 where it has none.
count_of() { awk -F: -v label="$1" '$1 == label { n = $2 } END { print n + 0 }' "$2"; }

# build_and_test NAME CC CXX SETUP-OPTION...: one configuration in build-NAME; adds to the counts.
build_and_test() {
  name_=$1
  CC=$2
  CXX=$3
  export CC CXX
  shift 3
  dir_=build-$name_
  log=build-logs/$name_.log
  logs="$logs $log"
  say "$name_: building"
  if ! configure "$dir_" -Dwerror=true "$@" >"$log" 2>&1 || ! meson compile -C "$dir_" ${jobs:+-j "$jobs"} >>"$log" 2>&1; then
    failed "$name_ does not build" "$log"
    return
  fi
  say "$name_: testing"
  run_meson_test "$name_" "$dir_" "$log"
}

# run_meson_test NAME FOLDER LOG [OPTION...]
run_meson_test() {
  name_=$1
  dir_=$2
  log=$3
  shift 3
  [ "$full" = yes ] || set -- "$@" --no-suite long
  # Every request refused in turn takes long, and what could be lost is seen with sanitizers alone.
  [ "$name_" = sanitize ] || set -- "$@" --no-suite refusals-all
  table=build-logs/$name_-tests.txt
  # Old sanitizer runtimes cannot stand today's spread of addresses: switch it off where that is allowed.
  fixed=
  if setarch "$(uname -m)" -R true 2>/dev/null; then fixed="setarch $(uname -m) -R"; fi
  # Time limits are for a test that hangs, not for a busy machine: five times what the test says.
  # shellcheck disable=SC2086 # a command prefix
  $fixed meson test -C "$dir_" --no-rebuild --print-errorlogs --timeout-multiplier 5 ${jobs:+--num-processes "$jobs"} "$@" >"$table" 2>&1
  code=$?
  cat "$table" >>"$log"
  ok=$(($(count_of Ok "$table") + $(count_of 'Expected Fail' "$table")))
  bad=$(($(count_of Fail "$table") + $(count_of 'Unexpected Pass' "$table") + $(count_of Timeout "$table")))
  skipped=$(count_of Skipped "$table")
  n_passed=$((n_passed + ok))
  n_failed=$((n_failed + bad))
  n_skipped=$((n_skipped + skipped))
  if [ "$bad" -gt 0 ]; then
    echo "FAILED in $name_:" >&2
    cat "$table" >&2
  elif [ "$code" -ne 0 ] || [ "$ok" -eq 0 ]; then
    failed "$name_: the tests did not run" "$table"
  fi
  echo "   $name_: $ok passed, $bad failed, $skipped skipped"
}

# The program alone in two debug builds, then every build's reports held against each other.
compare_builds() {
  say "builds: the same reports from every compiler and optimisation"
  log=build-logs/builds.log
  logs="$logs $log"
  : >"$log"
  programs=
  for name_ in gcc clang sanitize debug-gcc debug-clang; do
    case $name_ in debug-*)
      CC=${name_#debug-}
      export CC
      if ! configure "build-$name_" --buildtype=debug >>"$log" 2>&1 || ! ninja -C "build-$name_" ${jobs:+-j "$jobs"} src/cli/girthline >>"$log" 2>&1; then
        failed "$name_ does not build" "$log"
        return
      fi
      ;;
    esac
    [ ! -x "build-$name_/src/cli/girthline" ] || programs="$programs build-$name_/src/cli/girthline"
  done
  # shellcheck disable=SC2086 # a list of paths without blanks
  if python3 tests/reference/builds.py $programs >>"$log" 2>&1; then
    n_passed=$((n_passed + 1))
    echo "   builds: $(tail -n 1 "$log")"
  else
    failed "builds differ" "$log"
  fi
}

skip_browser() {
  n_skipped=$((n_skipped + 1))
  echo "   browser test skipped: $1"
}

# The report page in a real browser. Node and Chromium may come from anywhere; Debian's are asked for where there are none.
browser_test() {
  [ -f tests/browser/run.mjs ] || return 0
  say "browser: the page in Chromium"
  log=build-logs/browser.log
  logs="$logs $log"
  : >"$log"
  wanted=
  needs_npm=no
  if grep -q 'ependencies"' tests/browser/package.json 2>/dev/null; then needs_npm=yes; fi
  command -v node >/dev/null 2>&1 || wanted="$wanted nodejs"
  command -v chromium >/dev/null 2>&1 || wanted="$wanted chromium"
  if [ $needs_npm = yes ] && ! command -v npm >/dev/null 2>&1; then wanted="$wanted npm ca-certificates"; fi
  # shellcheck disable=SC2086 # a list of words
  if [ -n "$wanted" ] && ! packages_install "$log" $wanted; then
    skip_browser "$wanted could not be installed"
    return
  fi
  if [ $needs_npm = yes ] && ! npm_install >>"$log" 2>&1; then
    skip_browser "its npm packages could not be installed (see $log)"
    return
  fi
  GIRTHLINE=$PWD/build-gcc/src/cli/girthline CHROMIUM=$(command -v chromium) node tests/browser/run.mjs >>"$log" 2>&1
  case $? in
  0) n_passed=$((n_passed + 1)) && echo "   browser: 1 passed" ;;
  77) skip_browser "$(tail -n 1 "$log")" ;;
  *) failed "the browser test" "$log" ;;
  esac
}

npm_install() (
  cd tests/browser || exit 1
  PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD=1 PUPPETEER_SKIP_DOWNLOAD=1
  export PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD PUPPETEER_SKIP_DOWNLOAD
  if [ -f package-lock.json ]; then npm ci --no-audit --no-fund; else npm install --no-audit --no-fund --no-package-lock; fi
)

# The job array of samples/cluster on a Slurm of its own.
cluster_test() {
  say "cluster: a Slurm job array, GNU parallel"
  log=build-logs/cluster.log
  logs="$logs $log"
  # shellcheck disable=SC2086 # a list of words
  if ! packages_install "$log" $packages_cluster; then
    n_skipped=$((n_skipped + 1))
    echo "   cluster test skipped: Slurm could not be installed"
    return
  fi
  sh tests/cluster/slurm.sh build-gcc/src/cli/girthline >>"$log" 2>&1
  case $? in
  0) n_passed=$((n_passed + 1)) && echo "   cluster: 1 passed" ;;
  77) n_skipped=$((n_skipped + 1)) && echo "   cluster test $(grep '^skipped' "$log" | tail -n 1)" ;;
  *) failed "the cluster test" "$log" ;;
  esac
}

# The Debian packages, built and used in fresh systems.
package_test() {
  say "package: built, installed, used and removed in a fresh system"
  log=build-logs/package.log
  logs="$logs $log"
  # shellcheck disable=SC2086 # a list of words
  if ! packages_install "$log" $packages_package; then
    n_skipped=$((n_skipped + 1))
    echo "   package test skipped: debootstrap could not be installed"
    return
  fi
  sh tests/install/package.sh . >"$log" 2>&1
  case $? in
  0) n_passed=$((n_passed + 1)) && echo "   package: 1 passed" ;;
  77) n_skipped=$((n_skipped + 1)) && echo "   package test $(grep '^skipped' "$log" | tail -n 1)" ;;
  *) failed "the package test" "$log" ;;
  esac
}

# script_test NAME COMMAND...: one more test that passes, fails, or (77) cannot be run here.
script_test() {
  name_=$1
  shift
  say "$name_"
  log=build-logs/$(printf '%s' "$name_" | tr ' ' '-').log
  logs="$logs $log"
  "$@" >"$log" 2>&1
  case $? in
  0) n_passed=$((n_passed + 1)) && echo "   $name_: 1 passed" ;;
  77) n_skipped=$((n_skipped + 1)) && echo "   $name_ skipped (see $log)" ;;
  *) failed "$name_" "$log" ;;
  esac
}

# A batch by four threads, and one recording shared out among threads, under the thread checker.
threads_test() (
  CC=clang
  export CC
  configure build-threads -Dbuildtype=debugoptimized -Db_ndebug=false -Db_sanitize=thread -Db_lundef=false &&
    ninja -C build-threads ${jobs:+-j "$jobs"} src/cli/girthline tests/unit/base/test_base_relay tests/stage/test_stage_threads &&
    python3 tests/threads.py build-threads/src/cli/girthline build-threads/tests/unit/base/test_base_relay build-threads/tests/stage/test_stage_threads
)

mkdir -p build-logs
say "packages"
[ "$full" = yes ] || packages_full=
# shellcheck disable=SC2086 # lists of words
if ! packages_install build-logs/packages.log $packages_build $packages_tests $packages_full; then
  failed "the packages the tests need are not there"
  finish
fi

# Release as it is installed; the other two with assertions on.
build_and_test gcc gcc g++ --buildtype=release
build_and_test clang clang clang++ --buildtype=debugoptimized
ASAN_OPTIONS=abort_on_error=1:detect_leaks=1 UBSAN_OPTIONS=halt_on_error=1:abort_on_error=1:print_stacktrace=1
LSAN_OPTIONS=suppressions=$PWD/tests/support/leaks.supp:print_suppressions=0
export ASAN_OPTIONS UBSAN_OPTIONS LSAN_OPTIONS
build_and_test sanitize gcc g++ -Ddebug=true -Doptimization=1 -Db_ndebug=false -Db_sanitize=address,undefined
compare_builds
script_test 'code read' python3 tests/lint.py cppcheck
script_test 'threads' threads_test
browser_test
[ "$full" = no ] || cluster_test
[ "$full" = no ] || package_test
if [ "$full" = yes ]; then
  script_test 'code read closely' python3 tests/lint.py tidy=build-clang analyzer=build-gcc
  script_test 'coverage' sh tests/coverage.sh
  script_test 'fuzzing' python3 tests/fuzz/run.py 1
  script_test 'commands under valgrind' sh tests/valgrind.sh build-gcc/src/cli/girthline
fi
# Debian 12's valgrind cannot read what its clang writes for debuggers.
if [ "$full" = yes ] && [ -f build-gcc/build.ninja ]; then
  say "gcc: the tests under valgrind"
  run_meson_test valgrind build-gcc build-logs/valgrind.log --no-suite style \
    --wrapper "valgrind --quiet --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite --suppressions=$PWD/tests/support/valgrind.supp"
  logs="$logs build-logs/valgrind.log"
fi
say "all done"
finish
