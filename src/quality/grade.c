// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdio.h>

#include "base/numbers.h"
#include "quality/parts.h"

// The rules are written down in quality.h.
typedef struct rule {
  double least_beats;         // confident beats
  double least_s;             // usable seconds
  double least_share;         // usable share of what was analysed
  double least_db;            // heart_to_noise_db
  double least_confident;     // share of the beats that are confident
  double most_clipped;        // clipped_fraction
} rule;

// Writes the sentence of the first rule that fails; true when all hold. Each number is judged as it is told, so that none seems to reach what is wanted.
static bool holds(const rule *r, girthline_quality *q, size_t n_confident, size_t n_beats, double analysed_s) {
  char *out = q->grade_reason;
  const size_t size = sizeof q->grade_reason;
  const double confident = n_beats ? gn_rounded((double)n_confident / (double)n_beats, 2) : 0, usable_s = gn_rounded(q->usable_s, 1);
  const double share = analysed_s > 0 ? gn_rounded(q->usable_s / analysed_s, 2) : 0, heart_db = gn_rounded(q->heart_to_noise_db, 1);
  const double clipped = gn_rounded(q->clipped_fraction, 4);
  if (n_beats == 0)
    snprintf(out, size, "No heart beats were found.");
  else if ((double)n_confident < r->least_beats)
    snprintf(out, size, "Only %zu beat%s found with confidence; %.0f are wanted.", n_confident, n_confident == 1 ? " was" : "s were", r->least_beats);
  else if (usable_s < r->least_s)
    snprintf(out, size, "Only %.1f s are not spoilt; %g s are wanted.", usable_s, r->least_s);
  else if (share < r->least_share)
    snprintf(out, size, "Only %.0f %% of the time is not spoilt; %.3g %% is wanted.", 100 * share, 100 * r->least_share);
  else if (isfinite(heart_db) && heart_db < r->least_db) {
    snprintf(out, size, "The heart sounds lie %.1f dB %s the noise; %g dB over it are wanted.", fabs(heart_db), heart_db < 0 ? "under" : "over",
             r->least_db);
    q->grade_names_level = true;
  } else if (confident < r->least_confident)
    snprintf(out, size, "Only %.0f %% of the beats were found with confidence; %.3g %% is wanted.", 100 * confident, 100 * r->least_confident);
  else if (clipped > r->most_clipped)
    snprintf(out, size, "%.2f %% of the samples are clipped; at most %.3g %% is wanted.", 100 * clipped, 100 * r->most_clipped);
  else
    return true;
  return false;
}

void gn_quality_grade(girthline_quality *q, const girthline_quality_limits *m, const girthline_beat *beats, size_t n_beats, double analysed_s) {
  size_t n_confident = 0;
  q->grade_names_level = false;
  for (size_t i = 0; i < n_beats; i++) n_confident += (double)beats[i].confidence >= m->confidence;
  const girthline_grade failed[] = {GIRTHLINE_UNUSABLE, GIRTHLINE_POOR, GIRTHLINE_FAIR};
  const rule rules[] = {
      {m->poor_beats_n, m->poor_usable_s, m->poor_usable_share, m->poor_heart_db, m->poor_confident_share, m->poor_clipped_share},
      {m->fair_beats_n, m->fair_usable_s, m->fair_usable_share, m->fair_heart_db, m->fair_confident_share, m->fair_clipped_share},
      {m->good_beats_n, m->good_usable_s, m->good_usable_share, m->good_heart_db, m->good_confident_share, m->good_clipped_share},
  };
  for (int i = 0; i < 3; i++)
    if (!holds(&rules[i], q, n_confident, n_beats, analysed_s)) {
      q->grade = failed[i];
      return;
    }
  q->grade = GIRTHLINE_GOOD;
  char level[40] = ""; // sounds given by hand have no ends, and none is measured between them
  q->grade_names_level = isfinite(q->heart_to_noise_db);
  if (q->grade_names_level) snprintf(level, sizeof level, ", %.0f dB over the noise", gn_whole(q->heart_to_noise_db, 1));
  snprintf(q->grade_reason, sizeof q->grade_reason, "%zu confident beats in %.0f s that are not spoilt%s.", n_confident, q->usable_s, level);
}
