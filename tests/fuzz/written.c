// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "written.h"

#include <string.h>

#include <girthline/report.h>

#include "fuzz.h"
#include "report/marked.h"

static int count(void *user, const void *bytes, size_t n) {
  FUZZ_HOLDS(bytes || !n);
  *(size_t *)user += n;
  return 0;
}

static bool ends_with(const char *text, const char *end) {
  const size_t n = strlen(text), n_end = strlen(end);
  return n >= n_end && !memcmp(text + n - n_end, end, n_end);
}

static void as_page(const girthline_report_input *input, bool no_sound) {
  girthline_error error = {0};
  const girthline_report_options options = {.no_sound = no_sound};
  char *page = girthline_report_html(input, 1, &options, &error);
  if (!page) fuzz_check_error(error.status, &error);
  FUZZ_HOLDS(page ? ends_with(page, "</html>\n") : error.status != GIRTHLINE_OK);
  girthline_text_free(page);
}

static void as_document(const girthline_report_input *input) {
  girthline_error error = {0};
  void *data = NULL;
  size_t n = 0;
  const girthline_status status = girthline_report_pdf(input, 1, NULL, &data, &n, &error);
  fuzz_check_error(status, &error);
  FUZZ_HOLDS(status || (n > 8 && !memcmp(data, "%PDF-", 5)));
  girthline_data_free(data);
}

static void as_sound(const girthline_report_input *input, bool clip) {
  girthline_error error = {0};
  size_t n = 0;
  const gn_sink sink = {count, &n};
  const girthline_status status = clip ? gn_clip_write(input, sink, &error) : gn_marked_write(input, sink, &error);
  fuzz_check_error(status, &error);
  FUZZ_HOLDS(status || n > 44);
}

static void as_pictures(const girthline_report_input *input, girthline_figure_form form) {
  for (size_t i = 0; girthline_figure_name(i); i++) {
    girthline_error error = {0};
    void *data = NULL;
    size_t n = 0;
    fuzz_check_error(girthline_report_figure(input, i, form, NULL, &data, &n, &error), &error);
    girthline_data_free(data);
  }
}

void fuzz_write_out(const girthline_report_input *input, unsigned form) {
  girthline_error error = {0};
  char *json = girthline_report_json(input, 1, &error), *text = girthline_report_text(input, 1, NULL, &error);
  fuzz_check_json(json);
  FUZZ_HOLDS(text);
  girthline_text_free(json);
  girthline_text_free(text);
  switch (form % FUZZ_FORMS) {
  case 0: as_page(input, false); break;
  case 1: as_page(input, true); break;
  case 2: as_document(input); break;
  case 3: as_sound(input, false); break;
  case 4: as_sound(input, true); break;
  default: as_pictures(input, GIRTHLINE_FIGURE_SVG); break;
  }
}
