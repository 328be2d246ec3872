// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A picture as a file of its own. Each says who wrote it where its format has a place for that.
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "report/buffer.h"
#include "report/figures.h"
#include "report/figures_plot.h"
#include "report/sound.h"

#define NEXT_WIDTH 264.0 ///< of the square picture
#define PNG_SCALE 2.0    ///< pixels a unit
#define PNG_HEAD_N 33 ///< signature and the first chunk, IHDR (PNG specification, 5.2 and 11.2.2)

const char *girthline_figure_name(size_t i) { return i < GN_N_FIGURES ? gn_figure_name((gn_figure_kind)i) : NULL; }

static cairo_status_t collect(void *closure, const unsigned char *data, unsigned int n) {
  gn_buffer *out = closure;
  gn_buffer_add(out, (const char *)data, n);
  return out->refused ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

// CRC-32 of a PNG chunk (PNG specification, annex D).
static uint32_t crc(const unsigned char *data, size_t n) {
  uint32_t c = 0xFFFFFFFFu;
  for (size_t i = 0; i < n; i++) {
    c ^= data[i];
    for (int bit = 0; bit < 8; bit++) c = c & 1 ? 0xEDB88320u ^ c >> 1 : c >> 1;
  }
  return ~c;
}

static void put_32(gn_buffer *out, uint32_t value) {
  const unsigned char bytes[] = {(unsigned char)(value >> 24), (unsigned char)(value >> 16), (unsigned char)(value >> 8), (unsigned char)value};
  gn_buffer_add(out, (const char *)bytes, 4);
}

// The same picture with a tEXt chunk behind its first one.
static void put_signed(gn_buffer *out, const gn_buffer *png) {
  static const char TEXT[] = "tEXtSoftware\0girthline"; // without the zero at its end
  if (png->n < PNG_HEAD_N) {
    out->refused = true;
    return;
  }
  gn_buffer_add(out, png->text, PNG_HEAD_N);
  put_32(out, sizeof TEXT - 1 - 4);
  gn_buffer_add(out, TEXT, sizeof TEXT - 1);
  put_32(out, crc((const unsigned char *)TEXT, sizeof TEXT - 1));
  gn_buffer_add(out, png->text + PNG_HEAD_N, png->n - PNG_HEAD_N);
}

static girthline_status as_png(const gn_figure_drawing *d, gn_buffer *out, girthline_error *error) {
  gn_buffer png = {0};
  cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(d->width * PNG_SCALE), (int)(d->height * PNG_SCALE));
  cairo_t *cr = cairo_create(surface);
  cairo_set_source_rgb(cr, 1, 1, 1);
  cairo_paint(cr);
  cairo_scale(cr, PNG_SCALE, PNG_SCALE);
  girthline_status status = d->draw(d->user, cr, d->width, error);
  cairo_destroy(cr);
  if (!status && cairo_surface_write_to_png_stream(surface, collect, &png) != CAIRO_STATUS_SUCCESS) status = gn_error_memory(error, "report");
  cairo_surface_destroy(surface);
  if (!status) put_signed(out, &png);
  gn_buffer_clear(&png);
  return status;
}

static girthline_status as_svg(const gn_figure_drawing *d, gn_buffer *out, girthline_error *error) {
  gn_html inside = {0};
  const girthline_status status = gn_figure_svg_of(d->draw, d->user, (double[]){d->width, d->height}, "p", &inside, error);
  gn_buffer_printf(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.0f\" height=\"%.0f\" viewBox=\"0 0 %.0f %.0f\">\n",
                   d->width, d->height, d->width, d->height);
  gn_buffer_puts(out, "<desc>Written by girthline " GIRTHLINE_VERSION "</desc>\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n");
  if (!status) gn_buffer_add(out, inside.text, inside.n);
  gn_buffer_puts(out, "</svg>\n");
  gn_html_clear(&inside);
  return status;
}

girthline_status gn_figure_file(const gn_figure_drawing *drawing, girthline_figure_form form, void **data, size_t *n_bytes, girthline_error *error) {
  gn_buffer out = {0};
  *data = NULL;
  *n_bytes = 0;
  girthline_status status = form == GIRTHLINE_FIGURE_PNG ? as_png(drawing, &out, error) : as_svg(drawing, &out, error);
  if (!status && out.refused) status = gn_error_memory(error, "report");
  const size_t n = out.n;
  if (!status) *data = gn_buffer_take(&out);
  gn_buffer_clear(&out);
  if (!status && !*data) return gn_error_memory(error, "report");
  *n_bytes = status ? 0 : n;
  return status;
}

girthline_status girthline_report_figure(const girthline_report_input *input, size_t i, girthline_figure_form form, const girthline_report_options *options,
                                         void **data, size_t *n_bytes, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_sound stretch = {0};
  gn_figure_scale scale;
  *data = NULL;
  *n_bytes = 0;
  if (!input || i >= GN_N_FIGURES) return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "report", "there is no such picture");
  const gn_figure_kind kind = (gn_figure_kind)i;
  const bool is_scaled = options && options->n_scale_to, shows_stretch = kind == GN_FIGURE_DETAIL || kind == GN_FIGURE_SPECTRUM;
  if (is_scaled && !gn_figure_scale_of(options->scale_to, options->n_scale_to, &scale)) return gn_error_memory(error, "report");
  const girthline_span best = input->result->quality.best_span;
  const bool has_stretch = best.end_s > best.start_s && best.end_s - best.start_s <= GN_SOUND_LONGEST_S;
  girthline_status status = GIRTHLINE_OK;
  if (has_stretch && shows_stretch) status = gn_sound_read(input, best.start_s, best.end_s, &stretch, error);
  const gn_figure_source source = {input->result, &stretch, is_scaled ? &scale : NULL};
  gn_figure_one one = {kind, &source, NULL};
  const double width = kind == GN_FIGURE_NEXT ? NEXT_WIDTH : GN_FIGURE_FILE_WIDTH;
  if (!status && gn_figure_has(kind, &source))
    status = gn_figure_file(&(gn_figure_drawing){gn_figure_draw_one, &one, width, gn_figure_height(kind, width)}, form, data, n_bytes, error);
  gn_sound_clear(&stretch);
  return status;
}
