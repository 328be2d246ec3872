// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline report: everything is planned and refused before the first recording is analysed.
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/girthline.h>
#include <girthline/report.h>

#include "base/file.h"
#include "base/memory.h"
#include "cli/commands.h"
#include "cli/heap.h"
#include "cli/input.h"
#include "cli/output.h"
#include "cli/report_options.h"
#include "cli/say.h"
#include "cli/terminal.h"
#include "clinic/hashed.h"
#include "report/json.h"
#include "report/marked.h"

static int worse(int a, int b) { return a > b ? a : b; }

// NAME of NAME.html: the file's name without its folder and its last extension.
static char *base_name(const char *file) {
  if (!strcmp(file, "-")) return gn_strdup("stdin");
  const char *slash = strrchr(file, '/'), *base = slash ? slash + 1 : file;
  const char *dot = strrchr(base, '.');
  return gn_strprintf("%.*s", (int)(dot && dot != base ? (size_t)(dot - base) : strlen(base)), base);
}

// FOLDER/NAME and `ending`; NULL, and said, when memory is refused.
static char *path_in(const char *folder, const char *file, const char *ending) {
  char *name = base_name(file);
  const char *slash = folder && folder[strlen(folder) - 1] != '/' ? "/" : "";
  char *path = name ? gn_strprintf("%s%s%s%s", folder ? folder : "", slash, name, ending) : NULL;
  gn_free(name);
  if (!path) gn_cli_no_memory();
  return path;
}

static const char *const EXTENSIONS[] = {".html", ".json"};

static int compare_text(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

// Two recordings of one name would write over each other.
static int check_names(const gn_report_request *q) {
  char **names = gn_new(q->n_files, sizeof *names);
  int code = names ? 0 : GN_EXIT_OTHER;
  for (size_t i = 0; !code && i < q->n_files; i++)
    if (!(names[i] = base_name(q->files[i]))) code = GN_EXIT_OTHER;
  if (code) gn_cli_no_memory();
  else qsort(names, q->n_files, sizeof *names, compare_text);
  for (size_t i = 1; !code && i < q->n_files; i++)
    if (!strcmp(names[i - 1], names[i]))
      code = gn_cli_usage("report", "two recordings would both write %s%s: analyse them one by one, each with its own --%s", names[i],
                          q->figures_folder ? "'s pictures" : ".html", q->figures_folder ? "figures" : "out");
  for (size_t i = 0; names && i < q->n_files; i++) gn_free(names[i]);
  gn_free(names);
  return code;
}

static int check_default_outputs(const gn_report_request *q) {
  int code = check_names(q);
  if (!code) code = gn_output_folder(q->out_folder);
  for (size_t i = 0; !code && i < q->n_files; i++)
    for (size_t k = 0; !code && k < 2; k++) {
      char *path = path_in(q->out_folder, q->files[i], EXTENSIONS[k]);
      code = path ? gn_output_check(path, q->files, q->n_inputs, q->force) : GN_EXIT_OTHER;
      gn_free(path);
    }
  return code;
}

static int check_named_outputs(const gn_report_request *q) {
  for (int i = 0; i < GN_N_OUT; i++) {
    if (!q->out[i]) continue;
    for (int k = 0; k < i; k++)
      if (q->out[k] && gn_output_is_same(q->out[i], q->out[k]))
        return gn_cli_usage("report", "--%s and --%s name the same file", gn_report_out_name(k), gn_report_out_name(i));
    const int code = gn_output_check(q->out[i], q->files, q->n_inputs, q->force);
    if (code) return code;
  }
  return 0;
}

// NAME-PICTURE.svg or .png of a recording.
static char *figure_path(const gn_report_request *q, const char *file, size_t picture, girthline_figure_form form) {
  char ending[64];
  snprintf(ending, sizeof ending, "-%s.%s", girthline_figure_name(picture), form == GIRTHLINE_FIGURE_PNG ? "png" : "svg");
  return path_in(q->figures_folder, file, ending);
}

static int check_figures(const gn_report_request *q) {
  int code = q->figures_folder ? check_names(q) : 0;
  if (!code) code = gn_output_folder(q->figures_folder);
  for (size_t i = 0; q->figures_folder && !code && i < q->n_files; i++)
    for (size_t k = 0; !code && girthline_figure_name(k / 2); k++) {
      char *path = figure_path(q, q->files[i], k / 2, k % 2 ? GIRTHLINE_FIGURE_PNG : GIRTHLINE_FIGURE_SVG);
      code = path ? gn_output_check(path, q->files, q->n_inputs, q->force) : GN_EXIT_OTHER;
      gn_free(path);
    }
  return code;
}

// One recording on its way through.
typedef struct item {
  gn_input input;
  girthline_result *result;
  const char *file; // as named on the command line
  char hash[48];
} item;

static void clear_item(item *it) {
  girthline_result_free(it->result);
  gn_input_close(&it->input);
  *it = (item){0};
}

static girthline_status try_item(const gn_report_request *q, const char *file, item *it, girthline_error *error) {
  girthline_status status = gn_input_open(file, &it->input, error);
  if (status != GIRTHLINE_OK) return status;
  const gn_input *in = &it->input;
  if (in->path) return gn_analyse_hashed(in->path, &q->settings, &it->result, it->hash, error);
  status = girthline_analyse_memory(in->data, in->n_bytes, in->name, &q->settings, &it->result, error);
  if (status == GIRTHLINE_OK) girthline_content_hash_memory(in->data, in->n_bytes, it->hash);
  return status;
}

// 0, 1 (unusable) or a worse code when there is nothing to report.
static int analyse(const gn_report_request *q, const char *file, item *it) {
  girthline_error error = {0};
  *it = (item){.file = file};
  const girthline_status status = try_item(q, file, it, &error);
  if (status == GIRTHLINE_OK) return it->result->quality.grade == GIRTHLINE_UNUSABLE ? GN_EXIT_UNUSABLE : GN_EXIT_DONE;
  if (error.status == GIRTHLINE_OK) error.status = status;
  clear_item(it);
  return gn_cli_fail(&error);
}

static girthline_report_input as_input(const item *it) {
  return (girthline_report_input){it->result, it->input.name, it->input.path, it->input.data, it->input.n_bytes, it->hash};
}

static girthline_report_options text_options(const gn_report_request *q, bool terminal) {
  girthline_report_options o = {.no_sound = q->no_sound, .width = 80, .scale_to = q->scale_to, .n_scale_to = q->n_scale_to};
  if (!terminal) return o;
  o.colour = gn_terminal_colour();
  o.width = gn_terminal_width();
  return o;
}

// A document holds zero bytes: it is not a text.
static int write_document(const gn_report_request *q, const char *path, const girthline_report_input *inputs, size_t n) {
  girthline_error error = {0};
  void *data = NULL;
  size_t n_bytes = 0;
  const girthline_report_options options = text_options(q, false);
  if (girthline_report_pdf(inputs, n, &options, &data, &n_bytes, &error) != GIRTHLINE_OK) return gn_cli_fail(&error);
  int code = gn_output_check(path, q->files, q->n_inputs, q->force);
  if (!code) code = gn_output_write(path, data, n_bytes);
  girthline_data_free(data);
  return code;
}

// Make one output's text.
static char *render(const gn_report_request *q, int out, const girthline_report_input *inputs, size_t n, girthline_error *error) {
  const bool terminal = out == GN_OUT_TEXT && (!q->out[out] || gn_output_is_stdout(q->out[out]));
  const girthline_report_options options = text_options(q, terminal);
  return out == GN_OUT_HTML ? girthline_report_html(inputs, n, &options, error) : girthline_report_text(inputs, n, &options, error);
}

// A marked recording is as long as the recording, and a JSON report as its beats are many: they go straight to the file.
typedef struct stream {
  const gn_report_request *q;
  int out;
  const girthline_report_input *inputs;
  size_t n;
  int fd;
} stream;

static int put_bytes(void *user, const void *bytes, size_t n) { return gn_file_put(((const stream *)user)->fd, bytes, n); }

// Several recordings named give the list form even when one of them could be read.
static girthline_status write_into(stream *s, girthline_error *error) {
  const gn_sink sink = {put_bytes, s};
  if (s->out == GN_OUT_CLIP) return gn_clip_write(s->inputs, sink, error);
  if (s->out == GN_OUT_MARKED) return gn_marked_write(s->inputs, sink, error);
  return gn_json_write(s->inputs, s->n, s->q->any_named && s->q->n_files > 1, sink, error);
}

static int fill(int fd, void *user) {
  stream *s = user;
  girthline_error error = {0};
  s->fd = fd;
  errno = 0;
  const girthline_status status = write_into(s, &error);
  if (status == GIRTHLINE_OK) return 0;
  return status == GIRTHLINE_CANNOT_WRITE && errno ? -1 : gn_cli_fail(&error);
}

static int write_stream(const gn_report_request *q, int out, const char *path, const girthline_report_input *inputs, size_t n) {
  stream s = {.q = q, .out = out, .inputs = inputs, .n = n};
  const int code = gn_output_check(path, q->files, q->n_inputs, q->force);
  return code ? code : gn_output_stream(path, fill, &s);
}

static int write_one(const gn_report_request *q, int out, const char *path, const girthline_report_input *inputs, size_t n) {
  if (out == GN_OUT_MARKED || out == GN_OUT_CLIP || out == GN_OUT_JSON) return write_stream(q, out, path, inputs, n);
  if (out == GN_OUT_PDF) return write_document(q, path, inputs, n);
  girthline_error error = {0};
  char *text = render(q, out, inputs, n, &error);
  if (!text) return gn_cli_fail(&error);
  // Looked at again: the file may have come while the recordings were analysed.
  int code = gn_output_check(path, q->files, q->n_inputs, q->force);
  if (!code) code = gn_output_write(path, text, strlen(text));
  girthline_text_free(text);
  return code;
}

static int write_figure(const gn_report_request *q, const char *path, const void *data, size_t n_bytes) {
  int code = gn_output_check(path, q->files, q->n_inputs, q->force);
  if (!code) code = gn_output_write(path, data, n_bytes);
  if (!code && !q->quiet) gn_cli_say("wrote %s", path);
  return code;
}

// What a recording has nothing to show for is left out.
static int write_figures(const gn_report_request *q, const char *file, const girthline_report_input *input) {
  const girthline_report_options options = text_options(q, false);
  int code = 0;
  for (size_t k = 0; girthline_figure_name(k / 2); k++) {
    const girthline_figure_form form = k % 2 ? GIRTHLINE_FIGURE_PNG : GIRTHLINE_FIGURE_SVG;
    girthline_error error = {0};
    void *data = NULL;
    size_t n_bytes = 0;
    if (girthline_report_figure(input, k / 2, form, &options, &data, &n_bytes, &error) != GIRTHLINE_OK) return gn_cli_fail(&error);
    if (!data) continue;
    char *path = figure_path(q, file, k / 2, form);
    code = worse(code, path ? write_figure(q, path, data, n_bytes) : GN_EXIT_OTHER);
    gn_free(path);
    girthline_data_free(data);
  }
  return code;
}

static int write_defaults(const gn_report_request *q, const char *file, const girthline_report_input *input) {
  static const int OUTS[] = {GN_OUT_HTML, GN_OUT_JSON};
  int code = q->quiet ? 0 : write_one(q, GN_OUT_TEXT, "-", input, 1);
  for (size_t k = 0; k < 2; k++) {
    char *path = path_in(q->out_folder, file, EXTENSIONS[k]);
    const int wrote = path ? write_one(q, OUTS[k], path, input, 1) : GN_EXIT_OTHER;
    if (!wrote && !q->quiet) gn_cli_say("wrote %s", path);
    code = worse(code, wrote);
    gn_free(path);
  }
  return code;
}

static int run_defaults(const gn_report_request *q) {
  int code = check_default_outputs(q);
  if (code) return code;
  for (size_t i = 0; i < q->n_files; i++) {
    item it;
    code = worse(code, analyse(q, q->files[i], &it));
    if (!it.result) continue;
    const girthline_report_input input = as_input(&it);
    code = worse(code, write_defaults(q, q->files[i], &input));
    clear_item(&it);
  }
  return code;
}

static int write_together(gn_report_request *q, const item *items, size_t n) {
  girthline_report_input *inputs = gn_new(n, sizeof *inputs);
  int code = 0;
  if (!inputs) return gn_cli_no_memory();
  for (size_t i = 0; i < n; i++) inputs[i] = as_input(&items[i]);
  if (q->same_axes) q->scale_to = inputs, q->n_scale_to = n;
  for (size_t i = 0; i < n && !q->any_named; i++) code = worse(code, write_defaults(q, items[i].file, &inputs[i]));
  for (int out = 0; out < GN_N_OUT; out++)
    if (q->out[out]) code = worse(code, write_one(q, out, q->out[out], inputs, n));
  for (size_t i = 0; i < n && q->figures_folder; i++) code = worse(code, write_figures(q, items[i].file, &inputs[i]));
  gn_free(inputs);
  return code;
}

// Several recordings held at once: for one output of all of them, and for axes they share.
static int run_together(gn_report_request *q) {
  int code = q->any_named ? check_named_outputs(q) : check_default_outputs(q);
  if (!code) code = check_figures(q);
  if (code) return code;
  item *items = gn_new(q->n_files, sizeof *items);
  if (!items) return gn_cli_no_memory();
  size_t n = 0;
  for (size_t i = 0; i < q->n_files; i++) {
    code = worse(code, analyse(q, q->files[i], &items[n]));
    n += items[n].result != NULL;
  }
  if (n) code = worse(code, write_together(q, items, n));
  for (size_t i = 0; i < n; i++) clear_item(&items[i]);
  gn_free(items);
  return code;
}

int gn_cli_report(int argc, char **argv) {
  gn_report_request q;
  gn_cli_one_heap();
  int code = gn_report_request_parse(argc, argv, &q);
  if (!code && !q.done) code = q.any_named || q.same_axes ? run_together(&q) : run_defaults(&q);
  gn_report_request_clear(&q);
  return code;
}
