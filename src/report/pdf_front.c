// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/pdf_front.h"

#include <girthline/version.h>

#include "report/pdf_pages.h"

#define FULL (GN_SHEET_WIDTH - 2 * GN_SHEET_MARGIN)
#define BOTTOM (GN_SHEET_HEIGHT - GN_SHEET_MARGIN - 4.0)
#define GAP 14.0
#define UNIT 0.6         ///< points to a picture's unit, as on the recordings' pages
#define HEADING_ROOM 70.0 ///< a heading does not stand alone at a page's end

typedef struct front_page {
  gn_sheet *sheet;
  const gn_front *front;
  int number;
} front_page;

static void end_page(front_page *p) {
  gn_sheet *s = p->sheet;
  gn_buffer b = {0};
  gn_buffer_printf(&b, "%s, page %d before the recordings. Screening aid, not a diagnosis. Made by girthline %s.", p->front->name, p->number, girthline_version());
  s->y = GN_SHEET_HEIGHT - GN_SHEET_MARGIN + 4;
  gn_sheet_words(s, GN_SHEET_SMALL, GN_WAVE, &b);
  cairo_show_page(s->cr);
  s->y = GN_SHEET_MARGIN;
  p->number++;
}

static void need(front_page *p, double height) {
  if (p->sheet->y + height > BOTTOM && p->sheet->y > GN_SHEET_MARGIN) end_page(p);
}

static double figure_width(void) { return (FULL - GAP) / 2; }

static double row_height(void) { return 14 + gn_figure_height(GN_FIGURE_CYCLE, figure_width() / UNIT) * UNIT; }

static void text_line(front_page *p, const gn_front_line *line) {
  static const gn_sheet_style STYLES[] = {GN_SHEET_NAME, GN_SHEET_HEADING, GN_SHEET_SAID, GN_SHEET_STRONG, GN_SHEET_BODY, GN_SHEET_SMALL};
  gn_sheet *s = p->sheet;
  const gn_sheet_style style = STYLES[line->kind];
  if (line->kind == GN_FRONT_TITLE) {
    gn_sheet_title(s, line->text);
    return;
  }
  if (line->kind == GN_FRONT_HEADING) {
    const bool before_areas = line + 1 < p->front->lines + p->front->n_lines && line[1].kind == GN_FRONT_AREAS;
    need(p, before_areas ? HEADING_ROOM + row_height() : HEADING_ROOM);
    gn_sheet_heading(s, line->text);
    return;
  }
  s->dry = true;
  const double height = gn_sheet_text(s, style, GN_INK, (gn_sheet_box){GN_SHEET_MARGIN, s->y, FULL}, line->text);
  s->dry = false;
  need(p, height);
  gn_sheet_line(s, style, line->kind == GN_FRONT_SMALL ? GN_WAVE : GN_INK, line->text);
  gn_sheet_gap(s, line->kind == GN_FRONT_SMALL ? 4 : 1);
}

static void areas(front_page *p, const girthline_report_input *inputs, size_t n) {
  gn_sheet *s = p->sheet;
  gn_figure_scale scale;
  if (!n) return;
  if (!gn_figure_scale_of(inputs, n, &scale)) {
    s->status = GIRTHLINE_NO_MEMORY;
    return;
  }
  const double width = figure_width();
  size_t column = 0;
  double tallest = 0, top = 0;
  for (size_t i = 0; i < n && !s->status; i++) {
    const gn_figure_source source = {inputs[i].result, NULL, &scale};
    if (!gn_figure_has(GN_FIGURE_CYCLE, &source)) continue;
    if (!column) {
      need(p, row_height());
      top = s->y;
      tallest = 0;
    }
    const double x = GN_SHEET_MARGIN + (double)column * (width + GAP);
    double height = gn_sheet_text(s, GN_SHEET_STRONG, GN_INK, (gn_sheet_box){x, top, width}, p->front->titles[i]);
    height += gn_sheet_figure(s, GN_FIGURE_CYCLE, &source, (gn_sheet_box){x, top + height, width}, UNIT);
    tallest = height > tallest ? height : tallest;
    column = (column + 1) % 2;
    s->y = column ? top : top + tallest;
  }
  if (column) s->y = top + tallest;
}

void gn_front_draw(gn_sheet *sheet, const gn_front *front, const girthline_report_input *inputs, size_t n) {
  front_page p = {sheet, front, 1};
  sheet->scale = 1;
  sheet->y = GN_SHEET_MARGIN;
  for (size_t i = 0; i < front->n_lines && !sheet->status; i++)
    if (front->lines[i].kind == GN_FRONT_AREAS) areas(&p, inputs, n);
    else text_line(&p, &front->lines[i]);
  end_page(&p);
}
