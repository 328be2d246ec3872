// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/cycle_naming.h"

#include <math.h>
#include <string.h>

#include "base/biquad.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"
#include "segment/durations.h"
#include "segment/naming.h"

// In regurgitation S1 is soft, the murmur runs from it into S2 and a third sound follows (Patteson; the bedside rule in man), so
// that S2 and the third sound are the two that stand out of the heart sounds' bands: they are decoded as S1 and S2, at the right
// rate. What gives it away is that a murmur above the heart sounds' pitch then seems to run through S1: it begins suddenly well
// before it, after a quiet, and ends after it, before the next quiet. Flow across a valve turns round at S1: a murmur may cross S2
// (a continuous one) but not S1, and what comes before S1 (a presystolic rumble, S4) is lower pitched.
#define CELL_S 0.005          // grid of the average cycle
#define SMOOTH_S 0.020        // Hann window over the power
#define SETTLE_S 0.1          // the filters ring for 60 ms
#define MOST_BEATS 12         // of a window, evenly chosen: more change nothing
#define LOW_QUANTILE 0.25     // over beats: what is there in most of them
#define FLOOR_QUANTILE 0.08   // over cells: the cycle's quiet
#define EVEN_CELLS 1          // to either side: single cells of noise swing by 5 dB
static const double MURMUR_HZ[2] = {150, 400}; // above S1, S2 and the third sound, within murmurs
static const double HEART_HZ[2] = {25, 100};   // higher for small hearts, as in the decoder's bands
// The block's edges: this share of the way (dB) from quiet to crest, and no lower than this under the crest, where a sound's own
// tail lies; it may have a hole of so many cells.
static const double EDGE_SHARE = 0.35, EDGE_UNDER_DB = 15;
enum { HOLE_CELLS = 3 };
static const double CREST_BEFORE_S = 0.050, CREST_WITHIN_S = 0.150, PEAK_BEFORE_S = 0.030, PEAK_ROOM_S = 0.040;
static const double RISE_S = 0.040;
static const double CLOSED_BEFORE_S = 0.015;
// What must hold at the least; choices, on simulated hearts with and without such murmurs and human recordings.
static const double CONTRAST_DB = 12, BEFORE_LEAST_DB = -10, RISE_LEAST_DB = 2;
static const double BEFORE_SHARE = 0.30;    // of the expected systole lies ahead of the decoded S1
static const double SECOND_SHARE = 0.35;    // of S2's usual length lies behind it
static const double THIRD_EARLIEST = 0.8, THIRD_LATEST = 1.25; // of the species' range of the third sound's delay
// Weights of the evidence, log odds.
static const double CROSSES_S1 = 3.5;       // a high murmur through S1 is seen about once in 30 such cycles
static const double BLOCK_SD = 0.20, SHORT_BLOCK_SD = 0.25; // the edges of a murmur are less sure, and noise hides the soft ones
static const double KIND_MOST = 3;
static const double SOFTER_USUAL_DB = 3, SOFTER_PER_DB = 0.25, DULLER_PER_DB = 0.35; // a third sound is softer and duller than the second
static const double SOFTER_LEAST_DB = 0, SOFTER_LEAST_SD_DB = 2; // and not louder: six leaks have 6 to 12 dB, one presystolic murmur has -4
static const double THIRD_SD_S = 0.030;     // beyond the range of the delay
static const double FULL_DB = -6, FULL_SD_DB = 2; // a leak murmurs in full from its start; what swells into a sound is presystolic
static const double LOW_LEAST_DB = -4, LOW_LEAST_SD_DB = 3; // S1 is there: low frequencies come with the murmur's start
static const double LOW_MOST_DB = 5, LOW_MOST_SD_DB = 2;    // but a rumble is lower than the murmur of a leak
// S1 and S2 are two short sounds: without a murmur the gap between them is 15 dB deep in the murmur's band, or reaches the quiet.
static const double FILLED_GAP_DB = 12, FILLED_OVER_DB = 10, GAP_QUANTILE = 0.1, AFTER_S1_S = 0.020, AHEAD_OF_S2_S = 0.030;
// A high murmur from sound to sound that does not fall away fills a systole about 20 times as often as a diastole (a choice): there a
// leak of the aortic valve falls away, and a rumble is low.
static const double STANDS_DB = 6;        // of a sound at its end: noise that swells and ebbs, as panting does, has none
static const double FILLS_SYSTOLE = 3, FALLING_DB = 3;

/// Courses of the average cycle; cell k lies at first_s + k * CELL_S from the decoded S1.
typedef struct cycle {
  double interval_s, systole_s, first_s;
  size_t n, n_ring, zero;  ///< cells; of them one whole cycle; the decoded S1's cell
  float *power;            ///< [beat][cell]
  double *murmur, *low;    ///< by cell, low quantile over beats
  size_t used[MOST_BEATS], n_used;
} cycle;

static void cycle_clear(cycle *c) {
  gn_free(c->power);
  gn_free(c->murmur);
  gn_free(c->low);
}

static bool usable(const girthline_beat *b) { return !isnan(b->s1_onset_s) && b->confidence >= 0.2f; }

// Medians of interval and systole as decoded; false where there are too few.
static bool measure_times(cycle *c, const girthline_beat *beats, size_t n, double *room) {
  size_t n_intervals = 0, n_systoles = 0;
  for (size_t i = 0; i + 1 < n; i++)
    if (usable(&beats[i]) && usable(&beats[i + 1])) room[n_intervals++] = beats[i + 1].s1_onset_s - beats[i].s1_onset_s;
  c->interval_s = n_intervals ? gn_median(room, n_intervals) : 0;
  for (size_t i = 0; i < n; i++)
    if (usable(&beats[i]) && !isnan(beats[i].s2_onset_s)) room[n_systoles++] = beats[i].s2_onset_s - beats[i].s1_onset_s;
  c->systole_s = n_systoles ? gn_median(room, n_systoles) : 0;
  return n_intervals >= 1 && c->systole_s > 0 && c->interval_s > 1.2 * c->systole_s;
}

static int make_grid(cycle *c, const girthline_profile *profile) {
  c->zero = (size_t)((c->interval_s - c->systole_s) / CELL_S);
  c->first_s = -(double)c->zero * CELL_S;
  c->n_ring = c->zero + (size_t)(c->systole_s / CELL_S);
  c->n = c->n_ring + (size_t)(profile->s2_length_s / CELL_S) + 1;
  c->power = gn_new(MOST_BEATS * c->n, sizeof *c->power);
  c->murmur = gn_new(c->n, sizeof *c->murmur);
  c->low = gn_new(c->n, sizeof *c->low);
  return c->power && c->murmur && c->low ? 0 : -1;
}

static void choose_beats(cycle *c, const girthline_beat *beats, size_t n) {
  size_t n_usable = 0, k = 0;
  for (size_t i = 0; i < n; i++) n_usable += usable(&beats[i]);
  for (size_t i = 0; i < n && c->n_used < MOST_BEATS; i++) {
    if (!usable(&beats[i])) continue;
    if (n_usable <= MOST_BEATS || k * MOST_BEATS / n_usable >= c->n_used) c->used[c->n_used++] = i;
    k++;
  }
}

static bool inside(double at_s, const girthline_span *spans, size_t n) {
  for (size_t i = 0; i < n; i++)
    if (at_s >= spans[i].start_s && at_s <= spans[i].end_s) return true;
  return false;
}

// Hann-weighted mean power around a place; NaN outside.
static float power_at(const float *x, size_t n, double at, double fs_hz) {
  const double half = SMOOTH_S / 2 * fs_hz;
  double sum = 0, weight = 0;
  if (at < 0 || at > (double)n - 1) return NAN;
  for (double i = ceil(fmax(0, at - half)); i <= fmin((double)n - 1, at + half); i++) {
    const double v = (double)x[(size_t)i], w = 0.5 + 0.5 * gn_cos(GN_PI * (i - at) / half);
    sum += w * v * v;
    weight += w;
  }
  return weight > 0 ? (float)(sum / weight) : NAN;
}

// One beat's course in a band, filtered alone with room to settle.
static int beat_course(const cycle *c, const gn_signal *window, double onset_s, const double band_hz[2], float *out) {
  const double from = floor((onset_s + c->first_s - SETTLE_S - window->start_s) * window->fs_hz);
  const double to = ceil((onset_s + c->first_s + (double)c->n * CELL_S + SETTLE_S - window->start_s) * window->fs_hz);
  const size_t a = from > 0 ? (size_t)from : 0, b = to < (double)window->n ? to > 0 ? (size_t)to : 0 : window->n;
  for (size_t k = 0; k < c->n; k++) out[k] = NAN;
  if (b < a + 16) return 0;
  float *band = gn_new(b - a, sizeof *band);
  if (!band) return -1;
  gn_biquad sections[2];
  gn_biquad_bandpass(sections, band_hz[0], band_hz[1], window->fs_hz);
  const int refused = gn_biquad_zero_phase(sections, 2, window->samples + a, band, b - a);
  for (size_t k = 0; !refused && k < c->n; k++) {
    const double at_s = onset_s + c->first_s + (double)k * CELL_S - window->start_s;
    out[k] = power_at(band, b - a, at_s * window->fs_hz - (double)a, window->fs_hz);
  }
  gn_free(band);
  return refused;
}

static void smooth_cells(double *x, size_t n, double *room) {
  memcpy(room, x, n * sizeof *x);
  for (size_t k = 0; k < n; k++) {
    const size_t a = k < EVEN_CELLS ? 0 : k - EVEN_CELLS, b = k + EVEN_CELLS < n ? k + EVEN_CELLS : n - 1;
    double sum = 0;
    for (size_t i = a; i <= b; i++) sum += room[i];
    x[k] = sum / (double)(b - a + 1);
  }
}

// Low quantile over beats by cell; where no beat reaches, the quietest of the others.
static void over_beats(const cycle *c, double *out, double *room) {
  double least = HUGE_VAL;
  for (size_t k = 0; k < c->n; k++) {
    double values[MOST_BEATS];
    size_t n = 0;
    for (size_t i = 0; i < c->n_used; i++)
      if (!isnan(c->power[i * c->n + k])) values[n++] = (double)c->power[i * c->n + k];
    out[k] = n ? gn_quantile(values, n, LOW_QUANTILE) : (double)NAN;
    if (out[k] < least) least = out[k];
  }
  for (size_t k = 0; k < c->n; k++)
    if (isnan(out[k])) out[k] = least < HUGE_VAL ? least : 0;
  smooth_cells(out, c->n, room);
}

static int course(cycle *c, const gn_signal *window, const double band_hz[2], const gn_cycle_beats *in, double *out) {
  double *room = gn_new(c->n, sizeof *room);
  int refused = !room;
  for (size_t i = 0; !refused && i < c->n_used; i++) {
    const double onset_s = in->beats[c->used[i]].s1_onset_s;
    float *row = c->power + i * c->n;
    refused = beat_course(c, window, onset_s, band_hz, row);
    for (size_t k = 0; k < c->n; k++)
      if (inside(onset_s + c->first_s + (double)k * CELL_S, in->spoilt, in->n_spoilt)) row[k] = NAN;
  }
  if (!refused) over_beats(c, out, room);
  gn_free(room);
  return refused ? -1 : 0;
}

static size_t cell_at(const cycle *c, double at_s) {
  const double k = (at_s - c->first_s) / CELL_S + 0.5;
  return k <= 0 ? 0 : k >= (double)c->n ? c->n : (size_t)k;
}

static size_t crest_of(const double *x, size_t a, size_t b) {
  size_t best = a;
  for (size_t k = a; k < b; k++)
    if (x[k] > x[best]) best = k;
  return best;
}

static double mean_of(const double *x, size_t a, size_t b) {
  double sum = 0;
  for (size_t k = a; k < b; k++) sum += x[k];
  return b > a ? sum / (double)(b - a) : 0;
}

// The first cell of the block, going back from k; 0 where it has no start within the cycle.
static size_t first_of(const double *x, size_t k, double least) {
  size_t hole = 0;
  for (; k > 0 && hole <= HOLE_CELLS; k--) hole = x[k] < least ? hole + 1 : 0;
  return hole > HOLE_CELLS ? k + hole : 0;
}

static size_t end_of(const double *x, size_t k, size_t n, double least) {
  size_t hole = 0;
  for (; k + 1 < n && hole <= HOLE_CELLS; k++) hole = x[k] < least ? hole + 1 : 0;
  return hole > HOLE_CELLS ? k - hole : n;
}

static double level_db(double power) { return gn_db(power + 1e-20); }

static double quantile_db(const double *x, size_t n, double q, double *room) {
  memcpy(room, x, n * sizeof *x);
  return level_db(gn_quantile(room, n, q));
}

static gn_cycle_gap measure_gap(const cycle *c, size_t a, size_t b, double quiet_db, double *room) {
  if (b < a + 4) return (gn_cycle_gap){HUGE_VAL, 0, 0};
  const double least_db = quantile_db(c->murmur + a, b - a, GAP_QUANTILE, room);
  const double falls_db = level_db(mean_of(c->murmur, a, (a + b) / 2)) - level_db(mean_of(c->murmur, (a + b) / 2, b));
  return (gn_cycle_gap){level_db(c->murmur[crest_of(c->murmur, a, b)]) - least_db, least_db - quiet_db, falls_db};
}

// The cycle's quiet and what lies between the decoded sounds. -1 when memory is refused.
static int measure_gaps(const cycle *c, double *quiet_db, gn_cycle_gap gap[2]) {
  double *room = gn_new(c->n, sizeof *room);
  if (!room) return -1;
  *quiet_db = quantile_db(c->murmur, c->n_ring, FLOOR_QUANTILE, room);
  gap[0] = measure_gap(c, cell_at(c, AFTER_S1_S), cell_at(c, c->systole_s - AHEAD_OF_S2_S), *quiet_db, room);
  gap[1] = measure_gap(c, cell_at(c, c->first_s + AFTER_S1_S), cell_at(c, -AHEAD_OF_S2_S), *quiet_db, room);
  gn_free(room);
  return 0;
}

static bool filled(const gn_cycle_gap *gap) { return gap->depth_db <= FILLED_GAP_DB && gap->over_db >= FILLED_OVER_DB; }

static int measure_block(const cycle *c, const girthline_profile *profile, gn_cycle_block *out) {
  double quiet_db;
  gn_cycle_gap gap[2];
  if (measure_gaps(c, &quiet_db, gap)) return -1;
  const size_t crest = crest_of(c->murmur, cell_at(c, -CREST_BEFORE_S), cell_at(c, fmin(CREST_WITHIN_S, c->systole_s / 2)));
  const double crest_db = level_db(c->murmur[crest]), contrast_db = crest_db - quiet_db;
  const double edge = gn_from_db(quiet_db + fmax(EDGE_SHARE * contrast_db, contrast_db - EDGE_UNDER_DB));
  const size_t start = first_of(c->murmur, c->zero, edge), end = end_of(c->murmur, crest, c->n, edge);
  *out = (gn_cycle_block){.interval_s = c->interval_s, .systole_s = c->systole_s, .contrast_db = contrast_db, .gap = {gap[0], gap[1]}};
  const size_t second = crest_of(c->low, cell_at(c, c->systole_s - PEAK_BEFORE_S), c->n);
  out->stands_db = level_db(c->low[second]) - level_db(mean_of(c->low, cell_at(c, AFTER_S1_S), cell_at(c, c->systole_s - AHEAD_OF_S2_S)));
  out->start_s = c->first_s + (double)start * CELL_S;
  out->end_s = c->first_s + (double)end * CELL_S;
  out->closed = start > 0 && start < c->zero && out->end_s < c->systole_s - CLOSED_BEFORE_S;
  if (!out->closed) return 0;
  out->before_db = level_db(mean_of(c->murmur, start, c->zero)) - crest_db;
  const size_t rise_n = (size_t)(RISE_S / CELL_S), ahead = start > rise_n ? start - rise_n : 0;
  out->rise_db = level_db(mean_of(c->murmur, start, start + rise_n)) - level_db(mean_of(c->murmur, ahead, start));
  size_t first_end = start + (size_t)(0.8 * profile->s1_length_s / CELL_S) + 1;
  if (first_end > c->zero) first_end = c->zero;
  out->low_db = level_db(mean_of(c->low, start, first_end)) - level_db(mean_of(c->murmur, start, first_end));
  const size_t a0 = cell_at(c, -PEAK_BEFORE_S), a1 = cell_at(c, fmin(CREST_WITHIN_S, c->systole_s - PEAK_ROOM_S)), b0 = cell_at(c, c->systole_s - PEAK_BEFORE_S);
  const double low_a = level_db(c->low[crest_of(c->low, a0, a1)]), low_b = level_db(c->low[crest_of(c->low, b0, c->n)]);
  const double high_a = level_db(c->murmur[crest_of(c->murmur, a0, a1)]), high_b = level_db(c->murmur[crest_of(c->murmur, b0, c->n)]);
  out->softer_db = low_a - low_b;
  out->duller_db = (high_a - low_a) - (high_b - low_b);
  return 0;
}

static double under(double x, double least, double sd) { return x < least ? -0.5 * (least - x) * (least - x) / (sd * sd) : 0; }

// S2 lasts until the block ends; it begins no earlier than where the decoder heard a sound.
static double second_s(const gn_cycle_block *b, const girthline_profile *profile) { return fmax(0, b->end_s - profile->s2_length_s); }

double gn_cycle_odds(const gn_cycle_block *b, const girthline_profile *profile, bool doubted) {
  const double expected_s = gn_systole_expected_s(profile, b->interval_s), third_s = b->systole_s - second_s(b, profile);
  const double *range_s = profile->s3_after_s2_s;
  if (!b->closed || b->contrast_db < CONTRAST_DB || b->before_db < BEFORE_LEAST_DB || b->rise_db < RISE_LEAST_DB) return -HUGE_VAL;
  if (-b->start_s < BEFORE_SHARE * expected_s || b->end_s < SECOND_SHARE * profile->s2_length_s) return -HUGE_VAL;
  if (third_s < THIRD_EARLIEST * range_s[0] || third_s > THIRD_LATEST * range_s[1]) return -HUGE_VAL;
  const double own_time = doubted ? 0 : gn_naming_time_odds(gn_naming_systole_z(b->systole_s, expected_s), range_s[1] / range_s[0]);
  const double length = gn_log((b->end_s - b->start_s) / (expected_s + profile->s2_length_s)), z_block = length / (length < 0 ? SHORT_BLOCK_SD : BLOCK_SD);
  return CROSSES_S1 + own_time - 0.5 * z_block * z_block +
         gn_naming_limited(SOFTER_PER_DB * (b->softer_db - SOFTER_USUAL_DB), KIND_MOST) + gn_naming_limited(DULLER_PER_DB * b->duller_db, KIND_MOST) +
         under(b->softer_db, SOFTER_LEAST_DB, SOFTER_LEAST_SD_DB) + under(-third_s, -range_s[1], THIRD_SD_S) +
         under(b->before_db, FULL_DB, FULL_SD_DB) + under(b->low_db, LOW_LEAST_DB, LOW_LEAST_SD_DB) + under(-b->low_db, -LOW_MOST_DB, LOW_MOST_SD_DB);
}

// A murmur that begins with S1 hides how long that sound is and how loud it is at its loudest: its usual length is given.
static void rename_beat(const gn_cycle_block *block, const girthline_profile *profile, double window_start_s, girthline_beat *b) {
  const double first_s = b->s1_onset_s + block->start_s, moved_s = second_s(block, profile);
  const double peak_s = fmax((double)b->s1_peak_s - moved_s, 0.25 * profile->s2_length_s);
  b->s2_onset_s = b->s1_onset_s + moved_s;
  b->s2_peak_s = (float)fmin(peak_s, profile->s2_length_s);
  b->s2_offset_s = (float)profile->s2_length_s;
  const bool heard = first_s >= window_start_s;
  b->s1_onset_s = heard ? first_s : (double)NAN;
  b->s1_peak_s = heard ? (float)(0.25 * profile->s1_length_s) : NAN;
  b->s1_offset_s = heard ? (float)profile->s1_length_s : NAN;
}

// true where the names change.
static bool act_on(double odds, const gn_cycle_block *block, const girthline_profile *profile, double window_start_s, const gn_cycle_beats *in) {
  const bool change = odds >= GN_NAMING_ADOPT;
  const float sure = (float)(change ? gn_naming_adopted_confidence(odds) : gn_naming_confidence(gn_naming_margin(odds)));
  for (size_t i = 0; i < in->n_beats; i++) {
    girthline_beat *b = &in->beats[i];
    b->name_confidence = change ? sure : fminf(b->name_confidence, sure);
    if (change && !isnan(b->s1_onset_s)) rename_beat(block, profile, window_start_s, b);
  }
  return change;
}

// The names as they were decoded, against what a murmur through the decoded diastole says; the odds they had are read back from the
// confidence they were given.
static void weigh_exchange(const gn_cycle_beats *in, gn_cycle_outcome *out) {
  double odds = 0;
  while (odds < GN_NAMING_SURE_MOST && gn_naming_confidence(odds + 0.1) <= (double)in->beats[0].name_confidence + 1e-6) odds += 0.1;
  out->exchanged = out->hides_s1 = FILLS_SYSTOLE > odds;
  const float sure = (float)gn_naming_confidence(fabs(FILLS_SYSTOLE - odds));
  for (size_t i = 0; i < in->n_beats; i++) in->beats[i].name_confidence = sure;
}

// Most hearts are told by their times alone: what was decoded as S2 comes too late for a third sound.
static bool too_late(const cycle *c, const girthline_profile *profile) {
  return c->systole_s > THIRD_LATEST * profile->s3_after_s2_s[1] + profile->s1_length_s;
}

static int decide(cycle *c, const gn_signal *window, const girthline_profile *profile, const gn_cycle_beats *in, gn_cycle_outcome *result) {
  const double heart_hz[2] = {HEART_HZ[0], HEART_HZ[1] * gn_species_pitch(profile)};
  gn_cycle_block block;
  choose_beats(c, in->beats, in->n_beats);
  if (make_grid(c, profile) || course(c, window, MURMUR_HZ, in, c->murmur)) return -1;
  if (course(c, window, heart_hz, in, c->low) || measure_block(c, profile, &block)) return -1;
  const double odds = gn_cycle_odds(&block, profile, in->doubted);
  result->renamed = act_on(odds, &block, profile, window->start_s, in);
  result->hides_s1 = result->renamed || (filled(&block.gap[0]) && block.stands_db >= STANDS_DB);
  if (!result->hides_s1 && filled(&block.gap[1]) && block.gap[1].falls_db < FALLING_DB) weigh_exchange(in, result);
  return 0;
}

size_t gn_cycle_exchange(girthline_beat *beats, size_t n) {
  for (size_t i = 0; i < n; i++) {
    girthline_beat *b = &beats[i];
    const girthline_beat *next = i + 1 < n ? &beats[i + 1] : NULL;
    b->s1_onset_s = b->s2_onset_s;
    b->s1_peak_s = b->s2_peak_s;
    b->s1_offset_s = b->s2_offset_s;
    b->s2_onset_s = next ? next->s1_onset_s : (double)NAN;
    b->s2_peak_s = next ? next->s1_peak_s : NAN;
    b->s2_offset_s = next ? next->s1_offset_s : NAN;
  }
  return n > 0 && isnan(beats[n - 1].s1_onset_s) ? n - 1 : n;
}

int gn_cycle_name(const gn_signal *window, const girthline_profile *profile, const gn_cycle_beats *in, gn_cycle_outcome *out) {
  cycle c = {0};
  *out = (gn_cycle_outcome){0};
  if (in->n_beats < 2) return 0;
  double *room = gn_new(in->n_beats, sizeof *room);
  if (!room) return -1;
  const bool enough = measure_times(&c, in->beats, in->n_beats, room);
  gn_free(room);
  if (!enough || too_late(&c, profile)) return 0;
  const int refused = decide(&c, window, profile, in, out);
  cycle_clear(&c);
  return refused ? -1 : 0;
}
