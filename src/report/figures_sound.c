// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_plot.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

#define LINE_ROOM 45.0        // of width a beat; with less its onset lines are short
#define MARK_S 0.02           // of a sound whose end is not known
#define LEAST_HATCH 4.0       // pixels
#define MOST_NAMED_PROBLEMS 20

static const char *const PROBLEMS[] = {"handling", "dropout", "clipping", "breathing", "noise", "no heart sound"};

girthline_span gn_figure_span(const girthline_result *result) {
  const girthline_recording *r = &result->recording;
  girthline_span span = {isfinite(r->from_s) ? r->from_s : 0, r->to_s};
  if (!(span.end_s > span.start_s)) span.end_s = r->duration_s;
  if (!(span.end_s > span.start_s)) span.end_s = span.start_s + (double)result->pictures.n_overview * result->pictures.overview_step_s;
  if (!(span.end_s > span.start_s)) span.end_s = span.start_s + 1;
  return span;
}

// The lowest and highest value of each pixel column; columns without a sample have low > high.
typedef struct columns {
  float low[2048], high[2048];
  size_t n;
} columns;

static void columns_add(columns *c, double at, float low, float high) {
  if (!(at >= 0) || at >= (double)c->n || !isfinite(low) || !isfinite(high)) return;
  const size_t i = (size_t)at;
  if (low < c->low[i]) c->low[i] = low;
  if (high > c->high[i]) c->high[i] = high;
}

static void columns_start(columns *c, double width) {
  c->n = width < 2048 ? (size_t)width : 2048;
  for (size_t i = 0; i < c->n; i++) {
    c->low[i] = INFINITY;
    c->high[i] = -INFINITY;
  }
}

static void columns_from_overview(columns *c, const gn_plot *plot, const girthline_result *result) {
  const girthline_pictures *p = &result->pictures;
  const double start_s = gn_figure_span(result).start_s;
  for (size_t i = 0; i < p->n_overview && i < GIRTHLINE_OVERVIEW_N; i++) {
    const double from = fmax(gn_plot_x(plot, start_s + (double)i * p->overview_step_s) - plot->x, -1);
    const double to = gn_plot_x(plot, start_s + (double)(i + 1) * p->overview_step_s) - plot->x;
    columns_add(c, from, p->overview_min[i], p->overview_max[i]);
    for (double at = floor(from) + 1; at < to && at < (double)c->n; at++) columns_add(c, at, p->overview_min[i], p->overview_max[i]);
  }
}

static void columns_from_sound(columns *c, const gn_plot *plot, const gn_sound *sound) {
  const double first = gn_plot_x(plot, sound->start_s) - plot->x, step = gn_plot_x(plot, sound->start_s + 1 / sound->rate_hz) - plot->x - first;
  for (size_t i = 0; i < sound->n; i++) columns_add(c, first + (double)i * step, sound->samples[i], sound->samples[i]);
}

static double columns_scale(const columns *c) {
  float peaks[2048];
  size_t n = 0;
  for (size_t i = 0; i < c->n; i++)
    if (c->low[i] <= c->high[i]) peaks[n++] = fmaxf(fabsf(c->low[i]), fabsf(c->high[i]));
  return gn_plot_amplitude(peaks, n);
}

// A column's edge on quarters of a pixel, at least half a pixel from the middle of a thin one.
static double edge_of(const gn_plot *plot, const columns *c, size_t i, bool upper) {
  const double top = round(gn_plot_y(plot, fmin((double)c->high[i], plot->y1)) * 4) / 4, bottom = round(gn_plot_y(plot, fmax((double)c->low[i], plot->y0)) * 4) / 4;
  if (bottom - top >= 1) return upper ? top : bottom;
  return upper ? top - 0.5 : top + 0.5;
}

// One edge of the columns first to last, in that order; points within a level stretch are left out.
static void edge_path(gn_plot *plot, const columns *c, const size_t ends[2], bool upper) {
  const bool back = ends[1] < ends[0];
  double before = NAN, here = edge_of(plot, c, ends[0], upper);
  for (size_t i = ends[0];; i = back ? i - 1 : i + 1) {
    const double next = i == ends[1] ? (double)NAN : edge_of(plot, c, back ? i - 1 : i + 1, upper);
    if (fabs(here - before) > 0 || fabs(here - next) > 0 || isnan(before) || isnan(next)) cairo_line_to(plot->cr, plot->x + (double)i + (back ? 1 : 0), here);
    if (i == ends[1]) return;
    before = here;
    here = next;
  }
}

// The outline of each run of columns, filled: half of what a stroke a column takes to write.
static void draw_wave(gn_plot *plot, const columns *c) {
  gn_plot_colour(plot, GN_WAVE);
  cairo_new_path(plot->cr);
  for (size_t i = 0, end; i < c->n; i = end) {
    for (end = i; end < c->n && c->low[end] <= c->high[end];) end++;
    if (end > i) {
      cairo_new_sub_path(plot->cr);
      edge_path(plot, c, (const size_t[]){i, end - 1}, true);
      edge_path(plot, c, (const size_t[]){end - 1, i}, false);
      cairo_close_path(plot->cr);
    } else {
      end++;
    }
  }
  cairo_fill(plot->cr);
}

static void draw_amplitude(gn_plot *plot, const gn_figure_source *source, bool overview) {
  columns *c = gn_new(1, sizeof *c);
  if (!c) {
    plot->no_memory = true;
    return;
  }
  columns_start(c, plot->w);
  if (!overview && source->stretch && source->stretch->n)
    columns_from_sound(c, plot, source->stretch);
  else
    columns_from_overview(c, plot, source->result);
  plot->y1 = source->scale && source->scale->amplitude > 0 ? source->scale->amplitude : columns_scale(c);
  plot->y0 = -plot->y1;
  gn_plot_axis_amplitude(plot);
  draw_wave(plot, c);
  gn_free(c);
}

// A spoilt span of a long recording has no room for strokes: a bar at the foot of the field stands for it.
static void draw_short_problem(gn_plot *plot, double x0, double x1) {
  cairo_rectangle(plot->cr, x0, plot->y + plot->h - 6, x1 - x0, 6);
  cairo_fill(plot->cr);
}

// Spoilt spans: hatched over the sound, and named below it where the name has room.
static void draw_problems(gn_plot *plot, const girthline_result *result) {
  const girthline_quality *q = &result->quality;
  double free_from = plot->x, drawn_to = 0;
  for (size_t i = 0; i < q->n_problems; i++) {
    const double x0 = fmax(gn_plot_x(plot, q->problems[i].span.start_s), plot->x);
    const double x1 = fmin(fmax(gn_plot_x(plot, q->problems[i].span.end_s), x0 + 1), plot->x + plot->w);
    if (!(x1 > x0) || x1 < drawn_to + 0.5 || (unsigned)q->problems[i].kind > GIRTHLINE_NO_HEART_SOUND) continue;
    gn_plot_colour(plot, GN_INK);
    drawn_to = fmax(drawn_to, x1);
    if (x1 - x0 < LEAST_HATCH && q->n_problems > MOST_NAMED_PROBLEMS) {
      draw_short_problem(plot, x0, x1);
      continue;
    }
    gn_plot_hatch(plot, x0, x1, plot->y, plot->y + plot->h);
    if (q->n_problems > MOST_NAMED_PROBLEMS) continue;
    const char *word = PROBLEMS[q->problems[i].kind];
    const double width = gn_plot_text_width(plot, word), left = fmin(fmax((x0 + x1 - width) / 2, plot->x), plot->x + plot->w - width);
    if (left < free_from) continue;
    gn_plot_text(plot, left, plot->y + plot->h + 30, 0, word);
    free_from = left + width + 6;
  }
}

static void draw_best(gn_plot *plot, const girthline_result *result) {
  const girthline_span best = result->quality.best_span;
  if (!(best.end_s > best.start_s)) return;
  const double x0 = gn_plot_x(plot, best.start_s), x1 = gn_plot_x(plot, best.end_s), y = plot->y + 4;
  gn_plot_colour(plot, GN_INK);
  gn_plot_rule(plot, x0, y, x1, y);
  gn_plot_rule(plot, x0, y, x0, y + 5);
  gn_plot_rule(plot, x1, y, x1, y + 5);
  // Within the bracket, or beside one that it would cover.
  const double half = gn_plot_text_width(plot, "best stretch") / 2, least = 2 * half + 30;
  const double beside = x1 + least <= plot->x + plot->w ? x1 + half + 7 : x0 - half - 7;
  const double middle = x1 - x0 >= least ? (x0 + x1) / 2 : beside;
  gn_plot_colour(plot, GN_PAPER);
  cairo_rectangle(plot->cr, floor(middle - half - 3), y - 7, ceil(2 * half + 6), 14);
  cairo_fill(plot->cr);
  gn_plot_colour(plot, GN_INK);
  gn_plot_text(plot, middle, y, 0.5, "best stretch");
}

static bool is_inside(const gn_plot *plot, double time_s) { return time_s >= plot->x0 && time_s <= plot->x1; }

static void draw_beat_marks(gn_plot *plot, const girthline_result *result) {
  const double row = plot->narrow ? 24 : 8;
  double x = plot->width;
  if (!result->n_beats || result->n_beats > GN_MOST_MARKED_BEATS) return;
  gn_plot_colour(plot, GN_SECOND);
  x -= gn_plot_text_width(plot, "second sound");
  gn_plot_text(plot, x, row, 0, "second sound");
  gn_plot_dot(plot, (gn_mark){x - 9, row, 3.2}, false);
  gn_plot_colour(plot, GN_FIRST);
  x -= 30 + gn_plot_text_width(plot, "first sound");
  gn_plot_text(plot, x, row, 0, "first sound");
  gn_plot_triangle(plot, (gn_mark){x - 9, row, 4});
  gn_plot_beats(plot, result);
}

void gn_draw_sound(gn_plot *plot, const gn_figure_source *source) {
  const girthline_span span = gn_figure_span(source->result);
  plot->x = 40;
  plot->y = plot->narrow ? 46 : 32;
  plot->w = plot->width - plot->x - 6;
  plot->h = plot->narrow ? 92 : 126;
  plot->x0 = span.start_s;
  plot->x1 = span.end_s;
  draw_amplitude(plot, source, true);
  draw_problems(plot, source->result);
  draw_best(plot, source->result);
  gn_plot_axis_time(plot);
  draw_beat_marks(plot, source->result);
}

// One named sound: its span behind the wave, its name in the row above.
typedef struct name_row {
  double y, free_from;
  bool lines; ///< a fast heart's lines would hide its sound
} name_row;

static void draw_named(gn_plot *plot, girthline_span span, name_row *row, const char *name) {
  if (!is_inside(plot, span.start_s) || !is_inside(plot, span.end_s)) return;
  const double x0 = gn_plot_x(plot, span.start_s), x1 = gn_plot_x(plot, span.end_s);
  cairo_set_line_width(plot->cr, 2);
  cairo_move_to(plot->cr, x0, row->y + 8);
  cairo_line_to(plot->cr, fmax(x1, x0 + 2), row->y + 8);
  cairo_stroke(plot->cr);
  cairo_set_line_width(plot->cr, 0.6);
  cairo_move_to(plot->cr, x0, row->y + 8);
  cairo_line_to(plot->cr, x0, row->lines ? plot->y + plot->h : row->y + 14);
  cairo_stroke(plot->cr);
  const double left = (x0 + x1 - gn_plot_text_width(plot, name)) / 2;
  if (left < row->free_from) return; // a fast heart's names have no room each: the bar stays
  row->free_from = left + gn_plot_text(plot, left, row->y, 0, name) + 2;
}

// offset_s is from the onset, as a beat's is.
static girthline_span sound_span(double onset_s, float offset_s) {
  return (girthline_span){onset_s, onset_s + (isfinite(offset_s) ? (double)offset_s : MARK_S)};
}

static void draw_extras(gn_plot *plot, const girthline_result *result, name_row row) {
  static const char *const NAMES[] = {"S3", "S4", "split", "split", "click"};
  gn_plot_colour(plot, GN_INK);
  for (size_t i = 0; i < result->n_extras; i++) {
    const girthline_extra *extra = &result->extras[i];
    if ((unsigned)extra->kind > GIRTHLINE_CLICK) continue;
    row.free_from = 0;
    for (size_t k = 0; k < extra->n_onsets; k++) draw_named(plot, (girthline_span){extra->onsets_s[k], extra->onsets_s[k] + MARK_S}, &row, NAMES[extra->kind]);
  }
}

// An atrial sound alone in a pause belongs to no beat, and so not to the extra sounds.
static void draw_atrial(gn_plot *plot, const girthline_rhythm *y, name_row row) {
  gn_plot_colour(plot, GN_NOTE);
  for (size_t i = 0; i < y->n_pauses; i++)
    for (size_t k = 0; k < y->pauses[i].n_atrial && k < GIRTHLINE_MAX_ATRIAL; k++)
      draw_named(plot, (girthline_span){y->pauses[i].atrial_onset_s[k], y->pauses[i].atrial_onset_s[k] + MARK_S}, &row, "S4");
}

static bool has_atrial(const gn_plot *plot, const girthline_rhythm *y) {
  for (size_t i = 0; i < y->n_pauses; i++)
    if (y->pauses[i].n_atrial && y->pauses[i].span.start_s < plot->x1 && y->pauses[i].span.end_s > plot->x0) return true;
  return false;
}

static size_t beats_inside(const gn_plot *plot, const girthline_result *result) {
  size_t n = 0;
  for (size_t i = 0; i < result->n_beats; i++) n += is_inside(plot, result->beats[i].s1_onset_s);
  return n;
}

void gn_draw_detail(gn_plot *plot, const gn_figure_source *source) { gn_draw_part(plot, source, source->result->quality.best_span); }

void gn_draw_part(gn_plot *plot, const gn_figure_source *source, girthline_span part) {
  const girthline_result *result = source->result;
  plot->x = 40;
  plot->w = plot->width - plot->x - 6;
  plot->x0 = part.start_s;
  plot->x1 = part.end_s;
  const bool lines = plot->w > LINE_ROOM * (double)beats_inside(plot, result), two_rows = plot->narrow || !lines;
  const bool extra_row = result->n_extras > 0 || has_atrial(plot, &result->rhythm);
  plot->y = 48 + (extra_row ? 16 : 0) + (two_rows ? 16 : 0);
  plot->h = 206 - plot->y;
  draw_amplitude(plot, source, false);
  gn_plot_colour(plot, GN_INK);
  for (size_t i = 0; i < result->quality.n_problems; i++) {
    const girthline_span spoilt = result->quality.problems[i].span;
    gn_plot_hatch(plot, fmax(gn_plot_x(plot, spoilt.start_s), plot->x), fmin(gn_plot_x(plot, spoilt.end_s), plot->x + plot->w), plot->y, plot->y + plot->h);
  }
  gn_plot_axis_time(plot);
  name_row first = {plot->y - (two_rows ? 36 : 20), 0, lines}, second = {plot->y - 20, 0, lines};
  for (size_t i = 0; i < result->n_beats; i++) {
    const girthline_beat *b = &result->beats[i];
    gn_plot_colour(plot, GN_FIRST);
    draw_named(plot, sound_span(b->s1_onset_s, b->s1_offset_s), &first, "S1");
    gn_plot_colour(plot, GN_SECOND);
    draw_named(plot, sound_span(b->s2_onset_s, b->s2_offset_s), &second, "S2");
  }
  const name_row above = {plot->y - (two_rows ? 52 : 36), 0, lines};
  draw_extras(plot, result, above);
  draw_atrial(plot, &result->rhythm, above);
}
