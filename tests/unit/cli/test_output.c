// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What may be written over, and what stays: in a folder of its own.
#include "support.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/file.h"
#include "cli/output.h"
#include "cli/say.h"

#define FAR 70000     // beyond what is looked at of a file's beginning
#define LONG 400000   // the middle is not looked at
static char folder[64];

static void put(const char *name, const void *bytes, size_t n) {
  const int fd = open(name, O_WRONLY | O_CREAT | O_TRUNC, 0644);
  assert_true(fd >= 0);
  assert_int_equal(gn_file_put(fd, bytes, n), 0);
  close(fd);
}

static void put_text(const char *name, const char *text) { put(name, text, strlen(text)); }

static bool holds(const char *name, const char *text) {
  char got[200] = "";
  const int fd = open(name, O_RDONLY);
  const ssize_t n = fd >= 0 ? read(fd, got, sizeof got - 1) : -1;
  if (fd >= 0) close(fd);
  return n >= 0 && !strcmp(got, text);
}

static bool there(const char *name) { return !access(name, F_OK); }

// A file of n letters that begins with `head` and has `mark` at a place.
static bool is_ours(const char *head, const char *mark, size_t n_mark, size_t at, size_t n) {
  char *bytes = malloc(n);
  memset(bytes, 'x', n);
  memcpy(bytes, head, strlen(head));
  if (n_mark) memcpy(bytes + at, mark, n_mark);
  put("kind", bytes, n);
  free(bytes);
  return gn_output_is_ours("kind");
}

#define MARK(text) text, sizeof text - 1
static const char PAGE[] = "<meta name=\"generator\" content=\"girthline\">", LAST[] = "\nWritten by girthline 0.1.0\n", CREATOR[] = "/Creator (girthline)";
static const char SOUND[] = "girthline marked", SVG[] = "<desc>Written by girthline 0.1.0</desc>", PNG[] = "tEXtSoftware\0girthline";

static void each_kind_of_file_says_that_it_is_ours(void **state) {
  (void)state;
  assert_true(is_ours("{\n  \"schema\": \"girthline.report.v1\",", NULL, 0, 0, 100));
  assert_true(is_ours("{\n  \"schema\": \"girthline.report.v1\",", NULL, 0, 0, LONG));
  assert_true(is_ours("{\"schema\": \"girthline.", NULL, 0, 0, 22));
  assert_true(is_ours("{\"schema\": \"girthline.report.v1\",", NULL, 0, 0, LONG));
  assert_true(is_ours("<!DOCTYPE html>", MARK(PAGE), 200, LONG));
  assert_true(is_ours("Maren", MARK(LAST), LONG - sizeof LAST + 1, LONG));
  assert_true(is_ours("Maren", MARK(LAST), 100, 100 + sizeof LAST - 1));
  assert_true(is_ours("RIFF", SOUND, sizeof SOUND, LONG - sizeof SOUND, LONG)); // with its zero
  assert_true(is_ours("RIFF", SOUND, sizeof SOUND, FAR - 10000, FAR));       // across where the beginning ends
  assert_true(is_ours("RIFF", SOUND, sizeof SOUND, 65530, FAR));
  assert_true(is_ours("%PDF-1.7", MARK(CREATOR), LONG - 300, LONG));
  assert_true(is_ours("<?xml version", MARK(SVG), 120, 4000));
  assert_true(is_ours("\x89PNG", MARK(PNG), 60, 4000));
}

static void a_strangers_file_is_not_taken_for_ours(void **state) {
  (void)state;
  const size_t sizes[] = {1, 5, 13, 40, 1000, FAR, LONG};
  const char *const heads[] = {"", "{", "{\n  \"schema\": \"other.v1\"", "{\"schema\": \"other.", "%PDF-1.7", "RIFF", "<?xml version", "\x89PNG", "girthline marked", "Written by girthline "};
  for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
    for (size_t k = 0; k < sizeof heads / sizeof *heads; k++)
      if (strlen(heads[k]) <= sizes[i] && is_ours(heads[k], NULL, 0, 0, sizes[i])) fail_msg("\"%s\" in %zu bytes", heads[k], sizes[i]);
  assert_false(is_ours(" ", MARK("{\n  \"schema\": \"girthline."), 1, 1000)); // not at its beginning
  assert_false(is_ours(" ", MARK("{\"schema\": \"girthline."), 1, 1000));
  assert_false(is_ours("notes on ", MARK(CREATOR), 20, 1000)); // a text that speaks of it is no document
  assert_false(is_ours("notes on ", SOUND, sizeof SOUND, 20, 1000));
  assert_false(is_ours("notes on ", MARK(SVG), 20, 1000));
  assert_false(is_ours("notes on ", MARK(PNG), 20, 1000));
  assert_false(is_ours("RIFF", MARK("girthline marked by hand"), 20, 1000));
  assert_false(is_ours("%PDF-1.7", MARK("/Creator (girthline and more)"), 20, 1000));
  assert_false(gn_output_is_ours("nothing-there"));
  put("empty", "", 0);
  assert_false(gn_output_is_ours("empty"));
  assert_false(gn_output_is_ours("."));
}

static void only_what_is_ours_or_empty_is_written_over_unless_forced(void **state) {
  (void)state;
  put_text("mine", "my own notes, of more than forty letters altogether");
  put_text("ours", "{\n  \"schema\": \"girthline.report.v1\"\n}\n");
  put("empty", "", 0);
  assert_int_equal(gn_output_check("mine", NULL, 0, false), GN_EXIT_OUTPUT);
  assert_int_equal(gn_output_check("mine", NULL, 0, true), 0);
  assert_int_equal(gn_output_check("ours", NULL, 0, false), 0);
  assert_int_equal(gn_output_check("empty", NULL, 0, false), 0);
  assert_int_equal(gn_output_check("new", NULL, 0, false), 0);
  assert_int_equal(gn_output_check("./new", NULL, 0, false), 0);
  assert_int_equal(gn_output_check("/new", NULL, 0, false), access("/", W_OK) ? GN_EXIT_OUTPUT : 0);
  assert_int_equal(gn_output_check("-", NULL, 0, false), 0);
  assert_int_equal(gn_output_check("", NULL, 0, true), GN_EXIT_USAGE);
  assert_false(there("new"));
}

static void an_input_is_never_written_over(void **state) {
  (void)state;
  const char *const inputs[] = {"missing.wav", "heart.wav"};
  put_text("heart.wav", "{\n  \"schema\": \"girthline.report.v1\"\n}\n"); // ours, and still an input
  if (!there("hard")) assert_int_equal(link("heart.wav", "hard"), 0);
  if (!there("soft")) assert_int_equal(symlink("heart.wav", "soft"), 0);
  const char *const ways[] = {"heart.wav", "./heart.wav", "hard", "soft"};
  for (size_t i = 0; i < sizeof ways / sizeof *ways; i++)
    for (int force = 0; force < 2; force++) assert_int_equal(gn_output_check(ways[i], inputs, 2, force), GN_EXIT_USAGE);
  assert_int_equal(gn_output_check("heart.wav", inputs, 1, false), 0);
  assert_int_equal(gn_output_check("/dev/null", (const char *const[]){"/dev/null"}, 1, false), 0); // keeps nothing
}

static void what_is_no_place_for_a_file_is_said_at_once(void **state) {
  (void)state;
  put_text("file", "x");
  if (!there("pipe")) assert_int_equal(mkfifo("pipe", 0600), 0);
  const int fd = socket(AF_UNIX, SOCK_STREAM, 0);
  const struct sockaddr_un at = {.sun_family = AF_UNIX, .sun_path = "socket"};
  unlink("socket");
  assert_int_equal(bind(fd, (const struct sockaddr *)&at, sizeof at), 0);
  close(fd);
  const char *const places[] = {"no/such/a.json", "file/a.json", ".", "/", "socket"};
  for (size_t i = 0; i < sizeof places / sizeof *places; i++)
    for (int force = 0; force < 2; force++) assert_int_equal(gn_output_check(places[i], NULL, 0, force), GN_EXIT_OUTPUT);
  assert_int_equal(gn_output_check("pipe", NULL, 0, false), 0); // somebody may read from it
}

static void two_names_of_one_file_are_the_same(void **state) {
  (void)state;
  put_text("one", "1");
  put_text("two", "1");
  mkdir("sub", 0755);
  if (!there("sub/link")) assert_int_equal(symlink("../one", "sub/link"), 0);
  assert_true(gn_output_is_same("one", "./one"));
  assert_true(gn_output_is_same("one", "sub/link"));
  assert_true(gn_output_is_same("fresh", "sub/../fresh"));
  assert_true(gn_output_is_same("-", "-"));
  assert_false(gn_output_is_same("one", "two"));
  assert_false(gn_output_is_same("one", "fresh"));
  assert_false(gn_output_is_same("fresh", "one"));
  assert_false(gn_output_is_same("fresh", "sub/fresh"));
  assert_false(gn_output_is_same("fresh", "other"));
  assert_false(gn_output_is_same("none/fresh", "nowhere/fresh"));
  assert_false(gn_output_is_same("-", "./-"));
  assert_false(gn_output_is_same("/dev/null", "/dev/../dev/null")); // two outputs may both be thrown away
}

static void a_folder_is_made_where_there_is_none(void **state) {
  (void)state;
  struct stat st;
  rmdir("made");
  assert_int_equal(gn_output_folder(NULL), 0);
  assert_int_equal(gn_output_folder(""), 0);
  assert_int_equal(gn_output_folder("made"), 0);
  assert_true(!stat("made", &st) && S_ISDIR(st.st_mode));
  assert_int_equal(gn_output_folder("made"), 0);
  assert_int_equal(gn_output_folder("not/there"), GN_EXIT_OUTPUT);
}

static bool any_temporary(void) { return !system("ls -A | grep -q '^\\.girthline-'"); }

static int fill_new(int fd, void *user) { return gn_file_put(fd, user, strlen(user)); }

static int fill_half(int fd, void *user) {
  gn_file_put(fd, "half", 4);
  errno = ENOSPC;
  return *(const int *)user;
}

static void a_file_is_replaced_whole_or_stays_as_it_was(void **state) {
  (void)state;
  struct stat st;
  put_text(".girthline-1-1.tmp", "x");
  assert_true(any_temporary()); // or what follows could not fail
  unlink(".girthline-1-1.tmp");
  put_text("target", "old");
  chmod("target", 0640);
  int refusal = -1, said = 7;
  assert_int_equal(gn_output_stream("target", fill_half, &refusal), GN_EXIT_OUTPUT);
  assert_true(holds("target", "old") && !any_temporary());
  assert_int_equal(gn_output_stream("target", fill_half, &said), 7);
  assert_true(holds("target", "old") && !any_temporary());
  assert_int_equal(gn_output_stream("target", fill_new, "new"), 0);
  assert_true(holds("target", "new") && !any_temporary());
  assert_true(!stat("target", &st) && (st.st_mode & 07777) == 0640);
  assert_int_equal(gn_output_write("target", "abc", 2), 0);
  assert_true(holds("target", "ab"));
  assert_int_equal(gn_output_write("no/such/file", "abc", 3), GN_EXIT_OUTPUT);
}

static void what_fails_on_its_way_to_standard_output_is_told(void **state) {
  (void)state;
  int refusal = -1, said = 7;
  fflush(stdout);
  const int kept = dup(STDOUT_FILENO), file = open("stdout", O_CREAT | O_WRONLY | O_TRUNC, 0600);
  dup2(file, STDOUT_FILENO);
  const int whole = gn_output_write("-", "whole", 5), known = gn_output_stream("-", fill_half, &said), unknown = gn_output_stream("-", fill_half, &refusal);
  dup2(kept, STDOUT_FILENO);
  close(kept);
  close(file);
  assert_int_equal(whole, 0);
  assert_int_equal(known, 7);
  assert_int_equal(unknown, GN_EXIT_OUTPUT);
  assert_true(holds("stdout", "wholehalfhalf"));
}

// One of that name may lie there, of a process that had our number before.
static void a_temporary_that_is_there_is_left_alone(void **state) {
  (void)state;
  char taken[64];
  snprintf(taken, sizeof taken, ".girthline-%ld-0.tmp", (long)getpid());
  put_text(taken, "another's");
  assert_int_equal(gn_output_write("beside", "new", 3), 0);
  assert_true(holds("beside", "new") && holds(taken, "another's"));
  unlink(taken);
}

// More than a pipe holds, to one who begins to read late.
static void a_pipe_that_is_read_slowly_gets_all(void **state) {
  (void)state;
  unlink("slow");
  assert_int_equal(mkfifo("slow", 0600), 0);
  const pid_t reader = fork();
  if (!reader) {
    char some[4096];
    size_t n = 0;
    const int fd = open("slow", O_RDONLY);
    usleep(200000);
    for (ssize_t got; (got = read(fd, some, sizeof some)) > 0;) n += (size_t)got;
    _exit(n == LONG ? 0 : 1);
  }
  char *bytes = calloc(1, LONG);
  const int code = gn_output_write("slow", bytes, LONG);
  int status = -1;
  free(bytes);
  assert_int_equal(waitpid(reader, &status, 0), reader);
  assert_int_equal(code, 0);
  assert_int_equal(status, 0);
}

static void a_link_stays_a_link_and_its_file_is_written(void **state) {
  (void)state;
  struct stat st;
  mkdir("sub", 0755);
  put_text("sub/real", "old");
  unlink("way");
  assert_int_equal(symlink("sub/real", "way"), 0);
  assert_int_equal(gn_output_write("way", "new", 3), 0);
  assert_true(!lstat("way", &st) && S_ISLNK(st.st_mode));
  assert_true(holds("sub/real", "new"));
}

static void what_a_killed_run_left_is_swept_and_nothing_else(void **state) {
  (void)state;
  const pid_t dead = fork();
  if (!dead) _exit(0);
  assert_int_equal(waitpid(dead, NULL, 0), dead);
  char left[64], under_way[64], longer[64];
  snprintf(left, sizeof left, ".girthline-%ld-3.tmp", (long)dead);
  snprintf(longer, sizeof longer, ".girthline-%ld-3.tmp.bak", (long)dead);
  snprintf(under_way, sizeof under_way, ".girthline-%ld-0.tmp", (long)getpid());
  const char *const kept[] = {longer, under_way, ".girthline-0-1.tmp", ".girthline-x-1.tmp", ".girthline-notes", "girthline-1-1.tmp"};
  put_text(left, "x");
  for (size_t i = 0; i < sizeof kept / sizeof *kept; i++) put_text(kept[i], "x");
  gn_output_sweep(".");
  gn_output_sweep("no-such-folder");
  assert_false(there(left));
  for (size_t i = 0; i < sizeof kept / sizeof *kept; i++) {
    if (!there(kept[i])) fail_msg("%s is gone", kept[i]);
    unlink(kept[i]);
  }
}

static void other_forms_of_sound_are_told_by_their_ending(void **state) {
  (void)state;
  assert_true(gn_output_says_other_sound("a.flac") && gn_output_says_other_sound("a.MP3") && gn_output_says_other_sound("b/a.ogg"));
  assert_false(gn_output_says_other_sound("a.wav") || gn_output_says_other_sound("a") || gn_output_says_other_sound("flac"));
}

static int enter(void **state) {
  (void)state;
  snprintf(folder, sizeof folder, "/tmp/girthline-output-XXXXXX");
  return mkdtemp(folder) && !chdir(folder) ? 0 : -1;
}

static int leave(void **state) {
  (void)state;
  char command[100];
  snprintf(command, sizeof command, "rm -rf %s", folder);
  return chdir("/") || system(command) ? -1 : 0;
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(each_kind_of_file_says_that_it_is_ours),
      cmocka_unit_test(a_strangers_file_is_not_taken_for_ours),
      cmocka_unit_test(only_what_is_ours_or_empty_is_written_over_unless_forced),
      cmocka_unit_test(an_input_is_never_written_over),
      cmocka_unit_test(what_is_no_place_for_a_file_is_said_at_once),
      cmocka_unit_test(two_names_of_one_file_are_the_same),
      cmocka_unit_test(a_folder_is_made_where_there_is_none),
      cmocka_unit_test(a_file_is_replaced_whole_or_stays_as_it_was),
      cmocka_unit_test(what_fails_on_its_way_to_standard_output_is_told),
      cmocka_unit_test(a_temporary_that_is_there_is_left_alone),
      cmocka_unit_test(a_pipe_that_is_read_slowly_gets_all),
      cmocka_unit_test(a_link_stays_a_link_and_its_file_is_written),
      cmocka_unit_test(what_a_killed_run_left_is_swept_and_nothing_else),
      cmocka_unit_test(other_forms_of_sound_are_told_by_their_ending),
  };
  return cmocka_run_group_tests(tests, enter, leave);
}
