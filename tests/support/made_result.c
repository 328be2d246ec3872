// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "made_result.h"

#include <stdio.h>

#include "base/memory.h"
#include "base/result.h"

static void fill_quality(girthline_quality *q) {
  q->grade = GIRTHLINE_GOOD;
  snprintf(q->grade_reason, sizeof q->grade_reason, "the heart sounds stand 18 dB above the quiet parts");
  q->usable_s = 57.5;
  q->heart_to_noise_db = 18.04;
  q->clipped_fraction = 0;
  q->hum_hz = 50;
  q->breaths_per_min = 12.1;
  q->best_span = (girthline_span){12.25, 22.75};
  q->problems = gn_new(2, sizeof *q->problems);
  if (!q->problems) return;
  q->problems[0] = (girthline_problem){{3.1, 4.2}, GIRTHLINE_HANDLING};
  q->problems[1] = (girthline_problem){{30.0, 31.4}, GIRTHLINE_BREATHING};
  q->n_problems = 2;
}

static void fill_beats(girthline_result *r, size_t n) {
  r->beats = gn_new(n, sizeof *r->beats);
  if (!r->beats) return;
  for (size_t i = 0; i < n; i++)
    r->beats[i] = (girthline_beat){0.1 + 1.5 * (double)i, 0.6 + 1.5 * (double)i, 0.04f, 0.12f, 0.03f, 0.08f, 0.97f, 0.95f, 0};
  r->n_beats = n;
}

static void fill_extras(girthline_result *r) {
  r->extras = gn_new(1, sizeof *r->extras);
  if (!r->extras) return;
  r->extras[0] = (girthline_extra){GIRTHLINE_EXTRA_S4, 0.8, 0.21, -9.5, 0.9, gn_new(2, sizeof(double)), 0};
  r->n_extras = 1;
  if (!r->extras[0].onsets_s) return;
  r->extras[0].onsets_s[0] = 1.39;
  r->extras[0].onsets_s[1] = 2.89;
  r->extras[0].n_onsets = 2;
}

static void fill_rate(girthline_rate *rate) {
  rate->bpm = 40;
  rate->mean_bpm = 37.2;
  rate->settled_bpm = 40;
  rate->settled_from_s = 0;
  rate->min_bpm = 34;
  rate->max_bpm = 41.5;
  rate->usual_range_bpm[0] = 28;
  rate->usual_range_bpm[1] = 44;
  rate->standing = GIRTHLINE_WITHIN;
  rate->counted = gn_new(1, sizeof *rate->counted);
  if (rate->counted) rate->counted[rate->n_counted++] = (girthline_counted){{0, 15}, 10, 40};
}

static void fill_rhythm(girthline_rhythm *y) {
  y->pattern = GIRTHLINE_PAUSES;
  snprintf(y->explanation, sizeof y->explanation, "38 of 40 intervals lie within 4 %% of 1.50 s; one is 2.0 times as long");
  y->confidence = 0.93;
  y->used_count = 1;
  y->mean_interval_s = 1.5;
  y->sdnn_ms = 60.06;
  y->rmssd_ms = 71.3;
  y->interval_cv_percent = 4.004;
  y->pnn50_percent = 12.5;
  y->sd1_ms = 50.4;
  y->sd2_ms = 68.3;
  y->onset_jitter_ms = 3.2;
  y->longest_interval_s = 3;
  y->intervals = gn_new(1, sizeof *y->intervals);
  if (y->intervals) y->intervals[y->n_intervals++] = (girthline_interval){{0.1, 1.6}, true};
  y->pauses = gn_new(1, sizeof *y->pauses);
  if (y->pauses) y->pauses[y->n_pauses++] = (girthline_pause){{9.1, 12.1}, 2.0, {10.39}, 1};
  y->early = gn_new(1, sizeof *y->early);
  if (y->early) y->early[y->n_early++] = (girthline_early){20.3, 0.71};
}

static void fill_murmur(girthline_murmur *m) {
  m->present = GIRTHLINE_YES;
  m->detection_limit_db[0] = -24.2;
  m->detection_limit_db[1] = -26.6;
  m->n_phases = 1;
  m->phases[0] = (girthline_murmur_phase){.phase = GIRTHLINE_SYSTOLE,
                                          .timing = GIRTHLINE_MID,
                                          .shape = GIRTHLINE_CRESCENDO_DECRESCENDO,
                                          .level_db = -14.2,
                                          .level_db_interval = {-15.1, -13.0},
                                          .loudness = GIRTHLINE_SOFTER,
                                          .peak_hz = 145,
                                          .band_hz = {80, 260},
                                          .musical = GIRTHLINE_NO,
                                          .beats_fraction = 0.92,
                                          .ends_before_s2 = GIRTHLINE_YES,
                                          .confidence = 0.9,
                                          .start_fraction = 0.2,
                                          .end_fraction = 0.75};
}

static void fill_finding(girthline_result *r) {
  r->findings = gn_new(1, sizeof *r->findings);
  if (!r->findings) return;
  r->findings[0] = (girthline_finding){
      "pauses", gn_strdup("One pause of 3.00 s, 2.0 times the usual interval, with an atrial sound alone in it."),
      gn_strdup("Longest interval 3.00 s against a usual 1.50 s."), {"/rhythm/pauses", "/rhythm/longest_interval_s"}, 2,
      gn_strdup("An ECG at rest settles what the pause is; exercise only on a veterinarian's decision."), GIRTHLINE_ROUTINE};
  r->n_findings = 1;
}

girthline_result *made_result(size_t n_beats) {
  girthline_result *r = gn_result_new();
  if (!r) return NULL;
  r->recording = (girthline_recording){60, 44100, 1, 1, "WAV, 16-bit PCM", "", false, 0, 60};
  fill_quality(&r->quality);
  fill_beats(r, n_beats);
  fill_extras(r);
  fill_rate(&r->rate);
  fill_rhythm(&r->rhythm);
  fill_murmur(&r->murmur);
  fill_finding(r);
  gn_result_undetermine(r, "/rhythm/sample_entropy", "Fewer than 200 intervals.");
  return r;
}
