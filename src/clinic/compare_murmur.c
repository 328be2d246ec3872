// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Each murmur of two recordings of one place. "New" and "gone" only where the other recording could have shown it.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/limits.h>

#include "clinic/compare_inside.h"
#include "clinic/visits_json.h"

#define LEAST_LEVEL_DB 6.0 ///< a choice: no smaller difference of level between visits is called a change
#define LEAST_LEVEL_WORDS "under 6 dB, which is never called a change (a choice)"

enum { SYSTOLE = 0, DIASTOLE, CONTINUOUS, N_PHASES };
static const struct {
  const char *name, *what[4], *label[4]; ///< level, timing, shape, pitch
} PHASES[N_PHASES] = {
    {"systole",
     {"murmur-systole", "murmur-systole-timing", "murmur-systole-shape", "murmur-systole-pitch"},
     {"Murmur in systole, level against S1", "Murmur in systole, timing", "Murmur in systole, shape", "Murmur in systole, strongest frequency"}},
    {"diastole",
     {"murmur-diastole", "murmur-diastole-timing", "murmur-diastole-shape", "murmur-diastole-pitch"},
     {"Murmur in diastole, level against S1", "Murmur in diastole, timing", "Murmur in diastole, shape", "Murmur in diastole, strongest frequency"}},
    {"continuous",
     {"murmur-continuous", "murmur-continuous-timing", "murmur-continuous-shape", "murmur-continuous-pitch"},
     {"Continuous murmur, level against S1", "Continuous murmur, timing", "Continuous murmur, shape", "Continuous murmur, strongest frequency"}},
};

// One visit's side of one phase.
typedef struct heard {
  const json_t *phase; ///< the loudest in it; NULL: none
  bool known;          ///< could be judged at all
  bool doubtful;       ///< the recording's own findings take it back: it is poor, or too little speaks for the murmur
  double level_db, half_db, limit_db;
} heard;

static const json_t *phase_of(const json_t *murmur, const char *name) {
  const json_t *phases = json_object_get(murmur, "phases");
  for (size_t i = 0; json_is_true(json_object_get(murmur, "present")) && i < json_array_size(phases); i++) {
    const char *phase = gn_visits_text(json_array_get(phases, i), "phase");
    if (phase && !strcmp(phase, name)) return json_array_get(phases, i); // loudest first
  }
  return NULL;
}

// The softest murmur that could have shown: a continuous one has to show in both phases.
static double limit_of(const json_t *murmur, int phase) {
  const json_t *limits = json_object_get(murmur, "detection_limit_db");
  const double systole = gn_visits_number(limits, "systole"), diastole = gn_visits_number(limits, "diastole");
  if (phase == SYSTOLE) return systole;
  if (phase == DIASTOLE) return diastole;
  return isnan(systole) || isnan(diastole) ? (double)NAN : fmax(systole, diastole);
}

// By the usual limit: a visit years old does not say with which it was made.
static bool doubted(const json_t *report, const json_t *phase) {
  const char *grade = gn_visits_text(json_object_get(report, "quality"), "grade");
  const bool weak = grade && (!strcmp(grade, "poor") || !strcmp(grade, "unusable"));
  return phase && (weak || gn_visits_number(phase, "confidence") < girthline_limits_default().findings.murmur_confidence);
}

static heard hear(const json_t *report, int phase) {
  const json_t *murmur = json_object_get(report, "murmur"), *present = json_object_get(murmur, "present");
  heard h = {.phase = phase_of(murmur, PHASES[phase].name), .known = json_is_boolean(present)};
  h.level_db = gn_visits_number(h.phase, "level_db");
  h.half_db = gn_compare_level_half(h.phase);
  h.limit_db = limit_of(murmur, phase);
  h.doubtful = doubted(report, h.phase);
  return h;
}

static gn_change row_of(int phase) {
  gn_change row = {.label = PHASES[phase].label[0], .unit = "dB", .decimals = 1, .change = NAN, .repeatability = NAN};
  snprintf(row.what, sizeof row.what, "%s", PHASES[phase].what[0]);
  return row;
}

static gn_value value_of(const heard *h) {
  if (!h->phase) return (gn_value){h->known ? GN_VALUE_ABSENT : GN_VALUE_UNKNOWN, NAN, NULL};
  return (gn_value){isnan(h->level_db) ? GN_VALUE_UNKNOWN : GN_VALUE_NUMBER, h->level_db, NULL};
}

static const char *barrier_of(const gn_pair *pair) { return pair->barrier ? pair->barrier : pair->sound_barrier; }
static const char *visit_word(int i) { return i ? "second" : "first"; }

// The half-widths of both 95 % intervals, as those of a difference.
static double difference_half(double a, double b) { return sqrt(a * a + b * b); }

static double half_band(const json_t *phase) {
  const json_t *band = json_object_get(phase, "band_hz");
  if (json_array_size(band) != 2 || !json_is_number(json_array_get(band, 0)) || !json_is_number(json_array_get(band, 1))) return NAN;
  return fabs(json_number_value(json_array_get(band, 1)) - json_number_value(json_array_get(band, 0))) / 2;
}

// Near its detection limit only a murmur's loudest part shows: its course is not that of the whole.
static const char *course_doubt(const heard h[2], double repeatability_db) {
  for (int i = 0; i < 2; i++)
    if (!(h[i].level_db - repeatability_db > h[i].limit_db))
      return "at one of the visits the murmur lies too near what the recording could show for its course to be told";
  return NULL;
}

static void both(const gn_pair *pair, int phase, const heard h[2]) {
  const double repeatability = difference_half(h[0].half_db, h[1].half_db);
  const char *doubt = course_doubt(h, repeatability);
  static const char *const KEYS[] = {"timing", "shape"};
  gn_compare_number(pair, &(gn_measure){PHASES[phase].what[0], PHASES[phase].label[0], "dB", 1, {h[0].level_db, h[1].level_db}, repeatability, LEAST_LEVEL_DB,
                                        LEAST_LEVEL_WORDS, "/murmur/phases/0/level_db", true});
  for (int k = 0; k < 2; k++)
    gn_compare_word(pair, &(gn_choice){PHASES[phase].what[k + 1], PHASES[phase].label[k + 1],
                                       {gn_visits_text(h[0].phase, KEYS[k]), gn_visits_text(h[1].phase, KEYS[k])}, doubt, "/murmur/phases/0/timing", true});
  gn_compare_number(pair, &(gn_measure){PHASES[phase].what[3], PHASES[phase].label[3], "Hz", 0,
                                        {gn_visits_number(h[0].phase, "peak_hz"), gn_visits_number(h[1].phase, "peak_hz")},
                                        difference_half(half_band(h[0].phase), half_band(h[1].phase)), 0, "", "/murmur/phases/0/peak_hz", true});
}

static void neither(const gn_pair *pair, int phase, const heard h[2]) {
  gn_change row = row_of(phase);
  for (int i = 0; i < 2; i++) row.values[i] = value_of(&h[i]);
  if (phase == CONTINUOUS) return; // said under systole and diastole
  for (int i = 0; i < 2; i++)
    if (!h[i].known && !barrier_of(pair)) {
      gn_compare_add(pair, row, GN_UNDETERMINED, "at the %s visit: %s", visit_word(i), gn_compare_reason(pair->reports[i], "/murmur/present"));
      return;
    }
  if (barrier_of(pair)) gn_compare_add(pair, row, GN_NOT_COMPARABLE, "%s", barrier_of(pair));
  else gn_compare_add(pair, row, GN_WITHIN_REPEATABILITY, "found at neither visit (the recordings could have shown one from %.1f and %.1f dB on; a softer one may be there)", h[0].limit_db, h[1].limit_db);
}

// Only the visit `with` has it.
static void one_sided(const gn_pair *pair, int phase, const heard h[2], int with) {
  const int without = !with;
  const heard *there = &h[with], *other = &h[without];
  gn_change row = row_of(phase);
  for (int i = 0; i < 2; i++) row.values[i] = value_of(&h[i]);
  // The visit without it has no interval of its own: it is taken to vary as much as the other.
  row.repeatability = difference_half(there->half_db, there->half_db);
  if (barrier_of(pair)) {
    row.repeatability = NAN;
    gn_compare_add(pair, row, GN_NOT_COMPARABLE, "%s", barrier_of(pair));
  } else if (!other->known) {
    gn_compare_add(pair, row, GN_UNDETERMINED, "at the %s visit: %s", visit_word(without), gn_compare_reason(pair->reports[without], "/murmur/present"));
  } else if (isnan(other->limit_db) || isnan(there->level_db) || isnan(row.repeatability)) {
    gn_compare_add(pair, row, GN_UNDETERMINED, "not found at the %s visit, but what that recording could have shown, or the murmur's level, is not known", visit_word(without));
  } else if (there->doubtful && other->limit_db < there->level_db - row.repeatability) {
    gn_compare_add(pair, row, GN_UNDETERMINED, "not found at the %s visit, but the recording of the %s does not carry it: it is poor, or too little speaks for a murmur",
                   visit_word(without), visit_word(with));
  } else if (other->limit_db < there->level_db - row.repeatability) {
    gn_compare_add(pair, row, with ? GN_NEW : GN_GONE, "not found at the %s visit, whose recording could have shown a murmur from %.1f dB on", visit_word(without), other->limit_db);
  } else {
    gn_compare_add(pair, row, GN_UNDETERMINED, "not found at the %s visit, but that recording could have shown a murmur from %.1f dB on only: it may have been there",
                   visit_word(without), other->limit_db);
  }
}

// A continuous murmur at one visit, one in a single phase at the other: has it changed, or was its other half only not seen?
static bool reached_over(const gn_pair *pair, const heard all[N_PHASES][2]) {
  for (int with = 0; with < 2; with++) {
    const int phase = all[SYSTOLE][!with].phase ? SYSTOLE : DIASTOLE;
    const heard *whole = &all[CONTINUOUS][with], *part = &all[phase][!with];
    if (!whole->phase || all[CONTINUOUS][!with].phase || !part->phase) continue;
    const double repeatability = difference_half(whole->half_db, part->half_db);
    const bool could_show = all[!phase][!with].limit_db < whole->level_db - repeatability;
    const char *doubt = could_show ? NULL : "the recording with the shorter murmur could not have shown its other half";
    gn_choice choice = {"murmur-phase", "Murmur, phase", {PHASES[phase].name, PHASES[phase].name}, doubt, "/murmur/present", true};
    choice.words[with] = PHASES[CONTINUOUS].name;
    gn_compare_word(pair, &choice);
    gn_compare_number(pair, &(gn_measure){PHASES[CONTINUOUS].what[0], "Murmur, level against S1", "dB", 1,
                                          {with ? part->level_db : whole->level_db, with ? whole->level_db : part->level_db}, repeatability, LEAST_LEVEL_DB,
                                          LEAST_LEVEL_WORDS, "/murmur/phases/0/level_db", true});
    return true;
  }
  return false;
}

void gn_compare_murmurs(const gn_pair *pair) {
  heard all[N_PHASES][2];
  for (int phase = 0; phase < N_PHASES; phase++)
    for (int i = 0; i < 2; i++) all[phase][i] = hear(pair->reports[i], phase);
  if (reached_over(pair, (const heard(*)[2])all)) return;
  const bool continuous = all[CONTINUOUS][0].phase || all[CONTINUOUS][1].phase;
  for (int phase = 0; phase < N_PHASES; phase++) {
    const heard *h = all[phase];
    if (h[0].phase && h[1].phase) both(pair, phase, h);
    else if (h[0].phase || h[1].phase) one_sided(pair, phase, h, h[1].phase != NULL);
    else if (!continuous) neither(pair, phase, h);
  }
}
