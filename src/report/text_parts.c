// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/text_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/confidence.h"
#include "base/numbers.h"
#include "report/names.h"
#include "report/page_words.h"
#include "report/reasons.h"

// Decimals of the JSON report, from which all else is rounded.
enum { TIME_S = 4, BPM = 2, MS = 1, DB = 1, HZ = 1, PER_MIN = 1, SHARE = 3 };

// Words and numbers in turn; the text pieces may not be NULL.
static void put(gn_buffer *b, const char *before, double value, int decimals, const char *after) {
  gn_buffer_puts(b, before);
  gn_buffer_signed(b, value, decimals);
  gn_buffer_puts(b, after);
}

static void put_unknown(gn_buffer *b, const girthline_result *r, const char *pointer) {
  char store[256];
  gn_buffer_printf(b, "not determined: %s", gn_reason_of(r, pointer, store, sizeof store));
}

static const char *doubt(const girthline_result *r, double confidence, double least) {
  if (r->quality.grade == GIRTHLINE_UNUSABLE) return "the recording cannot be used";
  if (r->quality.grade == GIRTHLINE_POOR) return "the recording is poor";
  return confidence < least ? "too little speaks for it" : NULL;
}

const char *gn_text_rhythm_doubt(const girthline_result *r) { return doubt(r, r->rhythm.confidence, r->limits.findings.pattern_confidence); }

const char *gn_text_murmur_doubt(const girthline_result *r) {
  double surest = (double)NAN; // fmax passes over a NaN
  for (size_t i = 0; i < r->murmur.n_phases; i++) surest = fmax(surest, r->murmur.phases[i].confidence);
  const char *why = doubt(r, surest, r->limits.findings.murmur_confidence);
  return !why && r->murmur.n_phases && r->murmur.phases[0].phase != GIRTHLINE_CONTINUOUS && gn_confidence_names_doubted(r) ? "the first and the second sound may be exchanged" : why;
}

static void put_doubt(gn_buffer *b, const char *why) {
  if (why) gn_buffer_printf(b, "; uncertain, %s", why);
}

const char *gn_text_advice(const girthline_result *r, size_t finding) {
  const char *advice = r->findings[finding].advice, *before = finding ? r->findings[finding - 1].advice : NULL;
  return !advice || (before && !strcmp(advice, before)) ? "" : advice;
}

const char *gn_text_bars(const girthline_result *r) {
  return r->beats_given ? "A bar begins where a sound was given by hand; where it ends is not known." : "A bar runs from where a sound leaves the background to where it returns.";
}

double gn_text_bpm(const girthline_result *r) { return r->settings.minutes_after_exercise < 0 && isfinite(r->rate.settled_bpm) ? r->rate.settled_bpm : r->rate.bpm; }

void gn_text_rate(gn_buffer *b, const girthline_result *r) {
  static const char *const STANDINGS[] = {"below", "within", "above"};
  const girthline_rate *rate = &r->rate;
  if (!isfinite(rate->bpm)) {
    put_unknown(b, r, "/rate/bpm");
    return;
  }
  put(b, "", gn_rounded(rate->bpm, BPM), 0, " a minute");
  if (isfinite(rate->mean_bpm) && fabs(rate->mean_bpm - rate->bpm) > r->limits.findings.mean_differs_share * rate->bpm) {
    put(b, " by the median interval, ", gn_rounded(rate->mean_bpm, BPM), 0, " by the mean");
  }
  if (isfinite(rate->settled_bpm) && isfinite(rate->settled_from_s) && rate->settled_from_s > 0) {
    put(b, ", settled at ", gn_rounded(rate->settled_bpm, BPM), 0, "");
    put(b, " from ", gn_rounded(rate->settled_from_s, TIME_S), 0, " s on");
  }
  if (!isfinite(rate->usual_range_bpm[0]) || !isfinite(rate->usual_range_bpm[1])) return;
  if (rate->standing >= GIRTHLINE_BELOW && rate->standing <= GIRTHLINE_ABOVE)
    gn_buffer_printf(b, ", %s%s", gn_numbers_just(rate->settled_bpm, rate->usual_range_bpm), STANDINGS[rate->standing]);
  else gn_buffer_puts(b, ";");
  put(b, " the usual resting range of ", rate->usual_range_bpm[0], 0, "");
  put(b, " to ", rate->usual_range_bpm[1], 0, "");
  if (rate->standing == GIRTHLINE_STANDING_UNKNOWN) gn_buffer_puts(b, " is not applied");
}

void gn_text_rhythm(gn_buffer *b, const girthline_result *r) {
  static const char *const WORDS[] = {"regular", "speeds up and slows down smoothly, as with breathing", "an otherwise regular rhythm with pauses",
                                      "an otherwise regular rhythm with early beats", "irregular, without a repeating pattern"};
  const girthline_rhythm *y = &r->rhythm;
  if (y->pattern < GIRTHLINE_REGULAR || y->pattern > GIRTHLINE_IRREGULAR) {
    put_unknown(b, r, "/rhythm/pattern");
    return;
  }
  gn_buffer_puts(b, WORDS[y->pattern]);
  if (y->n_pauses) gn_buffer_printf(b, "; %zu pause%s", y->n_pauses, y->n_pauses == 1 ? "" : "s");
  if (y->n_pauses && isfinite(y->longest_interval_s)) put(b, ", longest interval ", gn_rounded(y->longest_interval_s, TIME_S), 2, " s");
  if (y->n_early) gn_buffer_printf(b, "; %zu early beat%s", y->n_early, y->n_early == 1 ? "" : "s");
  put_doubt(b, gn_text_rhythm_doubt(r));
}

static const char *phase_words(girthline_phase phase) {
  return phase == GIRTHLINE_SYSTOLE ? "in systole" : phase == GIRTHLINE_DIASTOLE ? "in diastole" : "through systole and diastole";
}

static const char *loudness_words(girthline_loudness loudness) {
  return loudness == GIRTHLINE_SOFTER ? "softer than" : loudness == GIRTHLINE_LOUDER ? "louder than" : "as loud as";
}

static void put_limits(gn_buffer *b, const double limit_db[2]) {
  if (!isfinite(limit_db[0]) || !isfinite(limit_db[1])) return;
  put(b, "; one softer than ", gn_rounded(limit_db[0], DB), 0, " dB in systole or ");
  put(b, "", gn_rounded(limit_db[1], DB), 0, " dB in diastole, against the first sound, would have gone unnoticed");
}

void gn_text_murmur(gn_buffer *b, const girthline_result *r) {
  const girthline_murmur *m = &r->murmur;
  if (m->present == GIRTHLINE_UNKNOWN) {
    put_unknown(b, r, "/murmur/present");
  } else if (m->present == GIRTHLINE_NO) {
    gn_buffer_puts(b, "no murmur found");
    put_limits(b, m->detection_limit_db);
  } else {
    gn_buffer_puts(b, "a murmur");
    for (size_t i = 0; i < m->n_phases; i++)
      gn_buffer_printf(b, "%s %s %s, %s the first sound", i ? ", and one" : "", gn_page_timing(m->phases[i].timing), gn_page_phase(m->phases[i].phase),
                       loudness_words(m->phases[i].loudness));
    put_doubt(b, gn_text_murmur_doubt(r));
  }
}

const char *gn_text_murmur_end(const girthline_murmur_phase *p) {
  if (p->ends_before_s2 == GIRTHLINE_UNKNOWN) return NULL;
  if (p->ends_before_s2 == GIRTHLINE_YES) return "ends before S2";
  return p->timing == GIRTHLINE_EARLY || p->timing == GIRTHLINE_MID ? "was not seen to end before S2" : "reaches S2";
}

void gn_text_murmur_phase(gn_buffer *b, const girthline_murmur_phase *p) {
  static const char *const TIMINGS[] = {"early", "mid", "late", "through all of it"};
  gn_buffer_printf(b, "Murmur %s: ", phase_words(p->phase));
  if ((unsigned)p->timing <= GIRTHLINE_HOLO) gn_buffer_printf(b, "%s, ", TIMINGS[p->timing]);
  if (gn_name_shape(p->shape)) gn_buffer_printf(b, "%s", gn_name_shape(p->shape));
  if (isfinite(p->level_db)) put(b, ", ", gn_rounded(p->level_db, DB), 0, " dB against the first sound");
  if (isfinite(p->level_db_interval[0]) && isfinite(p->level_db_interval[1])) {
    put(b, " (", gn_rounded(p->level_db_interval[0], DB), 0, "");
    put(b, " to ", gn_rounded(p->level_db_interval[1], DB), 0, ")");
  }
  if (isfinite(p->peak_hz)) put(b, ", strongest near ", gn_rounded(p->peak_hz, HZ), 0, " Hz");
  if (p->musical == GIRTHLINE_YES) gn_buffer_puts(b, ", musical");
  if (isfinite(p->beats_fraction)) put(b, ", in ", 100 * gn_rounded(p->beats_fraction, SHARE), 0, " % of clean beats");
  if (gn_text_murmur_end(p)) gn_buffer_printf(b, ", %s", gn_text_murmur_end(p));
  gn_buffer_puts(b, ".");
}

bool gn_text_is_part(const girthline_result *r) {
  const girthline_recording *rec = &r->recording;
  return rec->from_s > 0 || rec->duration_s - rec->to_s > 1 / rec->sample_rate_hz;
}

void gn_text_length(gn_buffer *b, const girthline_result *r) {
  const girthline_recording *rec = &r->recording;
  if (!isfinite(rec->duration_s)) return;
  put(b, "", gn_rounded(rec->duration_s, TIME_S), 1, " s");
  if (!gn_text_is_part(r)) return;
  put(b, " (analysed: ", gn_rounded(rec->from_s, TIME_S), 1, "");
  put(b, " to ", gn_rounded(rec->to_s, TIME_S), 1, " s)");
}

void gn_text_quality(gn_buffer *b, const girthline_result *r) {
  const girthline_quality *q = &r->quality;
  const char *grade = gn_name_grade(q->grade);
  size_t n = strlen(q->grade_reason);
  while (n && q->grade_reason[n - 1] == '.') n--;
  gn_buffer_printf(b, "The recording is %s%s%.*s.", grade ? grade : "not graded", n ? ". " : "", (int)n, q->grade_reason);
  if (q->silent || !isfinite(q->usable_s) || !isfinite(r->recording.duration_s)) return; // of silence the grade says all
  put(b, " ", gn_rounded(q->usable_s, TIME_S), 1, " s of ");
  if (gn_text_is_part(r)) gn_buffer_puts(b, "the part analysed");
  else put(b, "", gn_rounded(r->recording.duration_s, TIME_S), 1, " s");
  gn_buffer_puts(b, q->grade == GIRTHLINE_UNUSABLE ? " are not spoilt" : " can be used");
  if (!q->grade_names_level && isfinite(q->heart_to_noise_db)) put(b, "; the heart lies ", fabs(gn_rounded(q->heart_to_noise_db, DB)), 0, q->heart_to_noise_db < 0 ? " dB under the quiet parts" : " dB over the quiet parts");
  if (isfinite(q->hum_hz) && q->hum_hz > 0) put(b, "; a hum at ", gn_rounded(q->hum_hz, HZ), 0, " Hz");
  if (isfinite(q->breaths_per_min)) put(b, "; breathing ", gn_rounded(q->breaths_per_min, PER_MIN), 0, " a minute");
  gn_buffer_puts(b, ".");
}

void gn_text_problems(gn_buffer *b, const girthline_quality *q) {
  if (q->silent) return;
  static const char *const WORDS[] = {"handling", "dropouts", "clipping", "breathing", "noise", "no heart sound"};
  bool any = false;
  for (int kind = 0; kind <= GIRTHLINE_NO_HEART_SOUND; kind++) {
    double total_s = 0;
    size_t n = 0;
    for (size_t i = 0; i < q->n_problems; i++) {
      if ((int)q->problems[i].kind != kind) continue;
      total_s += q->problems[i].span.end_s - q->problems[i].span.start_s;
      n++;
    }
    if (!n || !isfinite(total_s)) continue;
    gn_buffer_printf(b, "%s%s ", any ? ", " : "Spoilt by ", WORDS[kind]);
    put(b, "", total_s, 1, " s");
    if (n > 1) gn_buffer_printf(b, " in %zu places", n);
    any = true;
  }
  if (any) gn_buffer_puts(b, ".");
}

static void put_share(gn_buffer *b, const char *before, double share, const char *after) {
  double percent;
  gn_buffer_puts(b, before);
  gn_buffer_puts(b, gn_numbers_percent(share, &percent));
  gn_buffer_fixed(b, percent, 0);
  gn_buffer_printf(b, " %%%s", after);
}

void gn_text_beats(gn_buffer *b, const girthline_result *r) {
  size_t n_s2 = 0;
  for (size_t i = 0; i < r->n_beats; i++) n_s2 += isfinite(r->beats[i].s2_onset_s) ? 1 : 0;
  if (!r->n_beats) {
    gn_buffer_puts(b, "No beats were read.");
    return;
  }
  const double right = gn_confidence(r, false), names = gn_confidence(r, true);
  gn_buffer_printf(b, "%zu beat%s, a second sound in %zu", r->n_beats, r->n_beats == 1 ? "" : "s", n_s2);
  if (isfinite(right)) put_share(b, "; ", right, " of such beats are right");
  if (isfinite(names)) put_share(b, ", and first and second sound are told apart with ", names, " confidence");
  gn_buffer_puts(b, ".");
}

void gn_text_extra(gn_buffer *b, const girthline_extra *e) {
  static const char *const WORDS[] = {"Third sound (S3)", "Fourth sound (S4)", "Split first sound", "Split second sound", "Click"};
  static const char *const DELAYS[] = {" s after S2", " s before S1", " s apart", " s apart", " s after S1"};
  if ((unsigned)e->kind > GIRTHLINE_CLICK) return;
  gn_buffer_puts(b, WORDS[e->kind]);
  if (isfinite(e->beats_fraction)) put(b, " in ", 100 * gn_rounded(e->beats_fraction, SHARE), 0, " % of beats");
  if (isfinite(e->delay_s)) put(b, ", ", gn_rounded(e->delay_s, TIME_S), 2, DELAYS[e->kind]);
  if (isfinite(e->level_db)) put(b, ", ", gn_rounded(e->level_db, DB), 0, " dB against the first sound");
  gn_buffer_puts(b, ".");
}

void gn_text_variability(gn_buffer *b, const girthline_rhythm *y) {
  if (!isfinite(y->sdnn_ms)) return;
  put(b, "Intervals vary by SDNN ", gn_rounded(y->sdnn_ms, MS), 0, " ms");
  if (isfinite(y->rmssd_ms)) put(b, ", RMSSD ", gn_rounded(y->rmssd_ms, MS), 0, " ms");
  gn_buffer_printf(b, " over %zu interval%s. Heart-sound intervals are not ECG intervals.", y->used_count, y->used_count == 1 ? "" : "s");
}

typedef struct measure {
  const char *words, *pointer;
  bool known;
} measure;

static void list_measures(const girthline_result *r, measure out[GN_TEXT_N_MEASURES]) {
  const girthline_rhythm *y = &r->rhythm;
  const girthline_quality *q = &r->quality;
  const measure all[GN_TEXT_N_MEASURES] = {
      {"rate", "/rate/bpm", isfinite(r->rate.bpm)},
      {"how the rate stands against the usual range", "/rate/standing", r->rate.standing != GIRTHLINE_STANDING_UNKNOWN},
      {"rhythm", "/rhythm/pattern", y->pattern != GIRTHLINE_PATTERN_UNDETERMINED},
      {"murmur", "/murmur/present", r->murmur.present != GIRTHLINE_UNKNOWN},
      {"heart-to-noise level", "/quality/heart_to_noise_db", isfinite(q->heart_to_noise_db)},
      {"hum", "/quality/hum_hz", isfinite(q->hum_hz)},
      {"breathing", "/quality/breaths_per_min", isfinite(q->breaths_per_min)},
      {"best stretch", "/quality/best_span", isfinite(q->best_span.start_s)},
      {"longest interval", "/rhythm/longest_interval_s", isfinite(y->longest_interval_s)},
      {"SDNN", "/rhythm/sdnn_ms", isfinite(y->sdnn_ms)},
      {"RMSSD", "/rhythm/rmssd_ms", isfinite(y->rmssd_ms)},
      {"pNN50", "/rhythm/pnn50_percent", isfinite(y->pnn50_percent)},
      {"SD1", "/rhythm/sd1_ms", isfinite(y->sd1_ms)},
      {"SD2", "/rhythm/sd2_ms", isfinite(y->sd2_ms)},
      {"sample entropy", "/rhythm/sample_entropy", isfinite(y->sample_entropy)},
  };
  memcpy(out, all, sizeof all);
}

bool gn_text_unknown(gn_buffer *b, const girthline_result *r, size_t i, bool said[GN_TEXT_N_MEASURES]) {
  measure m[GN_TEXT_N_MEASURES];
  char reason[256], other[256];
  list_measures(r, m);
  if (m[i].known) return false;
  const char *why = gn_reason_of(r, m[i].pointer, reason, sizeof reason);
  gn_buffer_puts(b, m[i].words);
  for (size_t k = i + 1; k < GN_TEXT_N_MEASURES; k++) {
    if (m[k].known || said[k] || strcmp(gn_reason_of(r, m[k].pointer, other, sizeof other), why)) continue;
    gn_buffer_printf(b, ", %s", m[k].words);
    said[k] = true;
  }
  gn_buffer_printf(b, ": %s", why);
  return true;
}
