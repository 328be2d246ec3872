// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/compare_trend.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/compare_pairs.h"
#include "clinic/visits_json.h"
#include "report/figures_trend.h"

#define STAGE "visits"
#define WIDE 912.0
#define NARROW 328.0
#define LEAST_RATE_BPM 20.0 ///< the axes cover at least this much, so that little does not look like much
#define LEAST_LEVEL_DB 12.0
#define MOST_COURSES 12 ///< pictures of murmurs on one page: areas times phases that ever had one, at most

// One murmur's place: an area and a phase in which it was heard at least once.
typedef struct place {
  const char *side, *area, *phase; ///< owned by the examinations
} place;

typedef struct dated {
  json_t **exams; ///< by date
  size_t n, capacity;
} dated;

static girthline_status gather(void *user, const gn_store_visit *v, girthline_error *error) {
  dated *t = user;
  json_t *exam;
  char name[40];
  snprintf(name, sizeof name, "visit %lld", v->id);
  if (!v->date) return GIRTHLINE_OK;
  const girthline_status status = gn_visits_parse(v->exam, v->exam_n, name, &exam, error);
  if (status) return status;
  if (!gn_visits_text(json_object_get(exam, "examination"), "date")) { // a row that was changed by another program
    json_decref(exam);
    return GIRTHLINE_OK;
  }
  void *items = t->exams;
  if (gn_grow(&items, &t->capacity, t->n + 1, sizeof *t->exams)) {
    json_decref(exam);
    return gn_error_memory(error, STAGE);
  }
  t->exams = items;
  t->exams[t->n++] = exam;
  return GIRTHLINE_OK;
}

// Days since 1970-01-01 of a date in the Gregorian calendar (Hinnant's days_from_civil, 2013).
static double day_of(const char *date) {
  int y = 0, m = 0, d = 0;
  if (sscanf(date, "%4d-%2d-%2d", &y, &m, &d) != 3) return NAN;
  y -= m <= 2;
  const int era = y / 400, of_era = y - era * 400, of_year = (153 * (m + (m > 2 ? -3 : 9)) + 2) / 5 + d - 1;
  return era * 146097.0 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

// The recording that the comparison takes as well.
static const json_t *rest_at(const json_t *exam, const place *c) {
  const json_t *list = json_object_get(exam, "recordings"), *best = NULL;
  for (size_t i = 0; i < json_array_size(list); i++) {
    const json_t *r = json_array_get(list, i);
    const char *side = gn_visits_text(r, "side"), *area = gn_visits_text(r, "area");
    const bool same_side = side == c->side || (side && c->side && !strcmp(side, c->side));
    const bool same_area = area == c->area || (area && c->area && !strcmp(area, c->area));
    if (!same_side || !same_area || !isnan(gn_visits_number(r, "minutes_after_exercise")) || !json_is_object(json_object_get(r, "report"))) continue;
    if (!best || gn_compare_better(json_object_get(r, "report"), best)) best = json_object_get(r, "report");
  }
  return best;
}

static const json_t *phase_in(const json_t *report, const char *name) {
  const json_t *murmur = json_object_get(report, "murmur"), *phases = json_object_get(murmur, "phases");
  for (size_t i = 0; json_is_true(json_object_get(murmur, "present")) && i < json_array_size(phases); i++)
    if (!strcmp(gn_visits_text(json_array_get(phases, i), "phase") ? gn_visits_text(json_array_get(phases, i), "phase") : "", name)) return json_array_get(phases, i);
  return NULL;
}

static gn_trend_point start_point(const json_t *exam) {
  const char *date = gn_visits_text(json_object_get(exam, "examination"), "date");
  gn_trend_point p = {.day = day_of(date), .value = NAN, .spread = {NAN, NAN}};
  snprintf(p.date, sizeof p.date, "%.10s", date);
  return p;
}

static gn_trend_point murmur_point(const json_t *exam, const place *c) {
  gn_trend_point p = start_point(exam);
  const json_t *report = rest_at(exam, c), *phase = phase_in(report, c->phase), *murmur = json_object_get(report, "murmur");
  const double half = gn_compare_level_half(phase);
  if (phase) {
    p.value = gn_visits_number(phase, "level_db");
    p.spread[0] = p.value - half;
    p.spread[1] = p.value + half;
  } else if (json_is_boolean(json_object_get(murmur, "present"))) {
    const json_t *limits = json_object_get(murmur, "detection_limit_db");
    const double systole = gn_visits_number(limits, "systole"), diastole = gn_visits_number(limits, "diastole");
    p.value = !strcmp(c->phase, "systole") ? systole : !strcmp(c->phase, "diastole") ? diastole : isnan(systole) ? systole : fmax(systole, diastole);
    p.below = true;
  }
  return p;
}

static bool known(const place *all, size_t n, const place *c) {
  for (size_t i = 0; i < n; i++) {
    const bool sides = all[i].side == c->side || (all[i].side && c->side && !strcmp(all[i].side, c->side));
    const bool areas = all[i].area == c->area || (all[i].area && c->area && !strcmp(all[i].area, c->area));
    if (sides && areas && !strcmp(all[i].phase, c->phase)) return true;
  }
  return false;
}

static size_t find_places(const dated *t, place out[MOST_COURSES]) {
  static const char *const PHASES[] = {"systole", "diastole", "continuous"};
  size_t n = 0;
  for (size_t i = 0; i < t->n; i++) {
    const json_t *list = json_object_get(t->exams[i], "recordings");
    for (size_t k = 0; k < json_array_size(list) * 3; k++) {
      const json_t *r = json_array_get(list, k / 3);
      const place c = {gn_visits_text(r, "side"), gn_visits_text(r, "area"), PHASES[k % 3]};
      if (n < MOST_COURSES && isnan(gn_visits_number(r, "minutes_after_exercise")) && phase_in(json_object_get(r, "report"), c.phase) && !known(out, n, &c)) out[n++] = c;
    }
  }
  return n;
}

// A course with room for one point a visit; NULL: memory was refused.
static gn_course *add(gn_courses *all, size_t n_points, gn_trend trend, char *title, char *caption) {
  void *items = all->items;
  gn_trend_point *points = gn_new(n_points, sizeof *points);
  if (!points || !title || !caption || gn_grow(&items, &all->capacity, all->n + 1, sizeof *all->items)) {
    gn_free(points);
    gn_free(title);
    gn_free(caption);
    return NULL;
  }
  all->items = items;
  gn_course *c = &all->items[all->n++];
  *c = (gn_course){trend, points, title, caption};
  c->trend.points = points;
  c->trend.n = n_points;
  return c;
}

static bool add_rate(gn_courses *all, const dated *t) {
  const gn_course *c = add(all, t->n, (gn_trend){.axis = "beats a minute", .least_range = LEAST_RATE_BPM}, gn_strdup("Rate at rest"),
                           gn_strdup("The rate at rest at each visit, against its date. A visit without one has no dot."));
  for (size_t i = 0; c && i < t->n; i++) {
    c->points[i] = start_point(t->exams[i]);
    c->points[i].value = gn_visits_rate(t->exams[i]);
  }
  return c;
}

// A point that holds a limit needs its sign explained.
static char *murmur_caption(const gn_trend_point *points, size_t n) {
  bool below = false;
  for (size_t i = 0; i < n; i++) below = below || (points[i].below && !isnan(points[i].value));
  return gn_strprintf("Its level at each visit with the 95\xC2\xA0%% interval within the recording.%s",
                      below ? " A triangle: none was found, and from there on one could have shown." : "");
}

static bool add_murmur(gn_courses *all, const dated *t, const place *at) {
  const char *where = at->area ? at->area : at->side ? "" : "place not stated";
  const bool through = !strcmp(at->phase, "continuous");
  char *title = gn_strprintf("%s%s, %s%s%s", through ? "Continuous murmur" : "Murmur in ", through ? "" : at->phase, at->side ? at->side : "",
                             at->side && at->area ? " " : "", where);
  gn_course *c = add(all, t->n, (gn_trend){.axis = "dB against S1", .least_range = LEAST_LEVEL_DB}, title, gn_strdup(""));
  if (!c) return false;
  for (size_t i = 0; i < t->n; i++) c->points[i] = murmur_point(t->exams[i], at);
  gn_free(c->caption);
  c->caption = murmur_caption(c->points, t->n);
  return c->caption;
}

static girthline_status make(const dated *t, gn_courses *out, girthline_error *error) {
  place places[MOST_COURSES];
  const size_t n = find_places(t, places);
  bool made = add_rate(out, t);
  for (size_t i = 0; i < n && made; i++) made = add_murmur(out, t, &places[i]);
  return made ? GIRTHLINE_OK : gn_error_memory(error, STAGE);
}

girthline_status gn_courses_read(gn_store *store, long long animal_id, gn_courses *out, girthline_error *error) {
  dated t = {0};
  *out = (gn_courses){0};
  girthline_status status = gn_store_each_visit(store, (gn_store_filter){.animal_id = animal_id, .with_exam = true}, gather, &t, error);
  if (!status && t.n > 1) status = make(&t, out, error);
  for (size_t i = 0; i < t.n; i++) json_decref(t.exams[i]);
  gn_free(t.exams);
  return status;
}

void gn_courses_clear(gn_courses *all) {
  for (size_t i = 0; i < all->n; i++) {
    gn_free(all->items[i].points);
    gn_free(all->items[i].title);
    gn_free(all->items[i].caption);
  }
  gn_free(all->items);
  *all = (gn_courses){0};
}

static girthline_status put_picture(const gn_course *c, size_t number, gn_html *h, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  for (int narrow = 0; narrow < 2 && !status; narrow++) {
    char prefix[40];
    const double width = narrow ? NARROW : WIDE;
    snprintf(prefix, sizeof prefix, "t%zu%c", number, narrow ? 'n' : 'w');
    gn_html_format(h, "<svg class=\"%s\" role=\"img\" aria-labelledby=\"course-%zu\" viewBox=\"0 0 %.0f %.0f\">", narrow ? "narrow" : "wide", number, width, GN_TREND_HEIGHT);
    status = gn_trend_svg(&c->trend, width, prefix, h, error);
    gn_html_raw(h, "</svg>\n");
  }
  return status;
}

// The same in numbers: for who cannot see the picture, or wants to write them down.
static void put_values(const gn_course *c, gn_html *h) {
  gn_html_raw(h, "<details><summary>The numbers</summary>\n<ul>\n");
  for (size_t i = 0; i < c->trend.n; i++) {
    const gn_trend_point *p = &c->points[i];
    gn_html_raw(h, "<li>");
    gn_html_text(h, p->date);
    gn_html_raw(h, p->below ? ": none found; one could have shown from " : ": ");
    if (isnan(p->value)) gn_html_raw(h, "not determined, or not recorded");
    else gn_html_signed(h, p->value, 1);
    gn_html_raw(h, p->below && !isnan(p->value) ? " on</li>\n" : "</li>\n");
  }
  gn_html_raw(h, "</ul></details>\n");
}

girthline_status gn_courses_section(const gn_courses *all, gn_html *h, girthline_error *error) {
  girthline_status status = GIRTHLINE_OK;
  if (!all->n) return status;
  gn_html_raw(h, "<section class=\"course\">\n<h3>Over all visits</h3>\n");
  for (size_t i = 0; i < all->n && !status; i++) {
    gn_html_format(h, "<figure>\n<h4 id=\"course-%zu\">", i);
    gn_html_text(h, all->items[i].title);
    gn_html_raw(h, "</h4>\n");
    status = put_picture(&all->items[i], i, h, error);
    gn_html_raw(h, "<figcaption>");
    gn_html_prose(h, all->items[i].caption);
    gn_html_raw(h, "</figcaption>\n");
    put_values(&all->items[i], h);
    gn_html_raw(h, "</figure>\n");
  }
  gn_html_raw(h, "</section>\n");
  return status;
}
