// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline exam: one examination file, its recordings, one report.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/girthline.h>
#include <girthline/report.h>

#include "base/memory.h"
#include "cli/commands.h"
#include "cli/heap.h"
#include "cli/exam_figures.h"
#include "cli/input.h"
#include "cli/options.h"
#include "cli/options_recording.h"
#include "cli/output.h"
#include "cli/say.h"
#include "cli/settings_file.h"
#include "cli/terminal.h"
#include "clinic/examined.h"

enum { SPECIES = 256, AGE, OUT, JSON, HTML, TEXT, PDF, FIGURES, SCALE, NO_SOUND, TEMPLATE, SETTINGS, SETTINGS_TEMPLATE, FORCE, QUIET, HELP, VERSION, IN_FILE };

static const gn_option TABLE[] = {
    {SPECIES, "species", "NAME", "where the file names none: horse (default), foal, donkey, dog, cat, cattle, calf, sheep, goat or human"},
    {AGE, "age-days", "N", "where the file does not give born and date: age in days"},
    {OUT, "out", "DIR", "folder for NAME.html and NAME.json (default: the current one)"},
    {JSON, "json", "PATH", "write the JSON report; - is standard output"},
    {HTML, "html", "PATH", "write the page"},
    {TEXT, "text", "PATH", "write the summary as text"},
    {PDF, "pdf", "PATH", "write a document to print"},
    {FIGURES, "figures", "DIR", "write each picture as EXAM-N-RECORDING-PICTURE.svg and .png, and the recovery curve"},
    {SCALE, "scale", NULL, "the same axes for all recordings: an examination's have them anyway"},
    {NO_SOUND, "no-sound", NULL, "leave the sound out of the page: voices travel with it"},
    {TEMPLATE, "template", NULL, "print a commented examination file to fill in"},
    {SETTINGS, "settings", "FILE", "limits of the method from a file"},
    {SETTINGS_TEMPLATE, "settings-template", NULL, "print such a file with every limit, its meaning and its usual value"},
    {FORCE, "force", NULL, "overwrite files this program did not write (never an input)"},
    {QUIET, "quiet", NULL, "no summary and no notes on the terminal"},
    {HELP, "help", NULL, "this text"},
    {VERSION, "version", NULL, "the version"},
    {IN_FILE, "side", "NAME", "stands in the examination file, for each recording"},
    {IN_FILE, "area", "NAME", "stands in the examination file, for each recording"},
    {IN_FILE, "minutes-after-exercise", "N", "stands in the examination file, for each recording"},
};
enum { N_TABLE = sizeof TABLE / sizeof *TABLE };

enum { OUT_JSON = 0, OUT_HTML, OUT_TEXT, OUT_PDF, N_OUT };
static const char *const OUT_NAMES[N_OUT] = {"json", "html", "text", "pdf"};

typedef struct request {
  const char *file, *out_folder, *figures_folder, *out[N_OUT];
  bool any_named, no_sound, force, quiet, done;
  gn_exam_settings settings; // limits points to limits
  girthline_limits limits;
  const char *settings_path;
  const char **inputs; // the file and its recordings: what no output may overwrite, with the settings
  size_t n_inputs;
} request;

static int worse(int a, int b) { return a > b ? a : b; }

static int help(request *q) {
  gn_options_words("Usage: girthline exam [OPTION]... EXAM-FILE\n"
                   "       girthline exam --template\n"
                   "One examination: several recordings by valve area, and the notes beside them.\n\n"
                   "With no output named, prints a summary and writes NAME.html and NAME.json into --out. Naming any output writes only what was "
                   "named. An EXAM-FILE of - is standard input; its recordings are named relative to the current folder.\n\n");
  gn_options_help(TABLE, N_TABLE);
  gn_options_words("\nA screening aid, not a diagnosis: a licensed veterinarian decides.\n"
                   "Exit codes: 0 analysed; 1 a recording is unusable (the report is still written); 2 wrong usage, or a fault in the examination "
                   "file; 3 a recording cannot be read (the others are still analysed); 4 an output cannot be written; 5 anything else; 130 "
                   "interrupted. The worst one counts.\n");
  q->done = true;
  return 0;
}

static int take_output(request *q, int out, const char *value) {
  if (q->out[out]) return gn_cli_usage("exam", "--%s is given twice", OUT_NAMES[out]);
  q->out[out] = value;
  q->any_named = true;
  return 0;
}

static int take_file(request *q, const char *file) {
  if (q->file) return gn_cli_usage("exam", "one examination file at a time: %s and %s were named", q->file, file);
  if (!*file) return gn_cli_usage("exam", "the examination file's name is empty");
  q->file = file;
  return 0;
}

static int take(void *user, int id, const char *value) {
  request *q = user;
  switch (id) {
  case GN_OPTION_FILE: return take_file(q, value);
  case SPECIES: q->settings.species_given = true; return gn_options_species("exam", value, &q->settings.species);
  case AGE: return gn_options_number("exam", "age-days", value, 0, &q->settings.age_days) ? 0 : GN_EXIT_USAGE;
  case OUT: q->out_folder = value; return *value ? 0 : gn_cli_usage("exam", "--out needs the name of a folder");
  case JSON: return take_output(q, OUT_JSON, value);
  case HTML: return take_output(q, OUT_HTML, value);
  case TEXT: return take_output(q, OUT_TEXT, value);
  case PDF: return take_output(q, OUT_PDF, value);
  case FIGURES: q->figures_folder = value; q->any_named = true; return *value ? 0 : gn_cli_usage("exam", "--figures needs the name of a folder");
  case SCALE: return 0;
  case NO_SOUND: q->no_sound = true; return 0;
  case SETTINGS: q->settings_path = value; return gn_settings_file_take("exam", value, &q->limits, &q->settings.limits);
  case SETTINGS_TEMPLATE: q->done = true; gn_settings_file_template(); return 0;
  case FORCE: q->force = true; return 0;
  case QUIET: q->quiet = true; return 0;
  case HELP: return help(q);
  case TEMPLATE: q->done = true; fputs(gn_exam_template(), stdout); return 0;
  case VERSION: q->done = true; printf("girthline %s\n", girthline_version()); return 0;
  case IN_FILE: return gn_cli_usage("exam", "side, area and minutes after exercise stand in the examination file, for each recording");
  default: return 0;
  }
}

static int parse(int argc, char **argv, request *q) {
  const int code = gn_options_each(argc, argv, TABLE, N_TABLE, take, q, &q->done);
  if (code || q->done) return code;
  if (!q->file) return gn_cli_usage("exam", "no examination file was named (--template prints one)");
  size_t n_stdout = 0;
  for (int i = 0; i < N_OUT; i++) n_stdout += q->out[i] && gn_output_is_stdout(q->out[i]);
  return n_stdout > 1 ? gn_cli_usage("exam", "standard output (-) can take one output only") : 0;
}

static int check_against_file(const request *q, const gn_exam *exam) {
  if (q->settings.species_given && exam->species_given && q->settings.species != exam->species)
    return gn_cli_usage("exam", "--species %s, but %s says %s", girthline_species_name(q->settings.species), q->file, girthline_species_name(exam->species));
  if (q->settings.age_days >= 0 && exam->age_days >= 0 && !exam->age_is_least && q->settings.age_days != exam->age_days)
    return gn_cli_usage("exam", "--age-days %.0f, but by %s the animal is %.0f days old", q->settings.age_days, q->file, exam->age_days);
  return 0;
}

static int list_inputs(request *q, const gn_exam *exam) {
  q->inputs = gn_new(exam->n_recordings + 2, sizeof *q->inputs);
  if (!q->inputs) return gn_cli_no_memory();
  q->inputs[q->n_inputs++] = q->file;
  if (q->settings_path) q->inputs[q->n_inputs++] = q->settings_path;
  for (size_t i = 0; i < exam->n_recordings; i++) q->inputs[q->n_inputs++] = exam->recordings[i].path;
  return 0;
}

// NAME of NAME.html: the file's name without its folder and its last extension.
static char *default_path(const request *q, int out) {
  static const char *const EXTENSIONS[N_OUT] = {"json", "html", "txt", "pdf"};
  const char *slash = strrchr(q->file, '/'), *base = slash ? slash + 1 : q->file, *dot = strrchr(base, '.');
  const char *folder = q->out_folder ? q->out_folder : "";
  const size_t n = strlen(folder);
  return gn_strprintf("%s%s%.*s.%s", folder, n && folder[n - 1] != '/' ? "/" : "", (int)(dot && dot != base ? (size_t)(dot - base) : strlen(base)), base,
                      EXTENSIONS[out]);
}

static int check_output(const request *q, const char *path) { return gn_output_check(path, q->inputs, q->n_inputs, q->force); }

static int check_outputs(const request *q) {
  int code = 0;
  for (int i = 0; i < N_OUT && !code; i++) {
    if (q->any_named) {
      for (int k = 0; k < i && !code; k++)
        if (q->out[i] && q->out[k] && gn_output_is_same(q->out[i], q->out[k])) code = gn_cli_usage("exam", "--%s and --%s name the same file", OUT_NAMES[k], OUT_NAMES[i]);
      if (q->out[i] && !code) code = check_output(q, q->out[i]);
    } else if (i == OUT_JSON || i == OUT_HTML) {
      char *path = default_path(q, i);
      code = path ? check_output(q, path) : gn_cli_no_memory();
      gn_free(path);
    }
  }
  return code;
}

static girthline_report_options options_for(const request *q, bool terminal) {
  girthline_report_options o = {.no_sound = q->no_sound, .width = 80};
  if (!terminal) return o;
  o.colour = gn_terminal_colour();
  o.width = gn_terminal_width();
  return o;
}

static int write_pdf(const request *q, const gn_examined *x, const char *path) {
  girthline_error error = {0};
  void *data = NULL;
  size_t n_bytes = 0;
  if (gn_exam_pdf(x, &data, &n_bytes, &error) != GIRTHLINE_OK) return gn_cli_fail(&error);
  int code = check_output(q, path);
  if (!code) code = gn_output_write(path, data, n_bytes);
  girthline_data_free(data);
  return code;
}

static int write_one(const request *q, const gn_examined *x, int out, const char *path) {
  girthline_error error = {0};
  if (out == OUT_PDF) return write_pdf(q, x, path);
  const girthline_report_options options = options_for(q, out == OUT_TEXT && gn_output_is_stdout(path));
  char *text = out == OUT_JSON ? gn_exam_json(x, &error) : out == OUT_HTML ? gn_exam_page(x, &options, &error) : gn_exam_text_report(x, &options, &error);
  if (!text) return gn_cli_fail(&error);
  // Looked at again: the file may have come while the recordings were analysed.
  int code = check_output(q, path);
  if (!code) code = gn_output_write(path, text, strlen(text));
  girthline_text_free(text);
  return code;
}

static int write_defaults(const request *q, const gn_examined *x) {
  int code = q->quiet ? 0 : write_one(q, x, OUT_TEXT, "-");
  for (int out = OUT_JSON; out <= OUT_HTML; out++) {
    char *path = default_path(q, out);
    const int wrote = path ? write_one(q, x, out, path) : gn_cli_no_memory();
    if (!wrote && !q->quiet) gn_cli_say("wrote %s", path);
    code = worse(code, wrote);
    gn_free(path);
  }
  return code;
}

static gn_exam_figures figures_of(const request *q) {
  return (gn_exam_figures){q->figures_folder, q->file, q->inputs, q->n_inputs, q->force, q->quiet};
}

static int write_all(const request *q, const gn_examined *x) {
  if (!q->any_named) return write_defaults(q, x);
  const gn_exam_figures figures = figures_of(q);
  int code = q->figures_folder ? gn_cli_exam_figures_write(&figures, x) : 0;
  for (int out = 0; out < N_OUT; out++)
    if (q->out[out]) code = worse(code, write_one(q, x, out, q->out[out]));
  return code;
}

// 1 where a recording is unusable, 3 where one could not be read; said.
static int judge(const gn_examined *x) {
  int code = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    const gn_examined_recording *rec = &x->recordings[i];
    if (rec->result) {
      if (rec->result->quality.grade == GIRTHLINE_UNUSABLE) code = worse(code, GN_EXIT_UNUSABLE);
      continue;
    }
    gn_cli_say("[recording %s]: %s", x->exam->recordings[i].name, rec->reason);
    code = worse(code, gn_cli_exit_of(rec->status));
  }
  return code;
}

static int run(request *q, const gn_exam *exam) {
  girthline_error error = {0};
  gn_examined *x = NULL;
  int code = check_against_file(q, exam);
  if (!code) code = list_inputs(q, exam);
  if (!code && !q->any_named) code = gn_output_folder(q->out_folder);
  if (!code) code = check_outputs(q);
  const gn_exam_figures figures = figures_of(q);
  if (!code) code = gn_output_folder(q->figures_folder);
  if (!code && q->figures_folder) code = gn_cli_exam_figures_check(&figures, exam);
  if (code) return code;
  if (gn_exam_analyse(exam, &q->settings, &x, &error) != GIRTHLINE_OK) return gn_cli_fail(&error);
  code = judge(x);
  code = worse(code, write_all(q, x));
  gn_examined_free(x);
  return code;
}

// "-": recordings are named relative to the current folder, and the outputs begin with stdin.
static girthline_status read_exam(request *q, gn_exam **exam, girthline_error *error) {
  char *text = NULL;
  size_t n = 0;
  if (strcmp(q->file, "-")) return gn_exam_read(q->file, exam, error);
  girthline_status status = gn_input_text("-", GN_EXAM_MOST_BYTES, &text, &n, error);
  q->file = "stdin";
  if (status == GIRTHLINE_OK) status = gn_exam_parse(text, n, q->file, exam, error);
  gn_free(text);
  return status;
}

int gn_cli_exam(int argc, char **argv) {
  request q = {.settings = {.age_days = -1}};
  girthline_error error = {0};
  gn_exam *exam = NULL;
  gn_cli_one_heap();
  int code = parse(argc, argv, &q);
  if (code || q.done) return code;
  code = read_exam(&q, &exam, &error) == GIRTHLINE_OK ? run(&q, exam) : gn_cli_fail(&error);
  gn_exam_free(exam);
  gn_free(q.inputs);
  return code;
}
