// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// One murmur heard at several places is one murmur to the ear; sound alone does not tell two apart, so they are brought
// together by phase, and what differs between the places is said.
#include <math.h>
#include <string.h>

#include "clinic/parts.h"

static const girthline_murmur_phase *phase_of(const gn_examined *x, gn_heard_at at) { return &x->recordings[at.recording].result->murmur.phases[at.phase]; }

static void hear(gn_examined *x, gn_exam_murmur *m, gn_heard_at at) {
  const double level = phase_of(x, at)->level_db;
  size_t k = m->n_heard++;
  for (; k > 0 && !(phase_of(x, m->heard[k - 1])->level_db >= level); k--) m->heard[k] = m->heard[k - 1];
  m->heard[k] = at;
}

static void gather(gn_examined *x, gn_exam_murmur *m, bool at_rest) {
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!gn_exam_usable(x, i) || gn_exam_at_rest(x, i) != at_rest) continue;
    const girthline_murmur *own = &x->recordings[i].result->murmur;
    for (size_t k = 0; k < own->n_phases && k < 4; k++)
      if (own->phases[k].phase == m->phase) {
        hear(x, m, (gn_heard_at){i, k});
        break; // its loudest of this phase
      }
  }
}

static bool left_base(const gn_exam_recording *rec) {
  return rec->side == GIRTHLINE_LEFT && (rec->area == GIRTHLINE_PULMONIC || rec->area == GIRTHLINE_AORTIC);
}

// Its own recording's findings take it back: record again, and nothing before that.
static bool doubted(const girthline_result *r, const girthline_murmur_phase *p) {
  return r->quality.grade == GIRTHLINE_POOR || p->confidence < r->limits.findings.murmur_confidence;
}

// A flow murmur keeps to the left heart base (Patteson 3.5.2): each place it was heard at has to be there, and to fit.
static void lean(gn_examined *x, gn_exam_murmur *m) {
  char own[700], place[GN_EXAM_PLACE_BYTES];
  bool all_flow = true, any_echo = false;
  m->doubtful = true;
  for (size_t k = 0; k < m->n_heard; k++) {
    const size_t i = m->heard[k].recording;
    const girthline_leaning leaning = girthline_murmur_leaning(x->recordings[i].result, phase_of(x, m->heard[k]), own, sizeof own);
    all_flow = all_flow && leaning == GIRTHLINE_FITS_FLOW_PATTERN && left_base(&x->exam->recordings[i]);
    any_echo = any_echo || leaning == GIRTHLINE_ASKS_FOR_ECHO;
    m->doubtful = m->doubtful && doubted(x->recordings[i].result, phase_of(x, m->heard[k]));
    gn_exam_say(m->reasons, "%s: %s", gn_exam_place(x, i, place), own);
  }
  // The examination's own rate at rest has to be within range as well, not one recording's alone.
  if (all_flow && x->rate.standing != GIRTHLINE_WITHIN) {
    all_flow = false;
    gn_exam_say(m->reasons, "Over all resting recordings the rate is not within the range for rest.");
  }
  if (m->doubtful) gn_exam_say(m->reasons, "No recording it was heard in is good enough to be sure of it.");
  m->leaning = m->doubtful ? GIRTHLINE_LEANS_UNDETERMINED : all_flow ? GIRTHLINE_FITS_FLOW_PATTERN : any_echo ? GIRTHLINE_ASKS_FOR_ECHO : GIRTHLINE_LEANS_UNDETERMINED;
}

static void differences(gn_examined *x, gn_exam_murmur *m) {
  const girthline_murmur_phase *first = phase_of(x, m->heard[0]);
  for (size_t k = 1; k < m->n_heard; k++) {
    const girthline_murmur_phase *p = phase_of(x, m->heard[k]);
    m->differs = m->differs || p->timing != first->timing || p->shape != first->shape;
  }
  if (m->n_heard > 1) gn_exam_say(m->reasons, "Levels are against each place's own S1, so that loudest means against the heart sounds there.");
  if (m->after_exercise) gn_exam_say(m->reasons, "It was heard only after exercise.");
}

// An area's consequence where nothing was recorded there, where nothing usable was, and where no file could be read.
#define WAYS(missing, named, excluded)                                                                                                                 \
  missing " not recorded: " excluded " cannot be excluded", named " recorded but unusable: " excluded " cannot be excluded",                           \
      named " recorded, but its file could not be read: " excluded " cannot be excluded"

static const struct {
  girthline_side side;
  girthline_area area;
  const char *missing, *unusable, *unread;
} AREAS[] = {
    {GIRTHLINE_LEFT, GIRTHLINE_PULMONIC,
     WAYS("left pulmonic area", "left pulmonic area", "a murmur at the outflow of the right heart, or a flow murmur there,")},
    {GIRTHLINE_LEFT, GIRTHLINE_AORTIC, WAYS("left aortic area", "left aortic area", "an aortic murmur, in systole or diastole,")},
    {GIRTHLINE_LEFT, GIRTHLINE_MITRAL, WAYS("left mitral area", "left mitral area", "a mitral murmur")},
    {GIRTHLINE_RIGHT, GIRTHLINE_TRICUSPID, WAYS("right side", "right tricuspid area", "a tricuspid murmur")},
};
#define RIGHT_ELSEWHERE "right side recorded, but not stated at the tricuspid area: a tricuspid murmur cannot be excluded"

static void not_recorded(gn_examined *x) {
  if (x->species == GIRTHLINE_HUMAN) return; // the areas lie elsewhere
  for (size_t a = 0; a < sizeof AREAS / sizeof *AREAS; a++) {
    bool named = false, read = false, usable = false, side = false;
    for (size_t i = 0; i < x->exam->n_recordings; i++) {
      const gn_exam_recording *rec = &x->exam->recordings[i];
      side = side || rec->side == AREAS[a].side;
      if (rec->side != AREAS[a].side || rec->area != AREAS[a].area) continue;
      named = true;
      read = read || x->recordings[i].result;
      usable = usable || gn_exam_usable(x, i);
    }
    if (usable) continue;
    const char *const missing = AREAS[a].side == GIRTHLINE_RIGHT && side ? RIGHT_ELSEWHERE : AREAS[a].missing;
    x->not_recorded[x->n_not_recorded++] = (gn_not_recorded){AREAS[a].side, AREAS[a].area, !named ? missing : read ? AREAS[a].unusable : AREAS[a].unread};
  }
}

void gn_exam_murmurs(gn_examined *x) {
  for (int phase = GIRTHLINE_SYSTOLE; phase <= GIRTHLINE_CONTINUOUS; phase++) {
    gn_exam_murmur *m = &x->murmurs[x->n_murmurs];
    memset(m, 0, sizeof *m);
    m->phase = (girthline_phase)phase;
    gather(x, m, true);
    if (!m->n_heard) {
      m->after_exercise = true;
      gather(x, m, false);
    }
    if (!m->n_heard) continue;
    lean(x, m);
    differences(x, m);
    x->n_murmurs++;
  }
  not_recorded(x);
}
