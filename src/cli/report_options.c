// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/report_options.h"

#include <stdio.h>
#include <string.h>

#include <girthline/girthline.h>

#include "base/memory.h"
#include "cli/beats_file.h"
#include "cli/options.h"
#include "cli/options_recording.h"
#include "cli/output.h"
#include "cli/say.h"
#include "cli/settings_file.h"

enum { SPECIES = 256, AGE, SIDE, AREA, AFTER, FROM, TO, BEATS, OUT, JSON, HTML, TEXT, MARKED, CLIP, PDF, FIGURES, SCALE, SETTINGS, TEMPLATE, NO_SOUND, FORCE, QUIET, HELP, VERSION };

static const gn_option TABLE[] = {
    {SPECIES, "species", "NAME", "horse (default), foal, donkey, dog, cat, cattle, calf, sheep, goat or human"},
    {AGE, "age-days", "N", "age in days; a foal's or calf's usual rate depends on it"},
    {SIDE, "side", "left|right", "side of the chest"},
    {AREA, "area", "NAME", "pulmonic, aortic, mitral, tricuspid or other"},
    {AFTER, "minutes-after-exercise", "N", "minutes since exercise ended (not given: at rest)"},
    {FROM, "from", "SECONDS", "analyse from here"},
    {TO, "to", "SECONDS", "analyse up to here"},
    {BEATS, "beats", "FILE.csv", "sounds given by hand: time_s,sound"},
    {OUT, "out", "DIR", "folder for NAME.html and NAME.json (default: the current one)"},
    {JSON, "json", "PATH", "write the JSON report; - is standard output"},
    {HTML, "html", "PATH", "write the page"},
    {TEXT, "text", "PATH", "write the summary as text"},
    {PDF, "pdf", "PATH", "write a document to print: two A4 pages a recording"},
    {NO_SOUND, "no-sound", NULL, "leave the sound out of the page: voices travel with it"},
    {FIGURES, "figures", "DIR", "write each picture as NAME-PICTURE.svg and .png into this folder (made where there is none)"},
    {MARKED, "marked", "PATH.wav", "write the recording with its heart sounds as cue points"},
    {CLIP, "clip", "PATH.wav", "write its best stretch, marked as well"},
    {SCALE, "scale", NULL, "the same axes for several recordings, so that they compare by eye"},
    {SETTINGS, "settings", "FILE", "limits of the method from a file"},
    {TEMPLATE, "settings-template", NULL, "print such a file with every limit, its meaning and its usual value"},
    {FORCE, "force", NULL, "overwrite files this program did not write (never an input)"},
    {QUIET, "quiet", NULL, "no summary and no notes on the terminal"},
    {HELP, "help", NULL, "this text"},
    {VERSION, "version", NULL, "the version"},
};
enum { N_TABLE = sizeof TABLE / sizeof *TABLE };

static const char *const OUT_NAMES[GN_N_OUT] = {"json", "html", "text", "pdf", "marked", "clip"};

const char *gn_report_out_name(int out) { return OUT_NAMES[out]; }

static int help(gn_report_request *q) {
  gn_options_words("Usage: girthline report [OPTION]... RECORDING...\n"
                   "Analyse stethoscope recordings of an animal's heart.\n\n"
                   "With no output named, prints a summary and writes NAME.html and NAME.json into --out. Naming any output writes only what was "
                   "named. A RECORDING of - is standard input.\n\n");
  gn_options_help(TABLE, N_TABLE);
  gn_options_words("\nA screening aid, not a diagnosis: a licensed veterinarian decides.\n"
                   "Exit codes: 0 analysed; 1 a recording is unusable (its report is still written); 2 wrong usage; 3 an input cannot be read; 4 an "
                   "output cannot be written; 5 anything else; 130 interrupted. With several recordings the worst one counts.\n");
  q->done = true;
  return 0;
}

static int take_number(const char *option, const char *value, double *to) {
  return gn_options_number("report", option, value, 0, to) ? 0 : GN_EXIT_USAGE;
}

static int take_output(gn_report_request *q, int out, const char *value) {
  if (q->out[out]) return gn_cli_usage("report", "--%s is given twice", OUT_NAMES[out]);
  q->out[out] = value;
  q->any_named = true;
  return 0;
}

static int take(void *user, int id, const char *value) {
  gn_report_request *q = user;
  switch (id) {
  case GN_OPTION_FILE: q->files[q->n_files++] = value; return 0;
  case SPECIES: q->settings.species_assumed = false; return gn_options_species("report", value, &q->settings.species);
  case AGE: return take_number("age-days", value, &q->settings.age_days);
  case SIDE: return gn_options_side("report", value, &q->settings.side);
  case AREA: return gn_options_area("report", value, &q->settings.area);
  case AFTER: return take_number("minutes-after-exercise", value, &q->settings.minutes_after_exercise);
  case FROM: return take_number("from", value, &q->settings.from_s);
  case TO: q->to_given = true; return take_number("to", value, &q->settings.to_s);
  case BEATS: q->beats_path = value; return 0;
  case OUT: q->out_folder = value; return 0;
  case JSON: return take_output(q, GN_OUT_JSON, value);
  case HTML: return take_output(q, GN_OUT_HTML, value);
  case TEXT: return take_output(q, GN_OUT_TEXT, value);
  case PDF: return take_output(q, GN_OUT_PDF, value);
  case MARKED: return take_output(q, GN_OUT_MARKED, value);
  case CLIP: return take_output(q, GN_OUT_CLIP, value);
  case FIGURES: q->figures_folder = value; q->any_named = true; return *value ? 0 : gn_cli_usage("report", "--figures needs the name of a folder");
  case SCALE: q->same_axes = true; return 0;
  case SETTINGS: return q->settings_path ? gn_cli_usage("report", "--settings is given twice") : (q->settings_path = value, 0);
  case TEMPLATE: q->done = true; gn_settings_file_template(); return 0;
  case NO_SOUND: q->no_sound = true; return 0;
  case FORCE: q->force = true; return 0;
  case QUIET: q->quiet = true; return 0;
  case HELP: return help(q);
  default: q->done = true; printf("girthline %s\n", girthline_version()); return 0; // --version
  }
}

static int check_whole(gn_report_request *q) {
  size_t n_stdin = 0, n_stdout = 0;
  if (!q->n_files) return gn_cli_usage("report", "no recording was named");
  for (size_t i = 0; i < q->n_files; i++) {
    if (!*q->files[i]) return gn_cli_usage("report", "a recording's name is empty");
    n_stdin += !strcmp(q->files[i], "-");
  }
  for (int i = 0; i < GN_N_OUT; i++) n_stdout += q->out[i] && gn_output_is_stdout(q->out[i]);
  if (n_stdin > 1) return gn_cli_usage("report", "standard input (-) can be one recording only");
  if (n_stdin && q->beats_path && !strcmp(q->beats_path, "-")) return gn_cli_usage("report", "standard input (-) can be the recording or the beats, not both");
  if (n_stdout > 1) return gn_cli_usage("report", "standard output (-) can take one output only");
  if (q->to_given && q->settings.to_s <= q->settings.from_s) return gn_cli_usage("report", "--to must be later than --from");
  if (q->beats_path && q->n_files > 1) return gn_cli_usage("report", "--beats belongs to one recording: name one");
  for (int i = GN_OUT_MARKED; i <= GN_OUT_CLIP; i++)
    if (q->out[i] && q->n_files > 1) return gn_cli_usage("report", "--%s takes one recording: name one", OUT_NAMES[i]);
  for (int i = GN_OUT_MARKED; i <= GN_OUT_CLIP; i++)
    if (q->out[i] && gn_output_says_other_sound(q->out[i])) return gn_cli_usage("report", "--%s writes WAV: let the name %s end in .wav", OUT_NAMES[i], q->out[i]);
  if (q->out_folder && !*q->out_folder) return gn_cli_usage("report", "--out needs the name of a folder");
  return 0;
}

// The files written by hand; they are inputs too.
static int read_by_hand(gn_report_request *q) {
  girthline_error error = {0};
  q->n_inputs = q->n_files;
  if (q->settings_path) q->files[q->n_inputs++] = q->settings_path;
  if (q->beats_path) q->files[q->n_inputs++] = q->beats_path;
  const int code = q->settings_path ? gn_settings_file_take("report", q->settings_path, &q->limits, &q->settings.limits) : 0;
  if (code) return code;
  if (!q->beats_path) return 0;
  if (gn_beats_file_read(q->beats_path, &q->sounds, &q->settings.n_given, &error) != GIRTHLINE_OK) return gn_cli_fail(&error);
  q->settings.given = q->sounds;
  return 0;
}

int gn_report_request_parse(int argc, char **argv, gn_report_request *q) {
  *q = (gn_report_request){.settings = girthline_settings_default(), .files = gn_new((size_t)argc, sizeof *q->files)};
  q->settings.threads = 0; // all there are: one recording is analysed at a time
  if (!q->files) return gn_cli_no_memory();
  int code = gn_options_each(argc, argv, TABLE, N_TABLE, take, q, &q->done);
  if (!code && !q->done) code = check_whole(q);
  if (!code && !q->done) code = read_by_hand(q);
  return code;
}

void gn_report_request_clear(gn_report_request *q) {
  gn_free(q->files);
  gn_free(q->sounds);
  *q = (gn_report_request){0};
}
