// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_plot.h"

#include <math.h>

#include "base/memory.h"

#define CELL 2.0         ///< pixels; two dots in one cell cannot be told apart
#define SPARSE 500       ///< up to so many intervals each is drawn
#define MANY 60          ///< more pauses or early beats are marked smaller
#define NAMED 12         ///< up to so many are marked with their size
#define LEAST_BAR 6.0    ///< pixels; counted windows narrower than that are drawn together
#define SAME_TIME_S 1e-6 ///< two intervals are neighbours when one ends where the next starts

static double length_s(const girthline_interval *i) { return i->span.end_s - i->span.start_s; }

static double dot_size(size_t n) { return n > 1000 ? 1 : n > 200 ? 1.6 : 2.6; }

// A picture's rule for the i-th interval: where its dot lies; NaN for none. *open: drawn as a ring.
typedef gn_mark (*dot_rule)(const gn_plot *, const girthline_rhythm *, size_t i, bool *open);

static gn_mark interval_dot(const gn_plot *plot, const girthline_rhythm *y, size_t i, bool *open) {
  *open = !y->intervals[i].used;
  return (gn_mark){gn_plot_x(plot, y->intervals[i].span.end_s), gn_plot_y(plot, length_s(&y->intervals[i])), dot_size(y->n_intervals)};
}

static gn_mark next_dot(const gn_plot *plot, const girthline_rhythm *y, size_t i, bool *open) {
  if (!i || fabs(y->intervals[i].span.start_s - y->intervals[i - 1].span.end_s) > SAME_TIME_S) return (gn_mark){NAN, NAN, 0};
  *open = !y->intervals[i].used || !y->intervals[i - 1].used;
  return (gn_mark){gn_plot_x(plot, length_s(&y->intervals[i - 1])), gn_plot_y(plot, length_s(&y->intervals[i])), dot_size(y->n_intervals)};
}

static gn_mark rate_dot(const gn_plot *plot, const girthline_rhythm *y, size_t i, bool *open) {
  *open = false;
  if (!y->intervals[i].used || !(length_s(&y->intervals[i]) > 0)) return (gn_mark){NAN, NAN, 0};
  return (gn_mark){gn_plot_x(plot, y->intervals[i].span.end_s), gn_plot_y(plot, 60 / length_s(&y->intervals[i])), dot_size(y->n_intervals) * 0.7};
}

// One path for all dots of a kind. Of dots on the same cell of the field only the first is drawn, so that a day of beats
// makes no larger picture than its width has room for.
static void draw_dots(gn_plot *plot, const girthline_rhythm *y, dot_rule rule) {
  const size_t columns = (size_t)(plot->w / CELL) + 1, rows = (size_t)(plot->h / CELL) + 1;
  unsigned char *taken = gn_new(columns * rows, 1);
  if (!taken) {
    plot->no_memory = true;
    return;
  }
  for (int ring = 0; ring < 2; ring++) {
    cairo_new_path(plot->cr);
    for (size_t i = 0; i < y->n_intervals; i++) {
      bool open = false;
      const gn_mark mark = rule(plot, y, i, &open);
      const double column = (mark.x - plot->x) / CELL, row = (mark.y - plot->y) / CELL;
      if (open != ring || !(column >= 0 && row >= 0) || column >= (double)columns || row >= (double)rows) continue;
      unsigned char *cell = &taken[(size_t)row * columns + (size_t)column];
      if (y->n_intervals > SPARSE && *cell) continue;
      *cell = 1;
      gn_plot_dot_path(plot, mark);
    }
    cairo_set_line_width(plot->cr, 1.2);
    if (ring)
      cairo_stroke(plot->cr);
    else
      cairo_fill(plot->cr);
  }
  gn_free(taken);
}

// The usual resting range as a plain area with its name.
static void draw_usual(gn_plot *plot, double low, double high) {
  if (!(high > low)) return;
  const double top = gn_plot_y(plot, fmin(high, plot->y1)), bottom = gn_plot_y(plot, fmax(low, plot->y0));
  if (!(bottom > top)) return;
  gn_plot_colour(plot, GN_SPREAD);
  cairo_rectangle(plot->cr, plot->x, top, plot->w, bottom - top);
  cairo_fill(plot->cr);
}

// The legend is written from the right; on a telephone what has no room goes to a second row.
typedef struct legend {
  double x, row;
} legend;

static legend legend_start(const gn_plot *plot) { return (legend){plot->width, plot->narrow ? 24 : 8}; }

// Writes the word and gives the place of its sign.
static gn_mark legend_entry(gn_plot *plot, legend *at, gn_colour colour, const char *word) {
  const double width = gn_plot_text_width(plot, word);
  if (plot->narrow && at->x - width < 22) *at = (legend){plot->width, 8};
  gn_plot_colour(plot, colour);
  gn_plot_text(plot, at->x - width, at->row, 0, word);
  const gn_mark sign = {at->x - width - 12, at->row, 4};
  at->x -= width + (plot->narrow ? 28 : 34);
  return sign;
}

static void legend_usual(gn_plot *plot, legend *at, const double *usual) {
  if (!(usual[1] > usual[0])) return;
  const gn_mark sign = legend_entry(plot, at, GN_INK, "usual at rest");
  gn_plot_colour(plot, GN_SPREAD);
  cairo_rectangle(plot->cr, sign.x - 6, sign.y - 5, 14, 10);
  cairo_fill(plot->cr);
  at->x -= 4;
}

static void draw_interval_line(gn_plot *plot, const girthline_rhythm *y) {
  if (y->n_intervals > SPARSE) return;
  gn_plot_colour(plot, GN_WAVE);
  cairo_set_line_width(plot->cr, 0.8);
  for (size_t i = 1; i < y->n_intervals; i++) {
    if (fabs(y->intervals[i].span.start_s - y->intervals[i - 1].span.end_s) > SAME_TIME_S) continue;
    cairo_move_to(plot->cr, gn_plot_x(plot, y->intervals[i - 1].span.end_s), gn_plot_y(plot, length_s(&y->intervals[i - 1])));
    cairo_line_to(plot->cr, gn_plot_x(plot, y->intervals[i].span.end_s), gn_plot_y(plot, length_s(&y->intervals[i])));
  }
  cairo_stroke(plot->cr);
}

static void draw_pauses(gn_plot *plot, const girthline_rhythm *y) {
  const double size = y->n_pauses > MANY ? 2 : 4;
  double drawn_to = -INFINITY;
  gn_plot_colour(plot, GN_NOTE);
  for (size_t i = 0; i < y->n_pauses; i++) {
    const girthline_pause *pause = &y->pauses[i];
    const double x = gn_plot_x(plot, pause->span.end_s), at = gn_plot_y(plot, pause->span.end_s - pause->span.start_s);
    if (y->n_pauses > MANY && x < drawn_to) continue; // no room of its own
    drawn_to = x + size;
    gn_plot_square(plot, (gn_mark){x, at, size});
    const bool left = x > plot->x + plot->w - 50;
    if (y->n_pauses <= NAMED && !plot->narrow) gn_plot_label(plot, left ? x - 8 : x + 8, at, left ? 1 : 0, "%.1f \xC3\x97", pause->ratio);
    for (size_t k = 0; k < pause->n_atrial && k < GIRTHLINE_MAX_ATRIAL && y->n_pauses <= NAMED; k++) {
      const double atrial = gn_plot_x(plot, pause->atrial_onset_s[k]);
      gn_plot_rule(plot, atrial, plot->y + plot->h - 10, atrial, plot->y + plot->h);
      gn_plot_text(plot, atrial, plot->y + plot->h - 17, 0.5, "S4");
    }
  }
}

static void draw_early(gn_plot *plot, const girthline_rhythm *y) {
  gn_plot_colour(plot, GN_NOTE);
  const double size = y->n_early > MANY ? 2.5 : 4.5;
  double drawn_to = -INFINITY;
  for (size_t i = 0; i < y->n_early; i++) {
    if (y->n_early > MANY && gn_plot_x(plot, y->early[i].onset_s) < drawn_to) continue;
    drawn_to = gn_plot_x(plot, y->early[i].onset_s) + size;
    for (size_t k = 0; k < y->n_intervals; k++) {
      if (fabs(y->intervals[k].span.end_s - y->early[i].onset_s) > 1e-3) continue;
      const double x = gn_plot_x(plot, y->early[i].onset_s), at = gn_plot_y(plot, length_s(&y->intervals[k]));
      gn_plot_triangle(plot, (gn_mark){x, at, size});
      if (y->n_early <= NAMED && !plot->narrow) gn_plot_label(plot, x + 8, at + 6, 0, "%.1f \xC3\x97", y->early[i].ratio);
    }
  }
}

static void draw_legend(gn_plot *plot, const girthline_result *result) {
  const girthline_rhythm *y = &result->rhythm;
  legend at = legend_start(plot);
  legend_usual(plot, &at, result->rate.usual_range_bpm);
  if (y->used_count < y->n_intervals) {
    gn_mark sign = legend_entry(plot, &at, GN_INK, "not counted");
    sign.size = 2.6;
    gn_plot_dot(plot, sign, false);
  }
  if (y->n_pauses) gn_plot_square(plot, legend_entry(plot, &at, GN_NOTE, "pause"));
  if (y->n_early) gn_plot_triangle(plot, legend_entry(plot, &at, GN_NOTE, "early beat"));
}

void gn_draw_intervals(gn_plot *plot, const gn_figure_source *source) {
  const girthline_rhythm *y = &source->result->rhythm;
  const double *usual = source->result->rate.usual_range_bpm;
  const girthline_span span = gn_figure_span(source->result);
  plot->x = 34;
  plot->y = plot->narrow ? 38 : 24;
  plot->w = plot->width - plot->x - 6;
  plot->h = 170 - plot->y;
  plot->x0 = span.start_s;
  plot->x1 = span.end_s;
  plot->y0 = 0;
  plot->y1 = (source->scale && source->scale->interval_s > 0 ? source->scale->interval_s : gn_plot_longest_s(y)) * 1.15;
  draw_usual(plot, 60 / usual[1], 60 / usual[0]);
  gn_plot_axis_y(plot, "interval, s");
  gn_plot_axis_time(plot);
  draw_interval_line(plot, y);
  gn_plot_colour(plot, GN_INK);
  draw_dots(plot, y, interval_dot);
  draw_pauses(plot, y);
  draw_early(plot, y);
  draw_legend(plot, source->result);
}

static void next_range(gn_plot *plot, const gn_figure_source *source) {
  double range[2];
  gn_plot_next(&source->result->rhythm, range);
  const double *use = source->scale && source->scale->next_s[1] > source->scale->next_s[0] ? source->scale->next_s : range;
  plot->x0 = plot->y0 = use[0];
  plot->x1 = plot->y1 = use[1];
}

void gn_draw_next(gn_plot *plot, const gn_figure_source *source) {
  const girthline_rhythm *y = &source->result->rhythm;
  plot->x = 42; // 0.275: a fast heart's differ by thousandths
  plot->y = 24;
  plot->name_below = true;
  plot->w = plot->h = fmin(plot->width - plot->x - 6, 210);
  next_range(plot, source);
  gn_plot_axis_y(plot, "next interval, s");
  gn_plot_axis_x(plot, "interval, s");
  gn_plot_colour(plot, GN_FAINT);
  cairo_set_line_width(plot->cr, 1);
  cairo_move_to(plot->cr, plot->x, plot->y + plot->h);
  cairo_line_to(plot->cr, plot->x + plot->w, plot->y);
  cairo_stroke(plot->cr);
  gn_plot_colour(plot, GN_INK);
  draw_dots(plot, y, next_dot);
}

static void rate_range(gn_plot *plot, const gn_figure_source *source) {
  double range[2];
  gn_plot_rates(&source->result->rate, range);
  const double *use = source->scale && source->scale->rate_bpm[1] > source->scale->rate_bpm[0] ? source->scale->rate_bpm : range;
  plot->y0 = use[0];
  plot->y1 = use[1];
}

// The rate from interval to interval: dots behind the counted windows, whose range the axis has; what one odd interval gives would flatten them.
static void draw_moment_rate(gn_plot *plot, const girthline_rhythm *y) {
  gn_plot_colour(plot, GN_WAVE);
  cairo_save(plot->cr);
  cairo_rectangle(plot->cr, plot->x, plot->y, plot->w, plot->h);
  cairo_clip(plot->cr);
  draw_dots(plot, y, rate_dot);
  cairo_restore(plot->cr);
}

static void draw_level(gn_plot *plot, girthline_span span, double bpm, double thick) {
  cairo_set_line_width(plot->cr, thick);
  cairo_move_to(plot->cr, gn_plot_x(plot, span.start_s), gn_plot_y(plot, bpm));
  cairo_line_to(plot->cr, gn_plot_x(plot, span.end_s), gn_plot_y(plot, bpm));
  cairo_stroke(plot->cr);
}

static void draw_counted(gn_plot *plot, const girthline_rate *r) {
  gn_plot_colour(plot, GN_FIRST);
  for (size_t i = 0, end; i < r->n_counted; i = end) {
    double sum_bpm = 0;
    for (end = i; end < r->n_counted && (end == i || gn_plot_x(plot, r->counted[end - 1].span.end_s) - gn_plot_x(plot, r->counted[i].span.start_s) < LEAST_BAR);)
      sum_bpm += r->counted[end++].bpm;
    const girthline_span span = {r->counted[i].span.start_s, r->counted[end - 1].span.end_s};
    const double bpm = sum_bpm / (double)(end - i), middle = (gn_plot_x(plot, span.start_s) + gn_plot_x(plot, span.end_s)) / 2;
    draw_level(plot, span, bpm, 3);
    if (r->n_counted <= (plot->narrow ? 6 : 16)) gn_plot_label(plot, middle, gn_plot_y(plot, bpm) - 11, 0.5, "%d", r->counted[i].beats);
  }
}

static void draw_rate_legend(gn_plot *plot, const girthline_rate *r) {
  legend at = legend_start(plot);
  legend_usual(plot, &at, r->usual_range_bpm);
  if (isfinite(r->settled_bpm) && isfinite(r->settled_from_s)) {
    const gn_mark sign = legend_entry(plot, &at, GN_SECOND, "settled");
    cairo_set_dash(plot->cr, (const double[]){5, 4}, 2, 0);
    gn_plot_rule(plot, sign.x - 6, sign.y, sign.x + 8, sign.y);
    cairo_set_dash(plot->cr, NULL, 0, 0);
  }
  if (!r->n_counted) return;
  const gn_mark sign = legend_entry(plot, &at, GN_FIRST, "counted");
  cairo_rectangle(plot->cr, sign.x - 6, sign.y - 1.5, 14, 3);
  cairo_fill(plot->cr);
}

void gn_draw_rate(gn_plot *plot, const gn_figure_source *source) {
  const girthline_rate *r = &source->result->rate;
  const girthline_span span = gn_figure_span(source->result);
  plot->x = 34;
  plot->y = plot->narrow ? 46 : 26;
  plot->w = plot->width - plot->x - 6;
  plot->h = 160 - plot->y;
  plot->x0 = span.start_s;
  plot->x1 = span.end_s;
  rate_range(plot, source);
  draw_usual(plot, r->usual_range_bpm[0], r->usual_range_bpm[1]);
  gn_plot_axis_y(plot, "rate, beats a minute");
  gn_plot_axis_time(plot);
  draw_moment_rate(plot, &source->result->rhythm);
  draw_counted(plot, r);
  gn_plot_colour(plot, GN_SECOND);
  if (isfinite(r->settled_bpm) && isfinite(r->settled_from_s)) {
    cairo_set_dash(plot->cr, (const double[]){5, 4}, 2, 0);
    draw_level(plot, (girthline_span){r->settled_from_s, span.end_s}, r->settled_bpm, 1.6);
    cairo_set_dash(plot->cr, NULL, 0, 0);
  }
  draw_rate_legend(plot, r);
}
