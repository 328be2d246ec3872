// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline visits compare: two visits of one animal side by side.
#include <stdio.h>
#include <string.h>

#include <girthline/report.h>

#include "base/memory.h"
#include "cli/output.h"
#include "cli/say.h"
#include "cli/terminal.h"
#include "cli/visits.h"
#include "clinic/compare.h"
#include "clinic/visits.h"

#define TEXT_WIDTH 100 // of a file: what is printed is as wide as it can be

static int check_outputs(const gn_visits_request *q, const gn_store *store) {
  static const char *const NAMES[GN_VISITS_N_OUT] = {"json", "html", "pdf", "text"};
  for (int i = 0; i < GN_VISITS_N_OUT; i++) {
    if (!q->out[i]) continue;
    for (int k = 0; k < i; k++)
      if (q->out[k] && gn_output_is_same(q->out[i], q->out[k])) return gn_cli_usage("visits", "--%s and --%s name the same file", NAMES[k], NAMES[i]);
    const int code = gn_cli_visits_check_output(q, store, q->out[i]);
    if (code) return code;
  }
  return 0;
}

static int write_out(const char *path, char *text, const girthline_error *error) {
  int code = GN_EXIT_OTHER;
  if (text) code = gn_output_write(path, text, strlen(text));
  else if (error->text[0]) code = gn_cli_fail(error);
  else gn_cli_no_memory();
  gn_free(text);
  return code;
}

static int write_pdf(const char *path, const gn_comparison *c, gn_store *store) {
  girthline_error error = {0};
  void *data = NULL;
  size_t n_bytes = 0;
  if (gn_compare_pdf(c, store, &data, &n_bytes, &error)) return gn_cli_fail(&error);
  const int code = gn_output_write(path, data, n_bytes);
  girthline_data_free(data);
  return code;
}

static int write_all(const gn_visits_request *q, gn_store *store, const gn_comparison *c) {
  girthline_error error = {0};
  int code = 0;
  const char *const *out = q->out;
  if (out[GN_VISITS_JSON]) code = write_out(out[GN_VISITS_JSON], gn_compare_json(c), &error);
  if (!code && out[GN_VISITS_HTML]) code = write_out(out[GN_VISITS_HTML], gn_compare_page(c, store, &error), &error);
  if (!code && out[GN_VISITS_PDF]) code = write_pdf(out[GN_VISITS_PDF], c, store);
  if (!code && out[GN_VISITS_TEXT]) code = write_out(out[GN_VISITS_TEXT], gn_compare_text(c, gn_output_is_stdout(out[GN_VISITS_TEXT]) ? gn_terminal_width() : TEXT_WIDTH), &error);
  if (!code && !out[GN_VISITS_JSON] && !out[GN_VISITS_HTML] && !out[GN_VISITS_PDF] && !out[GN_VISITS_TEXT])
    code = write_out("-", gn_compare_text(c, gn_terminal_width()), &error);
  return code;
}

static int compare_in(const gn_visits_request *q, gn_store *store) {
  girthline_error error = {0};
  gn_store_animals found = {0};
  gn_comparison c = {0};
  long long ids[2] = {0};
  int code = 0;
  for (size_t i = 0; i < 2 && q->n_words == 4 && !code; i++)
    if (!gn_cli_visits_id(q->words[2 + i], &ids[i])) code = GN_EXIT_USAGE;
  if (!code) code = gn_cli_visits_animal(store, q, ids[0], &found);
  girthline_status status = GIRTHLINE_OK;
  if (!code && q->n_words == 2) status = gn_compare_last_two(store, found.items[0].id, ids, &error);
  if (!code && !status) code = check_outputs(q, store);
  if (!code && !status) status = gn_compare_run(store, &found.items[0], ids, &c, &error);
  if (status) code = gn_cli_fail(&error);
  else if (!code) code = write_all(q, store, &c);
  gn_comparison_clear(&c);
  gn_store_animals_clear(&found);
  return code;
}

int gn_cli_visits_compare(const gn_visits_request *q) {
  int code;
  if (q->n_words == 3) return gn_cli_usage("visits", "compare takes an animal, and two of its visits' numbers or none");
  gn_store *store = gn_cli_visits_open(q, GN_STORE_READ, &code);
  if (!store) return code ? code : GN_EXIT_OTHER;
  code = compare_in(q, store);
  gn_store_close(store);
  return code;
}
