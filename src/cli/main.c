// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <girthline/girthline.h>

#include "cli/commands.h"
#include "cli/interrupt.h"
#include "cli/options.h"
#include "cli/say.h"
#include "cli/synth.h"

static const struct {
  const char *name, *help;
  int (*run)(int argc, char **argv);
} COMMANDS[] = {
    {"report", "analyse recordings: a summary, a page, JSON", gn_cli_report},
    {"exam", "one examination: several recordings and the notes, one report", gn_cli_exam},
    {"visits", "keep examinations and compare visits", gn_cli_visits},
    {"batch", "a whole recording set: tables, reports, an index page", gn_cli_batch},
    {"score", "hold detected sounds against a reference", gn_cli_score},
    {"synth", "make a recording with exactly known beats", gn_cli_synth},
};
enum { N_COMMANDS = sizeof COMMANDS / sizeof *COMMANDS };

static int help(void) {
  gn_options_words("Usage: girthline COMMAND [OPTION]... [FILE]...\n"
                   "From a stethoscope recording of an animal's heart to findings a veterinarian can check.\n\n");
  for (size_t i = 0; i < N_COMMANDS; i++) {
    char line[120];
    snprintf(line, sizeof line, "  %-8s %s\n", COMMANDS[i].name, COMMANDS[i].help);
    gn_options_words(line);
  }
  gn_options_words("\nFirst steps: girthline report RECORDING.wav\n"
                   "Each command explains itself: girthline COMMAND --help, and man girthline-COMMAND where the manual is installed.\n\n"
                   "  --help     this text\n"
                   "  --version  the version\n\n"
                   "A screening aid, not a diagnosis: a licensed veterinarian decides.\n");
  return 0;
}

static int unknown(const char *word) {
  const char *names[N_COMMANDS];
  for (size_t i = 0; i < N_COMMANDS; i++) names[i] = COMMANDS[i].name;
  const char *near = gn_cli_nearest(word, names, N_COMMANDS);
  if (near) return gn_cli_usage(NULL, "unknown command %s: did you mean %s?", word, near);
  if (strpbrk(word, "./") && access(word, F_OK)) return gn_cli_usage(NULL, "%s is no command, and no file of that name is here: girthline report RECORDING analyses one", word);
  if (!access(word, F_OK)) return gn_cli_usage(NULL, "%s is no command: girthline report %s analyses a recording", word, word);
  return gn_cli_usage(NULL, "unknown command %s", word);
}

// A file opened on a closed standard stream would be written into by messages.
static bool streams_are_open(void) {
  for (int fd = 0; fd < 3; fd++)
    if (fcntl(fd, F_GETFD) < 0 && open("/dev/null", fd ? O_RDONLY : O_WRONLY) != fd) return false;
  return true;
}

// "girthline help COMMAND" is "girthline COMMAND --help".
static int help_on(const char *word) {
  char name[16], option[] = "--help", *argv[] = {name, option, NULL};
  for (size_t i = 0; i < N_COMMANDS; i++)
    if (!strcmp(word, COMMANDS[i].name)) {
      snprintf(name, sizeof name, "%s", word);
      return COMMANDS[i].run(2, argv);
    }
  return unknown(word);
}

static int unknown_option(const char *word) {
  static const char *const NAMES[] = {"help", "version"};
  const char *near = gn_cli_nearest(word + strspn(word, "-"), NAMES, 2);
  if (near) return gn_cli_usage(NULL, "unknown option %s: did you mean --%s?", word, near);
  return gn_cli_usage(NULL, "unknown option %s (name a command first)", word);
}

static int run(int argc, char **argv) {
  if (argc < 2) return gn_cli_usage(NULL, "no command was named: report, exam, visits, batch, score or synth");
  if (!strcmp(argv[1], "help") && argc > 2) return help_on(argv[2]);
  if (!strcmp(argv[1], "--help") || !strcmp(argv[1], "-h") || !strcmp(argv[1], "help")) return help();
  if (!strcmp(argv[1], "--version")) return printf("girthline %s\n", girthline_version()) < 0;
  for (size_t i = 0; i < N_COMMANDS; i++)
    if (!strcmp(argv[1], COMMANDS[i].name)) return COMMANDS[i].run(argc - 1, argv + 1);
  if (argv[1][0] == '-' && argv[1][1]) return unknown_option(argv[1]);
  return unknown(argv[1]);
}

int main(int argc, char **argv) {
  if (!streams_are_open()) return GN_EXIT_OTHER;
  gn_interrupt_install();
  const int code = run(argc, argv);
  // What was printed must have arrived: a full disk shows only here.
  if ((fflush(stdout) || ferror(stdout)) && code < GN_EXIT_OUTPUT) {
    gn_cli_say("standard output cannot be written: %s", strerror(errno));
    return GN_EXIT_OUTPUT;
  }
  return code;
}
