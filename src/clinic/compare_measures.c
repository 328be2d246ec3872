// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Rate, intervals, rhythm and extra sounds of two recordings.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "clinic/compare_inside.h"
#include "clinic/visits_json.h"

#define LEAST_RATE_BPM 4.0 ///< a choice: one beat more or less in a 15 s count
#define LEAST_RATE_WORDS "under 4 a minute, one beat in a 15 s count, which is never called a change (a choice)"
#define LEAST_INTERVAL_WORDS "that of rates under 4 a minute apart, one beat in a 15 s count, which is never called a change (a choice)"
#define LEAST_PATTERN_CONFIDENCE 0.7 ///< a choice: below it two readings of one rhythm may differ by chance

static const char *unusable(const json_t *report) {
  const char *grade = gn_visits_text(json_object_get(report, "quality"), "grade");
  return grade && !strcmp(grade, "unusable") ? "the recording was judged unusable" : NULL;
}

const char *gn_compare_reason(const json_t *report, const char *pointer) {
  const char *why = gn_visits_text(json_object_get(report, "undetermined"), pointer);
  if (!why) why = unusable(report);
  return why ? why : "it was not determined";
}

static const char *visit_word(int i) { return i ? "second" : "first"; }

// A row without a verdict of its own; false when one was needed.
static bool barred(const gn_pair *pair, gn_change row, bool of_sound) {
  const char *barrier = pair->barrier ? pair->barrier : of_sound ? pair->sound_barrier : NULL;
  if (!barrier) return false;
  row.change = NAN;
  row.repeatability = NAN;
  gn_compare_add(pair, row, GN_NOT_COMPARABLE, "%s", barrier);
  return true;
}

static gn_change row_of(const char *what, const char *label, const char *unit, int decimals) {
  gn_change row = {.label = label, .unit = unit, .decimals = decimals, .change = NAN, .repeatability = NAN};
  snprintf(row.what, sizeof row.what, "%s", what);
  return row;
}

static bool both_known(const gn_pair *pair, gn_change row, const char *pointer) {
  for (int i = 0; i < 2; i++)
    if (row.values[i].kind == GN_VALUE_UNKNOWN) {
      row.repeatability = NAN;
      gn_compare_add(pair, row, GN_UNDETERMINED, "at the %s visit: %s", visit_word(i), gn_compare_reason(pair->reports[i], pointer));
      return false;
    }
  return true;
}

void gn_compare_number(const gn_pair *pair, const gn_measure *m) {
  gn_change row = row_of(m->what, m->label, m->unit, m->decimals);
  for (int i = 0; i < 2; i++) row.values[i] = (gn_value){isnan(m->values[i]) ? GN_VALUE_UNKNOWN : GN_VALUE_NUMBER, m->values[i], NULL};
  row.change = m->values[1] - m->values[0];
  row.repeatability = m->repeatability;
  if (barred(pair, row, m->of_sound) || !both_known(pair, row, m->pointer)) return;
  const double size = fabs(row.change), hair = 1e-9 * (fabs(m->values[0]) + fabs(m->values[1])); // of decimal fractions in binary
  if (size < m->floor - hair) gn_compare_add(pair, row, GN_WITHIN_REPEATABILITY, "the difference is %s", m->floor_words);
  else if (isnan(row.repeatability)) gn_compare_add(pair, row, GN_UNDETERMINED, "too little was recorded to measure how far this varies within a recording");
  else if (size <= row.repeatability + hair) gn_compare_add(pair, row, GN_WITHIN_REPEATABILITY, "the difference is one that recordings like these show within themselves");
  else gn_compare_add(pair, row, row.change > 0 ? GN_INCREASED : GN_DECREASED, "the difference is more than recordings like these show within themselves");
}

void gn_compare_word(const gn_pair *pair, const gn_choice *c) {
  gn_change row = row_of(c->what, c->label, "", 0);
  for (int i = 0; i < 2; i++) row.values[i] = (gn_value){c->words[i] ? GN_VALUE_WORD : GN_VALUE_UNKNOWN, NAN, c->words[i]};
  if (barred(pair, row, c->of_sound) || !both_known(pair, row, c->pointer)) return;
  if (!strcmp(c->words[0], c->words[1])) gn_compare_add(pair, row, GN_WITHIN_REPEATABILITY, "the same at both visits");
  else if (c->doubt) gn_compare_add(pair, row, GN_UNDETERMINED, "%s", c->doubt);
  else gn_compare_add(pair, row, GN_CHANGED, "described differently");
}

static const char *pattern_of(const json_t *rhythm) {
  const char *pattern = gn_visits_text(rhythm, "pattern");
  return pattern && strcmp(pattern, "undetermined") ? pattern : NULL;
}

static const char *doubt_of(const json_t *const rhythms[2]) {
  for (int i = 0; i < 2; i++)
    if (gn_visits_number(rhythms[i], "confidence") < LEAST_PATTERN_CONFIDENCE)
      return "at least one of the two readings is too unsure (a confidence under 0.7, a choice) for the difference to count";
  return NULL;
}

static void compare_pattern(const gn_pair *pair, const json_t *const rhythms[2]) {
  gn_compare_word(pair, &(gn_choice){"rhythm", "Rhythm", {pattern_of(rhythms[0]), pattern_of(rhythms[1])}, doubt_of(rhythms), "/rhythm/pattern", false});
}

static double interval_value(const json_t *report) { return gn_visits_number(json_object_get(report, "rhythm"), "mean_interval_s"); }
static double sdnn_value(const json_t *report) { return gn_visits_number(json_object_get(report, "rhythm"), "sdnn_ms"); }
static double rmssd_value(const json_t *report) { return gn_visits_number(json_object_get(report, "rhythm"), "rmssd_ms"); }

typedef double (*value_of)(const json_t *report);

// How the resting recordings of one visit differ from each other: their standard deviation; 0 where there are not two.
static double between(const json_t *exam, value_of value) {
  const json_t *recordings = json_object_get(exam, "recordings");
  double n = 0, sum = 0, squares = 0;
  for (size_t i = 0; i < json_array_size(recordings); i++) {
    const double x = value(gn_visits_report(exam, i));
    if (isnan(x) || !isnan(gn_visits_number(json_array_get(recordings, i), "minutes_after_exercise"))) continue;
    n++;
    sum += x;
    squares += x * x;
  }
  return n < 2 ? 0 : sqrt(fmax((squares - sum * sum / n) / (n - 1), 0));
}

// What varies from one recording to the next within a visit is no change between two: the larger spread counts. NaN stays.
static double widened(const gn_pair *pair, int visit, double spread, value_of value) {
  const double other = isnan(pair->minutes_after_exercise) ? between(pair->into->exams[visit], value) : 0;
  return spread < other ? other : spread;
}

typedef double (*spread_of)(double value, double n);

// SDNN and RMSSD: never better than the onsets they are made of.
static void compare_variability(const gn_pair *pair, const json_t *const rhythms[2], gn_measure m, value_of value, spread_of spread) {
  double spreads[2], jitter = 0;
  for (int i = 0; i < 2; i++) {
    m.values[i] = value(pair->reports[i]);
    spreads[i] = widened(pair, i, spread(m.values[i], gn_visits_number(rhythms[i], "used_count")), value);
    jitter = fmax(jitter, gn_visits_number(rhythms[i], "onset_jitter_ms"));
  }
  m.repeatability = gn_compare_both(spreads[0], spreads[1]);
  if (m.repeatability < GN_COMPARE_NORMAL_95 * jitter) m.repeatability = GN_COMPARE_NORMAL_95 * jitter;
  gn_compare_number(pair, &m);
}

void gn_compare_beats(const gn_pair *pair) {
  const json_t *rhythms[2];
  gn_wander wander[2];
  double rates[2], means_s[2];
  for (int i = 0; i < 2; i++) {
    rhythms[i] = json_object_get(pair->reports[i], "rhythm");
    wander[i] = gn_compare_wander(pair->reports[i]);
    wander[i].rate_bpm = widened(pair, i, wander[i].rate_bpm, gn_visits_rate);
    wander[i].interval_s = widened(pair, i, wander[i].interval_s, interval_value);
    rates[i] = gn_visits_rate(pair->reports[i]);
    means_s[i] = gn_visits_number(rhythms[i], "mean_interval_s");
  }
  gn_compare_number(pair, &(gn_measure){"rate", "Rate", "beats a minute", 1, {rates[0], rates[1]}, gn_compare_both(wander[0].rate_bpm, wander[1].rate_bpm),
                                        LEAST_RATE_BPM, LEAST_RATE_WORDS, "/rate/bpm", false});
  // The same floor in seconds: rates that differ by f have intervals that differ by f T1 T2 / 60.
  const double floor_s = LEAST_RATE_BPM * means_s[0] * means_s[1] / 60;
  gn_compare_number(pair, &(gn_measure){"mean-interval", "Mean interval", "s", 2, {means_s[0], means_s[1]},
                                        gn_compare_both(wander[0].interval_s, wander[1].interval_s), isnan(floor_s) ? 0 : floor_s, LEAST_INTERVAL_WORDS,
                                        "/rhythm/mean_interval_s", false});
  compare_pattern(pair, rhythms);
  compare_variability(pair, rhythms, (gn_measure){.what = "sdnn", .label = "Spread of the intervals (SDNN)", .unit = "ms", .decimals = 0, .pointer = "/rhythm/sdnn_ms"}, sdnn_value,
                      gn_compare_spread_of_sd);
  compare_variability(pair, rhythms, (gn_measure){.what = "rmssd", .label = "Beat-to-beat change (RMSSD)", .unit = "ms", .decimals = 0, .pointer = "/rhythm/rmssd_ms"}, rmssd_value,
                      gn_compare_spread_of_rmssd);
}

// Of a visit's resting recordings: how one varies within itself (the root of the mean square), or how they differ from each
// other where that is more.
static double visit_wander(const json_t *exam) {
  const json_t *recordings = json_object_get(exam, "recordings");
  double squares = 0, n = 0;
  for (size_t i = 0; i < json_array_size(recordings); i++) {
    if (!isnan(gn_visits_number(json_array_get(recordings, i), "minutes_after_exercise"))) continue;
    const double spread = gn_compare_wander(gn_visits_report(exam, i)).rate_bpm;
    if (isnan(spread)) continue;
    squares += spread * spread;
    n++;
  }
  return n < 1 ? (double)NAN : fmax(sqrt(squares / n), between(exam, gn_visits_rate));
}

void gn_compare_visits(const gn_pair *pair, const json_t *const exams[2]) {
  const json_t *rhythms[2];
  double rates[2];
  for (int i = 0; i < 2; i++) {
    rates[i] = gn_visits_rate(exams[i]);
    rhythms[i] = json_object_get(exams[i], "rhythm");
  }
  gn_compare_number(pair, &(gn_measure){"rate", "Rate at rest, all recordings", "beats a minute", 1, {rates[0], rates[1]},
                                        gn_compare_both(visit_wander(exams[0]), visit_wander(exams[1])), LEAST_RATE_BPM, LEAST_RATE_WORDS, "/rate/bpm", false});
  compare_pattern(pair, rhythms);
}

static const struct {
  const char *kind, *what, *label;
} EXTRAS[] = {{"S3", "extra-sound-S3", "Third sound (S3), share of beats"},
              {"S4", "extra-sound-S4", "Fourth sound (S4), share of beats"},
              {"split-S1", "extra-sound-split-S1", "Split first sound, share of beats"},
              {"split-S2", "extra-sound-split-S2", "Split second sound, share of beats"},
              {"click", "extra-sound-click", "Click, share of beats"}};

static const json_t *extra_of(const json_t *report, const char *kind) {
  const json_t *list = json_object_get(report, "extra_sounds");
  for (size_t i = 0; i < json_array_size(list); i++) {
    const char *name = gn_visits_text(json_array_get(list, i), "kind");
    if (name && !strcmp(name, kind)) return json_array_get(list, i);
  }
  return NULL;
}

// Agresti and Coull's: two beats with and two without are thought added, so that a share of 1 has a spread too.
static double share_spread(double share, double n) {
  const double p = (share * n + 2) / (n + 4);
  return n > 0 ? sqrt(p * (1 - p) / (n + 4)) : (double)NAN;
}

static double beats_of(const json_t *report) {
  const double listed = (double)json_array_size(json_object_get(report, "beats"));
  return listed > 0 ? listed : gn_visits_number(json_object_get(report, "rhythm"), "used_count");
}

static void compare_one_extra(const gn_pair *pair, const char *what, const char *label, const json_t *const found[2]) {
  double shares[2], spreads[2];
  for (int i = 0; i < 2; i++) {
    shares[i] = gn_visits_number(found[i], "beats_fraction");
    spreads[i] = share_spread(shares[i], beats_of(pair->reports[i]));
  }
  if (found[0] && found[1]) {
    gn_compare_number(pair, &(gn_measure){what, label, "", 2, {shares[0], shares[1]}, gn_compare_both(spreads[0], spreads[1]), 0, "", "/extra_sounds", true});
    return;
  }
  gn_change row = row_of(what, label, "", 2);
  const int missing = found[0] ? 1 : 0;
  row.values[!missing] = (gn_value){isnan(shares[!missing]) ? GN_VALUE_UNKNOWN : GN_VALUE_NUMBER, shares[!missing], NULL};
  row.values[missing].kind = unusable(pair->reports[missing]) ? GN_VALUE_UNKNOWN : GN_VALUE_ABSENT;
  if (barred(pair, row, true)) return;
  gn_compare_add(pair, row, GN_UNDETERMINED, "not found at the %s visit, but how soft such a sound could be and still show there is not measured", visit_word(missing));
}

void gn_compare_extra(const gn_pair *pair) {
  for (size_t k = 0; k < sizeof EXTRAS / sizeof *EXTRAS; k++) {
    const json_t *const found[2] = {extra_of(pair->reports[0], EXTRAS[k].kind), extra_of(pair->reports[1], EXTRAS[k].kind)};
    if (found[0] || found[1]) compare_one_extra(pair, EXTRAS[k].what, EXTRAS[k].label, found);
  }
}
