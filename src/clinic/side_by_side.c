// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/side_by_side.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "clinic/parts.h"
#include "report/buffer.h"
#include "report/page_words.h"
#include "report/text_parts.h"

const char gn_exam_areas_words[] =
    "The average cycle at each place, all on the same scales: across, seconds after S1; upwards, dB above that recording's own quiet. Thin line: 45 to 90 Hz, the heart sounds. "
    "Thick line: the loudest of the bands from 90 to 700 Hz, where murmurs show. The quiet differs between recordings: hold murmurs against S1, not against another place's height.";

static void small(char *text) {
  if (*text >= 'A' && *text <= 'Z') *text = (char)(*text - 'A' + 'a');
}

static void large(char *text) {
  if (*text >= 'a' && *text <= 'z') *text = (char)(*text - 'a' + 'A');
}

static void put_murmurs(gn_buffer *b, const girthline_murmur *m) {
  char level[24];
  if (m->present == GIRTHLINE_NO) gn_buffer_puts(b, "; no murmur found");
  else if (m->present != GIRTHLINE_YES) gn_buffer_puts(b, "; murmur not determined");
  for (size_t i = 0; i < m->n_phases && i < 4; i++) {
    gn_buffer_printf(b, "; murmur %s %s", gn_page_timing(m->phases[i].timing), gn_page_phase(m->phases[i].phase));
    if (isfinite(m->phases[i].level_db)) gn_buffer_printf(b, ", %s\xC2\xA0" "dB against S1", gn_exam_signed(m->phases[i].level_db, level));
  }
}

static char *caption(const gn_examined *x, size_t i) {
  const girthline_result *r = x->recordings[i].result;
  gn_buffer b = {0};
  char pattern[80];
  if (!gn_exam_usable(x, i)) return gn_strdup(r ? "Recorded, but unusable." : "Not analysed.");
  const double rate = gn_text_bpm(r);
  snprintf(pattern, sizeof pattern, "%s", gn_page_pattern(r->rhythm.pattern));
  if (isfinite(rate)) {
    gn_buffer_fixed(&b, gn_rounded(rate, 2), 0);
    gn_buffer_puts(&b, " a minute; ");
    small(pattern);
  }
  gn_buffer_puts(&b, pattern);
  put_murmurs(&b, &r->murmur);
  gn_buffer_puts(&b, ".");
  return gn_buffer_take(&b);
}

static char *title(const gn_examined *x, size_t i) {
  const gn_exam_recording *rec = &x->exam->recordings[i];
  char place[GN_EXAM_PLACE_BYTES];
  const char *name = gn_exam_place(x, i, place);
  const bool unplaced = name == rec->name; // its minutes are not in it yet
  char *text = rec->minutes_after_exercise >= 0 && unplaced ? gn_strprintf("%s, %.12g min after exercise", name, gn_rounded(rec->minutes_after_exercise, 2)) : gn_strdup(name);
  if (text) large(text);
  return text;
}

girthline_status gn_exam_areas_read(const gn_examined *x, gn_exam_areas *out, girthline_error *error) {
  gn_area_panel axes = GN_AREA_AXES;
  *out = (gn_exam_areas){.items = gn_new(x->exam->n_recordings, sizeof *out->items)};
  if (!out->items) return gn_error_memory(error, "exam");
  out->n = x->exam->n_recordings;
  bool refused = false;
  for (size_t i = 0; i < out->n; i++) {
    gn_exam_area *area = &out->items[i];
    *area = (gn_exam_area){.title = title(x, i), .caption = caption(x, i)};
    refused = refused || !area->title || !area->caption;
    if (gn_exam_usable(x, i) && gn_area_widen(&axes, x->recordings[i].result)) area->panel.result = x->recordings[i].result;
  }
  for (size_t i = 0; i < out->n; i++) {
    memcpy(out->items[i].panel.time_s, axes.time_s, sizeof axes.time_s);
    memcpy(out->items[i].panel.level_db, axes.level_db, sizeof axes.level_db);
  }
  return refused ? gn_error_memory(error, "exam") : GIRTHLINE_OK;
}

void gn_exam_areas_clear(gn_exam_areas *areas) {
  for (size_t i = 0; i < areas->n; i++) {
    gn_free(areas->items[i].title);
    gn_free(areas->items[i].caption);
  }
  gn_free(areas->items);
  *areas = (gn_exam_areas){0};
}

static girthline_status put_area(gn_html *h, const gn_exam_area *area, size_t number, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  char prefix[40];
  gn_html_format(h, "<figure>\n<h4 id=\"area-%zu\">", number);
  gn_html_text(h, area->title);
  gn_html_raw(h, "</h4>\n");
  if (area->panel.result) {
    snprintf(prefix, sizeof prefix, "q%zu-", number);
    gn_html_format(h, "<svg role=\"img\" aria-labelledby=\"area-%zu\" viewBox=\"0 0 %.0f %.0f\">", number, GN_AREA_WIDTH, GN_AREA_HEIGHT);
    status = gn_area_svg(&area->panel, prefix, h, error);
    gn_html_raw(h, "</svg>\n");
  }
  gn_html_raw(h, "<figcaption>");
  gn_html_prose(h, area->caption);
  gn_html_raw(h, "</figcaption>\n</figure>\n");
  return status;
}

girthline_status gn_exam_side_by_side(gn_html *h, const gn_examined *x, girthline_error *error) {
  gn_exam_areas areas;
  girthline_status status = gn_exam_areas_read(x, &areas, error);
  bool any = false;
  for (size_t i = 0; i < areas.n; i++) any = any || areas.items[i].panel.result;
  gn_html_raw(h, "<section class=\"beside-areas\">\n<h3>The areas beside one another</h3>\n");
  if (any) gn_html_format(h, "<p class=\"why\">%s</p>\n", gn_exam_areas_words);
  gn_html_raw(h, "<div class=\"areas\">\n");
  for (size_t i = 0; i < areas.n && !status; i++) status = put_area(h, &areas.items[i], i + 1, error);
  gn_html_raw(h, "</div>\n</section>\n");
  gn_exam_areas_clear(&areas);
  return status;
}
