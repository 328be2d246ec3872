// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// refusals COMMAND some|all|K: the command whole, with the k-th request refused, k = 1, 2, ... (or some of them, or the K-th). Whatever is
// refused: no crash, nothing lost (a leak checker tells at the end), the exit code and a sentence, and no file but whole ones.
#include "support.h"

#include <dirent.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "refusals.h"

#define MOST_FILES 100
#define SOME_RUNS 8 // choice: a test stays under 20 s of a processor under a sanitizer
#define CODE_OUTPUT 4
#define CODE_OTHER 5

typedef struct file {
  char path[200], hash[48];
  long size_n;
} file;

typedef struct files {
  file items[MOST_FILES];
  size_t n;
} files;

// What the command gives when nothing is refused to it.
typedef struct golden {
  refusals_run run;
  files out;
  char *list; // of the history, afterwards
  char *list_before;
} golden;

static const refusals_command *command;
static bool all;
static size_t only; // 0: not one alone
static golden good;
static size_t n_faults;

// ---- files

static int by_path(const void *a, const void *b) { return strcmp(((const file *)a)->path, ((const file *)b)->path); }

static void look(const char *folder, files *found) {
  DIR *d = opendir(folder);
  const struct dirent *entry;
  struct stat st;
  while (d && (entry = readdir(d))) {
    if (!strcmp(entry->d_name, ".") || !strcmp(entry->d_name, "..")) continue;
    assert_true(found->n < MOST_FILES);
    file *f = &found->items[found->n];
    snprintf(f->path, sizeof f->path, "%.90s/%.100s", folder, entry->d_name);
    if (lstat(f->path, &st)) continue;
    if (S_ISDIR(st.st_mode)) {
      char inner[200];
      snprintf(inner, sizeof inner, "%s", f->path);
      look(inner, found);
    } else {
      f->size_n = (long)st.st_size;
      girthline_content_hash_path(f->path, f->hash, NULL);
      found->n++;
    }
  }
  if (d) closedir(d);
  qsort(found->items, found->n, sizeof *found->items, by_path);
}

static const file *find(const files *in, const char *path) {
  for (size_t i = 0; i < in->n; i++)
    if (!strcmp(in->items[i].path, path)) return &in->items[i];
  return NULL;
}

static void empty(const char *folder) {
  files found = {0};
  look(folder, &found);
  for (size_t i = 0; i < found.n; i++) unlink(found.items[i].path);
}

// A lock belongs to the file that the first process has open.
static void remove_locks(void) {
  files found = {0};
  look("out", &found);
  for (size_t i = 0; i < found.n; i++)
    if (strstr(found.items[i].path, ".lock")) unlink(found.items[i].path);
}

static void copy_file(const char *from, const char *to) {
  static char bytes[1 << 20];
  FILE *in = fopen(from, "rb"), *out = fopen(to, "wb");
  size_t n;
  while (in && out && (n = fread(bytes, 1, sizeof bytes, in))) fwrite(bytes, 1, n, out);
  assert_true(in && out);
  fclose(in);
  fclose(out);
}

static void prepare(void) {
  files found = {0};
  empty("out");
  if (command->before) look(command->before, &found);
  for (size_t i = 0; i < found.n; i++) {
    char to[256];
    snprintf(to, sizeof to, "out%s", found.items[i].path + strlen(command->before));
    copy_file(found.items[i].path, to);
  }
}

// ---- what must hold

static void complain(const char *what, size_t k, const char *detail, const char *more) {
  print_error("%s, %s %zu: %s: %s\n", command->name, what, k, detail, more);
  n_faults++;
}

// Journal, lock and history have a life of their own; a batch's tables are held to the next run.
static bool is_kept_apart(const char *path) {
  if (command->history && !strncmp(path, "out/v.db", 8) && !strstr(path, ".json")) return true;
  if (!command->resumes) return false;
  return strstr(path, "/.girthline-batch.") != NULL || (!strstr(path, "/pages/") && !strstr(path, ".tmp"));
}

static void check_files(const char *what, size_t k, bool done) {
  files now = {0};
  look("out", &now);
  for (size_t i = 0; i < now.n; i++) {
    const file *f = &now.items[i], *whole = find(&good.out, f->path);
    if (is_kept_apart(f->path)) continue;
    if (!whole) complain(what, k, "leaves a file", f->path);
    else if (strcmp(whole->hash, f->hash)) complain(what, k, "leaves a file that is not whole", f->path);
  }
  for (size_t i = 0; i < good.out.n && done; i++)
    if (!is_kept_apart(good.out.items[i].path) && !find(&now, good.out.items[i].path)) complain(what, k, "says it is done without", good.out.items[i].path);
}

static char *list_of_history(void) {
  static const char *const LIST[] = {"visits", "--db", "out/v.db", "list", NULL};
  refusals_run run = refusals_do(LIST);
  char *text = strdup(run.code || !strncmp(run.out, "no visits", 9) ? "" : run.out); // a history begun and empty is as before
  refusals_run_clear(&run);
  return text;
}

static void check_history(const char *what, size_t k, bool done) {
  static const char *const CHECK[] = {"visits", "--db", "out/v.db", "check", NULL};
  if (!access("out/v.db", F_OK)) {
    refusals_run run = refusals_do(CHECK);
    struct stat st;
    const bool nothing = !stat("out/v.db", &st) && !st.st_size; // begun and not yet filled
    if (run.code && !nothing) complain(what, k, "the history is not whole", run.err);
    refusals_run_clear(&run);
  }
  char *list = list_of_history();
  if (strcmp(list, good.list) && (done || strcmp(list, good.list_before))) complain(what, k, "the history is neither as before nor as after", list);
  free(list);
}

// What was gone on from already, by every copy of this process: the same files give the same end, and it takes long to see.
#define MOST_STATES 4096
static struct states {
  uint64_t of[MOST_STATES];
  size_t n, n_asked;
} *states;

static uint64_t add_text(uint64_t hash, const char *text) { // FNV-1a, with the zero at the end
  do hash = (hash ^ (unsigned char)*text) * 0x100000001b3;
  while (*text++);
  return hash;
}

static bool is_known_state(void) {
  uint64_t hash = 0xcbf29ce484222325;
  files now = {0};
  look("out", &now);
  for (size_t i = 0; i < now.n; i++) hash = add_text(add_text(hash, now.items[i].path), now.items[i].hash);
  states->n_asked++;
  for (size_t i = 0; i < states->n; i++)
    if (states->of[i] == hash) return true;
  assert_true(states->n < MOST_STATES);
  states->of[states->n++] = hash;
  return false;
}

// The same command again, with nothing refused, completes what was begun.
static void check_resumed(const char *what, size_t k) {
  if (is_known_state()) return;
  refusals_run run = refusals_do(command->argv);
  files now = {0};
  look("out", &now);
  if (run.code != good.run.code) complain(what, k, "cannot be gone on with", run.err);
  for (size_t i = 0; i < good.out.n; i++) {
    const file *f = find(&now, good.out.items[i].path);
    if (strstr(good.out.items[i].path, "/.girthline-batch.")) continue;
    if (!f || strcmp(f->hash, good.out.items[i].hash)) complain(what, k, "gives other bytes when gone on with", good.out.items[i].path);
  }
  refusals_run_clear(&run);
}

static void check_said(const char *what, size_t k, const refusals_run *run, int code, const char *word) {
  char detail[100];
  snprintf(detail, sizeof detail, "ends with %d instead of %d", run->code, code);
  if (run->code != code) complain(what, k, detail, run->err);
  if (strncmp(run->err, "girthline", 9) || !strstr(run->err, word)) complain(what, k, "does not say why", run->err);
}

static void check(const char *what, size_t k, const refusals_run *run, int code, const char *word) {
  const bool done = run->code == good.run.code;
  if (!done) check_said(what, k, run, code, word);
  else if (strcmp(run->out, good.run.out)) complain(what, k, "says it is done and prints something else", run->out);
  check_files(what, k, done && !command->resumes);
  if (command->history) check_history(what, k, done);
  if (command->resumes) check_resumed(what, k);
}

// ---- what is refused

typedef size_t (*refuser)(size_t k);

static size_t count_requests(refuser refuse) {
  prepare();
  refuse(SIZE_MAX);
  refusals_run run = refusals_do(command->argv);
  const size_t n = SIZE_MAX - refuse(0);
  refusals_run_clear(&run);
  return n;
}

// Every second run finds the outputs of a good one there; a history and a batch begin anew each time.
static void refuse_one(const char *what, refuser refuse, size_t k, int code, const char *word) {
  if (k % 2 || command->history || command->resumes) prepare();
  refuse(k);
  refusals_run run = refusals_do(command->argv);
  const bool reached = refuse(0) == 0;
  if (!reached) complain(what, k, "is not reached", "");
  check(what, k, &run, code, word);
  refusals_run_clear(&run);
}

static void refuse_each(const char *what, refuser refuse, int code, const char *word) {
  n_faults = 0;
  const size_t n = count_requests(refuse), step = all || n < 2 * SOME_RUNS ? 1 : n / SOME_RUNS;
  assert_true(n > 0);
  if (only) {
    refuse_one(what, refuse, only < n ? only : n, code, word);
    assert_int_equal(n_faults, 0);
    return;
  }
  print_message("%s: %zu %ss\n", command->name, n, what);
  for (size_t k = 1; k <= n; k += step) refuse_one(what, refuse, k, code, word);
  for (size_t k = n < 3 ? 1 : n - 2; k <= n && step > 1; k++) refuse_one(what, refuse, k, code, word);
  assert_int_equal(n_faults, 0);
}

static size_t judge(size_t k, const refusals_run *run) {
  if (command->resumes) remove_locks();
  n_faults = 0;
  check("request", k, run, CODE_OTHER, "memory");
  return n_faults;
}

// Every one: by copies, except where SQLite is at work, whose locks belong to one process; those commands are short.
static void refuse_all(bool and_all_after) {
  size_t n = 0;
  const size_t n_wanted = count_requests(gn_memory_refuse);
  prepare();
  if (and_all_after && !command->resumes) { // the outputs of a good run are there
    refusals_run run = refusals_do(command->argv);
    refusals_run_clear(&run);
  }
  const size_t n_bad = refusals_branch(command->argv, and_all_after, judge, &n);
  print_message("%s: %zu requests, each refused%s\n", command->name, n, and_all_after ? " with all after it" : "");
  assert_int_equal(n, n_wanted); // the copies leave the first process alone
  assert_int_equal(n_bad, 0);
}

static void each_request_for_memory(void **state) {
  (void)state;
  if (all && !command->history) refuse_all(false);
  else refuse_each("request", gn_memory_refuse, CODE_OTHER, "memory");
}

static size_t refuse_from(size_t k) {
  const size_t left = gn_memory_refuse(k);
  if (k) gn_memory_refuse_on();
  return left;
}

static void each_request_for_memory_and_all_after_it(void **state) {
  (void)state;
  if (all && !command->history) refuse_all(true);
  else refuse_each("last request", refuse_from, CODE_OTHER, "memory");
}

static void each_call_that_writes(void **state) {
  (void)state;
  refuse_each("call", refusals_refuse_call, CODE_OUTPUT, " ");
}

static long longest_file(void) {
  long n = 0;
  for (size_t i = 0; i < good.out.n; i++) n = good.out.items[i].size_n > n ? good.out.items[i].size_n : n;
  return n;
}

static void each_length_that_no_file_may_pass(void **state) {
  (void)state;
  n_faults = 0;
  const long most = longest_file(), step = most / (all ? 200 : SOME_RUNS) + 1;
  struct rlimit before;
  getrlimit(RLIMIT_FSIZE, &before);
  for (long n = 0; n <= most + step; n += step) {
    prepare();
    const struct rlimit limit = {(rlim_t)n, before.rlim_max};
    setrlimit(RLIMIT_FSIZE, &limit);
    refusals_run run = refusals_do(command->argv);
    setrlimit(RLIMIT_FSIZE, &before);
    check("length", (size_t)n, &run, CODE_OUTPUT, " ");
    refusals_run_clear(&run);
  }
  assert_int_equal(n_faults, 0);
}

// ---- the whole

static void learn(void) {
  prepare();
  if (command->history) good.list_before = list_of_history();
  good.run = refusals_do(command->argv);
  look("out", &good.out);
  if (command->history) good.list = list_of_history();
  if (good.run.code > 1) print_error("%s: %s\n", command->name, good.run.err);
}

static int end(const char *folder) {
  char line[200];
  if (states->n_asked) print_message("%s: gone on from %zu states, of %zu\n", command->name, states->n, states->n_asked);
  refusals_run_clear(&good.run);
  free(good.list);
  free(good.list_before);
  if (chdir("/")) return 1;
  snprintf(line, sizeof line, "rm -rf '%s'", folder);
  return system(line) != 0;
}

int main(int argc, char **argv) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(each_request_for_memory), cmocka_unit_test(each_request_for_memory_and_all_after_it),
                                     cmocka_unit_test(each_call_that_writes), cmocka_unit_test(each_length_that_no_file_may_pass)};
  char folder[] = "/dev/shm/girthline-refusals-XXXXXX", elsewhere[] = "/tmp/girthline-refusals-XXXXXX";
  if (argc != 3) return 2;
  for (size_t i = 0; i < REFUSALS_N_COMMANDS; i++)
    if (!strcmp(REFUSALS_COMMANDS[i].name, argv[1])) command = &REFUSALS_COMMANDS[i];
  all = !strcmp(argv[2], "all");
  only = strtoul(argv[2], NULL, 10);
  const char *place = mkdtemp(folder) ? folder : mkdtemp(elsewhere); // in memory, where that can be had: SQLite waits for a disk
  if (!command || !place || chdir(place)) return 2;
  refusals_take_seams();
  refusals_one_thread(all); // from the beginning: another thread has caches of its own, which would look like leaks
  refusals_make_inputs();
  states = mmap(NULL, sizeof *states, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0); // one for all copies
  if (states == MAP_FAILED) return 2;
  learn();
  const int faults = good.run.code > 1 ? 1 : cmocka_run_group_tests(tests, NULL, NULL);
  return end(place) || faults;
}
