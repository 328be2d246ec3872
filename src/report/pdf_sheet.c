// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/pdf_sheet.h"

#include <math.h>
#include <string.h>

#include "base/error.h"
#include "report/units.h"
#include "report/utf8.h"

#define TITLE_HEIGHT 22.0

static const struct {
  const char *font;
  double size; // points
} STYLES[GN_SHEET_N_STYLES] = {{"DejaVu Serif", 15},   {"DejaVu Serif", 11},      {"DejaVu Serif", 12},
                               {"DejaVu Sans", 8.2}, {"DejaVu Sans Bold", 8.2}, {"DejaVu Sans", 6.8}, {"DejaVu Sans Bold", 6.8}};

static void put_plain(gn_buffer *out, const char *whole) {
  for (const char *text = whole; text && *text;) {
    uint32_t code;
    bool ok;
    const size_t n = gn_utf8_next(text, &code, &ok);
    if (gn_unit_space(whole, (size_t)(text - whole)))
      gn_buffer_puts(out, GN_NO_BREAK);
    else if (ok && !gn_utf8_acts(code))
      gn_buffer_add(out, text, n);
    else
      gn_buffer_puts(out, code == '\n' || code == '\t' ? " " : "\xEF\xBF\xBD");
    text += n;
  }
}

static void set_style(gn_sheet *sheet, gn_sheet_style style, double width) {
  PangoFontDescription *font = pango_font_description_from_string(STYLES[style].font);
  pango_font_description_set_absolute_size(font, STYLES[style].size * sheet->scale * PANGO_SCALE);
  pango_layout_set_font_description(sheet->layout, font);
  pango_font_description_free(font);
  pango_layout_set_width(sheet->layout, (int)(width * PANGO_SCALE));
  pango_layout_set_wrap(sheet->layout, PANGO_WRAP_WORD_CHAR);
  pango_layout_set_ellipsize(sheet->layout, style == GN_SHEET_NAME ? PANGO_ELLIPSIZE_MIDDLE : PANGO_ELLIPSIZE_NONE);
}

static void set_colour(gn_sheet *sheet, gn_colour colour) {
  const gn_rgb *c = &gn_palette[colour];
  cairo_set_source_rgb(sheet->cr, c->red / 255.0, c->green / 255.0, c->blue / 255.0);
}

double gn_sheet_text(gn_sheet *sheet, gn_sheet_style style, gn_colour colour, gn_sheet_box box, const char *text) {
  gn_buffer plain = {0};
  PangoRectangle logical = {0};
  put_plain(&plain, text);
  if (plain.refused && !sheet->status) sheet->status = gn_error_memory(sheet->error, "report");
  if (!sheet->status && plain.n) {
    set_style(sheet, style, box.width);
    pango_layout_set_text(sheet->layout, plain.text, (int)plain.n);
    pango_layout_get_extents(sheet->layout, NULL, &logical);
    if (!sheet->dry) {
      set_colour(sheet, colour);
      cairo_move_to(sheet->cr, box.x, box.y);
      pango_cairo_show_layout(sheet->cr, sheet->layout);
    }
  }
  gn_buffer_clear(&plain);
  return (double)logical.height / PANGO_SCALE;
}

static gn_sheet_box whole(const gn_sheet *sheet) { return (gn_sheet_box){GN_SHEET_MARGIN, sheet->y, GN_SHEET_WIDTH - 2 * GN_SHEET_MARGIN}; }

void gn_sheet_line(gn_sheet *sheet, gn_sheet_style style, gn_colour colour, const char *text) {
  sheet->y += gn_sheet_text(sheet, style, colour, whole(sheet), text);
}

void gn_sheet_words(gn_sheet *sheet, gn_sheet_style style, gn_colour colour, gn_buffer *words) {
  if (words->refused && !sheet->status) sheet->status = gn_error_memory(sheet->error, "report");
  if (words->n) gn_sheet_line(sheet, style, colour, words->text);
  gn_buffer_clear(words);
}

void gn_sheet_title(gn_sheet *sheet, const char *text) {
  gn_sheet_text(sheet, GN_SHEET_NAME, GN_INK, whole(sheet), text);
  gn_sheet_gap(sheet, TITLE_HEIGHT);
}

void gn_sheet_gap(gn_sheet *sheet, double height) { sheet->y += height * sheet->scale; }

void gn_sheet_rule(gn_sheet *sheet) {
  if (!sheet->dry) {
    set_colour(sheet, GN_FAINT);
    cairo_set_line_width(sheet->cr, 0.5);
    cairo_move_to(sheet->cr, GN_SHEET_MARGIN, sheet->y);
    cairo_line_to(sheet->cr, GN_SHEET_WIDTH - GN_SHEET_MARGIN, sheet->y);
    cairo_stroke(sheet->cr);
  }
}

void gn_sheet_heading(gn_sheet *sheet, const char *text) {
  gn_sheet_gap(sheet, 7);
  gn_sheet_rule(sheet);
  gn_sheet_gap(sheet, 3);
  gn_sheet_line(sheet, GN_SHEET_HEADING, GN_INK, text);
  gn_sheet_gap(sheet, 2);
}

double gn_sheet_drawing(gn_sheet *sheet, gn_figure_drawer draw, void *user, gn_sheet_drawn where) {
  const double unit = where.unit * sheet->scale, height = where.height * unit;
  if (sheet->dry || sheet->status) return height;
  cairo_save(sheet->cr);
  cairo_translate(sheet->cr, where.box.x, where.box.y);
  cairo_scale(sheet->cr, unit, unit);
  sheet->status = draw(user, sheet->cr, floor(where.box.width / unit), sheet->error);
  cairo_restore(sheet->cr);
  return height;
}

double gn_sheet_figure(gn_sheet *sheet, gn_figure_kind kind, const gn_figure_source *source, gn_sheet_box box, double unit) {
  gn_figure_one one = {kind, source, NULL};
  return gn_sheet_drawing(sheet, gn_figure_draw_one, &one, (gn_sheet_drawn){box, unit, gn_figure_height(kind, floor(box.width / (unit * sheet->scale)))});
}
