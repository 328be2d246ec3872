// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>

#include "base/maths.h"
#include "base/result.h"

// A murmur that never stops leaves no quiet to hold it against. What gives it away: it is loud, it hardly varies where breath and
// gut come and go, and it has a spectrum of its own, a hump between the lowest band and the highest. A steady machine in the room
// does all that too, hence the confidence. The numbers are choices, made on simulated recordings with and without one: of some 800 without one (or
// hum) one that lay so loud and varied so little over the beats had a hump, of 1.8 dB; of 31 with one 29 had one of 2.4 and more. A room heard
// through a chest piece has a hump too, where its rumble falls off above: even noise from 30 to 300 Hz or from 50 to 200 rises by 4 dB at most
// from the lowest band on, of 47 continuous murmurs 43 by more than 5. What rises by less may be either: so do 34 of 243 continuous murmurs in clean and field
// recordings, and none of 2963 without one has the hump.
typedef struct hump { double level_db, db, hum_db; } hump; // at least; beside mains hum, that has lines in these bands too
static const hump SURE = {-27, 2.4, 6};
static const double RISE_LEAST_DB = 5, VARIES_MOST_DB = 8;
// What is softer, or may be the hum's own, tells of none; but no murmur is ruled out, either. With the high ones below so are eight of 19 continuous
// murmurs (-6 to -14 dB) in which nothing else was heard, and none of those 2963. (What varies by up to 10 dB may be breath in a chest piece that resounds.)
static const hump DOUBTFUL = {-29, 2.4, 4};
// One of a small heart may have its hump higher, where the highest band holds as much. So may the noise of a machine: it is told of none, and none is
// ruled out. Steady white noise rises by 7.2 dB to 240 to 400 Hz (that band is 5.5 dB wider than the lowest one, and its lowest cells lie less far down)
// and by 4.4 dB more to the highest; a hiss may rise further, to that too. Of the 2963 none rises by more than 7.3 dB; ten cats', a sheep's and two
// foals' murmurs by 9.2 to 19.1.
static const double HIGH_RISE_DB = 9, HISS_RISE_DB = 5;
enum { ROW_240_HZ = 3, ROW_400_HZ = 4 };
static const double CONFIDENCE = 0.6;
static const double SHOWS_DB = -3;          // a beat shows it when its power is at least that near the usual
static const size_t BEATS_LEAST = 5;

// Loud and steady.
static bool is_steady(const gn_murmur_background *band, const hump *least) { return band->floor_db >= least->level_db && band->varies_db <= VARIES_MOST_DB; }

// Bit per band with a hump.
static unsigned humps(const gn_murmur_background bands[GN_MURMUR_BANDS], const hump *least, bool hum) {
  const double lowest = bands[0].floor_db, highest = bands[GN_MURMUR_BANDS - 1].floor_db;
  unsigned rows = 0;
  for (size_t row = 1; row + 1 < GN_MURMUR_BANDS; row++) {
    const double between = lowest + (highest - lowest) * (double)row / (GN_MURMUR_BANDS - 1);
    if (is_steady(&bands[row], least) && bands[row].floor_db - between >= (hum ? least->hum_db : least->db)) rows |= 1u << row;
  }
  return rows;
}

static double rise_of(const gn_murmur_background bands[GN_MURMUR_BANDS]) {
  double rise = 0;
  for (size_t row = 1; row + 1 < GN_MURMUR_BANDS; row++) rise = fmax(rise, bands[row].floor_db - bands[0].floor_db);
  return rise;
}

static bool rises_high(const gn_murmur_background bands[GN_MURMUR_BANDS]) {
  const gn_murmur_background *high = &bands[ROW_240_HZ];
  return is_steady(high, &DOUBTFUL) && high->floor_db - bands[0].floor_db >= HIGH_RISE_DB && bands[ROW_400_HZ].floor_db - high->floor_db <= HISS_RISE_DB;
}

gn_murmur_lasting gn_murmur_lasts(const gn_murmur_cube *cube, const gn_murmur_background bands[GN_MURMUR_BANDS], bool hum, unsigned *rows) {
  *rows = 0;
  if (cube->n_beats < BEATS_LEAST) return GN_MURMUR_STOPS;
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
    if (isnan(bands[row].floor_db)) return GN_MURMUR_STOPS;
  *rows = humps(bands, &SURE, hum);
  if (*rows && rise_of(bands) >= RISE_LEAST_DB) return GN_MURMUR_NEVER_STOPS;
  return humps(bands, &DOUBTFUL, hum) || rises_high(bands) ? GN_MURMUR_MAY_NOT_STOP : GN_MURMUR_STOPS;
}

// Mean power of each beat over its quiet part, in the levels' band less the heart sounds' own.
static void beat_powers(const gn_murmur_cube *cube, float *values) {
  for (size_t b = 0; b < cube->n_beats; b++) {
    double sum = 0;
    size_t n = 0;
    for (size_t c = 0; c < cube->n_cells; c++) {
      const double p = (double)gn_murmur_cell(cube, GN_MURMUR_BROAD, c)[b] - (double)gn_murmur_cell(cube, GN_MURMUR_LOW, c)[b];
      if (!gn_murmur_is_quiet(cube, c) || isnan(p)) continue;
      sum += p;
      n++;
    }
    values[b] = n >= GN_MURMUR_QUIET_CELLS_LEAST ? (float)(sum / (double)n) : NAN;
  }
}

// Power over the whole cycle by beat stands in t->values.
static double level_of(const void *what, const size_t *pick) {
  const gn_murmur_test *t = what;
  const size_t n = t->cube->n_beats;
  for (size_t i = 0; i < n; i++) t->part[i] = t->values[pick[i]];
  const double q = gn_murmur_quantile(t->part, n, 0.5, t->scratch);
  return q > 0 ? gn_db(q / t->cube->s1_power) : (double)NAN;
}

static void level(gn_murmur_test *t, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  const size_t n = cube->n_beats;
  size_t above = 0, there = 0;
  beat_powers(cube, t->values);
  const double usual = gn_murmur_quantile(t->values, n, 0.5, t->scratch);
  out->level_db = usual > 0 ? gn_db(usual / cube->s1_power) : (double)NAN;
  for (size_t b = 0; b < n; b++) {
    there += isnan(t->values[b]) ? 0 : 1;
    above += (double)t->values[b] >= usual * gn_from_db(SHOWS_DB);
  }
  out->beats_fraction = there ? (double)above / (double)there : 0;
  gn_murmur_level_interval(n, 29, level_of, t, out->level_db_interval);
}

int gn_murmur_describe_continuous(gn_murmur_test *t, unsigned rows, const gn_murmur_beat *beats, double fs_hz, girthline_murmur_phase *out) {
  const gn_murmur_cube *cube = t->cube;
  *out = (girthline_murmur_phase){.phase = GIRTHLINE_CONTINUOUS, .timing = GIRTHLINE_HOLO, .shape = GIRTHLINE_PLATEAU, .musical = GIRTHLINE_UNKNOWN,
                                  .ends_before_s2 = GIRTHLINE_NO, .peak_hz = NAN, .band_hz = {NAN, NAN}, .confidence = CONFIDENCE, .end_fraction = 1};
  level(t, out);
  out->loudness = gn_result_loudness(out->level_db);
  const bool systole = cube->s2_start - cube->s1_end > cube->s1_start - cube->s2_end;
  const size_t span[2] = {systole ? cube->s1_end : cube->s2_end, systole ? cube->s2_start : cube->s1_start};
  double search_hz[2];
  gn_murmur_search_range(rows, search_hz);
  return gn_murmur_pitch(cube, beats, fs_hz, span, search_hz, out);
}
