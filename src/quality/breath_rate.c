// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/wide.h"
#include "quality/parts.h"

// The level between the sounds, 150 to 450 Hz, in slots; what keeps step with the heart (a murmur) is taken out first as
// the mean level at each place of the cycle.
static const double SLOT_S = 0.2;
static const double GRID_FROM_HZ = 0.05, GRID_STEP_HZ = 0.005;

typedef struct place { int cell; double level_db; } place;

// The place in the cycle of a time after S1, or -1 within the sounds.
static int cell_of(const girthline_beat *b, double next_s, double guard_s, double t) {
  const double s1_end = b->s1_onset_s + (double)b->s1_offset_s + guard_s, s2 = b->s2_onset_s - guard_s;
  const double s2_end = b->s2_onset_s + (double)b->s2_offset_s + guard_s, next = next_s - guard_s;
  const int systole = GN_QUALITY_SYSTOLE_CELLS, diastole = GN_QUALITY_CELLS - GN_QUALITY_SYSTOLE_CELLS;
  if (t >= s1_end && t < s2) return (int)((t - s1_end) / (s2 - s1_end) * systole);
  if (t >= s2_end && t < next) return systole + (int)((t - s2_end) / (next - s2_end) * diastole);
  return -1;
}

// Four frequencies at work at once: each turn waits for the one before.
enum { LANES = 4 };
typedef double lanes __attribute__((vector_size(LANES * sizeof(double)), may_alias));

// The share of the variance that each explains; turn_c and turn_s: cosine and sine of its turn in a slot; y: the slots' levels, NaN where missing.
GN_WIDE static void shares_of(const double y[GN_BREATH_SLOTS], const lanes *turn_c, const lanes *turn_s, double variance, double share[LANES]) {
  lanes cc = {0}, ss = {0}, cs = {0}, yc = {0}, ys = {0}, c = {1, 1, 1, 1}, s = {0};
  for (int i = 0; i < GN_BREATH_SLOTS; i++) {
    if (!isnan(y[i])) cc += c * c, ss += s * s, cs += c * s, yc += y[i] * c, ys += y[i] * s;
    const lanes next = c * *turn_c - s * *turn_s;
    s = s * *turn_c + c * *turn_s;
    c = next;
  }
  const lanes det = cc * ss - cs * cs, explained = (yc * yc * ss - 2 * yc * ys * cs + ys * ys * cc) / det / variance;
  for (int k = 0; k < LANES; k++) share[k] = det[k] > 0 && variance > 0 ? explained[k] : 0;
}

static void add_shares(gn_quality_breathing *b, double mean, double variance) {
  double y[GN_BREATH_SLOTS], share[LANES];
  for (int i = 0; i < GN_BREATH_SLOTS; i++) y[i] = b->weight[i] > 0 ? b->sum[i] / b->weight[i] - mean : (double)NAN;
  for (int k = 0; k < GN_BREATH_GRID; k += LANES) {
    lanes turn_c = {0}, turn_s = {0};
    for (int l = 0; l < LANES; l++) {
      const double turn = 2 * GN_PI * (GRID_FROM_HZ + (k + l) * GRID_STEP_HZ) * SLOT_S;
      turn_c[l] = gn_cos(turn), turn_s[l] = gn_sin(turn);
    }
    shares_of(y, &turn_c, &turn_s, variance, share);
    for (int l = 0; l < LANES && k + l < GN_BREATH_GRID; l++) b->share[k + l] += share[l];
  }
}

// The stretch under way becomes a part of the mean spectrum (Lomb's least squares: slots may be missing).
static void close_stretch(gn_quality_breathing *b) {
  double sum = 0, squares = 0, n = 0;
  int first = GN_BREATH_SLOTS, last = -1;
  for (int i = 0; i < GN_BREATH_SLOTS; i++)
    if (b->weight[i] > 0) {
      const double y = b->sum[i] / b->weight[i];
      sum += y, squares += y * y, n++;
      if (first > i) first = i;
      last = i;
    }
  if (n > 0 && (last - first + 1) * SLOT_S >= b->limits->breath_stretch_s && n * SLOT_S >= b->limits->breath_stretch_s / 2) {
    const double mean = sum / n, variance = squares - n * mean * mean;
    add_shares(b, mean, variance);
    b->depth_db += sqrt(fmax(0, variance / n));
    b->n_stretches++;
  }
  memset(b->sum, 0, sizeof b->sum);
  memset(b->weight, 0, sizeof b->weight);
}

static void put(gn_quality_breathing *b, double time_s, double level_db) {
  const int64_t slot = (int64_t)floor(time_s / SLOT_S);
  if (!b->any) b->first_slot = slot;
  b->any = true;
  if (slot < b->first_slot) return;
  if (slot - b->first_slot >= GN_BREATH_SLOTS) {
    close_stretch(b);
    b->first_slot = slot;
  }
  b->sum[slot - b->first_slot] += level_db;
  b->weight[slot - b->first_slot] += 1;
}

static void places_of(const gn_quality_breathing *b, const gn_quality_frames *f, const gn_quality_spans *spoilt, const girthline_beat *beats, size_t n_beats,
                      place *out) {
  size_t k = 0;
  const double half_s = 0.5 * (double)f->n_fft / f->fs_hz;
  for (size_t i = 0; i < f->n; i++) {
    out[i].cell = -1;
    const double t = gn_quality_frames_time(f, i), power = (double)f->rows[i][GN_BAND_BREATH];
    while (k + 1 < n_beats && beats[k + 1].s1_onset_s <= t) k++;
    if (k + 1 >= n_beats || t < beats[k].s1_onset_s || beats[k + 1].s1_onset_s - beats[k].s1_onset_s > b->limits->breath_gap_s || !(power > 0)) continue;
    if (!isfinite(beats[k].s2_onset_s) || gn_quality_spans_hit(spoilt->items, spoilt->n, GN_QUALITY_HIDING, t - half_s, t + half_s)) continue;
    out[i] = (place){cell_of(&beats[k], beats[k + 1].s1_onset_s, b->limits->breath_guard_s, t), gn_db(power)};
  }
}

int gn_quality_breathing_add(gn_quality_breathing *b, const gn_quality_frames *f, const gn_quality_spans *spoilt, double from_s, double to_s,
                             const girthline_beat *beats, size_t n_beats) {
  if (n_beats < 3) return 0;
  place *places = gn_room(f->n, sizeof *places);
  if (!places) return -1;
  places_of(b, f, spoilt, beats, n_beats, places);
  double sum[GN_QUALITY_CELLS] = {0}, n[GN_QUALITY_CELLS] = {0};
  for (size_t i = 0; i < f->n; i++)
    if (places[i].cell >= 0) sum[places[i].cell] += places[i].level_db, n[places[i].cell]++;
  for (size_t i = 0; i < f->n; i++) {
    const double t = gn_quality_frames_time(f, i);
    if (places[i].cell >= 0 && t >= from_s && t < to_s) put(b, t, places[i].level_db - sum[places[i].cell] / n[places[i].cell]);
  }
  for (size_t i = 0; i + 1 < n_beats; i++)
    if (beats[i + 1].s1_onset_s - beats[i].s1_onset_s < b->limits->breath_gap_s) {
      b->beat_interval_s += beats[i + 1].s1_onset_s - beats[i].s1_onset_s;
      b->n_intervals++;
    }
  gn_free(places);
  return 0;
}

// A breath is heard going in and out: the wave and the wave at twice its frequency belong together.
static double worth(const gn_quality_breathing *b, const girthline_profile *profile, int k) {
  const double hz = GRID_FROM_HZ + k * GRID_STEP_HZ;
  const int twice = (int)floor((2 * hz - GRID_FROM_HZ) / GRID_STEP_HZ + 0.5);
  double second = 0;
  for (int i = twice - 1; i <= twice + 1; i++)
    if (i < GN_BREATH_GRID) second = fmax(second, b->share[i]);
  second = fmin(second, b->limits->breath_second_times * b->share[k]);
  const double *usual = profile->breaths_per_min;
  return (b->share[k] + second) * (60 * hz > usual[1] ? b->limits->breath_above_weight : 60 * hz < usual[0] ? b->limits->breath_below_weight : 1);
}

double gn_quality_breathing_rate(gn_quality_breathing *b, const girthline_profile *profile, const char **reason) {
  close_stretch(b);
  *reason = "Too little of the recording between the heart sounds could be used to listen for breathing.";
  if (!b->n_stretches) return NAN;
  *reason = "No breathing is heard: the sound between the beats does not rise and fall steadily.";
  const double n = (double)b->n_stretches, wider = b->limits->breath_range_factor;
  const double low_hz = profile->breaths_per_min[0] / wider / 60, high_hz = profile->breaths_per_min[1] * wider / 60;
  const double heart_hz = b->n_intervals ? (double)b->n_intervals / b->beat_interval_s : 0;
  int best = -1;
  for (int k = 1; k + 1 < GN_BREATH_GRID; k++) {
    const double hz = GRID_FROM_HZ + k * GRID_STEP_HZ;
    if (hz < low_hz || hz > high_hz || fabs(hz / heart_hz - 1) < b->limits->breath_heart_share) continue;
    if (best < 0 || worth(b, profile, k) > worth(b, profile, best)) best = k;
  }
  if (best < 0 || worth(b, profile, best) / n < b->limits->breath_share || b->depth_db / n < b->limits->breath_swing_db) return NAN;
  return 60 * (GRID_FROM_HZ + best * GRID_STEP_HZ);
}
