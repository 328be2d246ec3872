// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/figures_plot.h"

#include <math.h>
#include <string.h>

#include "base/fft.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

#define WINDOW_S 0.064 ///< a choice: short against systole, 30 Hz wide in frequency
#define TOP_HZ 700.0   ///< the highest frequency any level of the report looks at
#define RANGE_DB 40.0  ///< from the quiet level to full ink
#define QUIET 0.6      ///< quantile of all cells taken as the quiet level
#define GREYS 16       ///< more cannot be told apart and make the page larger
#define MOST_COLUMNS 300
#define ROWS 56

typedef struct spectrum {
  float *db; ///< n_columns * ROWS, row 0 lowest
  size_t n_columns, n_window, n_fft;
  double *window;
  float *piece, *power;
  gn_fft *fft;
} spectrum;

static void spectrum_clear(spectrum *s) {
  gn_free(s->db);
  gn_free(s->window);
  gn_free(s->piece);
  gn_free(s->power);
  gn_fft_free(s->fft);
}

static bool spectrum_init(spectrum *s, const gn_sound *sound, double width) {
  s->n_columns = (size_t)fmin(fmax(width / 2, 1), MOST_COLUMNS);
  s->n_window = (size_t)fmax(WINDOW_S * sound->rate_hz, 8);
  s->n_fft = gn_fft_size(s->n_window);
  s->db = gn_new(s->n_columns * ROWS, sizeof *s->db);
  s->window = gn_new(s->n_window, sizeof *s->window);
  s->piece = gn_new(s->n_fft, sizeof *s->piece);
  s->power = gn_new(s->n_fft / 2 + 1, sizeof *s->power);
  s->fft = gn_fft_new(s->n_fft);
  if (!s->db || !s->window || !s->piece || !s->power || !s->fft) return false;
  for (size_t i = 0; i < s->n_window; i++) s->window[i] = gn_hann(i, s->n_window);
  return true;
}

static void spectrum_column(spectrum *s, const gn_sound *sound, size_t column, double middle) {
  const double bin_hz = sound->rate_hz / (double)s->n_fft;
  const ptrdiff_t first = (ptrdiff_t)(middle - (double)s->n_window / 2);
  for (size_t i = 0; i < s->n_window; i++) {
    const ptrdiff_t at = first + (ptrdiff_t)i;
    s->piece[i] = at >= 0 && (size_t)at < sound->n ? (float)(s->window[i] * (double)sound->samples[at]) : 0;
  }
  gn_fft_power(s->fft, s->piece, s->power);
  for (size_t row = 0; row < ROWS; row++) {
    const double at = ((double)row + 0.5) * TOP_HZ / ROWS / bin_hz;
    const size_t k = (size_t)fmin(at, (double)(s->n_fft / 2));
    s->db[column * ROWS + row] = (float)gn_db((double)s->power[k] + 1e-12);
  }
}

static double quiet_level(const spectrum *s) {
  const size_t n = s->n_columns * ROWS;
  float *copy = gn_new(n, sizeof *copy);
  if (!copy) return NAN;
  memcpy(copy, s->db, n * sizeof *copy);
  const double level = (double)gn_quantile_f(copy, n, QUIET);
  gn_free(copy);
  return level;
}

static cairo_surface_t *ink(const spectrum *s, double quiet_db) {
  cairo_surface_t *image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)s->n_columns, ROWS);
  if (cairo_surface_status(image) != CAIRO_STATUS_SUCCESS) return image;
  unsigned char *pixels = cairo_image_surface_get_data(image);
  const size_t stride = (size_t)cairo_image_surface_get_stride(image);
  for (size_t row = 0; row < ROWS; row++)
    for (size_t column = 0; column < s->n_columns; column++) {
      const double above = ((double)s->db[column * ROWS + ROWS - 1 - row] - quiet_db) / RANGE_DB;
      const double step = round(fmin(fmax(above, 0), 1) * (GREYS - 1)) / (GREYS - 1);
      const uint32_t grey = (uint32_t)lround(255 - 225 * step), pixel = grey << 16 | grey << 8 | grey;
      memcpy(pixels + row * stride + 4 * column, &pixel, sizeof pixel);
    }
  cairo_surface_mark_dirty(image);
  return image;
}

static void paint(gn_plot *plot, cairo_surface_t *image, size_t n_columns) {
  cairo_save(plot->cr);
  cairo_translate(plot->cr, plot->x, plot->y);
  cairo_scale(plot->cr, plot->w / (double)n_columns, plot->h / ROWS);
  cairo_set_source_surface(plot->cr, image, 0, 0);
  cairo_paint(plot->cr);
  cairo_restore(plot->cr);
}

static void draw_picture(gn_plot *plot, const gn_sound *sound) {
  spectrum s = {0};
  double quiet_db = NAN;
  if (spectrum_init(&s, sound, plot->w)) {
    const double step_s = (plot->x1 - plot->x0) / (double)s.n_columns;
    for (size_t c = 0; c < s.n_columns; c++) spectrum_column(&s, sound, c, (plot->x0 + ((double)c + 0.5) * step_s - sound->start_s) * sound->rate_hz);
    quiet_db = quiet_level(&s);
  }
  if (isfinite(quiet_db)) {
    cairo_surface_t *image = ink(&s, quiet_db);
    paint(plot, image, s.n_columns);
    cairo_surface_destroy(image);
  } else {
    plot->no_memory = true;
  }
  spectrum_clear(&s);
}

void gn_draw_spectrum(gn_plot *plot, const gn_figure_source *source) {
  const girthline_result *result = source->result;
  plot->x = 40;
  plot->y = 34;
  plot->w = plot->width - plot->x - 6;
  plot->h = 178 - plot->y;
  plot->x0 = result->quality.best_span.start_s;
  plot->x1 = result->quality.best_span.end_s;
  plot->y0 = 0;
  plot->y1 = TOP_HZ;
  draw_picture(plot, source->stretch);
  gn_plot_axis_y(plot, "frequency, Hz");
  gn_plot_axis_time(plot);
  gn_plot_beats(plot, result);
}
