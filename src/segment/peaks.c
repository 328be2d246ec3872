// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/peaks.h"

#include <math.h>

#include "base/biquad.h"
#include "base/features.h"
#include "base/levels.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "base/weighted.h"
#include "base/wide.h"

static const double CELL_S = 0.0025;
static const double SHARP_HZ[2] = {50, 400};
static const double LOW_SMOOTH_S = 0.040, SHARP_SMOOTH_S = 0.012;  // lengths of the Hann windows
static const float LEAST_POWER = 1e-14f;                           // digital silence, -140 dB
static const double ONSET_DB = 10;                                 // 30 % of the peak's amplitude
static const double AHEAD = 0.2; // of the smoothing's length: how early the rise is seen; measured on simulated S3 and S4
static const double HALF_DB = 6.02;

// A Hann window's weights, stride samples apart, 1 together; of neighbours zeros behind them, up to a multiple of what is added up at a time.
typedef struct kernel { float *weights; size_t n, stride; } kernel;

static int kernel_init(kernel *k, double smooth_s, double highest_hz, double fs_hz) {
  const size_t half_n = (size_t)(smooth_s / 2 * fs_hz);
  // The square of a band holds nothing above twice its upper edge: five times that edge is rate enough.
  k->stride = fs_hz > 5 * highest_hz ? (size_t)(fs_hz / (5 * highest_hz)) : 1;
  const size_t n = 2 * half_n / k->stride + 1;
  k->n = k->stride > 1 ? n : (n + GN_WEIGHTED_LANES - 1) / GN_WEIGHTED_LANES * GN_WEIGHTED_LANES;
  k->weights = gn_new(k->n, sizeof *k->weights);
  double whole = 0;
  for (size_t i = 0; k->weights && i < n; i++) {
    k->weights[i] = (float)(0.5 + 0.5 * gn_cos(2 * GN_PI * ((double)(i * k->stride) - (double)half_n) / (smooth_s * fs_hz)));
    whole += (double)k->weights[i];
  }
  for (size_t i = 0; k->weights && i < n; i++) k->weights[i] = (float)((double)k->weights[i] / whole);
  return k->weights ? 0 : -1;
}

// Weighted means of the squares from so many places inside, side by side: a sum waits for its own last step.
enum { SUMS = GN_WEIGHTED_SUMS };
GN_WIDE static void sums_apart(const kernel *k, const float *const from[SUMS], float power[SUMS]) {
  gn_row s = {0};
  for (size_t i = 0, at = 0; i < k->n; i++, at += k->stride) {
    const gn_row x = {from[0][at], from[1][at], from[2][at], from[3][at]};
    s += k->weights[i] * (x * x);
  }
  *(gn_row *)power = s;
}

static void powers_from(const kernel *k, const float *const from[SUMS], float power[SUMS]) {
  if (k->stride == 1) gn_weighted_squares((const float *const[]){k->weights, k->weights, k->weights, k->weights}, from, k->n, power);
  else sums_apart(k, from, power);
}

// The same from sample `first` on, which may lie before the window; what lies outside is left out.
static float power_from(const kernel *k, const float *x, size_t n, long first) {
  double sum = 0, weight = 0;
  if (first >= 0 && (size_t)first + (k->n - 1) * k->stride < n) {
    const float *const from = x + first;
    float power[SUMS];
    powers_from(k, (const float *const[]){from, from, from, from}, power);
    return power[0];
  }
  for (size_t i = 0; i < k->n; i++) {
    const long at = first + (long)(i * k->stride);
    if (at < 0 || at >= (long)n) continue;
    sum += (double)k->weights[i] * (double)x[at] * (double)x[at];
    weight += (double)k->weights[i];
  }
  return weight > 0 ? (float)(sum / weight) : 0;
}

static long first_of(const gn_signal *w, size_t cell, long half_n) { return (long)(((double)cell + 0.5) * CELL_S * w->fs_hz + 0.5) - half_n; }

static int envelope(const gn_signal *w, double highest_hz, double smooth_s, float *out, size_t n) {
  kernel k;
  if (kernel_init(&k, smooth_s, highest_hz, w->fs_hz)) return -1;
  const long half_n = (long)(smooth_s / 2 * w->fs_hz);
  for (size_t c = 0; c < n;) {
    const long first = first_of(w, c, half_n);
    const float *from[SUMS];
    if (first < 0 || c + SUMS > n || (size_t)first_of(w, c + SUMS - 1, half_n) + (k.n - 1) * k.stride >= w->n) {
      out[c++] = power_from(&k, w->samples, w->n, first);
      continue;
    }
    for (size_t q = 0; q < SUMS; q++) from[q] = w->samples + first_of(w, c + q, half_n);
    powers_from(&k, from, out + c);
    c += SUMS;
  }
  for (size_t c = 0; c < n; c++) out[c] = gn_max_f(out[c], LEAST_POWER);
  gn_levels_db(out, 0, out, n);
  gn_free(k.weights);
  return 0;
}

void gn_peaks_sharp_band(double fs_hz, gn_biquad band[2]) { gn_biquad_bandpass(band, SHARP_HZ[0], SHARP_HZ[1], fs_hz); }

int gn_peaks_init(gn_peaks *e, const gn_signal *w, const gn_signal *low, const float *sharp) {
  *e = (gn_peaks){.n = (size_t)((double)w->n / w->fs_hz / CELL_S), .start_s = w->start_s, .window = w};
  e->low_db = gn_room(e->n, sizeof *e->low_db);
  e->sharp_db = gn_room(e->n, sizeof *e->sharp_db);
  const int refused = !e->low_db || !e->sharp_db || envelope(low, GN_LOW_TO_HZ, LOW_SMOOTH_S, e->low_db, e->n) ||
                      envelope(&(gn_signal){sharp, w->n, w->fs_hz, w->start_s}, SHARP_HZ[1], SHARP_SMOOTH_S, e->sharp_db, e->n);
  if (!refused) return 0;
  gn_peaks_clear(e);
  return -1;
}

void gn_peaks_clear(gn_peaks *e) {
  gn_free(e->low_db);
  gn_free(e->sharp_db);
  *e = (gn_peaks){0};
}

static long cell_of(const gn_peaks *e, double at_s) { return (long)floor((at_s - e->start_s) / CELL_S); }

static double time_of(const gn_peaks *e, long cell) { return e->start_s + ((double)cell + 0.5) * CELL_S; }

bool gn_peaks_hold(const gn_peaks *e, double from_s, double to_s) {
  return to_s > from_s && cell_of(e, from_s) >= 1 && cell_of(e, to_s) + 2 < (long)e->n;
}

static float lowest(const float *x, long a, long b) { return gn_smallest_f(x + a, (size_t)(b - a) + 1); }

// The higher of the lowest levels to either side.
static float dip_at(const float *x, long left, long peak, long right) {
  const float ahead = lowest(x, left, peak), behind = lowest(x, peak, right);
  return ahead > behind ? ahead : behind;
}

static void measure(const gn_peaks *e, const float *x, long peak, long left, long right, float dip, gn_peak *out) {
  const double ahead_s = AHEAD * (x == e->low_db ? LOW_SMOOTH_S : SHARP_SMOOTH_S);
  long onset = peak, a = peak, b = peak;
  while (onset > left && x[onset - 1] > x[peak] - (float)ONSET_DB && x[onset - 1] <= x[onset] + 1) onset--;
  while (a > left && x[a - 1] > x[peak] - (float)HALF_DB) a--;
  while (b < right && x[b + 1] > x[peak] - (float)HALF_DB) b++;
  *out = (gn_peak){time_of(e, peak), time_of(e, onset) + ahead_s, (double)(b - a) * CELL_S, (double)(x[peak] - dip), (double)x[peak]};
}

static bool is_peak(const float *x, long i) { return x[i] >= x[i - 1] && x[i] > x[i + 1]; }

bool gn_peaks_best(const gn_peaks *e, double from_s, double to_s, double left_s, double right_s, bool low, gn_peak *out) {
  if (!gn_peaks_hold(e, left_s, right_s)) return false;
  const float *x = low ? e->low_db : e->sharp_db;
  const long left = cell_of(e, left_s), right = cell_of(e, right_s);
  bool found = false;
  float ahead = x[left]; // the lowest from there to the peak
  for (long i = cell_of(e, from_s), seen = left; i <= cell_of(e, to_s); i++) {
    if (i <= left || i >= right || !is_peak(x, i)) continue;
    for (; seen < i; seen++) ahead = x[seen] < ahead ? x[seen] : ahead;
    if (found && (double)(x[i] - ahead) <= out->rise_db) continue;
    const float behind = lowest(x, i, right), dip = ahead > behind ? ahead : behind;
    if (found && (double)(x[i] - dip) <= out->rise_db) continue;
    measure(e, x, i, left, right, dip, out);
    found = true;
  }
  return found;
}

bool gn_peaks_pair(const gn_peaks *e, double from_s, double to_s, gn_peak *first, gn_peak *second) {
  if (!gn_peaks_hold(e, from_s, to_s)) return false;
  const float *x = e->sharp_db;
  const long left = cell_of(e, from_s), right = cell_of(e, to_s);
  long a = -1, b = -1;
  for (long i = left + 1; i < right; i++) {
    if (!is_peak(x, i)) continue;
    if (a < 0 || x[i] > x[a]) {
      b = a;
      a = i;
    } else if (b < 0 || x[i] > x[b]) b = i;
  }
  if (b < 0) return false;
  const long one = a < b ? a : b, two = a < b ? b : a;
  measure(e, x, one, left, right, dip_at(x, left, one, right), first);
  measure(e, x, two, left, right, dip_at(x, left, two, right), second);
  const float smaller = x[one] < x[two] ? x[one] : x[two];
  second->rise_db = (double)(smaller - lowest(x, one, two));
  return true;
}

double gn_peaks_most_db(const gn_peaks *e, double from_s, double to_s, bool low) {
  const float *x = low ? e->low_db : e->sharp_db;
  float most = -140;
  for (long i = cell_of(e, from_s); i <= cell_of(e, to_s); i++)
    if (i >= 0 && i < (long)e->n && x[i] > most) most = x[i];
  return (double)most;
}
