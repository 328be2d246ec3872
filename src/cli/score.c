// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/score.h"

#include <stdio.h>
#include <string.h>

#include <girthline/girthline.h>

#include "base/memory.h"
#include "cli/commands.h"
#include "cli/options.h"
#include "cli/output.h"
#include "cli/say.h"

enum { REFERENCE = 256, TOLERANCE, AGAINST, EXTRA, SEED, RESAMPLES, JSON, FORCE, QUIET, HELP, VERSION };

static const gn_option TABLE[] = {
    {REFERENCE, "reference", "DIR|FILE.csv", "annotations: NAME.csv or NAME.truth.csv with time_s,sound"},
    {TOLERANCE, "tolerance", "SECONDS", "how far apart a match may be (default: 0.1)"},
    {AGAINST, "against", "OTHER", "another run's reports over the same recordings: a paired test"},
    {EXTRA, "extra", NULL, "third and fourth sounds (S3, S4) as well"},
    {SEED, "seed", "N", "seed of the bootstrap (default: 1)"},
    {RESAMPLES, "resamples", "N", "resamples of the bootstrap (default: 1000)"},
    {JSON, "json", "PATH", "write girthline.score.v1; - is standard output"},
    {FORCE, "force", NULL, "overwrite a file this program did not write"},
    {QUIET, "quiet", NULL, "no summary on the terminal"},
    {HELP, "help", NULL, "this text"},
    {VERSION, "version", NULL, "the version"},
};
enum { N_TABLE = sizeof TABLE / sizeof *TABLE };

#define SEED_MOST 9007199254740992.0 // whole numbers up to here are exact
#define RESAMPLES_LEAST 100
#define RESAMPLES_MOST 100000
#define TOLERANCE_MOST_S 1.0 // a longer one would reach the next beat

typedef struct request {
  gn_score_request score;
  const char *against, *json;
  const char **names; // the reports; behind them what else is read
  size_t n_names, n_inputs;
  bool force, quiet, done;
} request;

static int help(request *q) {
  gn_options_words("Usage: girthline score REPORTS.ndjson|REPORT.json... --reference DIR|FILE.csv [OPTION]...\n"
                   "Hold detected heart sounds against a reference annotation.\n\n"
                   "Each sound is matched at most once, the nearest pair first. NAME.exclude.csv beside a reference, with start_s,end_s, names spans "
                   "that do not count. A report of - is standard input.\n\n");
  gn_options_help(TABLE, N_TABLE);
  gn_options_words("\nExit codes: 0 scored; 2 wrong usage or a fault in an annotation; 3 an input cannot be read, or no report has a reference; 4 "
                   "an output cannot be written; 5 anything else; 130 interrupted.\n");
  q->done = true;
  return 0;
}

static int take_number(const char *option, const char *value, double least, double most, double *to) {
  if (!gn_options_number("score", option, value, least, to)) return GN_EXIT_USAGE;
  return *to <= most ? 0 : gn_cli_usage("score", "--%s %s: the number must be %.17g or less", option, value, most);
}

static int take_whole(const char *option, const char *value, double least, double most, double *to) {
  const int code = take_number(option, value, least, most, to);
  if (!code && strspn(value, "0123456789") != strlen(value)) return gn_cli_usage("score", "--%s %s: name a whole number", option, value);
  return code;
}

static int take(void *user, int id, const char *value) {
  request *q = user;
  double number = 0;
  int code = 0;
  switch (id) {
  case GN_OPTION_FILE: q->names[q->n_names++] = value; return 0;
  case REFERENCE: q->score.reference = value; return 0;
  case TOLERANCE: return take_number("tolerance", value, 0, TOLERANCE_MOST_S, &q->score.tolerance_s);
  case AGAINST: q->against = value; return 0;
  case EXTRA: q->score.extra = true; return 0;
  case SEED:
    code = take_whole("seed", value, 0, SEED_MOST, &number);
    q->score.seed = (uint64_t)number;
    return code;
  case RESAMPLES:
    code = take_whole("resamples", value, RESAMPLES_LEAST, RESAMPLES_MOST, &number);
    q->score.n_resamples = (size_t)number;
    return code;
  case JSON: q->json = value; return 0;
  case FORCE: q->force = true; return 0;
  case QUIET: q->quiet = true; return 0;
  case VERSION:
    q->done = true;
    printf("girthline %s\n", girthline_version());
    return 0;
  default: return help(q);
  }
}

static int parse(int argc, char **argv, request *q) {
  const int code = gn_options_each(argc, argv, TABLE, N_TABLE, take, q, &q->done);
  if (code || q->done) return code;
  if (!q->n_names) return gn_cli_usage("score", "no report was named");
  if (!q->score.reference || !*q->score.reference) return gn_cli_usage("score", "name the annotations with --reference");
  q->n_inputs = q->n_names; // each of these took a place in argv too
  if (q->against) q->names[q->n_inputs++] = q->against;
  q->names[q->n_inputs++] = q->score.reference;
  q->score.output = q->json && !gn_output_is_stdout(q->json) ? q->json : NULL;
  return q->json ? gn_output_check(q->json, q->names, q->n_inputs, q->force) : 0;
}

// One run: its reports and how they score.
typedef struct run {
  gn_score_reports reports;
  gn_score_set set;
} run;

static girthline_status score_run(run *r, const char *const *names, size_t n, const gn_score_request *q, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (size_t i = 0; i < n && !status; i++) status = gn_score_reports_read(&r->reports, names[i], error);
  if (!status) status = gn_score_reports_once(&r->reports, error);
  return status ? status : gn_score_set_run(&r->set, &r->reports, q, error);
}

static void clear_run(run *r) {
  gn_score_set_clear(&r->set);
  gn_score_reports_clear(&r->reports);
}

static int write_result(const request *q, const gn_score_result *result, girthline_error *error) {
  const bool to_stdout = q->json && gn_output_is_stdout(q->json);
  char *json = q->json ? gn_score_json(result, error) : NULL;
  char *text = !q->quiet && !to_stdout ? gn_score_text(result, error) : NULL;
  int code = (q->json && !json) || (!q->quiet && !to_stdout && !text) ? gn_cli_fail(error) : 0;
  if (!code && json) code = gn_output_write(q->json, json, strlen(json));
  if (!code && text) gn_options_words(text);
  gn_free(json);
  gn_free(text);
  return code;
}

static int say_none(const run *r) {
  if (!r->reports.n)
    gn_cli_say("there is no report in what was named: a batch writes reports.ndjson");
  else
    gn_cli_say("no report has a reference: %s", r->set.items[0].reason);
  return GN_EXIT_INPUT;
}

static int score(const request *q) {
  girthline_error error = {0};
  run first = {0}, second = {0};
  gn_score_pooled pooled;
  gn_score_comparison comparison;
  int code = 0;
  girthline_status status = score_run(&first, q->names, q->n_names, &q->score, &error);
  if (!status && !first.set.n_scored) code = say_none(&first);
  if (!code && !status && q->against) status = score_run(&second, &q->against, 1, &q->score, &error);
  if (!code && !status) status = gn_score_pool(&first.set, &q->score, &pooled, &error);
  if (!code && !status && q->against) status = gn_score_compare(&first.set, &second.set, &q->score, &comparison, &error);
  if (status) code = gn_cli_fail(&error);
  const gn_score_result result = {&q->score, &first.set, &pooled, q->against ? &comparison : NULL};
  if (!code) code = write_result(q, &result, &error);
  clear_run(&first);
  clear_run(&second);
  return code;
}

int gn_cli_score(int argc, char **argv) {
  request q = {.score = {.tolerance_s = GN_SCORE_TOLERANCE_S, .seed = 1, .n_resamples = GN_SCORE_RESAMPLES}, .names = gn_new((size_t)argc, sizeof *q.names)};
  if (!q.names) return gn_cli_no_memory();
  int code = parse(argc, argv, &q);
  if (!code && !q.done) code = score(&q);
  gn_free(q.names);
  return code;
}
