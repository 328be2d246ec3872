// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Every request refused at the price of one run and many ends of runs: the command runs once, and at each request a copy of this process
// goes on from there in a copy of out/, while the first waits.
#include "refusals.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/memory.h"

#if defined __has_feature
#if __has_feature(address_sanitizer)
#define CHECKS_LEAKS 1
#endif
#endif
#if defined __SANITIZE_ADDRESS__
#define CHECKS_LEAKS 1
#endif
#ifdef CHECKS_LEAKS
#include <sanitizer/lsan_interface.h>
size_t __sanitizer_get_current_allocated_bytes(void); // the header that declares it comes with clang only; gcc's library has it too
#endif

#define KEPT "kept" // out/ of the process that waits
#define MOST_FDS 64

static struct {
  size_t n, n_bad, first_bad, n_bytes; // requests so far; copies with faults; taken before the command began
  bool and_all_after, is_copy;
} branching;

// ---- files

static void copy_file(const char *from, const char *to) {
  static char bytes[1 << 16];
  const int in = open(from, O_RDONLY | O_CLOEXEC), out = open(to, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  ssize_t n = 0;
  while (in >= 0 && out >= 0 && (n = read(in, bytes, sizeof bytes)) > 0)
    if (write(out, bytes, (size_t)n) != n) abort();
  if (in < 0 || out < 0 || n < 0) abort();
  close(in);
  close(out);
}

static bool is_dot(const char *name) { return !strcmp(name, ".") || !strcmp(name, ".."); }

static void copy_folder(const char *from, const char *to) {
  DIR *d = opendir(from);
  const struct dirent *entry;
  if (!d || mkdir(to, 0777)) abort();
  while ((entry = readdir(d))) {
    char a[PATH_MAX], b[PATH_MAX];
    struct stat st;
    if (is_dot(entry->d_name)) continue;
    if (snprintf(a, sizeof a, "%s/%s", from, entry->d_name) >= PATH_MAX || snprintf(b, sizeof b, "%s/%s", to, entry->d_name) >= PATH_MAX || lstat(a, &st)) abort();
    if (S_ISDIR(st.st_mode)) copy_folder(a, b);
    else copy_file(a, b);
  }
  closedir(d);
}

static void remove_folder(const char *path) {
  DIR *d = opendir(path);
  const struct dirent *entry;
  while (d && (entry = readdir(d))) {
    char inner[PATH_MAX];
    if (is_dot(entry->d_name) || snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name) >= PATH_MAX) continue;
    if (unlink(inner)) remove_folder(inner);
  }
  if (d) closedir(d);
  rmdir(path);
}

// What this process has open in out/, it has open in its own copy from now on, at the same place; any other plain file is opened again too,
// for a copy that reads on would move the place where the first process reads.
static void reopen_files(void) {
  char folder[PATH_MAX - 10], from[PATH_MAX];
  if (!getcwd(folder, sizeof folder) || snprintf(from, sizeof from, "%s/" KEPT "/", folder) >= PATH_MAX) abort();
  for (int fd = 3; fd < MOST_FDS; fd++) {
    char link[40], path[PATH_MAX] = {0}, own[PATH_MAX];
    struct stat st;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    if (fstat(fd, &st) || !S_ISREG(st.st_mode) || readlink(link, path, sizeof path - 1) < 0) continue;
    const bool is_output = !strncmp(path, from, strlen(from));
    if (snprintf(own, sizeof own, "%s%s", is_output ? "out/" : "", is_output ? path + strlen(from) : path) >= PATH_MAX) abort();
    const int other = open(own, (fcntl(fd, F_GETFL) & (O_ACCMODE | O_APPEND)) | O_CLOEXEC);
    if (other < 0) continue; // a file whose name has gone
    lseek(other, lseek(fd, 0, SEEK_CUR), SEEK_SET);
    if (dup3(other, fd, O_CLOEXEC) != fd) abort();
    close(other);
  }
}

static void move_into_copy(void) {
  if (rename("out", KEPT)) abort();
  copy_folder(KEPT, "out");
  reopen_files();
}

static void move_back(void) {
  remove_folder("out");
  if (rename(KEPT, "out")) abort();
}

// ---- branching

#ifdef CHECKS_LEAKS
static size_t allocated(void) { return __sanitizer_get_current_allocated_bytes(); }
// The checker takes long and is asked only where more is kept than before the command began.
static size_t n_leaks(void) { return allocated() > branching.n_bytes && __lsan_do_recoverable_leak_check() ? 1 : 0; }
#else
static size_t allocated(void) { return 0; }
static size_t n_leaks(void) { return 0; }
#endif

// The first process waits for the copy, which goes on as if memory had been refused to it.
static bool refuses(void) {
  branching.n++;
  if (branching.is_copy) return branching.and_all_after;
  refusals_streams streams;
  refusals_streams_begin(&streams);
  const pid_t copy = fork();
  if (copy < 0) abort();
  if (!copy) {
    branching.is_copy = true;
    refusals_streams_take(&streams);
    move_into_copy();
    if (!branching.and_all_after) gn_memory_ask(NULL);
    return true;
  }
  int state;
  while (waitpid(copy, &state, 0) < 0 && errno == EINTR) continue;
  if (state && !branching.n_bad++) branching.first_bad = branching.n;
  refusals_streams_end(&streams, state != 0);
  move_back();
  return false;
}

size_t refusals_branch(const char *const *argv, bool and_all_after, refusals_judge judge, size_t *n_requests) {
  branching.n = branching.n_bad = branching.first_bad = 0;
  branching.and_all_after = and_all_after;
  branching.n_bytes = allocated();
  gn_memory_ask(refuses);
  refusals_run run = refusals_do(argv);
  const size_t k = branching.n;
  gn_memory_ask(NULL);
  if (branching.is_copy) {
    size_t n_faults = judge(k, &run);
    refusals_run_clear(&run);
    n_faults += n_leaks();
    _exit(n_faults != 0);
  }
  refusals_run_clear(&run);
  if (branching.n_bad) fprintf(stderr, "%zu copies with faults, the first at request %zu\n", branching.n_bad, branching.first_bad);
  *n_requests = k;
  return branching.n_bad;
}
