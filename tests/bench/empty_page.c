// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// One empty page drawn with cairo and pango in a process of its own: what every program that draws has to pay.
#include <cairo-svg.h>
#include <pango/pangocairo.h>

static cairo_status_t drop(void *closure, const unsigned char *data, unsigned int n) {
  (void)closure;
  (void)data;
  (void)n;
  return CAIRO_STATUS_SUCCESS;
}

int main(void) {
  cairo_surface_t *surface = cairo_svg_surface_create_for_stream(drop, NULL, 595, 842); // A4 in points
  cairo_t *cr = cairo_create(surface);
  PangoLayout *layout = pango_cairo_create_layout(cr);
  PangoFontDescription *font = pango_font_description_from_string("DejaVu Sans 9");
  pango_layout_set_font_description(layout, font);
  pango_layout_set_text(layout, " ", -1); // a blank, so that the font is looked for as for any letter
  pango_cairo_show_layout(cr, layout);
  pango_font_description_free(font);
  g_object_unref(layout);
  cairo_destroy(cr);
  cairo_surface_finish(surface);
  const int failed = cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS;
  cairo_surface_destroy(surface);
  return failed;
}
