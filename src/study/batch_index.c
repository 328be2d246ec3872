// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch_index.h"

#include <math.h>

#include <girthline/version.h>

#include "index_assets.h"
#include "report/names.h"

enum { PLOT_WIDE = 640, PLOT_HIGH = 160, PLOT_FOOT = 24, MOST_LABELS = 12 };

void gn_index_count(gn_index_counts *c, bool failed, girthline_grade grade, double bpm) {
  c->n_rows++;
  c->grade[failed ? GN_INDEX_GRADES - 1 : (int)grade]++;
  if (failed || !isfinite(bpm) || bpm < 0) return;
  const double bar = bpm / GN_INDEX_RATE_STEP_BPM;
  c->rate[bar < GN_INDEX_RATE_BARS ? (size_t)bar : GN_INDEX_RATE_BARS - 1]++;
  c->n_rates++;
}

static double bar_high(size_t n, size_t most) { return most ? (double)PLOT_HIGH * (double)n / (double)most : 0; }

static void bar(gn_buffer *b, double x, double wide, size_t n, size_t most) {
  const double high = bar_high(n, most);
  gn_buffer_puts(b, "<rect x=\"");
  gn_buffer_number(b, x + 1, 1);
  gn_buffer_puts(b, "\" y=\"");
  gn_buffer_number(b, PLOT_HIGH + 14 - high, 1);
  gn_buffer_puts(b, "\" width=\"");
  gn_buffer_number(b, wide - 2, 1);
  gn_buffer_puts(b, "\" height=\"");
  gn_buffer_number(b, high, 1);
  gn_buffer_puts(b, "\"/>");
}

static void label(gn_buffer *b, double x, double y) {
  gn_buffer_puts(b, "<text x=\"");
  gn_buffer_number(b, x, 1);
  gn_buffer_puts(b, "\" y=\"");
  gn_buffer_number(b, y, 1);
  gn_buffer_puts(b, "\">");
}

static size_t most_of(const size_t *n, size_t n_bars) {
  size_t most = 0;
  for (size_t i = 0; i < n_bars; i++) most = n[i] > most ? n[i] : most;
  return most;
}

// A screen reader is told the picture's name alone: the numbers follow in it, up to plot_named.
static void plot_start(gn_buffer *b, const char *what) {
  gn_buffer_printf(b, "<figure>\n<svg class=\"bars\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"%s", PLOT_WIDE, PLOT_HIGH + PLOT_FOOT + 14, what);
}

static void plot_named(gn_buffer *b) { gn_buffer_puts(b, "\">"); }

static const char *grade_name(int i) { return i < GN_INDEX_GRADES - 1 ? gn_name_grade((girthline_grade)i) : "failed"; }

static void rate_plot(gn_buffer *b, const gn_index_counts *c) {
  size_t first = 0, end = GN_INDEX_RATE_BARS;
  while (first < end && !c->rate[first]) first++;
  while (end > first && !c->rate[end - 1]) end--;
  const size_t n = end - first, every = n / MOST_LABELS + 1, most = most_of(c->rate, GN_INDEX_RATE_BARS);
  plot_start(b, n ? "How many recordings have which rate, in beats a minute" : "No recording has a rate");
  for (size_t i = first, told = 0; i < end; i++)
    if (c->rate[i]) gn_buffer_printf(b, "%s %zu to %zu: %zu", told++ ? "," : ":", i * GN_INDEX_RATE_STEP_BPM, (i + 1) * GN_INDEX_RATE_STEP_BPM, c->rate[i]);
  plot_named(b);
  const double wide = n ? (double)PLOT_WIDE / (double)(n + 1) : 0;
  for (size_t i = 0; i < n; i++) bar(b, (double)i * wide, wide, c->rate[first + i], most);
  for (size_t i = 0; i <= n && n; i += every) {
    label(b, (double)i * wide, PLOT_HIGH + PLOT_FOOT + 10);
    gn_buffer_printf(b, "%zu</text>", (first + i) * GN_INDEX_RATE_STEP_BPM);
  }
  if (n) label(b, 0, 10), gn_buffer_printf(b, "%zu</text>", most);
  gn_buffer_printf(b,
                   "</svg>\n<figcaption>Heart rate in beats a minute: how many recordings lie in each step of %d, out of the %zu with a rate. "
                   "The number above is that of the tallest bar.</figcaption>\n</figure>\n",
                   GN_INDEX_RATE_STEP_BPM, c->n_rates);
}

static void grade_plot(gn_buffer *b, const gn_index_counts *c) {
  const double wide = (double)PLOT_WIDE / GN_INDEX_GRADES;
  const size_t most = most_of(c->grade, GN_INDEX_GRADES);
  plot_start(b, "How many recordings are of which quality");
  for (int i = 0; i < GN_INDEX_GRADES; i++) gn_buffer_printf(b, "%s %s %zu", i ? "," : ":", grade_name(i), c->grade[i]);
  plot_named(b);
  for (int i = 0; i < GN_INDEX_GRADES; i++) {
    const double x = (double)i * wide;
    bar(b, x, wide, c->grade[i], most);
    label(b, x + 4, PLOT_HIGH + PLOT_FOOT + 10);
    gn_buffer_printf(b, "%s</text>", grade_name(i));
    label(b, x + 4, PLOT_HIGH + 10 - bar_high(c->grade[i], most));
    gn_buffer_printf(b, "%zu</text>", c->grade[i]);
  }
  gn_buffer_puts(b, "</svg>\n<figcaption>Quality of the recordings; what failed could not be read, and its row says why.</figcaption>\n</figure>\n");
}

static void lines(gn_buffer *b, const char *const *text) {
  for (; *text; text++) gn_buffer_puts(b, *text);
}

static const char CAUTION[] =
    "<p class=\"standing\">A screening aid, not a diagnosis: a licensed veterinarian decides, and local rules apply. Nobody rides, sedates or sells "
    "an animal on these rows alone; each recording's own report says what was measured and which examination settles the question.</p>\n";

static const char FILTERS[] = "<form class=\"filters\" hidden><p><label>Name or animal <input type=\"search\" data-filter=\"text\"></label> "
                              "<label>Quality <select data-filter=\"4\"></select></label> <label>Rhythm <select data-filter=\"6\"></select></label> "
                              "<label>Murmur <select data-filter=\"8\"></select></label> <span role=\"status\"></span></p></form>\n";

static const char TABLE[] = "<table aria-labelledby=\"rows\">\n<thead><tr><th>No.</th><th>Recording</th><th>Animal</th><th>Species</th><th>Quality</th>"
                            "<th>Rate</th><th>Rhythm</th><th class=\"picture\">Intervals</th><th>Murmur</th><th>Why</th></tr></thead>\n<tbody>\n";

void gn_index_head(gn_buffer *b, const gn_index_counts *c) {
  gn_buffer_puts(b, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; media-src data:; "
                    "style-src '" PAGE_STYLE_HASH "'; script-src '" PAGE_SCRIPT_HASH "'; base-uri 'none'; form-action 'none'\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                    "<meta name=\"generator\" content=\"girthline\">\n<meta name=\"color-scheme\" content=\"light dark\">\n"
                    "<meta name=\"referrer\" content=\"no-referrer\">\n<title>Recordings</title>\n<style>");
  lines(b, PAGE_STYLE);
  gn_buffer_printf(b, "</style>\n</head>\n<body>\n<main class=\"index\">\n<h1>Heart sounds, measured</h1>\n<h2>%zu recording%s</h2>\n", c->n_rows,
                   c->n_rows == 1 ? "" : "s");
  gn_buffer_puts(b, CAUTION);
  gn_buffer_puts(b, "<section>\n<h3>All together</h3>\n<div class=\"two\">\n");
  rate_plot(b, c);
  grade_plot(b, c);
  gn_buffer_puts(b, "</div>\n</section>\n<section>\n<h3 id=\"rows\">One by one</h3>\n<p class=\"meaning\">Intervals: each beat-to-beat interval as a step, as high as "
                    "it is long against the "
                    "recording's own mean; a level line is a regular rhythm. The rate is the settled one, in beats a minute. A species that nobody named is assumed, and with it what is usual. The exact numbers stand in recordings.csv.</p>\n");
  gn_buffer_puts(b, FILTERS);
  gn_buffer_puts(b, TABLE);
}

void gn_index_foot(gn_buffer *b) {
  gn_buffer_puts(b, "</tbody>\n</table>\n</section>\n<footer><p>Made by girthline " GIRTHLINE_VERSION ".</p></footer>\n</main>\n<script>");
  lines(b, PAGE_SCRIPT);
  gn_buffer_puts(b, "</script>\n</body>\n</html>\n");
}
