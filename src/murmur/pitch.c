// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/parts.h"

#include <math.h>
#include <string.h>

#include "base/fft.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

static const double BIN_HZ = 2.5;          // finest step of the spectrum
static const double SMOOTH_HZ = 15, SMOOTH_SHARE = 0.12; // half widths over which a noise's spectrum is averaged
static const double BAND_TOP = 0.5;        // of the peak's power: the band whose middle is a noise's strongest frequency
static const double LONGEST_S = 0.400;     // of the murmur, about its middle; tones of a longer one glide
// Musical: this share of the excess lies within one resolution width of one peak; the wider that is against the pitch, the
// more of any noise it holds.
static const double MUSICAL_SHARE = 0.42, MUSICAL_WIDER = 1.2;
static const double SPECTRUM_QUANTILE = 0.5; // over beats
static const double BAND_EDGES[2] = {0.05, 0.95}; // shares of the excess below the band's edges

typedef struct spectra {
  size_t n, n_bins;
  double bin_hz;
  gn_fft *fft;
  float *segment, *power;   // one segment, one spectrum
  float *inside, *outside;  // [bin][beat]
  float *scratch;
  double *excess, *smoothed;
} spectra;

static void spectra_clear(spectra *s) {
  gn_fft_free(s->fft);
  gn_free(s->segment);
  gn_free(s->power);
  gn_free(s->inside);
  gn_free(s->outside);
  gn_free(s->scratch);
  gn_free(s->excess);
  gn_free(s->smoothed);
}

static int spectra_init(spectra *s, double fs_hz, size_t n_beats) {
  s->n = gn_fft_size((size_t)(fs_hz / BIN_HZ));
  s->n_bins = s->n / 2 + 1;
  s->bin_hz = fs_hz / (double)s->n;
  s->fft = gn_fft_new(s->n);
  s->segment = gn_new(s->n, sizeof(float));
  s->power = gn_new(s->n_bins, sizeof(float));
  s->inside = gn_new(s->n_bins * n_beats, sizeof(float));
  s->outside = gn_new(s->n_bins * n_beats, sizeof(float));
  s->scratch = gn_new(n_beats, sizeof(float));
  s->excess = gn_new(s->n_bins, sizeof(double));
  s->smoothed = gn_new(s->n_bins, sizeof(double));
  return s->fft && s->segment && s->power && s->inside && s->outside && s->scratch && s->excess && s->smoothed ? 0 : -1;
}

// The Hann-windowed spectrum of a beat between two cells of the picture; NaN where the beat does not reach.
static void one_spectrum(spectra *s, const gn_murmur_cube *cube, const gn_murmur_beat *beat, const double cells[2], double fs_hz) {
  const double from_s = gn_murmur_time_in_beat(cube, beat, cells[0]), to_s = gn_murmur_time_in_beat(cube, beat, cells[1]);
  const double from = from_s * fs_hz, to = to_s * fs_hz;
  for (size_t k = 0; k < s->n_bins; k++) s->power[k] = NAN;
  if (!beat->wave || !(from >= 0) || !(to > from + 8) || to >= (double)beat->n_wave) return;
  size_t n = (size_t)(to - from);
  if (n > s->n) n = s->n;
  memset(s->segment, 0, s->n * sizeof *s->segment);
  double weight = 0;
  for (size_t i = 0; i < n; i++) {
    const double w = 0.5 - 0.5 * gn_cos(2 * GN_PI * ((double)i + 0.5) / (double)n);
    s->segment[i] = (float)(w * (double)beat->wave[(size_t)from + i]);
    weight += w * w;
  }
  gn_fft_power(s->fft, s->segment, s->power);
  for (size_t k = 0; k < s->n_bins; k++) s->power[k] = (float)((double)s->power[k] / weight);
}

static void collect(spectra *s, const gn_murmur_cube *cube, const gn_murmur_beat *beats, const double cells[2], float *out, double fs_hz) {
  for (size_t b = 0; b < cube->n_beats; b++) {
    one_spectrum(s, cube, &beats[b], cells, fs_hz);
    for (size_t k = 0; k < s->n_bins; k++) out[k * cube->n_beats + b] = s->power[k];
  }
}

// The quietest place of this length in the half of the cycle that is known by time since S2 or S1.
static void quiet_cells(const gn_murmur_cube *cube, double length, double out[2]) {
  const size_t n = (size_t)length + 1;
  double least = INFINITY;
  for (size_t a = 0; a + n < cube->n_cells; a++) {
    const size_t ends[2] = {cube->n_systole, cube->n_systole + cube->n_first};
    if ((a < ends[0] && a + n > ends[0]) || (a < ends[1] && a + n > ends[1])) continue;
    double sum = 0;
    for (size_t c = a; c < a + n; c++) sum += (double)cube->floor_contour[GN_MURMUR_BROAD * cube->n_cells + c];
    if (!(sum < least)) continue;
    least = sum;
    out[0] = (double)a;
    out[1] = (double)a + length;
  }
}

static void excess_of(spectra *s, size_t n_beats, const double search_hz[2]) {
  const size_t low = (size_t)(search_hz[0] / s->bin_hz), high = (size_t)(search_hz[1] / s->bin_hz);
  for (size_t k = 0; k < s->n_bins; k++) {
    s->excess[k] = 0;
    if (k < low || k > high) continue;
    const double in = gn_murmur_quantile(s->inside + k * n_beats, n_beats, SPECTRUM_QUANTILE, s->scratch);
    const double out = gn_murmur_quantile(s->outside + k * n_beats, n_beats, SPECTRUM_QUANTILE, s->scratch);
    if (in > 0) s->excess[k] = in - (out > 0 ? out : 0);
  }
}

// The mean over a band around every bin whose width grows with the frequency, as a murmur's own does.
static void smooth(const spectra *s, double *out) {
  for (long i = 0; i < (long)s->n_bins; i++) {
    double half_hz = SMOOTH_SHARE * (double)i * s->bin_hz;
    if (half_hz < SMOOTH_HZ) half_hz = SMOOTH_HZ;
    const long half = (long)(half_hz / s->bin_hz + 0.5);
    double sum = 0;
    for (long k = -half; k <= half; k++)
      if (i + k >= 0 && i + k < (long)s->n_bins) sum += s->excess[i + k];
    out[i] = sum / (double)(2 * half + 1);
  }
}

// Of a noise, that has no sharp top: the middle of the half-power band about the peak, in hertz where the band is narrow, in octaves where its
// edges lie far apart: such a one falls alike on both sides in octaves. Of 23 simulated murmurs of that kind 78 % are told within 15 % (30 % by
// the middle in hertz, 83 % in octaves), of 415 that fall steeper above 77 % (80 %, 69 %).
static const double NARROW = 2.4, WIDE = 2.9; // upper edge over lower edge; a choice, on these
static double broad_peak_hz(const spectra *s, size_t peak) {
  const double least = BAND_TOP * s->smoothed[peak];
  size_t a = peak, b = peak;
  while (a > 1 && s->smoothed[a - 1] > least) a--;
  while (b + 1 < s->n_bins && s->smoothed[b + 1] > least) b++;
  const double in_hertz = 0.5 * (double)(a + b), in_octaves = sqrt((double)a * (double)b);
  const double width = ((double)b / (double)a - NARROW) / (WIDE - NARROW), octaves = width < 0 ? 0 : width > 1 ? 1 : width;
  return (octaves * in_octaves + (1 - octaves) * in_hertz) * s->bin_hz;
}

static double share_near(const double *x, size_t n, size_t peak, double half_bins) {
  double near = 0, all = 0;
  for (size_t k = 0; k < n; k++) {
    if (x[k] <= 0) continue;
    all += x[k];
    if (fabs((double)k - (double)peak) <= half_bins) near += x[k];
  }
  return all > 0 ? near / all : 0;
}

static void read_off(spectra *s, double resolution_hz, girthline_murmur_phase *out) {
  size_t sharp = 0, peak = 0;
  smooth(s, s->smoothed);
  for (size_t k = 0; k < s->n_bins; k++) {
    if (s->excess[k] > s->excess[sharp]) sharp = k;
    if (s->smoothed[k] > s->smoothed[peak]) peak = k;
  }
  if (!(s->smoothed[peak] > 0)) return;
  const double width = resolution_hz / s->bin_hz;
  const bool musical = sharp > 0 && share_near(s->excess, s->n_bins, sharp, width) > MUSICAL_SHARE + MUSICAL_WIDER * width / (double)sharp;
  out->musical = musical ? GIRTHLINE_YES : GIRTHLINE_NO;
  out->peak_hz = musical ? (double)sharp * s->bin_hz : broad_peak_hz(s, peak);
  double all = 0, running = 0;
  for (size_t k = 0; k < s->n_bins; k++) all += s->smoothed[k] > 0 ? s->smoothed[k] : 0;
  for (size_t k = 0; k < s->n_bins; k++) {
    running += s->smoothed[k] > 0 ? s->smoothed[k] : 0;
    if (isnan(out->band_hz[0]) && running >= BAND_EDGES[0] * all) out->band_hz[0] = (double)k * s->bin_hz;
    if (isnan(out->band_hz[1]) && running >= BAND_EDGES[1] * all) out->band_hz[1] = (double)k * s->bin_hz;
  }
}

int gn_murmur_pitch(const gn_murmur_cube *cube, const gn_murmur_beat *beats, double fs_hz, const size_t span[2], const double search_hz[2],
                    girthline_murmur_phase *out) {
  spectra s = {0};
  if (spectra_init(&s, fs_hz, cube->n_beats)) {
    spectra_clear(&s);
    return -1;
  }
  double inside[2] = {(double)span[0], (double)span[1]}, outside[2] = {0, 1};
  const double most = LONGEST_S / GN_MURMUR_CELL_S, middle = (inside[0] + inside[1]) / 2;
  if (inside[1] - inside[0] > most) inside[0] = middle - most / 2, inside[1] = middle + most / 2;
  const double quiet_n = inside[1] - inside[0] < (double)cube->n_first / 2 ? inside[1] - inside[0] : (double)cube->n_first / 2;
  quiet_cells(cube, quiet_n, outside);
  collect(&s, cube, beats, inside, s.inside, fs_hz);
  if (out->phase != GIRTHLINE_CONTINUOUS) collect(&s, cube, beats, outside, s.outside, fs_hz);
  excess_of(&s, cube->n_beats, search_hz);
  read_off(&s, 2 / ((inside[1] - inside[0]) * GN_MURMUR_CELL_S), out);
  spectra_clear(&s);
  return 0;
}
