// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/pdf_front.h"

#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "report/pdf_pages.h"

#define FULL (GN_SHEET_WIDTH - 2 * GN_SHEET_MARGIN)
#define BOTTOM (GN_SHEET_HEIGHT - GN_SHEET_MARGIN - 4.0)
#define GAP 14.0
#define PANELS 3 ///< beside one another
#define PANEL_ROOM 100.0
#define CELL_GAP 8.0
#define UNIT 0.6         ///< points to a picture's unit, as on the recordings' pages
#define HEADING_ROOM 70.0 ///< a heading does not stand alone at a page's end
#define CAPTION_ROOM 24.0
#define LABEL_WIDTH 92.0 ///< as on the recordings' pages
#define LABEL_DOWN 1.0   ///< a label stands on its text's line

typedef struct front_page {
  gn_sheet *sheet;
  const gn_front *front;
  const gn_front_line *head; ///< of the table that is being written
  size_t n_recordings;
  int number;
} front_page;

static void end_page(front_page *p) {
  gn_sheet *s = p->sheet;
  gn_buffer b = {0};
  gn_buffer_printf(&b, "%s, page %d%s. Screening aid, not a diagnosis. Made by girthline %s.", p->front->name, p->number,
                   p->n_recordings ? " before the recordings" : "", girthline_version());
  s->y = GN_SHEET_HEIGHT - GN_SHEET_MARGIN + 4;
  gn_sheet_words(s, GN_SHEET_SMALL, GN_WAVE, &b);
  cairo_show_page(s->cr);
  s->y = GN_SHEET_MARGIN;
  p->number++;
}

// True where a page was ended for it.
static bool need(front_page *p, double height) {
  if (!(p->sheet->y + height > BOTTOM && p->sheet->y > GN_SHEET_MARGIN)) return false;
  end_page(p);
  return true;
}

static double panel_width(void) { return (FULL - (PANELS - 1) * GAP) / PANELS; }

// What a heading must not be parted from: a picture under it, or under the title under it.
static double room_below(const front_page *p, const gn_front_line *line) {
  const gn_front_line *end = p->front->lines + p->front->n_lines;
  for (line++; line < end && line->kind == GN_FRONT_STRONG;) line++;
  if (line == end) return 0;
  return line->kind == GN_FRONT_PANELS ? PANEL_ROOM : line->kind == GN_FRONT_PICTURE ? line->height * UNIT + CAPTION_ROOM : 0;
}

static void heading(front_page *p, const gn_front_line *line) {
  need(p, HEADING_ROOM + room_below(p, line));
  gn_sheet_heading(p->sheet, line->text);
}

static void text_line(front_page *p, const gn_front_line *line) {
  static const gn_sheet_style STYLES[] = {GN_SHEET_NAME, GN_SHEET_HEADING, GN_SHEET_SAID, GN_SHEET_STRONG, GN_SHEET_BODY, GN_SHEET_SMALL, GN_SHEET_BODY};
  gn_sheet *s = p->sheet;
  const gn_sheet_style style = STYLES[line->kind];
  s->dry = true;
  const double height = gn_sheet_text(s, style, GN_INK, (gn_sheet_box){GN_SHEET_MARGIN, s->y, FULL}, line->text);
  s->dry = false;
  need(p, height + (line->kind == GN_FRONT_STRONG ? room_below(p, line) : 0));
  gn_sheet_line(s, style, line->kind == GN_FRONT_SMALL ? GN_WAVE : GN_INK, line->text);
  gn_sheet_gap(s, line->kind == GN_FRONT_SMALL ? 4 : 1);
}

// One row's cells from y down; returns the height of the tallest.
static double cells(front_page *p, const gn_front_line *line) {
  gn_sheet *s = p->sheet;
  double x = GN_SHEET_MARGIN, tallest = 0;
  const char *from = line->text;
  for (int i = 0; i < GN_FRONT_COLUMNS; i++) {
    const size_t n = strcspn(from, "\t");
    const double width = p->front->columns[i] * FULL;
    const bool strong = !i && line->kind == GN_FRONT_ROW_TOLD;
    gn_buffer cell = {0};
    gn_buffer_add(&cell, from, n);
    if (cell.refused) s->status = gn_error_memory(s->error, "report");
    const double height = gn_sheet_text(s, strong ? GN_SHEET_STRONG_SMALL : GN_SHEET_SMALL, line->kind == GN_FRONT_HEAD ? GN_WAVE : GN_INK,
                                        (gn_sheet_box){x, s->y, width - CELL_GAP}, cell.text);
    gn_buffer_clear(&cell);
    tallest = height > tallest ? height : tallest;
    x += width;
    from += n;
    if (*from) from++;
  }
  return tallest;
}

static void table_line(front_page *p, const gn_front_line *line) {
  gn_sheet *s = p->sheet;
  s->dry = true;
  const double height = line->kind == GN_FRONT_GROUP ? 0 : cells(p, line);
  s->dry = false;
  if (line->kind == GN_FRONT_HEAD) p->head = line;
  if (need(p, line->kind == GN_FRONT_GROUP ? HEADING_ROOM : height + 3) && p->head && p->head != line) table_line(p, p->head);
  if (line->kind == GN_FRONT_GROUP) {
    gn_sheet_gap(s, 5);
    gn_sheet_line(s, GN_SHEET_STRONG, GN_INK, line->text);
    gn_sheet_gap(s, 1);
    return;
  }
  gn_sheet_rule(s);
  gn_sheet_gap(s, 1.5);
  s->y += cells(p, line);
  gn_sheet_gap(s, 1.5);
}

// The n-th of the texts parted by tabs into the sheet, in a column beside the label's; empty ones take no room.
static double beside(gn_sheet *s, const char *text, gn_sheet_box at, const gn_sheet_style *styles) {
  double height = 0;
  for (int i = 0; *text && i < 4; i++) {
    const size_t n = strcspn(text, "\t");
    const gn_sheet_box box = {i ? at.x + LABEL_WIDTH : at.x, i ? at.y + height : at.y + LABEL_DOWN, i ? at.width - LABEL_WIDTH : LABEL_WIDTH - CELL_GAP};
    gn_buffer part = {0};
    gn_buffer_add(&part, text, n);
    if (part.refused) s->status = gn_error_memory(s->error, "report");
    const double tall = gn_sheet_text(s, styles[i], i == 0 || styles[i] == GN_SHEET_SMALL ? GN_WAVE : GN_INK, box, part.text);
    if (i) height += tall;
    gn_buffer_clear(&part);
    text += n + (text[n] == '\t');
  }
  return height;
}

static void labelled(front_page *p, const gn_front_line *line) {
  static const gn_sheet_style ANSWER[] = {GN_SHEET_BODY, GN_SHEET_SAID, GN_SHEET_BODY, GN_SHEET_SMALL}, FINDING[] = {GN_SHEET_BODY, GN_SHEET_STRONG, GN_SHEET_BODY, GN_SHEET_SMALL};
  gn_sheet *s = p->sheet;
  const gn_sheet_style *styles = line->kind == GN_FRONT_ANSWER ? ANSWER : FINDING;
  s->dry = true;
  const double height = beside(s, line->text, (gn_sheet_box){GN_SHEET_MARGIN, s->y, FULL}, styles);
  s->dry = false;
  need(p, height);
  s->y += beside(s, line->text, (gn_sheet_box){GN_SHEET_MARGIN, s->y, FULL}, styles);
  gn_sheet_gap(s, 4);
}

static void picture(front_page *p, const gn_front_line *line) {
  gn_sheet *s = p->sheet;
  const double height = line->height * UNIT * s->scale;
  need(p, height + CAPTION_ROOM);
  s->y += gn_sheet_drawing(s, line->draw, line->user, (gn_sheet_drawn){{GN_SHEET_MARGIN, s->y, FULL}, UNIT, line->height});
  gn_sheet_line(s, GN_SHEET_SMALL, GN_WAVE, line->text);
  gn_sheet_gap(s, 6);
}

// One panel from y down, its words in its width; returns its height.
static double panel_at(gn_sheet *s, const gn_front_panel *panel, double x, double y) {
  const double width = panel_width();
  double height = gn_sheet_text(s, GN_SHEET_STRONG, GN_INK, (gn_sheet_box){x, y, width}, panel->title);
  if (panel->draw) height += gn_sheet_drawing(s, panel->draw, panel->user, (gn_sheet_drawn){{x, y + height, width}, width / panel->width, panel->height});
  return height + gn_sheet_text(s, GN_SHEET_SMALL, GN_INK, (gn_sheet_box){x, y + height, width}, panel->caption);
}

static double row_of_panels(gn_sheet *s, const gn_front *front, size_t first, bool dry) {
  double tallest = 0;
  s->dry = dry;
  for (size_t i = first; i < front->n_panels && i < first + PANELS; i++) {
    const double height = panel_at(s, &front->panels[i], GN_SHEET_MARGIN + (double)(i - first) * (panel_width() + GAP), s->y);
    tallest = height > tallest ? height : tallest;
  }
  s->dry = false;
  return tallest;
}

static void panels(front_page *p, const gn_front_line *line) {
  for (size_t i = 0; i < p->front->n_panels && !p->sheet->status; i += PANELS) {
    need(p, row_of_panels(p->sheet, p->front, i, true));
    p->sheet->y += row_of_panels(p->sheet, p->front, i, false);
    gn_sheet_gap(p->sheet, 6);
  }
  gn_sheet_line(p->sheet, GN_SHEET_SMALL, GN_WAVE, line->text);
}

static double fact_at(gn_sheet *s, double x, double width, const char *text) { return gn_sheet_text(s, GN_SHEET_BODY, GN_INK, (gn_sheet_box){x, s->y, width}, text); }

// Two facts that both take one line of half the width stand beside one another: true where they did.
static bool two_facts(front_page *p, const gn_front_line *line) {
  const double half = (FULL - GAP) / 2, right = GN_SHEET_MARGIN + half + GAP;
  gn_sheet *s = p->sheet;
  if (line + 1 >= p->front->lines + p->front->n_lines || line[0].kind != GN_FRONT_FACT || line[1].kind != GN_FRONT_FACT) return false;
  s->dry = true;
  const double one = fact_at(s, GN_SHEET_MARGIN, half, "X"), first = fact_at(s, GN_SHEET_MARGIN, half, line[0].text), second = fact_at(s, right, half, line[1].text);
  s->dry = false;
  if (first > one || second > one) return false;
  need(p, one);
  fact_at(s, GN_SHEET_MARGIN, half, line[0].text);
  s->y += fact_at(s, right, half, line[1].text);
  gn_sheet_gap(s, 1);
  return true;
}

static void one_line(front_page *p, const gn_front_line *line) {
  switch (line->kind) {
  case GN_FRONT_TITLE: gn_sheet_title(p->sheet, line->text); break;
  case GN_FRONT_HEADING: heading(p, line); break;
  case GN_FRONT_ANSWER:
  case GN_FRONT_FINDING: labelled(p, line); break;
  case GN_FRONT_PANELS: panels(p, line); break;
  case GN_FRONT_PICTURE: picture(p, line); break;
  case GN_FRONT_HEAD:
  case GN_FRONT_GROUP:
  case GN_FRONT_ROW:
  case GN_FRONT_ROW_TOLD: table_line(p, line); break;
  case GN_FRONT_SAID:
  case GN_FRONT_STRONG:
  case GN_FRONT_BODY:
  case GN_FRONT_FACT:
  case GN_FRONT_SMALL: text_line(p, line); break;
  }
}

void gn_front_draw(gn_sheet *sheet, const gn_front *front, size_t n_recordings) {
  front_page p = {sheet, front, NULL, n_recordings, 1};
  sheet->scale = 1;
  sheet->y = GN_SHEET_MARGIN;
  for (size_t i = 0; i < front->n_lines && !sheet->status; i++) {
    if (two_facts(&p, &front->lines[i])) i++;
    else one_line(&p, &front->lines[i]);
  }
  end_page(&p);
}
