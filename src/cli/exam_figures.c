// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/exam_figures.h"

#include <stdio.h>
#include <string.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "cli/output.h"
#include "cli/say.h"

#define MOST_SLUG_BYTES 40

// A recording's name as part of a file's name: letters and digits stay, all else becomes one hyphen.
static void slug(const char *name, char out[MOST_SLUG_BYTES + 1]) {
  size_t n = 0;
  for (; *name && n < MOST_SLUG_BYTES; name++) {
    const bool plain = (*name >= 'a' && *name <= 'z') || (*name >= 'A' && *name <= 'Z') || (*name >= '0' && *name <= '9');
    if (plain) out[n++] = *name;
    else if (n && out[n - 1] != '-') out[n++] = '-';
  }
  while (n && out[n - 1] == '-') n--;
  out[n] = 0;
}

static const char *extension(girthline_figure_form form) { return form == GIRTHLINE_FIGURE_PNG ? "png" : "svg"; }

// FOLDER/EXAM-3-left-mitral-sound.svg: the number keeps two recordings of one name apart.
static char *path_of(const gn_exam_figures *f, const gn_exam *exam, size_t recording, const char *picture, girthline_figure_form form) {
  const char *slash = strrchr(f->file, '/'), *base = slash ? slash + 1 : f->file, *dot = strrchr(base, '.');
  const int n_base = (int)(dot && dot != base ? (size_t)(dot - base) : strlen(base));
  const char *between = f->folder[strlen(f->folder) - 1] == '/' ? "" : "/";
  char name[MOST_SLUG_BYTES + 1] = "", number[32] = "";
  if (recording < exam->n_recordings) {
    slug(exam->recordings[recording].name, name);
    snprintf(number, sizeof number, "-%zu%s", recording + 1, *name ? "-" : "");
  }
  char *path = gn_strprintf("%s%s%.*s%s%s-%s.%s", f->folder, between, n_base, base, number, name, picture, extension(form));
  if (!path) gn_cli_no_memory();
  return path;
}

static int check(const gn_exam_figures *f, const char *path) { return gn_output_check(path, f->inputs, f->n_inputs, f->force); }

static int check_one(const gn_exam_figures *f, const gn_exam *exam, size_t recording, const char *picture) {
  int code = 0;
  for (int form = GIRTHLINE_FIGURE_SVG; form <= GIRTHLINE_FIGURE_PNG && !code; form++) {
    char *path = path_of(f, exam, recording, picture, (girthline_figure_form)form);
    code = path ? check(f, path) : GN_EXIT_OTHER;
    gn_free(path);
  }
  return code;
}

int gn_cli_exam_figures_check(const gn_exam_figures *f, const gn_exam *exam) {
  int code = check_one(f, exam, exam->n_recordings, "recovery");
  for (size_t i = 0; i < exam->n_recordings; i++)
    for (size_t k = 0; !code && girthline_figure_name(k); k++) code = check_one(f, exam, i, girthline_figure_name(k));
  return code;
}

static int worse(int a, int b) { return a > b ? a : b; }

// data is freed; nothing is written where there is none.
static int put(const gn_exam_figures *f, char *path, void *data, size_t n_bytes) {
  int code = path ? 0 : GN_EXIT_OTHER;
  if (!code && data) code = check(f, path);
  if (!code && data) code = gn_output_write(path, data, n_bytes);
  if (!code && data && !f->quiet) gn_cli_say("wrote %s", path);
  gn_free(path);
  girthline_data_free(data);
  return code;
}

static int write_recovery(const gn_exam_figures *f, const gn_examined *x) {
  int code = 0;
  for (int form = GIRTHLINE_FIGURE_SVG; form <= GIRTHLINE_FIGURE_PNG; form++) {
    girthline_error error = {0};
    void *data = NULL;
    size_t n_bytes = 0;
    if (gn_exam_recovery_figure(x, (girthline_figure_form)form, &data, &n_bytes, &error)) return gn_cli_fail(&error);
    code = worse(code, put(f, path_of(f, x->exam, x->exam->n_recordings, "recovery", (girthline_figure_form)form), data, n_bytes));
  }
  return code;
}

static int write_recording(const gn_exam_figures *f, const gn_examined *x, size_t i, const girthline_report_options *options) {
  girthline_report_input input;
  int code = 0;
  if (!gn_examined_input(x, i, &input)) return 0;
  for (size_t k = 0; girthline_figure_name(k / 2); k++) {
    const girthline_figure_form form = k % 2 ? GIRTHLINE_FIGURE_PNG : GIRTHLINE_FIGURE_SVG;
    girthline_error error = {0};
    void *data = NULL;
    size_t n_bytes = 0;
    if (girthline_report_figure(&input, k / 2, form, options, &data, &n_bytes, &error)) return gn_cli_fail(&error);
    code = worse(code, put(f, path_of(f, x->exam, i, girthline_figure_name(k / 2), form), data, n_bytes));
  }
  return code;
}

int gn_cli_exam_figures_write(const gn_exam_figures *f, const gn_examined *x) {
  girthline_report_input all[GN_EXAM_MOST_RECORDINGS];
  girthline_report_options options = {.scale_to = all};
  for (size_t i = 0; i < x->exam->n_recordings; i++) options.n_scale_to += gn_examined_input(x, i, &all[options.n_scale_to]);
  int code = write_recovery(f, x);
  for (size_t i = 0; i < x->exam->n_recordings; i++) code = worse(code, write_recording(f, x, i, &options));
  return code;
}
