// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/recovery.h"

#include <math.h>
#include <stdio.h>

#include "base/numbers.h"
#include "clinic/parts.h"
#include "report/figures.h"
#include "report/page_words.h"

#define WIDE 912.0
#define NARROW 328.0

static bool uneven(const girthline_result *r) {
  const girthline_rhythm *y = &r->rhythm;
  return y->n_pauses || y->n_early || y->pattern == GIRTHLINE_PAUSES || y->pattern == GIRTHLINE_EARLY_BEATS || y->pattern == GIRTHLINE_IRREGULAR;
}

bool gn_exam_curve_of(const gn_examined *x, gn_exam_curve *out) {
  const bool published = x->species == GIRTHLINE_HORSE; // the bounds are for horses
  out->curve = (gn_recovery_curve){.dots = out->dots,
                                   .n = x->n_recovery,
                                   .resting_bpm = gn_rounded(x->rate.settled_bpm, 2),
                                   .back_bpm = published ? x->rate.settled_bpm * (1 + GN_RECOVERY_BACK_PERCENT / 100) : (double)NAN,
                                   .light_min = GN_RECOVERY_LIGHT_MIN,
                                   .hard_min = {GN_RECOVERY_HARD_LEAST_MIN, GN_RECOVERY_HARD_MOST_MIN}};
  for (size_t i = 0; i < x->n_recovery; i++) {
    const gn_recovery_point *p = &x->recovery[i];
    out->dots[i] = (gn_recovery_dot){p->minutes_after_exercise, gn_rounded(p->bpm, 2), uneven(x->recordings[p->recording].result)};
  }
  return x->n_recovery > 0;
}

const char *gn_exam_curve_words(const gn_examined *x) {
  if (!isfinite(x->rate.settled_bpm)) return "Dots: the rate in each recording after exercise. Without a rate at rest there is nothing to hold them against.";
  if (x->species != GIRTHLINE_HORSE) return "Dots: the rate in each recording after exercise. Line: the rate at rest. No published recovery is held here for this animal.";
  return "Dots: the rate in each recording after exercise; a triangle where the rhythm was not even then; a ring on the axis where the rate was not determined. Line: the "
         "rate at rest. Area: recovered, within 15 % of it, which is published for horses by 15 minutes after light work and by 30 to 45 minutes after hard work (Patteson, "
         "Equine Cardiology 3.8.3). How hard the work was is not known here.";
}

const char *gn_exam_recovery_words(const gn_examined *x, const gn_recovery_point *p, char *store, size_t n_store) {
  const char *pattern = gn_page_pattern(x->recordings[p->recording].result->rhythm.pattern);
  const double over = gn_whole(p->over_resting_percent, 1);
  const char first = *pattern >= 'A' && *pattern <= 'Z' ? (char)(*pattern - 'A' + 'a') : *pattern;
  if (!isfinite(over)) snprintf(store, n_store, "%s", pattern);
  else if (fabs(over) < 0.5) snprintf(store, n_store, "as at rest; %c%s", first, pattern + 1);
  else snprintf(store, n_store, "%.0f\xC2\xA0%% %s rest; %c%s", fabs(over), over < 0 ? "under" : "over", first, pattern + 1);
  return store;
}

static void row(gn_html *h, const gn_examined *x, const gn_recovery_point *p) {
  char words[160];
  gn_html_raw(h, "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">");
  gn_html_format(h, "%.12g min</th><td role=\"cell\">", gn_rounded(p->minutes_after_exercise, 2));
  if (isfinite(p->bpm)) gn_html_number(h, gn_whole(p->bpm, 2), 0);
  else gn_html_raw(h, "not determined");
  gn_html_raw(h, "</td><td class=\"usual\" role=\"cell\">");
  gn_html_prose(h, gn_exam_recovery_words(x, p, words, sizeof words));
  gn_html_raw(h, "</td></tr>\n");
}

static girthline_status picture(gn_html *h, const gn_recovery_curve *curve, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (int narrow = 0; narrow < 2 && !status; narrow++) {
    const double width = narrow ? NARROW : WIDE;
    gn_html_format(h, "<svg class=\"%s\" role=\"img\" aria-labelledby=\"recovery\" viewBox=\"0 0 %.0f %.0f\">", narrow ? "narrow" : "wide", width, GN_RECOVERY_HEIGHT);
    status = gn_recovery_svg(curve, width, narrow ? "rn" : "rw", h, error);
    gn_html_raw(h, "</svg>\n");
  }
  return status;
}

girthline_status gn_exam_recovery_section(gn_html *h, const gn_examined *x, girthline_error *error) {
  gn_exam_curve c;
  if (!gn_exam_curve_of(x, &c)) return GIRTHLINE_OK;
  gn_html_raw(h, "<section class=\"recovery\">\n<h3>After exercise</h3>\n<figure>\n<h4 id=\"recovery\">The rate coming back</h4>\n");
  const girthline_status status = picture(h, &c.curve, error);
  gn_html_raw(h, "<figcaption>");
  gn_html_prose(h, gn_exam_curve_words(x));
  gn_html_raw(h, "</figcaption>\n</figure>\n<table role=\"table\" aria-labelledby=\"recovery\">\n<thead role=\"rowgroup\"><tr role=\"row\"><th scope=\"col\" "
                 "role=\"columnheader\">Since it ended</th><th scope=\"col\" role=\"columnheader\">Beats a minute</th><th scope=\"col\" role=\"columnheader\">Against rest, and "
                 "the rhythm then</th></tr></thead>\n<tbody role=\"rowgroup\">\n");
  for (size_t i = 0; i < x->n_recovery; i++) row(h, x, &x->recovery[i]);
  gn_html_raw(h, "</tbody>\n</table>\n</section>\n");
  return status;
}

girthline_status gn_exam_recovery_figure(const gn_examined *x, girthline_figure_form form, void **data, size_t *n_bytes, girthline_error *error) {
  gn_exam_curve c;
  *data = NULL;
  *n_bytes = 0;
  if (!gn_exam_curve_of(x, &c)) return GIRTHLINE_OK;
  return gn_figure_file(&(gn_figure_drawing){gn_recovery_drawer, &c.curve, GN_FIGURE_FILE_WIDTH, GN_RECOVERY_HEIGHT}, form, data, n_bytes, error);
}
