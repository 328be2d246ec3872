// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/side_by_side.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "clinic/parts.h"
#include "report/page.h"

// Lengths in the picture's own units.
static const double WIDTH = 250, HEIGHT = 150, LEFT = 30, RIGHT = 236, TOP = 22, BOTTOM = 126;
static const double STEP_DB = 10; ///< between the lines of the level scale

typedef struct scales {
  double from_s, to_s, low_db, high_db;
} scales;

static double px(const scales *s, double time_s) { return LEFT + (RIGHT - LEFT) * (time_s - s->from_s) / (s->to_s - s->from_s); }
static double py(const scales *s, double db) { return BOTTOM - (BOTTOM - TOP) * (db - s->low_db) / (s->high_db - s->low_db); }

static double bin_s(const girthline_pictures *p, int i) { return p->cycle_start_s + (i + 0.5) * p->cycle_step_s; }

// The loudest of the bands from 90 Hz on: where a murmur shows and the heart sounds have all but ended.
static double upper_db(const girthline_pictures *p, int i) {
  double most = (double)NAN;
  for (int b = 1; b < GIRTHLINE_CYCLE_BANDS; b++) most = fmax(most, (double)p->cycle_db[b][i]);
  return most;
}

static bool has_cycle(const gn_examined *x, size_t i) { return gn_exam_usable(x, i) && x->recordings[i].result->pictures.n_cycle_beats > 0; }

static bool find_scales(const gn_examined *x, scales *s) {
  bool any = false;
  *s = (scales){0, 0.1, 0, STEP_DB};
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!has_cycle(x, i)) continue;
    const girthline_pictures *p = &x->recordings[i].result->pictures;
    any = true;
    s->from_s = fmin(s->from_s, p->cycle_start_s);
    s->to_s = fmax(s->to_s, p->cycle_start_s + GIRTHLINE_CYCLE_BINS * p->cycle_step_s);
    for (int b = 0; b < GIRTHLINE_CYCLE_BANDS; b++)
      for (int k = 0; k < GIRTHLINE_CYCLE_BINS; k++) {
        if (!isfinite(p->cycle_db[b][k])) continue;
        s->low_db = fmin(s->low_db, (double)p->cycle_db[b][k]);
        s->high_db = fmax(s->high_db, (double)p->cycle_db[b][k]);
      }
  }
  s->low_db = STEP_DB * floor(s->low_db / STEP_DB);
  s->high_db = STEP_DB * ceil(s->high_db / STEP_DB);
  return any;
}

static void number_attribute(gn_html *h, const char *name, double value) {
  gn_html_format(h, " %s=\"", name);
  gn_html_number(h, value, 1);
  gn_html_raw(h, "\"");
}

static void rule(gn_html *h, const char *class, const double from[2], const double to[2]) {
  gn_html_format(h, "<line class=\"%s\"", class);
  number_attribute(h, "x1", from[0]);
  number_attribute(h, "y1", from[1]);
  number_attribute(h, "x2", to[0]);
  number_attribute(h, "y2", to[1]);
  gn_html_raw(h, "/>");
}

static void letters(gn_html *h, const double at[2], const char *anchor, const char *text) {
  gn_html_format(h, "<text class=\"lettering f-ink\" text-anchor=\"%s\"", anchor);
  number_attribute(h, "x", at[0]);
  number_attribute(h, "y", at[1]);
  gn_html_raw(h, ">");
  gn_html_text(h, text);
  gn_html_raw(h, "</text>");
}

static void axes(gn_html *h, const scales *s) {
  char text[24];
  for (double db = s->low_db; db <= s->high_db + 0.5; db += 2 * STEP_DB) {
    rule(h, "s-faint", (double[]){LEFT, py(s, db)}, (double[]){RIGHT, py(s, db)});
    snprintf(text, sizeof text, "%.0f", db);
    letters(h, (double[]){LEFT - 3, py(s, db) + 4}, "end", text);
  }
  const double step_s = s->to_s - s->from_s > 1.2 ? 0.5 : s->to_s - s->from_s > 0.6 ? 0.2 : 0.1;
  for (double t = 0; t < s->to_s; t += step_s) {
    rule(h, "s-ink", (double[]){px(s, t), BOTTOM}, (double[]){px(s, t), BOTTOM + 3});
    snprintf(text, sizeof text, "%.1f", t);
    letters(h, (double[]){px(s, t), BOTTOM + 15}, "middle", text);
  }
}

static void curve(gn_html *h, const scales *s, const girthline_pictures *p, bool upper) {
  bool down = false;
  gn_html_format(h, "<path class=\"%s\" fill=\"none\" stroke-width=\"%s\" d=\"", upper ? "s-second" : "s-first", upper ? "1.8" : "1.2");
  for (int i = 0; i < GIRTHLINE_CYCLE_BINS; i++) {
    const double db = upper ? upper_db(p, i) : (double)p->cycle_db[0][i];
    if (!isfinite(db)) {
      down = false;
      continue;
    }
    gn_html_raw(h, down ? "L" : "M");
    gn_html_number(h, px(s, bin_s(p, i)), 1);
    gn_html_raw(h, " ");
    gn_html_number(h, py(s, db), 1);
    down = true;
  }
  gn_html_raw(h, "\"/>");
}

static void murmur_bars(gn_html *h, const scales *s, const girthline_result *r) {
  const girthline_pictures *p = &r->pictures;
  const double systole = p->cycle_systole_s, rest = p->cycle_interval_s - systole;
  for (size_t i = 0; i < r->murmur.n_phases && i < 4; i++) {
    const girthline_murmur_phase *m = &r->murmur.phases[i];
    const double a = isfinite(m->start_fraction) ? m->start_fraction : 0, b = isfinite(m->end_fraction) ? m->end_fraction : 1;
    const double from = m->phase == GIRTHLINE_DIASTOLE ? systole + a * rest : m->phase == GIRTHLINE_SYSTOLE ? a * systole : 0;
    const double to = m->phase == GIRTHLINE_DIASTOLE ? systole + b * rest : m->phase == GIRTHLINE_SYSTOLE ? b * systole : p->cycle_interval_s;
    if (!isfinite(from) || !isfinite(to)) continue;
    rule(h, "s-note murmur-bar", (double[]){px(s, from), TOP - 6}, (double[]){px(s, fmin(to, s->to_s)), TOP - 6});
    letters(h, (double[]){px(s, (from + fmin(to, s->to_s)) / 2), TOP - 10}, "middle", "murmur");
  }
}

static void picture(gn_html *h, const scales *s, const girthline_result *r) {
  gn_html_raw(h, "<svg role=\"img\" aria-label=\"Average cycle: level over time\"");
  gn_html_raw(h, " viewBox=\"0 0 ");
  gn_html_number(h, WIDTH, 0);
  gn_html_raw(h, " ");
  gn_html_number(h, HEIGHT, 0);
  gn_html_raw(h, "\">");
  axes(h, s);
  curve(h, s, &r->pictures, false);
  curve(h, s, &r->pictures, true);
  murmur_bars(h, s, r);
  gn_html_raw(h, "</svg>\n");
}

static void caption(gn_html *h, const girthline_result *r) {
  const double rate = isfinite(r->rate.settled_bpm) ? r->rate.settled_bpm : r->rate.bpm;
  if (isfinite(rate)) {
    gn_html_number(h, rate, 0);
    gn_html_raw(h, " a minute; ");
  }
  const char *pattern = gn_page_pattern(r->rhythm.pattern);
  gn_html_format(h, "%c%s", isfinite(rate) && *pattern >= 'A' && *pattern <= 'Z' ? *pattern - 'A' + 'a' : *pattern, pattern + 1);
  if (r->murmur.present == GIRTHLINE_NO) gn_html_raw(h, "; no murmur found");
  else if (r->murmur.present != GIRTHLINE_YES) gn_html_raw(h, "; murmur not determined");
  for (size_t i = 0; i < r->murmur.n_phases && i < 4; i++) {
    const girthline_murmur_phase *m = &r->murmur.phases[i];
    gn_html_format(h, "; murmur %s %s", gn_page_timing(m->timing), gn_page_phase(m->phase));
    if (!isfinite(m->level_db)) continue;
    gn_html_raw(h, ", ");
    gn_html_signed(h, m->level_db, 0);
    gn_html_raw(h, "\xC2\xA0" "dB against S1");
  }
  gn_html_raw(h, ".");
}

static void panel(gn_html *h, const gn_examined *x, size_t i, const scales *s) {
  const gn_exam_recording *rec = &x->exam->recordings[i];
  char place[96];
  gn_html_raw(h, "<figure>\n<span class=\"said\">");
  const char *name = gn_exam_place(x, i, place, sizeof place);
  char capital[2] = {*name, 0};
  if (*capital >= 'a' && *capital <= 'z') {
    *capital = (char)(*capital - 'a' + 'A');
    gn_html_text(h, capital);
    name++;
  }
  gn_html_text(h, name);
  if (rec->minutes_after_exercise >= 0 && name == rec->name) {
    gn_html_raw(h, ", ");
    gn_html_number(h, rec->minutes_after_exercise, 0);
    gn_html_raw(h, " min after exercise");
  }
  gn_html_raw(h, "</span>\n");
  if (has_cycle(x, i)) picture(h, s, x->recordings[i].result);
  gn_html_raw(h, "<figcaption>");
  if (gn_exam_usable(x, i)) caption(h, x->recordings[i].result);
  else gn_html_raw(h, x->recordings[i].result ? "Recorded, but unusable." : "Not analysed.");
  gn_html_raw(h, "</figcaption>\n</figure>\n");
}

void gn_exam_side_by_side(gn_html *h, const gn_examined *x) {
  scales s;
  const bool any = find_scales(x, &s);
  gn_html_raw(h, "<section class=\"beside-areas\">\n<h3>The areas beside one another</h3>\n");
  if (any)
    gn_html_raw(h, "<p class=\"why\">The average cycle at each place, all on the same scales: across, seconds after S1; upwards, dB above that recording's own quiet. Thin line: 45 to "
                   "90 Hz, the heart sounds. Thick line: the loudest of the bands from 90 to 700 Hz, where murmurs show. The quiet differs between recordings: "
                   "hold murmurs against S1, not against another place's height.</p>\n");
  gn_html_raw(h, "<div class=\"areas\">\n");
  for (size_t i = 0; i < x->exam->n_recordings; i++) panel(h, x, i, &s);
  gn_html_raw(h, "</div>\n</section>\n");
}
