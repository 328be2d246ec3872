// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <girthline/girthline.h>

#include "base/memory.h"
#include "cli/batch_progress.h"
#include "cli/commands.h"
#include "cli/heap.h"
#include "cli/interrupt.h"
#include "cli/options.h"
#include "cli/options_recording.h"
#include "cli/output.h"
#include "cli/say.h"
#include "cli/settings_file.h"
#include "study/batch.h"

enum { OUT = 256, JOBS, SHARD, MERGE, FRESH, REPORTS, STRICT, NO_SOUND, SPECIES, AGE, SIDE, AREA, AFTER, FROM, TO, SETTINGS, TEMPLATE, QUIET, HELP, VERSION };

static const gn_option TABLE[] = {
    {OUT, "out", "DIR", "folder for the tables; it is made where there is none"},
    {JOBS, "jobs", "N", "analyse N recordings at a time (default: 1)"},
    {SHARD, "shard", "I/N", "only part I of N, for several machines; join them with --merge"},
    {MERGE, "merge", "DIR", "join the shards in DIR"},
    {FRESH, "fresh", NULL, "forget what is done already and start over"},
    {REPORTS, "reports", NULL, "also write each recording's page and JSON report, into DIR/pages"},
    {NO_SOUND, "no-sound", NULL, "leave the sound out of the pages: voices travel with it"},
    {STRICT, "strict", NULL, "end with the code of the worst recording"},
    {SPECIES, "species", "NAME", "horse (default), foal, donkey, dog, cat, cattle, calf, sheep, goat or human"},
    {AGE, "age-days", "N", "age in days; a foal's or calf's usual rate depends on it"},
    {SIDE, "side", "left|right", "side of the chest"},
    {AREA, "area", "NAME", "pulmonic, aortic, mitral, tricuspid or other"},
    {AFTER, "minutes-after-exercise", "N", "minutes since exercise ended (not given: at rest)"},
    {FROM, "from", "SECONDS", "analyse each from here"},
    {TO, "to", "SECONDS", "analyse each up to here"},
    {SETTINGS, "settings", "FILE", "limits of the method from a file"},
    {TEMPLATE, "settings-template", NULL, "print such a file with every limit, its meaning and its usual value"},
    {QUIET, "quiet", NULL, "no progress and no notes"},
    {HELP, "help", NULL, "this text"},
    {VERSION, "version", NULL, "the version"},
};
enum { N_TABLE = sizeof TABLE / sizeof *TABLE };

typedef struct request {
  girthline_settings settings; // limits points to limits
  girthline_limits limits;
  gn_batch batch;
  const char *merge;
  const char **names;
  size_t n_names;
  bool strict, quiet, done;
} request;

static int help(request *q) {
  gn_options_words("Usage: girthline batch [OPTION]... INPUT... --out DIR\n"
                   "       girthline batch --merge DIR\n"
                   "Analyse a whole recording set. INPUT is a folder, a recording, or a CSV list with the column file and, if wanted, species, "
                   "animal, side and area.\n\n"
                   "Writes recordings.csv (a row for every input, with status and reason), beats.csv, reports.ndjson, index.html and batch.json. "
                   "Started again after an interruption or a change, it does only what is missing.\n\n");
  gn_options_help(TABLE, N_TABLE);
  gn_options_words("\nA screening aid, not a diagnosis: a licensed veterinarian decides.\n"
                   "Exit codes: 0 the table is complete, whatever stands in it (with --strict 1 where a recording is unusable); 2 wrong usage or a "
                   "fault in a list; 3 an INPUT cannot be read; 4 an output cannot be written; 5 anything else (the folder is in use, a shard is "
                   "missing); 130 interrupted.\n");
  q->done = true;
  return 0;
}

static int take_whole(const char *option, const char *value, unsigned most, unsigned *to) {
  char *end;
  const unsigned long n = strtoul(value, &end, 10);
  if (*value < '0' || *value > '9' || *end || n < 1 || n > most) return gn_cli_usage("batch", "--%s %s: name a whole number from 1 to %u", option, value, most);
  *to = (unsigned)n;
  return 0;
}

static int take_shard(request *q, const char *value) {
  const char *slash = strchr(value, '/');
  char first[16];
  if (!slash || slash - value >= (int)sizeof first) return gn_cli_usage("batch", "--shard %s: name which of how many, for example 2/5", value);
  snprintf(first, sizeof first, "%.*s", (int)(slash - value), value);
  int code = take_whole("shard", slash + 1, GN_BATCH_SHARDS_MOST, &q->batch.n_shards);
  if (!code) code = take_whole("shard", first, q->batch.n_shards, &q->batch.shard);
  return code;
}

static int take_number(const char *option, const char *value, double *to) { return gn_options_number("batch", option, value, 0, to) ? 0 : GN_EXIT_USAGE; }

static int take(void *user, int id, const char *value) {
  request *q = user;
  switch (id) {
  case GN_OPTION_FILE: q->names[q->n_names++] = value; return 0;
  case OUT: q->batch.out = value; return 0;
  case MERGE: q->merge = value; return 0;
  case JOBS: return take_whole("jobs", value, GN_BATCH_JOBS_MOST, &q->batch.jobs);
  case SHARD: return take_shard(q, value);
  case FRESH: q->batch.fresh = true; return 0;
  case REPORTS: q->batch.reports = true; return 0;
  case NO_SOUND: q->batch.no_sound = true; return 0;
  case STRICT: q->strict = true; return 0;
  case SPECIES: q->settings.species_assumed = false; return gn_options_species("batch", value, &q->settings.species);
  case AGE: return take_number("age-days", value, &q->settings.age_days);
  case SIDE: return gn_options_side("batch", value, &q->settings.side);
  case AREA: return gn_options_area("batch", value, &q->settings.area);
  case AFTER: return take_number("minutes-after-exercise", value, &q->settings.minutes_after_exercise);
  case FROM: return take_number("from", value, &q->settings.from_s);
  case TO: return take_number("to", value, &q->settings.to_s);
  case QUIET: q->quiet = true; return 0;
  case HELP: return help(q);
  case SETTINGS: return gn_settings_file_take("batch", value, &q->limits, &q->settings.limits);
  case TEMPLATE: q->done = true; gn_settings_file_template(); return 0;
  default: // --version
    q->done = true;
    printf("girthline %s\n", girthline_version());
    return 0;
  }
}

static int check_whole(const request *q) {
  const gn_batch *b = &q->batch;
  if (q->merge) {
    if (q->n_names || b->out || b->n_shards) return gn_cli_usage("batch", "--merge takes the folder alone: neither an INPUT nor --out or --shard");
    return *q->merge ? 0 : gn_cli_usage("batch", "--merge needs the name of a folder");
  }
  if (!q->n_names) return gn_cli_usage("batch", "no folder, recording or list was named");
  if (!b->out || !*b->out) return gn_cli_usage("batch", "name the folder for the tables with --out DIR");
  for (size_t i = 0; i < q->n_names; i++)
    if (!*q->names[i] || !strcmp(q->names[i], "-"))
      return gn_cli_usage("batch", "an INPUT is the name of a folder, a recording or a CSV list, and not %s", *q->names[i] ? "-" : "empty");
  if (q->settings.to_s > 0 && q->settings.to_s <= q->settings.from_s) return gn_cli_usage("batch", "--to must be later than --from");
  return 0;
}

static int parse(int argc, char **argv, request *q) {
  const int code = gn_options_each(argc, argv, TABLE, N_TABLE, take, q, &q->done);
  return code || q->done ? code : check_whole(q);
}

static int make_folder(const char *path) {
  struct stat st;
  const int code = gn_output_folder(path);
  if (code) return code;
  if (!stat(path, &st) && !S_ISDIR(st.st_mode)) errno = ENOTDIR;
  else if (!access(path, W_OK | X_OK)) return 0;
  gn_cli_say("%s is no folder that can be written into: %s", path, strerror(errno));
  return GN_EXIT_OUTPUT;
}

static int exit_of(const request *q, const gn_batch_outcome *o) {
  if (!q->strict) return 0;
  const int worst = gn_cli_exit_of(o->worst);
  return worst ? worst : o->n_unusable ? GN_EXIT_UNUSABLE : 0;
}

static int close_with(const request *q, girthline_status status, const gn_batch_outcome *o, girthline_error *error) {
  if (status && o->said) return o->said;
  if (status) {
    if (!error->status) error->status = status;
    return gn_cli_fail(error);
  }
  if (!q->quiet)
    gn_cli_say("%s: %zu analysed, %zu unusable, %zu failed%s", q->batch.out, o->n_analysed, o->n_unusable, o->n_failed,
               !o->n_rows ? " (no recording was found)" : o->n_unusable + o->n_failed ? "; recordings.csv says why" : "");
  if (!q->quiet && o->n_kept) gn_cli_say("%zu of these were done before and are unchanged", o->n_kept);
  return exit_of(q, o);
}

static int run(request *q) {
  girthline_error error = {0};
  gn_batch_outcome outcome = {0};
  gn_batch_inputs inputs = {0};
  gn_telling t = gn_telling_start(q->batch.out, q->quiet, q->batch.fresh);
  q->batch.inputs = &inputs;
  q->batch.host = (gn_batch_host){gn_output_stream, gn_output_is_ours, gn_output_sweep, gn_telling_progress, &t};
  girthline_status status = gn_batch_inputs_collect(&inputs, q->names, q->n_names, &q->settings, &error);
  int code = status ? gn_cli_fail(&error) : make_folder(q->batch.out);
  if (!code) {
    gn_interrupt_defer(true);
    status = gn_batch_run(&q->batch, &outcome, &error);
    gn_telling_end(&t);
    code = close_with(q, status, &outcome, &error);
    if (!status && !q->quiet && inputs.n_unread)
      gn_cli_say("left out: %zu in forms that are not read (M4A, MP4, AAC, 3GP, AMR, WMA); convert them to WAV, for example: ffmpeg -i IN.m4a OUT.wav", inputs.n_unread);
  }
  gn_batch_inputs_clear(&inputs);
  q->batch.inputs = NULL;
  q->batch.host.user = NULL;
  return code;
}

static int merge(request *q) {
  girthline_error error = {0};
  gn_batch_outcome outcome = {0};
  q->batch.out = q->merge;
  q->batch.host = (gn_batch_host){gn_output_stream, gn_output_is_ours, gn_output_sweep, NULL, NULL};
  return close_with(q, gn_batch_merge(&q->batch, &outcome, &error), &outcome, &error);
}

int gn_cli_batch(int argc, char **argv) {
  request q = {.settings = girthline_settings_default(), .batch = {.jobs = 1}, .names = gn_new((size_t)argc, sizeof *q.names)};
  if (!q.names) return gn_cli_no_memory();
  gn_cli_keep_heap();
  int code = parse(argc, argv, &q);
  if (!code && !q.done) code = q.merge ? merge(&q) : run(&q);
  gn_free(q.names);
  return code;
}
