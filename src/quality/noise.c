// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdlib.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"
#include "quality/parts.h"

// contract: RMS over S1 and S2 against RMS over the quiet parts, 25 to 700 Hz.
static const double LOW_HZ = 25, HIGH_HZ = 700, HIGHEST_SHARE = 0.45; // of the rate
static const double GUARD_S = 0.030;     // a sound's skirts
static const double QUIET_SHARE = 1.0 / 3; // the quietest third of the places in the cycle: not the murmur, not S3 or S4
static const double LONGEST_S = 5;       // no cycle: a gap

typedef struct range { double start_s, end_s; } range;

static void add_range(const gn_signal *w, const float *y, double start_s, double end_s, double *power, double *count) {
  double from = ceil((start_s - w->start_s) * w->fs_hz), to = ceil((end_s - w->start_s) * w->fs_hz);
  if (from < 0) from = 0;
  if (to > (double)w->n) to = (double)w->n;
  double sum = 0;
  for (size_t i = (size_t)from; (double)i < to; i++) sum += (double)y[i] * (double)y[i];
  if (to > from) {
    *power += sum;
    *count += to - from;
  }
}

static void add_cells(gn_quality_noise *noise, const gn_signal *w, const float *y, const gn_quality_spans *spoilt, range r, size_t first_n[2]) {
  for (size_t k = 0; k < first_n[1]; k++) {
    const double step_s = (r.end_s - r.start_s) / (double)first_n[1];
    const double start_s = r.start_s + (double)k * step_s;
    if (step_s <= 0 || gn_quality_spans_hit(spoilt->items, spoilt->n, GN_QUALITY_SPOILING, start_s, start_s + step_s)) continue;
    add_range(w, y, start_s, start_s + step_s, &noise->cell_power[first_n[0] + k], &noise->cell_n[first_n[0] + k]);
  }
}

static void add_beat(gn_quality_noise *noise, const gn_signal *w, const float *y, const gn_quality_spans *spoilt, const girthline_beat *b,
                     double next_s) {
  const double s1_end_s = b->s1_onset_s + (double)b->s1_offset_s, s2_end_s = b->s2_onset_s + (double)b->s2_offset_s;
  if (gn_quality_spans_hit(spoilt->items, spoilt->n, GN_QUALITY_SPOILING, b->s1_onset_s, s2_end_s)) return;
  add_range(w, y, b->s1_onset_s, s1_end_s, &noise->sound_power, &noise->sound_n);
  add_range(w, y, b->s2_onset_s, s2_end_s, &noise->sound_power, &noise->sound_n);
  noise->n_beats++;
  size_t systole[2] = {0, GN_QUALITY_SYSTOLE_CELLS}, diastole[2] = {GN_QUALITY_SYSTOLE_CELLS, GN_QUALITY_CELLS - GN_QUALITY_SYSTOLE_CELLS};
  add_cells(noise, w, y, spoilt, (range){s1_end_s + GUARD_S, b->s2_onset_s - GUARD_S}, systole);
  if (next_s - b->s1_onset_s < LONGEST_S) add_cells(noise, w, y, spoilt, (range){s2_end_s + GUARD_S, next_s - GUARD_S}, diastole);
}

static bool is_whole(const girthline_beat *b) {
  return isfinite(b->s1_onset_s) && isfinite(b->s2_onset_s) && isfinite(b->s1_offset_s) && isfinite(b->s2_offset_s);
}

int gn_quality_noise_add(gn_quality_noise *noise, const gn_signal *w, const gn_quality_spans *spoilt, const girthline_beat *beats,
                         size_t n_beats) {
  if (!n_beats) return 0;
  float *y = gn_new(w->n, sizeof *y);
  if (!y) return -1;
  for (size_t i = 0; i < w->n; i++) y[i] = isfinite(w->samples[i]) ? w->samples[i] : 0;
  gn_biquad band[2];
  gn_biquad_bandpass(band, LOW_HZ, fmin(HIGH_HZ, HIGHEST_SHARE * w->fs_hz), w->fs_hz);
  if (gn_biquad_zero_phase(band, 2, y, y, w->n)) {
    gn_free(y);
    return -1;
  }
  for (size_t i = 0; i < n_beats; i++)
    if (is_whole(&beats[i])) add_beat(noise, w, y, spoilt, &beats[i], i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN);
  gn_free(y);
  return 0;
}

static int by_power(const void *a, const void *b) {
  const double p = *(const double *)a, q = *(const double *)b;
  return p < q ? -1 : p > q;
}

double gn_quality_noise_db(const gn_quality_noise *noise) {
  double means[GN_QUALITY_CELLS];
  size_t n = 0;
  for (size_t k = 0; k < GN_QUALITY_CELLS; k++)
    if (noise->cell_n[k] > 0) means[n++] = noise->cell_power[k] / noise->cell_n[k];
  if (!n || !(noise->sound_n > 0)) return NAN;
  qsort(means, n, sizeof *means, by_power);
  const size_t quiet_n = (size_t)ceil(QUIET_SHARE * (double)n);
  double quiet = 0;
  for (size_t k = 0; k < quiet_n; k++) quiet += means[k] / (double)quiet_n;
  const double sound = noise->sound_power / noise->sound_n;
  if (!(quiet > 0) || !(sound > 0)) return NAN;
  return gn_db(sound / quiet);
}
