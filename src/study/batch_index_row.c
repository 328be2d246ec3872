// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch_row.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/numbers.h"
#include "report/html.h"
#include "report/names.h"

// The picture: each interval as a step, as high as it is long, on a scale set by the mean of the recording.
enum { WIDE = 120, HIGH = 24 }; // its units
#define MEANS_HIGH 2.5          // an interval this many times the mean reaches the top
#define MOST_STEPS 60           // more intervals share a step, drawn from the shortest to the longest

static double height_of(double interval_s, double mean_s) {
  const double h = HIGH * (1 - interval_s / (MEANS_HIGH * mean_s));
  return h < 1 ? 1 : h > HIGH - 1 ? HIGH - 1 : h;
}

typedef struct extent {
  double least_s, most_s;
} extent;

// Shortest and longest of the intervals that share a step; nothing used: NaN.
static extent extent_of(const girthline_rhythm *y, size_t from, size_t to) {
  extent e = {NAN, NAN};
  for (size_t i = from; i < to; i++) {
    const double length_s = y->intervals[i].span.end_s - y->intervals[i].span.start_s;
    if (!y->intervals[i].used) continue;
    if (!(e.least_s <= length_s)) e.least_s = length_s;
    if (!(e.most_s >= length_s)) e.most_s = length_s;
  }
  return e;
}

static void picture(gn_buffer *b, const girthline_rhythm *y) {
  if (!y->n_intervals || !(y->mean_interval_s > 0)) return;
  const size_t steps = y->n_intervals < MOST_STEPS ? y->n_intervals : MOST_STEPS;
  const double wide = (double)WIDE / (double)steps;
  gn_buffer_printf(b, "<svg viewBox=\"0 0 %d %d\" aria-hidden=\"true\"><path d=\"", WIDE, HIGH);
  for (size_t k = 0; k < steps; k++) {
    const extent e = extent_of(y, k * y->n_intervals / steps, (k + 1) * y->n_intervals / steps);
    if (!isfinite(e.most_s)) continue;
    gn_buffer_puts(b, "M");
    gn_buffer_number(b, (double)k * wide, 1);
    gn_buffer_puts(b, " ");
    gn_buffer_number(b, height_of(e.most_s, y->mean_interval_s), 1);
    if (steps < y->n_intervals) {
      gn_buffer_puts(b, "V");
      gn_buffer_number(b, height_of(e.least_s, y->mean_interval_s) + 0.5, 1);
    } else {
      gn_buffer_puts(b, "h");
      gn_buffer_number(b, wide, 1);
    }
  }
  gn_buffer_puts(b, "\"/></svg>");
}

// The one escaper of markup writes into a buffer of its own.
static void put_text(gn_buffer *b, const char *text) {
  gn_html h = {0};
  gn_html_text(&h, text);
  if (h.failed)
    b->refused = true;
  else if (h.n)
    gn_buffer_add(b, h.text, h.n);
  gn_html_clear(&h);
}

static void cell(gn_buffer *b, const char *text) {
  gn_buffer_puts(b, "<td>");
  if (text) put_text(b, text);
  gn_buffer_puts(b, "</td>");
}

static void name_cell(gn_buffer *b, const gn_batch_row *row, const gn_batch_item *item) {
  gn_buffer_puts(b, "<th class=\"name\" scope=\"row\">");
  if (*row->page) gn_buffer_printf(b, "<a href=\"%s\">", row->page); // made of plain signs only
  put_text(b, item->file);
  if (*row->page) gn_buffer_puts(b, "</a>");
  gn_buffer_puts(b, "</th>");
}

static void murmur_cell(gn_buffer *b, const girthline_murmur *m) {
  const char *const present = m->present == GIRTHLINE_YES ? "found" : m->present == GIRTHLINE_NO ? "none found" : "not determined";
  gn_buffer_printf(b, "<td data-is=\"%s\">%s", present, present);
  if (m->present == GIRTHLINE_YES && m->n_phases) {
    const char *timing = gn_name_timing(m->phases[0].timing), *phase = gn_name_phase(m->phases[0].phase);
    const bool whole = m->phases[0].timing == GIRTHLINE_HOLO;
    gn_buffer_printf(b, ": %s %s", whole ? "through" : timing ? timing : "", phase ? phase : "");
  }
  gn_buffer_puts(b, "</td>");
}

static void result_cells(gn_buffer *b, const girthline_result *r) {
  const double bpm = isfinite(r->rate.settled_bpm) ? r->rate.settled_bpm : r->rate.bpm;
  gn_buffer_puts(b, isfinite(bpm) ? "<td class=\"n\">" : "<td data-is=\"\">not determined"); // sorted as unknown, not as a word
  if (isfinite(bpm)) gn_buffer_fixed(b, gn_rounded(bpm, 2), 0);
  gn_buffer_puts(b, "</td>");
  cell(b, r->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED ? "not determined" : gn_name_pattern(r->rhythm.pattern));
  gn_buffer_puts(b, "<td>");
  picture(b, &r->rhythm);
  gn_buffer_puts(b, "</td>");
  murmur_cell(b, &r->murmur);
}

// Sorted as the species; that nobody named it is for the reader.
static void species_cell(gn_buffer *b, const girthline_settings *s) {
  const char *name = girthline_species_name(s->species);
  if (s->species_assumed) gn_buffer_printf(b, "<td data-is=\"%s\">%s (assumed)</td>", name, name);
  else cell(b, name);
}

void gn_batch_index_row(gn_buffer *b, const gn_batch_row *row, const gn_batch_item *item, const girthline_result *r) {
  gn_buffer_puts(b, "</td>");
  name_cell(b, row, item);
  cell(b, item->animal);
  species_cell(b, &item->settings);
  cell(b, row->status ? "failed" : gn_name_grade(row->grade));
  if (r)
    result_cells(b, r);
  else
    gn_buffer_puts(b, "<td></td><td></td><td></td><td></td>");
  cell(b, row->reason);
  gn_buffer_puts(b, "</tr>\n");
}
