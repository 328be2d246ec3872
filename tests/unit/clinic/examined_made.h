// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Examinations whose recordings' results are made by hand.
#ifndef TESTS_CLINIC_EXAMINED_MADE_H
#define TESTS_CLINIC_EXAMINED_MADE_H

#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "clinic/parts.h"
#include "made_result.h"

// An examination from its text, with a made result in place of each recording's analysis.
typedef struct made {
  gn_exam *exam;
  gn_examined *x;
} made;

static inline made make(const char *text) {
  made m = {0};
  girthline_error error = {0};
  if (gn_exam_parse(text, strlen(text), "v.ini", &m.exam, &error) != GIRTHLINE_OK) print_error("%s\n", error.text);
  assert_non_null(m.exam);
  m.x = gn_new(1, sizeof *m.x);
  m.x->exam = m.exam;
  m.x->species = m.exam->species;
  m.x->age_days = m.exam->age_days;
  m.x->recordings = gn_new(m.exam->n_recordings, sizeof *m.x->recordings);
  for (size_t i = 0; i < m.exam->n_recordings; i++) {
    girthline_result *r = m.x->recordings[i].result = made_result(10);
    r->settings = girthline_settings_default();
    r->settings.species = m.exam->species;
    r->settings.species_assumed = !m.exam->species_given;
    r->settings.side = m.exam->recordings[i].side;
    r->settings.area = m.exam->recordings[i].area;
    r->settings.minutes_after_exercise = m.exam->recordings[i].minutes_after_exercise;
  }
  return m;
}

static inline void together(made *m) {
  assert_int_equal(gn_exam_pool(m->x), 0);
  gn_exam_murmurs(m->x);
  gn_exam_series(m->x);
  assert_int_equal(gn_exam_say_rate(m->x), 0);
  assert_int_equal(gn_exam_say_murmurs(m->x), 0);
  assert_int_equal(gn_exam_say_signs(m->x), 0);
  assert_int_equal(gn_exam_say_series(m->x), 0);
}

static inline void done(made *m) {
  gn_examined_free(m->x);
  gn_exam_free(m->exam);
}

static inline girthline_result *result(made *m, size_t i) { return m->x->recordings[i].result; }

static inline const gn_exam_finding *finding(const made *m, const char *kind) {
  for (size_t i = 0; i < m->x->n_findings; i++)
    if (!strcmp(m->x->findings[i].kind, kind)) return &m->x->findings[i];
  return NULL;
}

static inline void intervals(girthline_result *r, const double *lengths_s, size_t n) {
  girthline_rhythm *y = &r->rhythm;
  gn_free(y->intervals);
  y->intervals = gn_new(n, sizeof *y->intervals);
  double at = 0;
  for (size_t i = 0; i < n; i++, at += lengths_s[i - 1]) y->intervals[i] = (girthline_interval){{at, at + lengths_s[i]}, true};
  y->n_intervals = y->used_count = n;
}

static inline void regular(girthline_result *r) {
  r->rhythm.pattern = GIRTHLINE_REGULAR;
  r->rhythm.n_pauses = r->rhythm.n_early = 0;
}

#define HORSE "[animal]\nspecies = horse\n"
#define PULMONIC "[recording p]\nfile = p.wav\nside = left\narea = pulmonic\n"
#define AORTIC "[recording a]\nfile = a.wav\nside = left\narea = aortic\n"
#define MITRAL "[recording m]\nfile = m.wav\nside = left\narea = mitral\n"
#define TRICUSPID "[recording t]\nfile = t.wav\nside = right\narea = tricuspid\n"

static inline made series(double resting, double after, const char *minutes) {
  char text[400];
  snprintf(text, sizeof text, "%s%s[recording x]\nfile = x.wav\nminutes_after_exercise = %s\n", HORSE, PULMONIC, minutes);
  made m = make(text);
  result(&m, 0)->rate.settled_bpm = resting;
  result(&m, 1)->rate.bpm = after;
  regular(result(&m, 1));
  together(&m);
  return m;
}

#endif
