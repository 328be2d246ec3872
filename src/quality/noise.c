// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdlib.h>

#include "base/biquad.h"
#include "base/dot.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// The measure's definition: RMS over S1 and S2 against RMS over the quiet parts, 25 to 700 Hz.
static const double LOW_HZ = 25, HIGH_HZ = 700, HIGHEST_SHARE = 0.45; // of the rate

static const double SILENT_DB = -400;     // digital silence
// A place whose level, as the mean of its dB, stands no more than this over the quietest third's is noise as well, and so is one that
// chance could lift as far: breath moves all places of a beat, a murmur or an S3 stands out in its own in every beat. Chosen on 540
// simulated recordings (1 to 28 dB, half of them with a murmur): 3 dB or 1 error do as well, no errors lose 3 % of those within 2 dB.
static const double LIKE_QUIET_DB = 2, LIKE_QUIET_ERRORS = 2;
// A hand that left no mark: a sound this far over the usual one of its name, or a place this far over the usual sounds, is neither
// heart nor quiet. An irregular heart's sounds spread by less; gut sounds that stay below are noise. Chosen on the same recordings, 4 to 6 dB alike.
static const double LOUD_SOUND_DB = 6, LOUD_PLACE_DB = 5;

typedef struct range { double start_s, end_s; } range;
typedef struct ear {
  gn_quality_noise *noise;
  const gn_signal *window;
  const gn_quality_spans *spoilt;
  const float *y;
  double most_sound[2], most; // power: S1, S2 or a place between them that is louder is no part of the measure
} ear;

static bool spoilt(const ear *e, double start_s, double end_s) {
  return gn_quality_spans_hit(e->spoilt->items, e->spoilt->n, GN_QUALITY_SPOILING, start_s, end_s);
}

static void add_range(const ear *e, double start_s, double end_s, double *power, double *count) {
  const gn_signal *w = e->window;
  const double from = fmax(0, ceil((start_s - w->start_s) * w->fs_hz)), to = fmin((double)w->n, ceil((end_s - w->start_s) * w->fs_hz));
  if (!(to > from)) return;
  const float *const y = e->y + (size_t)from;
  *power += gn_dot(y, y, (size_t)(to - from));
  *count += to - from;
}

static void add_cell(const ear *e, range r, size_t k) {
  double power = 0, count = 0;
  add_range(e, r.start_s, r.end_s, &power, &count);
  if (!(count > 0) || power > e->most * count) return;
  e->noise->cell_power[k] += power;
  e->noise->cell_n[k] += count;
  if (!(power > 0)) return;
  const double db = gn_db(power / count);
  e->noise->cell_db[k] += db;
  e->noise->cell_squares[k] += db * db;
  e->noise->cell_beats[k]++;
}

// Cells [first, end) share the range evenly.
static void add_cells(const ear *e, range r, size_t first, size_t end) {
  const double step_s = (r.end_s - r.start_s) / (double)(end - first);
  for (size_t k = first; k < end && step_s > 0; k++) {
    const double start_s = r.start_s + (double)(k - first) * step_s;
    if (!spoilt(e, start_s, start_s + step_s)) add_cell(e, (range){start_s, start_s + step_s}, k);
  }
}

static range sound_of(const girthline_beat *b, int which) {
  const double onset_s = which ? b->s2_onset_s : b->s1_onset_s;
  return (range){onset_s, onset_s + (double)(which ? b->s2_offset_s : b->s1_offset_s)};
}

static bool is_whole(const girthline_beat *b) {
  return isfinite(b->s1_onset_s) && isfinite(b->s2_onset_s) && isfinite(b->s1_offset_s) && isfinite(b->s2_offset_s);
}

static bool is_heard(const ear *e, const girthline_beat *b) { return is_whole(b) && !spoilt(e, b->s1_onset_s, sound_of(b, 1).end_s); }

// The usual power of this window's sounds, and with it what is too loud.
static void set_usual(ear *e, const girthline_beat *beats, size_t n_beats, double *room) {
  double usual[2] = {0, 0};
  for (int k = 0; k < 2; k++) {
    size_t n = 0;
    for (size_t i = 0; i < n_beats; i++) {
      double power = 0, count = 0;
      if (is_heard(e, &beats[i])) add_range(e, sound_of(&beats[i], k).start_s, sound_of(&beats[i], k).end_s, &power, &count);
      if (count > 0) room[n++] = power / count;
    }
    usual[k] = n ? gn_median(room, n) : 0;
    e->most_sound[k] = usual[k] * gn_from_db(LOUD_SOUND_DB);
  }
  e->most = 0.5 * (usual[0] + usual[1]) * gn_from_db(LOUD_PLACE_DB);
}

static void add_beat(const ear *e, const girthline_beat *b, double next_s) {
  gn_quality_noise *noise = e->noise;
  const double guard_s = noise->limits->noise_guard_s;
  for (int k = 0; k < 2; k++) {
    double power = 0, count = 0;
    add_range(e, sound_of(b, k).start_s, sound_of(b, k).end_s, &power, &count);
    if (power > e->most_sound[k] * count) continue;
    noise->sound_power[k] += power;
    noise->sound_n[k] += count;
  }
  add_cells(e, (range){sound_of(b, 0).end_s + guard_s, b->s2_onset_s - guard_s}, 0, GN_QUALITY_SYSTOLE_CELLS);
  if (next_s - b->s1_onset_s < noise->limits->noise_gap_s)
    add_cells(e, (range){sound_of(b, 1).end_s + guard_s, next_s - guard_s}, GN_QUALITY_SYSTOLE_CELLS, GN_QUALITY_CELLS);
}

void gn_quality_heard_band(double analysis_fs_hz, gn_biquad band[2]) {
  gn_biquad_bandpass(band, LOW_HZ, fmin(HIGH_HZ, HIGHEST_SHARE * analysis_fs_hz), analysis_fs_hz);
}

int gn_quality_noise_add(gn_quality_noise *noise, const gn_quality_cut *cut, const float *heard, const girthline_beat *beats, size_t n_beats) {
  if (!n_beats) return 0;
  double *room = gn_room(n_beats, sizeof *room);
  if (!room) return -1;
  ear e = {.noise = noise, .window = cut->window, .spoilt = cut->spoilt, .y = heard};
  set_usual(&e, beats, n_beats, room);
  for (size_t i = 0; i < n_beats; i++)
    if (is_heard(&e, &beats[i])) add_beat(&e, &beats[i], i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN);
  gn_free(room);
  return 0;
}

static int by_size(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

static double cell_level_db(const gn_quality_noise *noise, size_t k) { return noise->cell_beats[k] > 0 ? noise->cell_db[k] / noise->cell_beats[k] : SILENT_DB; }

// Standard error of a place's level.
static double cell_error_db(const gn_quality_noise *noise, size_t k) {
  const double n = noise->cell_beats[k], mean = cell_level_db(noise, k);
  return n > 0 ? sqrt(fmax(0, noise->cell_squares[k] / n - mean * mean) / n) : 0;
}

// Mean over the places that are quiet; NaN without any place.
static double quiet_power(const gn_quality_noise *noise) {
  double sorted[GN_QUALITY_CELLS], level = 0, sum = 0, taken = 0;
  size_t n = 0;
  for (size_t k = 0; k < GN_QUALITY_CELLS; k++)
    if (noise->cell_n[k] > 0) sorted[n++] = cell_level_db(noise, k);
  if (!n) return NAN;
  qsort(sorted, n, sizeof *sorted, by_size);
  const size_t wanted = (size_t)ceil(noise->limits->noise_quiet_share * (double)n);
  for (size_t i = 0; i < wanted; i++) level += sorted[i] / (double)wanted;
  for (size_t k = 0; k < GN_QUALITY_CELLS; k++) {
    if (!(noise->cell_n[k] > 0)) continue;
    const double db = cell_level_db(noise, k);
    if (db > level + LIKE_QUIET_DB + LIKE_QUIET_ERRORS * cell_error_db(noise, k) && db > sorted[wanted - 1]) continue;
    sum += noise->cell_power[k] / noise->cell_n[k];
    taken++;
  }
  return sum / taken;
}

// What lies under a sound: halfway in level between the places before and after it, so that a murmur that runs up to the sound or from
// it is not heart; never less than the quiet.
static double power_under(const gn_quality_noise *noise, size_t before, size_t after, double quiet) {
  const size_t beside[] = {before, after};
  double sum_db = 0, n = 0;
  for (int i = 0; i < 2; i++) {
    if (!(noise->cell_power[beside[i]] > 0)) continue;
    sum_db += gn_db(noise->cell_power[beside[i]] / noise->cell_n[beside[i]]);
    n++;
  }
  return n > 0 ? fmax(quiet, gn_from_db(sum_db / n)) : quiet;
}

double gn_quality_noise_db(const gn_quality_noise *noise) {
  const double quiet = quiet_power(noise), heard_n = noise->sound_n[0] + noise->sound_n[1];
  if (!(quiet > 0) || !(heard_n > 0)) return NAN;
  const double under[] = {power_under(noise, GN_QUALITY_CELLS - 1, 0, quiet),
                          power_under(noise, GN_QUALITY_SYSTOLE_CELLS - 1, GN_QUALITY_SYSTOLE_CELLS, quiet)};
  double heart = 0;
  for (int k = 0; k < 2; k++) heart += (noise->sound_power[k] - under[k] * noise->sound_n[k]) / heard_n;
  return gn_db(fmax(heart / quiet, noise->limits->noise_least_heart_share));
}
