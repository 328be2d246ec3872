// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Cairo's SVG made fit to stand in a page: several pictures share one set of ids, the page's content policy allows no
// style attribute, and dark mode needs colours by name.
#include "report/figures.h"

#include <cairo-svg.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "report/figures_plot.h"

static cairo_status_t collect(void *closure, const unsigned char *data, unsigned int n) {
  gn_html *svg = closure;
  gn_html_bytes(svg, (const char *)data, n);
  return svg->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

// "12.5%," by hand: strtod would follow the locale. *at ends behind the comma.
static double percent(const char **at) {
  double value = 0, place = 1;
  for (; **at >= '0' && **at <= '9'; (*at)++) value = value * 10 + (**at - '0');
  if (**at == '.') (*at)++;
  for (; **at >= '0' && **at <= '9'; (*at)++) value += (**at - '0') * (place /= 10);
  while (**at == '%' || **at == ',' || **at == ' ') (*at)++;
  return value;
}

// "rgb(12.156863%,16.078431%,20%)" as the palette's colour; GN_N_COLOURS when it is none of them.
static int palette_index(const char *rgb) {
  double part[3];
  const char *at = rgb + 4;
  for (int i = 0; i < 3; i++) part[i] = percent(&at);
  for (int i = 0; i < GN_N_COLOURS; i++)
    if (fabs(part[0] * 2.55 - gn_palette[i].red) < 0.6 && fabs(part[1] * 2.55 - gn_palette[i].green) < 0.6 && fabs(part[2] * 2.55 - gn_palette[i].blue) < 0.6)
      return i;
  return GN_N_COLOURS;
}

static bool is_default(const char *name, size_t n_name, const char *value, size_t n_value) {
  static const char *const DEFAULTS[][2] = {{"fill-rule", "nonzero"},   {"fill-opacity", "1"},       {"stroke-opacity", "1"},
                                            {"stroke-linecap", "butt"}, {"stroke-miterlimit", "10"}, {"stroke", "none"}};
  for (size_t i = 0; i < sizeof DEFAULTS / sizeof DEFAULTS[0]; i++)
    if (strlen(DEFAULTS[i][0]) == n_name && !memcmp(DEFAULTS[i][0], name, n_name) && strlen(DEFAULTS[i][1]) == n_value &&
        !memcmp(DEFAULTS[i][1], value, n_value))
      return true;
  return false;
}

// "a:b;c:d;" as attributes a="b" c="d", and the colours' classes.
static void write_style(gn_html *out, const char *style, const char *end) {
  char classes[64] = "";
  while (style < end) {
    while (style < end && (*style == ' ' || *style == ';')) style++;
    const char *colon = memchr(style, ':', (size_t)(end - style));
    if (!colon) break;
    const char *stop = memchr(colon, ';', (size_t)(end - colon));
    if (!stop) stop = end;
    const size_t n_name = (size_t)(colon - style), n_value = (size_t)(stop - colon - 1);
    const bool is_fill = n_name == 4 && !memcmp(style, "fill", 4);
    if (n_value > 4 && !memcmp(colon + 1, "rgb(", 4)) {
      const int colour = palette_index(colon + 1);
      if (colour < GN_N_COLOURS) {
        const size_t n = strlen(classes);
        snprintf(classes + n, sizeof classes - n, "%s%c-%s", n ? " " : "", is_fill ? 'f' : 's', gn_palette[colour].name);
        gn_html_format(out, " %s=\"#%02x%02x%02x\"", is_fill ? "fill" : "stroke", gn_palette[colour].red, gn_palette[colour].green, gn_palette[colour].blue);
      }
    } else if (!is_default(style, n_name, colon + 1, n_value)) {
      gn_html_raw(out, " ");
      gn_html_bytes(out, style, n_name);
      gn_html_raw(out, "=\"");
      gn_html_bytes(out, colon + 1, n_value);
      gn_html_raw(out, "\"");
    }
    style = stop;
  }
  if (*classes) gn_html_format(out, " class=\"%s\"", classes);
}

static inline const char *starts(const char *s, const char *what) {
  while (*what && *s == *what) s++, what++;
  return *what ? NULL : s;
}

// A copy with every number cut to two decimals: a hundredth of a pixel, and half the size.
static void copy_short(gn_html *out, const char *from, const char *to) {
  const char *done = from;
  for (const char *s = from; s < to; s++) {
    if (*s != '.' || s + 3 >= to) continue;
    const char *end = s + 1;
    while (end < to && *end >= '0' && *end <= '9') end++;
    if (end <= s + 3) continue;
    gn_html_bytes(out, done, (size_t)(s + 3 - done));
    done = end;
    s = end - 1;
  }
  gn_html_bytes(out, done, (size_t)(to - done));
}

// "glyph0-12" as "g0-12": a label's letters name their shapes some thousand times. "image7" as "image": that number counts
// through the life of the process, and no picture has two.
static const char *write_short_id(gn_html *out, const char *id) {
  const char *after = starts(id, "glyph");
  if (after) {
    gn_html_raw(out, "g");
    return after;
  }
  if (!(after = starts(id, "image"))) return id;
  gn_html_raw(out, "image");
  while (*after >= '0' && *after <= '9') after++;
  return after;
}

// " style=\"...\"" and what names another element: written anew with what came before it. NULL: nothing to change.
static const char *change_style(const char *after, gn_html *out, const char *from, const char *s) {
  const char *end = strchr(after, '"');
  if (!end) return NULL;
  copy_short(out, from, s);
  write_style(out, after, end);
  return end + 1;
}

static const char *change_name(const char *after, const char *instead, const char *prefix, gn_html *out) {
  gn_html_raw(out, instead);
  gn_html_raw(out, prefix);
  return write_short_id(out, after);
}

// Where to go on when something to change starts at s (written out then, from `from` on); NULL when nothing does. Nothing of cairo's
// numbering of surfaces is kept: it counts through the life of the process. A page holds a megabyte of this: the second letter
// tells most of what is none.
static const char *change(const char *s, const char *prefix, gn_html *out, const char *from) {
  const char *after;
  if (*s == ' ' && s[1] == 's' && (after = starts(s, " style=\""))) return change_style(after, out, from, s);
  if (*s == ' ' && s[1] == 'i' && (after = starts(s, " id=\""))) {
    copy_short(out, from, s);
    const char *surface = starts(after, "surface"), *end = surface ? strchr(surface, '"') : NULL;
    return end ? end + 1 : change_name(after, " id=\"", prefix, out);
  }
  if (*s == ' ' && s[1] == 'x' && (after = starts(s, " xlink:href=\""))) {
    copy_short(out, from, s);
    if (*after == '#') return change_name(after + 1, " href=\"#", prefix, out);
    gn_html_raw(out, " href=\""); // an image's own data
    return after;
  }
  if (*s == 'u' && s[1] == 'r' && (after = starts(s, "url(#"))) {
    copy_short(out, from, s);
    return change_name(after, "url(#", prefix, out);
  }
  return NULL;
}

static void rewrite(const char *svg, const char *prefix, gn_html *out) {
  const char *s = strstr(svg, "<svg"), *from, *next;
  s = s ? strchr(s, '>') : NULL;
  if (!s) return;
  for (from = ++s; *(s += strcspn(s, " u<")) && !(*s == '<' && starts(s, "</svg>"));) {
    next = *s == '<' ? NULL : change(s, prefix, out, from);
    if (next) from = s = next;
    else s++;
  }
  copy_short(out, from, s);
}

girthline_status gn_figure_svg_of(gn_figure_drawer draw, void *user, const double size[2], const char *prefix, gn_html *out, girthline_error *error) {
  gn_html svg = {0};
  cairo_surface_t *surface = cairo_svg_surface_create_for_stream(collect, &svg, size[0], size[1]);
  cairo_t *cr = cairo_create(surface);
  gn_html letters = {0};
  gn_plot_letters(cr, &letters);
  girthline_status status = draw(user, cr, size[0], error);
  cairo_destroy(cr);
  cairo_surface_finish(surface);
  if (!status && (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS || svg.failed || letters.failed)) status = gn_error_memory(error, "report");
  cairo_surface_destroy(surface);
  if (!status) rewrite(svg.text, prefix, out);
  if (!status && letters.n) {
    gn_html_raw(out, "<g font-family=\"DejaVu Sans,Verdana,Noto Sans,sans-serif\" font-size=\"12\">\n"); // as it was measured, or as wide
    gn_html_bytes(out, letters.text, letters.n);
    gn_html_raw(out, "</g>\n");
  }
  gn_html_clear(&letters);
  gn_html_clear(&svg);
  return !status && out->failed ? gn_error_memory(error, "report") : status;
}

girthline_status gn_figure_svg(gn_figure_kind kind, const gn_figure_source *source, double width, const char *prefix, gn_html *out, gn_figure_area *area,
                               girthline_error *error) {
  gn_figure_one one = {kind, source, area};
  return gn_figure_svg_of(gn_figure_draw_one, &one, (double[]){width, gn_figure_height(kind, width)}, prefix, out, error);
}
