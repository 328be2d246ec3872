// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The writing calls of the program's own objects come here (the linker's --wrap), those of SQLite through its table of
// system calls; SQLite asks gn_new for memory.
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

#include <sqlite3.h>

#include "base/memory.h"
#include "refusals.h"

static size_t refuse_in; // 0: never

size_t refusals_refuse_call(size_t k) {
  const size_t left = refuse_in;
  refuse_in = k;
  return left;
}

static bool refused(void) {
  if (!refuse_in || --refuse_in) return false;
  errno = ENOSPC;
  return true;
}

ssize_t __real_write(int fd, const void *data, size_t n);
ssize_t __wrap_write(int fd, const void *data, size_t n);
ssize_t __real_pwrite(int fd, const void *data, size_t n, off_t at);
ssize_t __wrap_pwrite(int fd, const void *data, size_t n, off_t at);
int __real_ftruncate(int fd, off_t n);
int __wrap_ftruncate(int fd, off_t n);
int __wrap_fsync(int fd);
int __real_rename(const char *from, const char *to);
int __wrap_rename(const char *from, const char *to);
int __real_open(const char *path, int flags, ...);
int __wrap_open(const char *path, int flags, ...);

static ssize_t half_then_none(ssize_t put) {
  errno = put < 0 ? errno : ENOSPC;
  return -1;
}

ssize_t __wrap_write(int fd, const void *data, size_t n) { return refused() ? half_then_none(__real_write(fd, data, n / 2)) : __real_write(fd, data, n); }

ssize_t __wrap_pwrite(int fd, const void *data, size_t n, off_t at) {
  return refused() ? half_then_none(__real_pwrite(fd, data, n / 2, at)) : __real_pwrite(fd, data, n, at);
}

int __wrap_ftruncate(int fd, off_t n) { return refused() ? -1 : __real_ftruncate(fd, n); }

// Nothing here outlives a loss of power: a test need not wait for the disk.
int __wrap_fsync(int fd) { return refused() || fcntl(fd, F_GETFD) < 0 ? -1 : 0; }

int __wrap_rename(const char *from, const char *to) { return refused() ? -1 : __real_rename(from, to); }

int __wrap_open(const char *path, int flags, ...) {
  va_list args;
  va_start(args, flags);
  const mode_t mode = flags & O_CREAT ? va_arg(args, mode_t) : 0;
  va_end(args);
  return flags & O_CREAT && refused() ? -1 : __real_open(path, flags, mode);
}

// ---- threads

// Copies of a process have one thread: the threads of a command are put off until somebody waits for them, and run one after the other.
#define MOST_THREADS 4
static struct { void *(*run)(void *); void *user; } put_off[MOST_THREADS];
static size_t n_put_off;
static bool one_thread;

void refusals_one_thread(bool one) { one_thread = one; }

int __real_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user);
int __real_pthread_join(pthread_t thread, void **value);
int __wrap_pthread_join(pthread_t thread, void **value);
int __real_pthread_cond_timedwait(pthread_cond_t *condition, pthread_mutex_t *lock, const struct timespec *until);
int __wrap_pthread_cond_timedwait(pthread_cond_t *condition, pthread_mutex_t *lock, const struct timespec *until);

int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user) {
  if (!one_thread) return __real_pthread_create(thread, attributes, run, user);
  if (n_put_off == MOST_THREADS) return EAGAIN;
  put_off[n_put_off].run = run;
  put_off[n_put_off++].user = user;
  *thread = pthread_self();
  return 0;
}

static void run_put_off(void) {
  while (n_put_off) {
    n_put_off--;
    put_off[n_put_off].run(put_off[n_put_off].user);
  }
}

// One that has not been waited for until then finds that there is nothing left to do.
int __wrap_pthread_join(pthread_t thread, void **value) {
  if (!one_thread) return __real_pthread_join(thread, value);
  run_put_off();
  return 0;
}

int __wrap_pthread_cond_timedwait(pthread_cond_t *condition, pthread_mutex_t *lock, const struct timespec *until) {
  if (!one_thread) return __real_pthread_cond_timedwait(condition, lock, until);
  pthread_mutex_unlock(lock);
  run_put_off();
  return pthread_mutex_lock(lock);
}

// ---- SQLite

// SQLite's own calls, before they were taken.
static ssize_t (*sqlite_write)(int, const void *, size_t);
static ssize_t (*sqlite_pwrite)(int, const void *, size_t, off_t);
static int (*sqlite_ftruncate)(int, off_t);

static ssize_t take_write(int fd, const void *data, size_t n) { return refused() ? half_then_none(sqlite_write(fd, data, n / 2)) : sqlite_write(fd, data, n); }
static ssize_t take_pwrite(int fd, const void *data, size_t n, off_t at) {
  return refused() ? half_then_none(sqlite_pwrite(fd, data, n / 2, at)) : sqlite_pwrite(fd, data, n, at);
}
static int take_ftruncate(int fd, off_t n) { return refused() ? -1 : sqlite_ftruncate(fd, n); }

static void take_calls(void) {
  sqlite3_vfs *vfs = sqlite3_vfs_find(NULL);
  sqlite_write = (ssize_t(*)(int, const void *, size_t))vfs->xGetSystemCall(vfs, "write");
  sqlite_ftruncate = (int (*)(int, off_t))vfs->xGetSystemCall(vfs, "ftruncate");
  vfs->xSetSystemCall(vfs, "write", (sqlite3_syscall_ptr)take_write);
  vfs->xSetSystemCall(vfs, "ftruncate", (sqlite3_syscall_ptr)take_ftruncate);
  const char *const names[] = {"pwrite", "pwrite64"}; // one of them is built in
  for (size_t i = 0; i < 2; i++)
    if (vfs->xGetSystemCall(vfs, names[i])) {
      sqlite_pwrite = (ssize_t(*)(int, const void *, size_t, off_t))vfs->xGetSystemCall(vfs, names[i]);
      vfs->xSetSystemCall(vfs, names[i], (sqlite3_syscall_ptr)take_pwrite);
    }
}

// SQLite asks how long a piece is: its length stands before it.
#define HEAD 16

static void *sized_new(int n) {
  char *p = gn_new((size_t)n + HEAD, 1);
  if (p) memcpy(p, &n, sizeof n);
  return p ? p + HEAD : NULL;
}

static int size_of(void *p) {
  int n = 0;
  if (p) memcpy(&n, (char *)p - HEAD, sizeof n);
  return n;
}

static void sized_free(void *p) {
  if (p) gn_free((char *)p - HEAD);
}

static void *sized_renew(void *old, int n) {
  char *p = sized_new(n);
  if (p && old) memcpy(p, old, (size_t)(size_of(old) < n ? size_of(old) : n));
  if (p) sized_free(old);
  return p;
}

static int round_up(int n) { return (n + 7) & ~7; }
static int start(void *unused) {
  (void)unused;
  return SQLITE_OK;
}
static void stop(void *unused) { (void)unused; }

void refusals_take_seams(void) {
  static const sqlite3_mem_methods METHODS = {sized_new, sized_free, sized_renew, size_of, round_up, start, stop, NULL};
  sqlite3_config(SQLITE_CONFIG_MALLOC, &METHODS);
  sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0); // small pieces too
  sqlite3_initialize();
  take_calls();
}
