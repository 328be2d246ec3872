// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/fft.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// A line that is always there: the low quantile over time of short spectra, against its neighbours.
static const double SPECTRUM_S = 0.5; // some lie between the sounds of a fast heart, and show the line alone
static const double HOP_S = 0.25;
static const size_t MOST_SPECTRA = 120;  // a window's; longer windows hop further (a choice: a line is there all the time)
static const double NEAR_HZ = 5, FAR_HZ = 16; // neighbours (the taper's own width is 2 bins)
static const double SLICE_S = 0.1;       // steadiness: the line's amplitude in slices this long
static const double MAINS_HZ[] = {50, 60}; // the world's power lines; what hums carries odd multiples above all

typedef struct spectra {
  size_t n_fft, n_bins, n;
  double bin_hz;
  float *power; // n rows of n_bins
} spectra;

// The n <= GN_FFT_MANY spectra of what begins at from; room: what gn_fft_many_power fills.
static void fill_some(spectra *s, gn_fft_many *fft, const float *taper, const float **from, size_t n, float *room, float *power) {
  for (size_t k = n; k < GN_FFT_MANY; k++) from[k] = from[0];
  gn_fft_many_take(fft, from, taper);
  gn_fft_many_power(fft, room);
  for (size_t k = 0; k < n; k++)
    for (size_t bin = 0; bin < s->n_bins; bin++) power[k * s->n_bins + bin] = room[bin * GN_FFT_MANY + k];
}

size_t gn_quality_slice_n(const gn_signal *w) { return (size_t)(SLICE_S * w->fs_hz); }

// Where nothing came through there is no line either: that says nothing of the rest.
bool gn_quality_is_lost(const gn_quality_cut *cut, size_t from, size_t n) {
  const gn_signal *w = cut->window;
  return gn_quality_spans_hit(cut->spoilt->items, cut->spoilt->n, 1u << GIRTHLINE_DROPOUT, w->start_s + (double)from / w->fs_hz, w->start_s + (double)(from + n) / w->fs_hz);
}

// Rows are filled from the front; s->n becomes how many.
static int spectra_fill(spectra *s, const gn_quality_cut *cut, size_t hop_n) {
  const gn_signal *w = cut->window;
  gn_fft_many *fft = gn_fft_many_new(s->n_fft);
  float *taper = gn_new(s->n_fft, sizeof *taper), *room = gn_new(s->n_bins * GN_FFT_MANY, sizeof *room);
  const int refused = fft && taper && room ? 0 : -1;
  for (size_t i = 0; !refused && i < s->n_fft; i++) taper[i] = (float)(0.5 - 0.5 * gn_cos(2 * GN_PI * ((double)i + 0.5) / (double)s->n_fft));
  const float *from[GN_FFT_MANY];
  size_t kept = 0, n = 0;
  for (size_t k = 0; !refused && k < s->n; k++) {
    if (!gn_quality_is_lost(cut, k * hop_n, s->n_fft)) from[n++] = w->samples + k * hop_n;
    if (n == 0 || (n < GN_FFT_MANY && k + 1 < s->n)) continue;
    fill_some(s, fft, taper, from, n, room, s->power + kept * s->n_bins);
    kept += n;
    n = 0;
  }
  s->n = kept;
  gn_fft_many_free(fft);
  gn_free(taper);
  gn_free(room);
  return refused;
}

// The low quantile over time, bin by bin, into out[n_bins].
static int low_over_time(const spectra *s, double low_share, float *out) {
  float *column = gn_new(s->n, sizeof *column);
  if (!column) return -1;
  for (size_t k = 0; k < s->n_bins; k++) {
    for (size_t i = 0; i < s->n; i++) column[i] = s->power[i * s->n_bins + k];
    out[k] = gn_quantile_f(column, s->n, low_share);
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

// By mixing hz down to zero.
void gn_quality_mix_down(const gn_signal *w, double hz, size_t slice_n, gn_quality_phasor *out, size_t n) {
  const double turn = 2 * GN_PI * hz / w->fs_hz, cr = gn_cos(turn), ci = gn_sin(turn);
  double pr = 1, pi = 0;
  for (size_t k = 0; k < n; k++) {
    double re = 0, im = 0;
    for (size_t i = 0; i < slice_n; i++) {
      const double x = isfinite(w->samples[k * slice_n + i]) ? (double)w->samples[k * slice_n + i] : 0;
      re += x * pr;
      im -= x * pi;
      const double next = pr * cr - pi * ci;
      pi = pr * ci + pi * cr;
      pr = next;
    }
    const double length = sqrt(pr * pr + pi * pi);
    pr /= length;
    pi /= length;
    out[k] = (gn_quality_phasor){re, im, sqrt(re * re + im * im)};
  }
}

// The angle of (re, im), |angle| < pi / 2, by Newton's rule on its tangent.
double gn_quality_angle(double re, double im) {
  double angle = 0;
  for (int i = 0; i < 8; i++) {
    const double c = gn_cos(angle), s = gn_sin(angle), along = re * c + im * s;
    if (along <= 0) break;
    const double off = (im * c - re * s) / along;
    angle += off / (1 + off * off / 3);
  }
  return angle;
}

// How far the line lies from the frequency it was mixed down by: how fast its phase turns between slices `apart`. Each
// pair counts alike, so that loud heart sounds do not.
double gn_quality_drift_hz(const gn_quality_phasor *z, size_t n, size_t apart, double slice_s) {
  double re = 0, im = 0;
  for (size_t k = 0; k + apart < n; k++) {
    const double size = z[k].size * z[k + apart].size;
    if (!(size > 0)) continue;
    re += (z[k].re * z[k + apart].re + z[k].im * z[k + apart].im) / size;
    im += (z[k].re * z[k + apart].im - z[k].im * z[k + apart].re) / size;
  }
  return gn_quality_angle(re, im) / (2 * GN_PI * slice_s * (double)apart);
}

typedef struct tone { double hz, amplitude, steady; } tone;

// The line near hz, found exactly, with its median amplitude and the 10 % quantile of it over that.
static tone refine(const gn_quality_cut *cut, double hz, gn_quality_phasor *z, double *sizes) {
  const gn_signal *w = cut->window;
  const size_t slice_n = gn_quality_slice_n(w), n = w->n / slice_n;
  const double slice_s = (double)slice_n / w->fs_hz;
  const size_t apart[] = {1, 4};
  for (int i = 0; i < 2; i++) {
    gn_quality_mix_down(w, hz, slice_n, z, n);
    hz += gn_quality_drift_hz(z, n, apart[i], slice_s);
  }
  size_t kept = 0;
  for (size_t k = 0; k < n; k++)
    if (!gn_quality_is_lost(cut, k * slice_n, slice_n)) sizes[kept++] = z[k].size;
  const double middle = kept ? gn_median(sizes, kept) : 0;
  return (tone){hz, 2 * middle / (double)slice_n, middle > 0 ? gn_quantile(sizes, kept, 0.1) / middle : 0};
}

static void note(gn_quality_hum *h, double hz, double seconds, double power) {
  for (size_t i = 0; i < h->n_lines; i++) {
    gn_quality_line *line = &h->lines[i];
    if (fabs(line->hz - hz) > h->limits->hum_same_hz) continue;
    line->hz += (hz - line->hz) * seconds / (line->weight_s + seconds);
    line->power += power * seconds;
    line->weight_s += seconds;
    return;
  }
  if (h->n_lines < GN_QUALITY_LINES) h->lines[h->n_lines++] = (gn_quality_line){hz, seconds, power * seconds};
}

// The lines of one window that are of the mains, at either frequency, and the strongest of them.
typedef struct mains_lines { gn_quality_mains mains; double power; int n; } mains_lines;

static void note_mains(mains_lines of[2], double hz, double power, double most_times) {
  for (int k = 0; k < 2; k++) {
    const double times = floor(hz / MAINS_HZ[k] + 0.5);
    if (times < 1 || times > most_times || fabs(hz / times - MAINS_HZ[k]) > GN_QUALITY_MAINS_OFF_HZ) continue;
    of[k].n++;
    if (power > of[k].power) of[k] = (mains_lines){{hz / times, times}, power, of[k].n};
  }
}

static int find_lines(gn_quality_hum *h, const gn_quality_cut *cut, const spectra *s, const float *low) {
  const gn_signal *w = cut->window;
  const double seconds = (double)w->n / w->fs_hz;
  const size_t n = w->n / gn_quality_slice_n(w) + 1;
  gn_quality_phasor *z = gn_new(n, sizeof *z);
  double *sizes = gn_new(n, sizeof *sizes);
  mains_lines mains[2] = {{.n = 0}};
  for (size_t k = (size_t)(h->limits->hum_lowest_hz / s->bin_hz); z && sizes && k + 2 < s->n_bins; k++) {
    if (low[k] <= low[k - 1] || low[k] < low[k + 1] || over_neighbours_db(low, s->n_bins, k, s->bin_hz) < h->limits->hum_over_db) continue;
    const double bin_hz = (double)k * s->bin_hz;
    const tone t = refine(cut, bin_hz, z, sizes);
    if (t.steady < h->limits->hum_steady_share || fabs(t.hz - bin_hz) > s->bin_hz) continue;
    // A steady line of amplitude a stands in a Hann-tapered spectrum of n points with power (a n / 4)^2.
    if (t.amplitude < h->limits->hum_median_share * 4 * sqrt((double)low[k]) / (double)s->n_fft) continue;
    note(h, t.hz, seconds, (double)low[k]);
    note_mains(mains, t.hz, (double)low[k], h->limits->hum_multiple_n);
  }
  h->mains = mains[mains[1].n > mains[0].n].mains;
  const int refused = z && sizes ? 0 : -1;
  gn_free(z);
  gn_free(sizes);
  return refused;
}

int gn_quality_hum_add(gn_quality_hum *h, const gn_quality_cut *cut) {
  const gn_signal *w = cut->window;
  spectra s = {.n_fft = gn_fft_size((size_t)(SPECTRUM_S * w->fs_hz))};
  s.n_bins = s.n_fft / 2 + 1;
  s.bin_hz = w->fs_hz / (double)s.n_fft;
  if (w->n < s.n_fft) return 0;
  size_t hop_n = (size_t)(HOP_S * w->fs_hz);
  if ((w->n - s.n_fft) / hop_n + 1 > MOST_SPECTRA) hop_n = (w->n - s.n_fft) / (MOST_SPECTRA - 1);
  s.n = (w->n - s.n_fft) / hop_n + 1;
  if (s.n < (size_t)h->limits->hum_least_spectra_n) return 0;
  s.power = gn_room(s.n * s.n_bins, sizeof *s.power);
  float *low = gn_new(s.n_bins, sizeof *low);
  int refused = s.power && low ? spectra_fill(&s, cut, hop_n) : -1;
  const bool enough = s.n >= (size_t)h->limits->hum_least_spectra_n;
  if (!refused && enough) refused = low_over_time(&s, h->limits->hum_low_share, low);
  if (!refused && enough) refused = find_lines(h, cut, &s, low);
  if (!refused && enough) h->heard_s += (double)w->n / w->fs_hz;
  gn_free(s.power);
  gn_free(low);
  return refused;
}

static bool counts(const gn_quality_hum *h, const gn_quality_line *line, double best_power) {
  return line->weight_s >= h->limits->hum_seen_share * h->heard_s && line->power >= h->limits->hum_family_share * best_power;
}

// How many lines are multiples of hz.
static int family_of(const gn_quality_hum *h, double hz, double best_power) {
  int n = 0;
  for (size_t i = 0; i < h->n_lines; i++) {
    const double times = floor(h->lines[i].hz / hz + 0.5);
    const bool near = times >= 1 && times <= h->limits->hum_multiple_n && fabs(h->lines[i].hz - times * hz) < h->limits->hum_family_hz;
    n += near && counts(h, &h->lines[i], best_power);
  }
  return n;
}

// A lone odd multiple of the mains: the fundamental lies hidden under the heart.
static double mains_of(const gn_quality_hum *h, double hz) {
  for (int n = 3; n <= 5; n += 2)
    for (int k = 0; k < 2; k++)
      if (fabs(hz - n * MAINS_HZ[k]) < h->limits->hum_family_hz) return hz / n;
  return hz;
}

// A multiple of a fast and even heart's rate, and of no power line's: half a second holds more than one beat, and what they have in common
// looks like a line. Chosen on 80 simulated hearts of 140 and more a minute, in which four such lines lay within 0.07 of a multiple.
static const double FAST_HZ = 2, OF_HEART_SHARE = 0.1;

static bool is_hearts_own(const gn_quality_hum *h, double hz, double beat_hz) {
  if (!(beat_hz >= FAST_HZ) || fabs(hz / beat_hz - floor(hz / beat_hz + 0.5)) > OF_HEART_SHARE) return false;
  for (int k = 0; k < 2; k++)
    if (fabs(hz - MAINS_HZ[k] * floor(hz / MAINS_HZ[k] + 0.5)) < h->limits->hum_family_hz && hz > MAINS_HZ[k] / 2) return false;
  return true;
}

// The strongest line may be a harmonic, and the fundamental may lie hidden under the heart: the hum is the highest
// frequency of which the most lines are multiples.
double gn_quality_hum_hz(const gn_quality_hum *h, double beat_hz) {
  if (!(h->heard_s > 0)) return NAN;
  const gn_quality_line *best = NULL;
  for (size_t i = 0; i < h->n_lines; i++)
    if (h->lines[i].weight_s >= h->limits->hum_seen_share * h->heard_s && (!best || h->lines[i].power > best->power) &&
        !is_hearts_own(h, h->lines[i].hz, beat_hz))
      best = &h->lines[i];
  if (!best) return 0;
  double hz = best->hz;
  int most = family_of(h, hz, best->power);
  for (int n = 2; n <= h->limits->hum_multiple_n && best->hz / n >= h->limits->hum_lowest_hz; n++) {
    const int lines = family_of(h, best->hz / n, best->power);
    if (lines <= most) continue;
    most = lines;
    hz = best->hz / n;
  }
  return mains_of(h, hz);
}
