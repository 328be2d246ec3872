// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The page of one or several recordings.
#include "report/page.h"

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"

static void head(gn_html *h, const girthline_report_input *inputs, size_t n) {
  char *title = n > 1 ? gn_strprintf("%zu recordings: heart sounds", n) : gn_strprintf("%s: heart sounds", gn_page_heading(&inputs[0]));
  if (title) gn_page_head(h, title, "Heart sounds, measured");
  else h->failed = true;
  gn_free(title);
}

static void contents(gn_html *h, const girthline_report_input *inputs, size_t n) {
  gn_html_raw(h, "<nav aria-label=\"Recordings\"><ol>\n");
  for (size_t i = 0; i < n; i++) {
    gn_html_format(h, "<li><a href=\"#recording-%zu\">", i + 1);
    gn_html_text(h, inputs[i].name ? inputs[i].name : "recording");
    gn_html_raw(h, "</a></li>\n");
  }
  gn_html_raw(h, "</ol></nav>\n");
}

char *girthline_report_html(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_page page = {.no_sound = options && options->no_sound, .error = error};
  gn_figure_scale scale;
  if (!inputs || !n) {
    gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "report", "a page needs at least one recording");
    return NULL;
  }
  if (options && options->n_scale_to) {
    if (!gn_figure_scale_of(options->scale_to, options->n_scale_to, &scale)) {
      gn_error_memory(error, "report");
      return NULL;
    }
    page.scale = &scale;
  }
  head(&page.html, inputs, n);
  if (n > 1) contents(&page.html, inputs, n);
  for (size_t i = 0; i < n; i++) gn_page_recording(&page, &inputs[i]);
  return gn_page_finish(&page);
}
