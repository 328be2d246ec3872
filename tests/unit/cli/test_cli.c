// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The command line, run as a program in a folder of its own. The pipeline is stood in for (tests/support/stand_in.c), so
// that what is tested is the command line: arguments, outputs, exit codes, words.
#include "support.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <jansson.h>

extern char **environ;

#define MOST_ARGS 24
static const char *program;
static char folder[64];

static void put(const char *name, const char *text) {
  FILE *f = fopen(name, "w");
  assert_non_null(f);
  fputs(text, f);
  fclose(f);
}

static char *get(const char *name) {
  char *text = calloc(1, 1 << 20);
  FILE *f = fopen(name, "r");
  if (f) {
    const size_t n = fread(text, 1, (1 << 20) - 1, f);
    text[n] = 0;
    fclose(f);
  }
  return text;
}

static bool there(const char *name) { return !access(name, F_OK); }

// Splits at spaces; a word 'EMPTY' is an empty argument.
static pid_t start(const char *line, const char *in, const char *out) {
  static char words[1000];
  char *argv[MOST_ARGS + 2] = {(char *)(uintptr_t)program};
  int n = 1;
  snprintf(words, sizeof words, "%s", line);
  for (char *w = strtok(words, " "); w && n < MOST_ARGS; w = strtok(NULL, " ")) argv[n++] = strcmp(w, "EMPTY") ? w : (char *)"";
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, 0, in ? in : "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, 1, out ? out : "stdout.txt", O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_addopen(&files, 2, "stderr.txt", O_WRONLY | O_CREAT | O_TRUNC, 0600);
  pid_t pid = 0;
  assert_int_equal(posix_spawn(&pid, program, &files, NULL, argv, environ), 0);
  posix_spawn_file_actions_destroy(&files);
  return pid;
}

static int ended(pid_t pid) {
  int status = 0;
  assert_int_equal(waitpid(pid, &status, 0), pid);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
}

static int run(const char *line) { return ended(start(line, NULL, NULL)); }

static void clear_folder(void) { assert_int_equal(system("chmod -R u+rwx . 2>/dev/null; rm -rf ./* ./.girthline-*"), 0); }

static int fresh(void **state) {
  (void)state;
  clear_folder();
  put("heart.wav", "HEART of a horse");
  put("other.wav", "HEART of another");
  put("noise.wav", "NOISE");
  put("text.txt", "no sound");
  put("beats.csv", "time_s,sound\n0.1,S1\n0.6,S2\n");
  assert_int_equal(mkdir("dir", 0755), 0);
  put("dir/heart.flac", "HEART elsewhere");
  put("foreign.json", "{\"mine\": true}");
  return 0;
}

static bool left_a_temporary(void) { return system("ls -a . dir | grep -q '\\.tmp$'") == 0; }

typedef struct line {
  const char *args;
  int code;
  const char *words; // in standard error; NULL: it is empty
} line;

static const line LINES[] = {
    {"", 2, "no command was named: report, exam, visits, batch, score or synth; see girthline --help"},
    {"repotr heart.wav", 2, "did you mean report? See girthline --help"},
    {"heart.wav", 2, "girthline report heart.wav"},
    {"wobble", 2, "unknown command wobble"},
    {"--helpp", 2, "did you mean --help?"},
    {"--species dog report heart.wav", 2, "name a command first"},
    {"help reprot", 2, "did you mean report?"},
    {"help synth", 0, NULL},
    {"synth -", 2, "named file, not to standard output"},
    {"synth a.wav --seconsd 3", 2, "did you mean --seconds?"},
    {"report - --beats - --json -", 2, "not both"},
    {"exam a.ini", 3, "a.ini cannot be read"},
    {"exam", 2, "no examination file was named"},
    {"exam a.ini b.ini", 2, "one examination file at a time"},
    {"exam a.ini --side left", 2, "stand in the examination file"},
    {"exam a.ini --json - --text -", 2, "one output only"},
    {"exam a.ini --species hose", 2, "did you mean horse?"},
    {"exam a.ini --pdf a.pdf", 3, "a.ini cannot be read"},
    {"batch dir", 2, "--out"},
    {"score", 2, "no report was named"},
    {"report", 2, "no recording was named; see girthline report --help"},
    {"report EMPTY", 2, "empty"},
    {"report heart.wav --jsn -", 2, "did you mean --json? See girthline report --help"},
    {"report heart.wav --spec horse", 2, "did you mean --species?"},
    {"report heart.wav --js -", 2, "unknown option --js"},
    {"report heart.wav -x", 2, "unknown option -x"},
    {"report heart.wav --json", 2, "--json needs a value"},
    {"report heart.wav --quiet=yes --json -", 2, "--quiet takes no value"},
    {"report heart.wav --species hors --json -", 2, "did you mean horse?"},
    {"report heart.wav --species quagga --json -", 2, "name one of horse, foal"},
    {"report heart.wav --side port --json -", 2, "left, right"},
    {"report heart.wav --area mitrel --json -", 2, "did you mean mitral?"},
    {"report heart.wav --from 1,5 --json -", 2, "decimal point"},
    {"report heart.wav --from x --json -", 2, "not a number"},
    {"report heart.wav --from nan --json -", 2, "not a number"},
    {"report heart.wav --from 0x10 --json -", 2, "not a number"},
    {"report heart.wav --from -1 --json -", 2, "0 or more"},
    {"report heart.wav --from 5 --to 5 --json -", 2, "later than --from"},
    {"report heart.wav --to 0 --json -", 2, "later than --from"},
    {"report heart.wav --from 100 --json -", 2, "heart.wav"},
    {"report heart.wav --json - --text -", 2, "one output only"},
    {"report - - --json -", 2, "one recording only"},
    {"report heart.wav --json a --html a", 2, "the same file"},
    {"report heart.wav --json a --json b", 2, "twice"},
    {"report heart.wav --beats missing.csv --json -", 3, "missing.csv"},
    {"report heart.wav other.wav --beats beats.csv --json -", 2, "one recording"},
    {"report missing.wav --json -", 3, "missing.wav cannot be opened"},
    {"report dir --json -", 3, "dir is a folder"},
    {"report text.txt --json -", 3, "text.txt"},
    {"report heart.wav --json -", 0, NULL},
    {"report --json - heart.wav --species dog --side left --area aortic", 0, NULL},
    {"report --json=- heart.wav", 0, NULL},
    {"report noise.wav --json -", 1, NULL},
    {"report noise.wav missing.wav --json -", 3, "missing.wav"},
    {"report heart.wav --beats beats.csv --json -", 0, NULL},
    {"report --text - -- heart.wav --json", 3, "--json cannot be opened"},
    {"report heart.wav --json nowhere/a.json", 4, "make the folder first"},
    {"report heart.wav --json heart.wav/a.json", 4, "heart.wav"},
    {"report heart.wav --json dir", 4, "dir cannot be written: it is a folder"},
    {"report heart.wav --json heart.wav", 2, "is an input"},
    {"report heart.wav --json ./dir/../heart.wav --force", 2, "is an input"},
    {"report heart.wav --json foreign.json", 4, "--force"},
    {"report heart.wav --pdf foreign.json", 4, "--force"},
    {"report heart.wav --pdf - --json -", 2, "one output only"},
    {"report heart.wav --json /dev/full", 4, "/dev/full"},
    {"report heart.wav --json /dev/null", 0, NULL},
    {"report heart.wav dir/heart.flac", 2, "would both write heart.html"},
    {"report heart.wav --out nowhere/none", 4, "make the folder above it first"},
    {"report heart.wav --figures nowhere/none", 4, "make the folder above it first"},
    {"report noise.wav --figures dir", 1, NULL},
    {"report heart.wav dir/heart.flac --figures dir", 2, "would both write heart's pictures"},
    {"report heart.wav --settings nowhere.ini", 3, "nowhere.ini"},
    {"report heart.wav --settings heart.wav", 2, "neither [section], name = number"},
    {"report heart.wav --settings foreign.json --settings foreign.json", 2, "given twice"},
    {"report --settings-template", 0, NULL},
    {"exam --settings-template", 0, NULL},
    {"batch --settings-template", 0, NULL},
    {"report heart.wav other.wav --marked m.wav", 2, "--marked takes one recording"},
    {"report heart.wav other.wav --clip m.wav", 2, "--clip takes one recording"},
    {"report heart.wav --marked heart.wav", 2, "is an input"},
    {"report noise.wav --clip m.wav", 4, "no clean run of beats"},
    {"report heart.wav noise.wav --scale --json -", 1, NULL},
    {"report --help", 0, NULL},
    {"report --version", 0, NULL},
    {"--help", 0, NULL},
    {"--version", 0, NULL},
};

static void check_line(const line *l, const char *environment) {
  const int code = run(l->args);
  char *said = get("stderr.txt");
  if (code != l->code) fail_msg("%s girthline %s: exit %d, want %d; said: %s", environment, l->args, code, l->code, said);
  if (l->words && !strstr(said, l->words)) fail_msg("girthline %s said: %s; want: %s", l->args, said, l->words);
  if (!l->words && *said) fail_msg("girthline %s said: %s; want nothing", l->args, said);
  if (l->words && strncmp(said, "girthline: ", 11)) fail_msg("girthline %s said: %s", l->args, said);
  free(said);
}

static void each_command_line_ends_as_stated(void **state) {
  for (size_t i = 0; i < sizeof LINES / sizeof *LINES; i++) {
    fresh(state);
    check_line(&LINES[i], "");
    assert_false(left_a_temporary());
    char *kept = get("heart.wav"), *foreign = get("foreign.json");
    assert_string_equal(kept, "HEART of a horse");
    assert_string_equal(foreign, "{\"mine\": true}");
    free(kept);
    free(foreign);
  }
}

static void order_of_options_holds_under_posixly_correct(void **state) {
  (void)state;
  setenv("POSIXLY_CORRECT", "1", 1);
  check_line(&(line){"report heart.wav --json -", 0, NULL}, "POSIXLY_CORRECT");
  unsetenv("POSIXLY_CORRECT");
}

static void nothing_but_the_report_goes_to_standard_output(void **state) {
  (void)state;
  assert_int_equal(run("report heart.wav other.wav --json -"), 0);
  json_t *root = json_load_file("stdout.txt", JSON_REJECT_DUPLICATES, NULL);
  assert_non_null(root);
  assert_int_equal(json_array_size(json_object_get(root, "reports")), 2);
  json_decref(root);
}

static void good_recordings_are_written_beside_a_missing_one(void **state) {
  (void)state;
  assert_int_equal(run("report missing.wav heart.wav --json all.json"), 3);
  json_t *root = json_load_file("all.json", JSON_REJECT_DUPLICATES, NULL);
  assert_string_equal(json_string_value(json_object_get(root, "schema")), "girthline.reports.v1");
  assert_int_equal(json_array_size(json_object_get(root, "reports")), 1);
  json_decref(root);
  assert_int_equal(run("report missing.wav --json none.json"), 3);
  assert_false(there("none.json"));
}

static void standard_input_is_a_recording_named_stdin(void **state) {
  (void)state;
  assert_int_equal(ended(start("report - --json -", "heart.wav", NULL)), 0);
  json_t *root = json_load_file("stdout.txt", 0, NULL);
  assert_string_equal(json_string_value(json_object_get(json_object_get(root, "recording"), "file")), "stdin");
  json_t *by_path = NULL;
  assert_int_equal(run("report heart.wav --json a.json"), 0);
  by_path = json_load_file("a.json", 0, NULL);
  assert_string_equal(json_string_value(json_object_get(json_object_get(root, "recording"), "content_hash")),
                      json_string_value(json_object_get(json_object_get(by_path, "recording"), "content_hash")));
  json_decref(root);
  json_decref(by_path);
}

static void what_this_program_wrote_is_written_again(void **state) {
  (void)state;
  assert_int_equal(run("report heart.wav --json a.json --text a.txt"), 0);
  assert_int_equal(run("report noise.wav --json a.json --text a.txt"), 1);
  assert_int_equal(run("report heart.wav --json foreign.json --force"), 0);
  char *text = get("foreign.json");
  assert_non_null(strstr(text, "girthline.report.v1"));
  free(text);
}

static void with_no_output_named_a_page_and_json_are_written_for_each(void **state) {
  (void)state;
  put("a.b.wav", "HEART");
  assert_int_equal(run("report heart.wav noise.wav a.b.wav --out dir/"), 1);
  char *summary = get("stdout.txt"), *said = get("stderr.txt"), *page = get("dir/a.b.html");
  assert_non_null(strstr(summary, "heart.wav: horse"));
  assert_non_null(strstr(said, "girthline: wrote dir/heart.html\n"));
  assert_non_null(strstr(page, "generator"));
  assert_true(there("dir/heart.json") && there("dir/noise.html") && there("dir/noise.json") && there("dir/a.b.json"));
  free(summary);
  free(said);
  free(page);
  assert_int_equal(run("report heart.wav --out dir --quiet"), 0); // once more, over its own files
  summary = get("stdout.txt");
  assert_string_equal(summary, "");
  free(summary);
  put("dir/heart.html", "<p>mine");
  assert_int_equal(run("report other.wav heart.wav --out dir"), 4);
  assert_false(there("dir/other.json")); // refused before anything was analysed
}

static void a_marked_recording_and_its_clip_are_written_and_written_again(void **state) {
  (void)state;
  FILE *f = fopen("riff.wav", "wb");
  assert_non_null(f);
  fwrite("RIFF\x64\x7D\0\0WAVEfmt \x10\0\0\0\1\0\1\0\xE8\3\0\0\xE8\3\0\0\1\0\x08\0data\x40\x7D\0\0", 1, 44, f);
  for (int i = 0; i < 32064; i++) fputc(i * 7 & 255, f); // 32 s of 8-bit samples, 1000 a second
  fclose(f);
  for (int i = 0; i < 2; i++) assert_int_equal(run("report riff.wav --marked m.wav --clip c.wav"), 0);
  assert_int_equal(system("cmp -s -n 32064 -i 44 riff.wav m.wav"), 0);
  assert_int_equal(system("cmp -s -n 10500 -i 12294:44 riff.wav c.wav"), 0); // best stretch: 12.25 to 22.75 s
  assert_int_equal(run("report riff.wav --marked foreign.json"), 4);
  assert_false(left_a_temporary());
}

static void an_output_that_is_a_link_to_the_input_is_refused(void **state) {
  (void)state;
  assert_int_equal(symlink("heart.wav", "link.json"), 0);
  assert_int_equal(link("heart.wav", "hard.json"), 0);
  assert_int_equal(run("report heart.wav --json link.json --force"), 2);
  assert_int_equal(run("report heart.wav --json hard.json --force"), 2);
}

static void a_link_is_written_through(void **state) {
  (void)state;
  put("dir/real.json", "");
  assert_int_equal(symlink("dir/real.json", "link.json"), 0);
  assert_int_equal(run("report heart.wav --json link.json"), 0);
  struct stat st;
  assert_int_equal(lstat("link.json", &st), 0);
  assert_true(S_ISLNK(st.st_mode));
  assert_int_equal(stat("dir/real.json", &st), 0);
  assert_true(st.st_size > 1000);
}

static void a_full_disk_is_an_output_that_could_not_be_written(void **state) {
  (void)state;
  assert_int_equal(ended(start("report heart.wav --json -", NULL, "/dev/full")), 4);
  assert_int_equal(ended(start("report heart.wav --text -", NULL, "/dev/full")), 4);
  assert_int_equal(ended(start("report --help", NULL, "/dev/full")), 4);
}

static void faults_in_a_beats_file_name_the_line(void **state) {
  (void)state;
  static const struct { const char *text, *words; } FAULTS[] = {
      {"", "empty"},
      {"0.1,S1\n", "line 1: the first line must be time_s,sound"},
      {"time_s,sound\n", "no sound follows"},
      {"time_s,sound\n0.1,S1\n0,6,S2\n", "line 3: there are more than two columns"},
      {"time_s,sound\n0.1;S1\n", "line 2: the columns are parted by a semicolon"},
      {"time_s,sound\n0.1\n", "line 2: two columns"},
      {"time_s,sound\n\nx,S1\n", "line 3: the time is not a number"},
      {"time_s,sound\n-1,S1\n", "line 2: the time"},
      {"time_s,sound\n1e400,S1\n", "line 2: the time"},
      {"time_s,sound\n0.1,S5\n", "line 2: the sound must be"},
      {"time_s,sound\n0.2,S1\n0.1,S2\n", "line 3: the times must rise"},
  };
  for (size_t i = 0; i < sizeof FAULTS / sizeof *FAULTS; i++) {
    put("b.csv", FAULTS[i].text);
    check_line(&(line){"report heart.wav --beats b.csv --json -", 2, FAULTS[i].words}, "");
  }
  put("b.csv", "\xEF\xBB\xBFtime_s,sound\r\n\"0.1\", S1\r\n0.6,S2\r\n\r\n");
  check_line(&(line){"report heart.wav --beats b.csv --json -", 0, NULL}, "");
  char *text = get("stdout.txt");
  assert_non_null(strstr(text, "\"beats_source\": \"given\""));
  free(text);
}

static void an_interrupt_ends_with_130_and_leaves_nothing(void **state) {
  (void)state;
  put("slow.wav", "SLEEP");
  const pid_t pid = start("report slow.wav --json a.json", NULL, NULL);
  while (!there("started") && !waitpid(pid, NULL, WNOHANG)) nanosleep(&(struct timespec){0, 10000000}, NULL);
  kill(pid, SIGINT);
  assert_int_equal(ended(pid), 130);
  assert_false(there("a.json"));
  assert_false(left_a_temporary());
}

static void a_read_only_folder_is_named(void **state) {
  (void)state;
  if (geteuid() == 0) skip(); // root may write anywhere
  assert_int_equal(chmod("dir", 0555), 0);
  check_line(&(line){"report heart.wav --json dir/a.json", 4, "dir"}, "");
}

static void a_file_that_is_replaced_keeps_its_rights(void **state) {
  (void)state;
  struct stat st;
  assert_int_equal(run("report heart.wav --json a.json"), 0);
  assert_int_equal(chmod("a.json", 0640), 0);
  assert_int_equal(run("report heart.wav --json a.json"), 0);
  assert_int_equal(stat("a.json", &st), 0);
  assert_int_equal(st.st_mode & 07777, 0640);
}

int main(int argc, char **argv) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup(each_command_line_ends_as_stated, fresh),
      cmocka_unit_test_setup(order_of_options_holds_under_posixly_correct, fresh),
      cmocka_unit_test_setup(nothing_but_the_report_goes_to_standard_output, fresh),
      cmocka_unit_test_setup(good_recordings_are_written_beside_a_missing_one, fresh),
      cmocka_unit_test_setup(standard_input_is_a_recording_named_stdin, fresh),
      cmocka_unit_test_setup(what_this_program_wrote_is_written_again, fresh),
      cmocka_unit_test_setup(with_no_output_named_a_page_and_json_are_written_for_each, fresh),
      cmocka_unit_test_setup(a_marked_recording_and_its_clip_are_written_and_written_again, fresh),
      cmocka_unit_test_setup(an_output_that_is_a_link_to_the_input_is_refused, fresh),
      cmocka_unit_test_setup(a_link_is_written_through, fresh),
      cmocka_unit_test_setup(a_file_that_is_replaced_keeps_its_rights, fresh),
      cmocka_unit_test_setup(a_full_disk_is_an_output_that_could_not_be_written, fresh),
      cmocka_unit_test_setup(faults_in_a_beats_file_name_the_line, fresh),
      cmocka_unit_test_setup(an_interrupt_ends_with_130_and_leaves_nothing, fresh),
      cmocka_unit_test_setup(a_read_only_folder_is_named, fresh),
  };
  if (argc != 2) return 2;
  program = realpath(argv[1], NULL);
  snprintf(folder, sizeof folder, "/tmp/girthline-cli-XXXXXX");
  if (!program || !mkdtemp(folder) || chdir(folder)) return 2;
  const int failed = cmocka_run_group_tests(tests, NULL, NULL);
  clear_folder();
  rmdir(folder);
  return failed;
}
