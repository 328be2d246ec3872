// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <string.h>

#include "base/fft.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// A line that is always there: the low quantile over time of one-second spectra, against its neighbours.
static const double SPECTRUM_S = 1;
static const double HOP_S = 0.5;
static const size_t MOST_SPECTRA = 120;  // a window's; longer windows hop further
static const size_t LEAST_SPECTRA = 5;
static const double LOW_SHARE = 0.2;     // heart sounds and murmurs come and go within this
static const double LOWEST_HZ = 15;
static const double OVER_DB = 9;         // over the neighbours' 75 % quantile: the lines of a steady heart have neighbours like them
static const double NEAR_HZ = 2.5, FAR_HZ = 12; // neighbours (the taper's own width is 2 bins)
static const double SAME_HZ = 0.7;       // one line in two windows
static const double SLICE_S = 0.1;       // steadiness: the line's amplitude in slices this long
static const double STEADY_SHARE = 0.5;  // 10 % quantile against the median; noise of the same band gives 0.39 (Rayleigh)
static const double FAMILY_SHARE = 1e-3; // of the strongest line's power: weaker ones are the spectrum's own ripple
static const double SEEN_SHARE = 0.5;    // of the time looked at

typedef struct spectra {
  size_t n_fft, n_bins, n;
  double bin_hz;
  float *power; // n rows of n_bins
} spectra;

static int spectra_fill(spectra *s, const gn_signal *w, size_t hop_n) {
  gn_fft *fft = gn_fft_new(s->n_fft);
  float *taper = gn_new(s->n_fft, sizeof *taper), *x = gn_new(s->n_fft, sizeof *x);
  int refused = fft && taper && x ? 0 : -1;
  for (size_t i = 0; !refused && i < s->n_fft; i++) taper[i] = (float)(0.5 - 0.5 * gn_cos(2 * GN_PI * ((double)i + 0.5) / (double)s->n_fft));
  for (size_t k = 0; !refused && k < s->n; k++) {
    const float *from = w->samples + k * hop_n;
    for (size_t i = 0; i < s->n_fft; i++) x[i] = isfinite(from[i]) ? from[i] * taper[i] : 0;
    gn_fft_power(fft, x, s->power + k * s->n_bins);
  }
  gn_fft_free(fft);
  gn_free(taper);
  gn_free(x);
  return refused;
}

// The low quantile over time, bin by bin, into out[n_bins].
static int low_over_time(const spectra *s, float *out) {
  float *column = gn_new(s->n, sizeof *column);
  if (!column) return -1;
  for (size_t k = 0; k < s->n_bins; k++) {
    for (size_t i = 0; i < s->n; i++) column[i] = s->power[i * s->n_bins + k];
    out[k] = gn_quantile_f(column, s->n, LOW_SHARE);
  }
  gn_free(column);
  return 0;
}

static double over_neighbours_db(const float *low, size_t n_bins, size_t k, double bin_hz) {
  double near[64];
  size_t n = 0;
  for (size_t i = 1; i < n_bins && n < 64; i++) {
    const double away_hz = fabs((double)i - (double)k) * bin_hz;
    if (away_hz >= NEAR_HZ && away_hz <= FAR_HZ) near[n++] = (double)low[i];
  }
  const double level = n ? gn_quantile(near, n, 0.75) : 0;
  return level > 0 ? gn_db((double)low[k] / level) : low[k] > 0 ? (double)INFINITY : 0;
}

// The line's place between the bins: the top of a parabola through the logarithms.
static double peak_hz(const float *low, size_t k, double bin_hz) {
  const double a = gn_log((double)low[k - 1] + 1e-300), b = gn_log((double)low[k] + 1e-300), c = gn_log((double)low[k + 1] + 1e-300);
  const double bend = a - 2 * b + c, shift = bend < 0 ? 0.5 * (a - c) / bend : 0;
  return ((double)k + fmax(-0.5, fmin(0.5, shift))) * bin_hz;
}

// Amplitude in short slices by mixing down to zero frequency. Returns its 10 % quantile over its median.
static double steadiness(const gn_signal *w, double hz, double *slices, size_t slice_n) {
  const double turn = 2 * GN_PI * hz / w->fs_hz, cr = gn_cos(turn), ci = gn_sin(turn);
  const size_t n = w->n / slice_n;
  for (size_t k = 0; k < n; k++) {
    double re = 0, im = 0, pr = 1, pi = 0;
    for (size_t i = 0; i < slice_n; i++) {
      const double x = isfinite(w->samples[k * slice_n + i]) ? (double)w->samples[k * slice_n + i] : 0;
      re += x * pr;
      im += x * pi;
      const double next = pr * cr - pi * ci;
      pi = pr * ci + pi * cr;
      pr = next;
    }
    slices[k] = sqrt(re * re + im * im);
  }
  const double middle = gn_median(slices, n);
  return middle > 0 ? gn_quantile(slices, n, 0.1) / middle : 0;
}

static void note(gn_quality_hum *h, double hz, double seconds, double power) {
  for (size_t i = 0; i < h->n_lines; i++) {
    gn_quality_line *line = &h->lines[i];
    if (fabs(line->hz - hz) > SAME_HZ) continue;
    line->hz += (hz - line->hz) * seconds / (line->weight_s + seconds);
    line->power += power * seconds;
    line->weight_s += seconds;
    return;
  }
  if (h->n_lines < GN_QUALITY_LINES) h->lines[h->n_lines++] = (gn_quality_line){hz, seconds, power * seconds};
}

static int find_lines(gn_quality_hum *h, const gn_signal *w, const spectra *s, const float *low) {
  const double seconds = (double)w->n / w->fs_hz;
  size_t slice_n = (size_t)(SLICE_S * w->fs_hz);
  double *slices = gn_new(w->n / slice_n + 1, sizeof *slices);
  if (!slices) return -1;
  for (size_t k = (size_t)(LOWEST_HZ / s->bin_hz); k + 2 < s->n_bins; k++) {
    if (low[k] <= low[k - 1] || low[k] < low[k + 1] || over_neighbours_db(low, s->n_bins, k, s->bin_hz) < OVER_DB) continue;
    const double hz = peak_hz(low, k, s->bin_hz);
    if (steadiness(w, hz, slices, slice_n) < STEADY_SHARE) continue;
    note(h, hz, seconds, (double)low[k]);
    if (h->n_latest < GN_QUALITY_LINES) h->latest_hz[h->n_latest++] = hz;
  }
  gn_free(slices);
  return 0;
}

int gn_quality_hum_add(gn_quality_hum *h, const gn_signal *w) {
  spectra s = {.n_fft = gn_fft_size((size_t)(SPECTRUM_S * w->fs_hz))};
  s.n_bins = s.n_fft / 2 + 1;
  s.bin_hz = w->fs_hz / (double)s.n_fft;
  h->n_latest = 0;
  if (w->n < s.n_fft) return 0;
  size_t hop_n = (size_t)(HOP_S * w->fs_hz);
  if ((w->n - s.n_fft) / hop_n + 1 > MOST_SPECTRA) hop_n = (w->n - s.n_fft) / (MOST_SPECTRA - 1);
  s.n = (w->n - s.n_fft) / hop_n + 1;
  if (s.n < LEAST_SPECTRA) return 0;
  s.power = gn_new(s.n * s.n_bins, sizeof *s.power);
  float *low = gn_new(s.n_bins, sizeof *low);
  int refused = s.power && low ? spectra_fill(&s, w, hop_n) : -1;
  if (!refused) refused = low_over_time(&s, low);
  if (!refused) refused = find_lines(h, w, &s, low);
  if (!refused) h->heard_s += (double)w->n / w->fs_hz;
  gn_free(s.power);
  gn_free(low);
  return refused;
}

double gn_quality_hum_hz(const gn_quality_hum *h) {
  if (!(h->heard_s > 0)) return NAN;
  const gn_quality_line *best = NULL;
  for (size_t i = 0; i < h->n_lines; i++)
    if (h->lines[i].weight_s >= SEEN_SHARE * h->heard_s && (!best || h->lines[i].power > best->power)) best = &h->lines[i];
  if (!best) return 0;
  // The strongest line may be a harmonic; the lowest of its family is the hum.
  double hz = best->hz;
  for (size_t i = 0; i < h->n_lines; i++) {
    const double times = best->hz / h->lines[i].hz;
    if (h->lines[i].power < FAMILY_SHARE * best->power) continue;
    if (h->lines[i].weight_s >= SEEN_SHARE * h->heard_s && times > 1.5 && fabs(times - floor(times + 0.5)) * h->lines[i].hz < 2 * SAME_HZ)
      hz = fmin(hz, h->lines[i].hz);
  }
  return hz;
}
