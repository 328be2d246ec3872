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
static const size_t MOST_SPECTRA = 30;   // a part's; longer ones hop further (a choice: a line is there all the time)
// What hums is switched on and off, and a hand on the wire changes it: a window is looked at in so many parts, none shorter than that, and in more where
// they would be longer: what hums for less is missed. Choices.
static const double PART_S[2] = {10, 20};
static const size_t PARTS = 4;
static const double NEAR_HZ = 5, FAR_HZ = 16; // neighbours (the taper's own width is 2 bins)
static const double SLICE_S = 0.1;       // steadiness: the line's amplitude in slices this long
static const double MAINS_HZ[] = {50, 60}; // the world's power lines; what hums carries odd multiples above all

typedef struct spectra {
  size_t n_fft, n_bins, most_n, n; // room for so many, and so many there
  double bin_hz;
  gn_fft_many *fft;
  float *taper, *room; // room: what gn_fft_many_power fills
  float *power;        // most_n rows of n_bins
  float *low;          // the low quantile of each bin
} spectra;

static void spectra_clear(spectra *s) {
  gn_fft_many_free(s->fft);
  gn_free(s->taper);
  gn_free(s->room);
  gn_free(s->power);
  gn_free(s->low);
}

static int spectra_init(spectra *s, double fs_hz, size_t most_n) {
  const size_t n_fft = gn_fft_size((size_t)(SPECTRUM_S * fs_hz)), n_bins = n_fft / 2 + 1;
  *s = (spectra){.n_fft = n_fft, .n_bins = n_bins, .most_n = most_n, .bin_hz = fs_hz / (double)n_fft, .fft = gn_fft_many_new(n_fft)};
  s->taper = gn_new(n_fft, sizeof *s->taper);
  s->room = gn_room(n_bins * GN_FFT_MANY, sizeof *s->room);
  s->power = gn_room(n_bins * most_n, sizeof *s->power);
  s->low = gn_new(n_bins, sizeof *s->low);
  if (!s->fft || !s->taper || !s->room || !s->power || !s->low) return -1;
  for (size_t i = 0; i < n_fft; i++) s->taper[i] = (float)gn_hann(i, n_fft);
  return 0;
}

// The n <= GN_FFT_MANY spectra of what begins at from, beside those that are there.
static void add_some(spectra *s, const float **from, size_t n) {
  for (size_t k = n; k < GN_FFT_MANY; k++) from[k] = from[0];
  gn_fft_many_take(s->fft, from, s->taper);
  gn_fft_many_power(s->fft, s->room);
  for (size_t k = 0; k < n; k++, s->n++)
    for (size_t bin = 0; bin < s->n_bins; bin++) s->power[s->n * s->n_bins + bin] = s->room[bin * GN_FFT_MANY + k];
}

size_t gn_quality_slice_n(const gn_signal *w) { return (size_t)(SLICE_S * w->fs_hz); }

// Where nothing came through there is no line either: that says nothing of the rest.
bool gn_quality_is_lost(const gn_quality_cut *cut, size_t from, size_t n) {
  const gn_signal *w = cut->window;
  return gn_quality_spans_hit(cut->spoilt->items, cut->spoilt->n, 1u << GIRTHLINE_DROPOUT, w->start_s + (double)from / w->fs_hz, w->start_s + (double)(from + n) / w->fs_hz);
}

// Of n of them, hop_n samples apart, those that are not lost.
static void spectra_fill(spectra *s, const gn_quality_cut *cut, size_t n, size_t hop_n) {
  const float *from[GN_FFT_MANY];
  size_t waiting = 0;
  s->n = 0;
  for (size_t k = 0; k < n; k++) {
    if (!gn_quality_is_lost(cut, k * hop_n, s->n_fft)) from[waiting++] = cut->window->samples + k * hop_n;
    if (waiting == 0 || (waiting < GN_FFT_MANY && k + 1 < n)) continue;
    add_some(s, from, waiting);
    waiting = 0;
  }
}

// Whether a bin stands over three quarters of its neighbours by a ratio.
static bool is_over_neighbours(const float *low, size_t n_bins, size_t k, double bin_hz, double ratio) {
  const size_t near = (size_t)ceil(NEAR_HZ / bin_hz), far = (size_t)(FAR_HZ / bin_hz);
  size_t n = 0, n_under = 0;
  for (size_t i = k > far ? k - far : 1; i < n_bins && i <= k + far; i++) {
    if (i + near > k && i < k + near) continue;
    n++;
    n_under += (double)low[i] * ratio <= (double)low[k];
  }
  return low[k] > 0 && 4 * n_under >= 3 * n;
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

// The strongest, which stand last.
static void keep_strong(gn_quality_lines *lines, gn_quality_line line) {
  if (lines->n == GN_QUALITY_LINES) {
    if (line.power <= lines->items[0].power) return;
    memmove(lines->items, lines->items + 1, --lines->n * sizeof line);
  }
  size_t i = lines->n++;
  for (; i && lines->items[i - 1].power > line.power; i--) lines->items[i] = lines->items[i - 1];
  lines->items[i] = line;
}

// The line seen last stands last; where there is no room the one not seen for longest goes.
static void note(gn_quality_lines *lines, double same_hz, gn_quality_line line) {
  size_t i = 0;
  while (i < lines->n && fabs(lines->items[i].hz - line.hz) > same_hz) i++;
  if (i < lines->n) {
    const gn_quality_line *before = &lines->items[i];
    line.hz = before->hz + (line.hz - before->hz) * line.weight_s / (before->weight_s + line.weight_s);
    line.power += before->power;
    line.weight_s += before->weight_s;
  } else if (lines->n < GN_QUALITY_LINES)
    lines->n++;
  else
    i = 0;
  memmove(lines->items + i, lines->items + i + 1, (lines->n - i - 1) * sizeof line);
  lines->items[lines->n - 1] = line;
}

static int find_lines(gn_quality_hum *h, const gn_quality_cut *cut, const spectra *s, gn_quality_lines *found) {
  const gn_signal *w = cut->window;
  const float *const low = s->low;
  const double seconds = (double)w->n / w->fs_hz, ratio = gn_from_db(h->limits->hum_over_db);
  const size_t n = w->n / gn_quality_slice_n(w) + 1;
  gn_quality_phasor *z = gn_new(n, sizeof *z);
  double *sizes = gn_new(n, sizeof *sizes);
  gn_quality_lines here = {.n = 0};
  for (size_t k = (size_t)(h->limits->hum_lowest_hz / s->bin_hz); z && sizes && k + 2 < s->n_bins; k++) {
    if (low[k] <= low[k - 1] || low[k] < low[k + 1] || !is_over_neighbours(low, s->n_bins, k, s->bin_hz, ratio)) continue;
    const double bin_hz = (double)k * s->bin_hz;
    const tone t = refine(cut, bin_hz, z, sizes);
    if (t.steady < h->limits->hum_steady_share || fabs(t.hz - bin_hz) > s->bin_hz) continue;
    // A steady line of amplitude a stands in a Hann-tapered spectrum of n points with power (a n / 4)^2.
    if (t.amplitude < h->limits->hum_median_share * 4 * sqrt((double)low[k]) / (double)s->n_fft) continue;
    keep_strong(&here, (gn_quality_line){t.hz, seconds, (double)low[k] * seconds});
  }
  for (size_t i = 0; i < here.n; i++) {
    note(&h->lines, h->limits->hum_same_hz, here.items[i]);
    note(found, h->limits->hum_same_hz, here.items[i]);
  }
  const int refused = z && sizes ? 0 : -1;
  gn_free(z);
  gn_free(sizes);
  return refused;
}

// Its lines also into found. *heard_s: so much of it was enough to look for lines in.
static int hear_part(gn_quality_hum *h, spectra *s, const gn_quality_cut *cut, gn_quality_lines *found, double *heard_s) {
  const gn_signal *w = cut->window;
  const size_t least = (size_t)h->limits->hum_least_spectra_n;
  if (w->n < s->n_fft) return 0;
  size_t hop_n = (size_t)(HOP_S * w->fs_hz);
  if ((w->n - s->n_fft) / hop_n + 1 > s->most_n) hop_n = (w->n - s->n_fft) / (s->most_n - 1); // more samples than spectra: one more never fits
  spectra_fill(s, cut, (w->n - s->n_fft) / hop_n + 1, hop_n);
  if (s->n < least) return 0;
  const float *spectrum[GN_ROWS_MOST];
  for (size_t i = 0; i < s->n; i++) spectrum[i] = s->power + i * s->n_bins;
  gn_quantiles_across(spectrum, s->n, s->n_bins, h->limits->hum_low_share, s->low);
  *heard_s += (double)w->n / w->fs_hz;
  return find_lines(h, cut, s, found);
}

// Of a list of lines, those that are there for so long and so strong.
typedef struct counted {
  const girthline_quality_limits *limits;
  const gn_quality_lines *lines;
  double least_s, least_power;
} counted;

// How many of them are multiples of hz.
static int family_of(const counted *c, double hz) {
  int n = 0;
  for (size_t i = 0; i < c->lines->n; i++) {
    const gn_quality_line *line = &c->lines->items[i];
    const double times = floor(line->hz / hz + 0.5);
    const bool near = times >= 1 && times <= c->limits->hum_multiple_n && fabs(line->hz - times * hz) < c->limits->hum_family_hz;
    n += near && line->weight_s >= c->least_s && line->power >= c->least_power;
  }
  return n;
}

// A line may be a harmonic, and the fundamental may lie hidden under the heart: it is the highest frequency of which the most lines are multiples.
static double fundamental_of(const counted *c, double line_hz) {
  double hz = line_hz;
  int most = family_of(c, hz);
  for (int n = 2; n <= c->limits->hum_multiple_n && line_hz / n >= c->limits->hum_lowest_hz; n++) {
    const int lines = family_of(c, line_hz / n);
    if (lines <= most) continue;
    most = lines;
    hz = line_hz / n;
  }
  return hz;
}

// The mains of which it is a multiple, as it tells them: those with more lines. NaN: of none.
static double mains_under(const counted *c, double line_hz) {
  double hz = NAN;
  int most = 0;
  for (int k = 0; k < 2; k++) {
    const double times = floor(line_hz / MAINS_HZ[k] + 0.5), at_hz = line_hz / times;
    if (times < 1 || times > c->limits->hum_multiple_n || fabs(at_hz - MAINS_HZ[k]) > GN_QUALITY_FAMILY_OFF_HZ || family_of(c, at_hz) <= most) continue;
    most = family_of(c, at_hz);
    hz = at_hz;
  }
  return hz;
}

static gn_quality_line *strongest(gn_quality_lines *lines) {
  gn_quality_line *best = NULL;
  for (size_t i = 0; i < lines->n; i++)
    if (lines->items[i].power > 0 && (!best || lines->items[i].power > best->power)) best = &lines->items[i];
  return best;
}

// A line of a fast and even heart is steady, too, for as long as its rate is, times their ratio. A lone one under this that is not of the mains may be
// the heart's own, and stays. A choice: of 3625 simulated recordings a heart of 194 a minute had its names exchanged where it did not.
static const double ALONE_HZ = 100;

// What hums in a window, by its strongest line, then by that of the others. A line counts once: its power becomes 0.
static void tell_families(gn_quality_hum *h, gn_quality_lines *lines) {
  h->n_families = 0;
  for (const gn_quality_line *best; h->n_families < GN_QUALITY_FAMILIES && (best = strongest(lines));) {
    const counted all = {h->limits, lines, 0, h->limits->hum_family_share * best->power};
    const double line_hz = best->hz, mains_hz = mains_under(&all, line_hz), hz = isnan(mains_hz) ? fundamental_of(&all, line_hz) : mains_hz;
    if (!isnan(mains_hz) || hz >= ALONE_HZ || family_of(&all, hz) > 1) h->families[h->n_families++] = (gn_quality_family){hz, floor(line_hz / hz + 0.5)};
    for (size_t i = 0; i < lines->n; i++)
      if (fabs(lines->items[i].hz / hz - floor(lines->items[i].hz / hz + 0.5)) * hz < h->limits->hum_family_hz) lines->items[i].power = 0;
  }
}

static size_t parts_of(double window_s) {
  const size_t fit = (size_t)(window_s / PART_S[0]), least = (size_t)ceil(window_s / PART_S[1]), most = PARTS > least ? PARTS : least;
  return fit < 1 ? 1 : fit > most ? most : fit;
}

int gn_quality_hum_add(gn_quality_hum *h, const gn_quality_cut *cut) {
  const gn_signal *w = cut->window;
  const size_t parts = parts_of((double)w->n / w->fs_hz), least = (size_t)h->limits->hum_least_spectra_n;
  gn_quality_lines found = {.n = 0};
  double heard_s = 0;
  spectra s;
  int refused = spectra_init(&s, w->fs_hz, least > MOST_SPECTRA ? least : MOST_SPECTRA);
  for (size_t k = 0; k < parts && !refused; k++) {
    const size_t from = k * w->n / parts, end = (k + 1) * w->n / parts;
    const gn_signal part = {w->samples + from, end - from, w->fs_hz, w->start_s + (double)from / w->fs_hz};
    refused = hear_part(h, &s, &(gn_quality_cut){&part, cut->spoilt}, &found, &heard_s);
  }
  spectra_clear(&s);
  if (refused) return -1;
  if (heard_s > 0) tell_families(h, &found);
  h->heard_s += heard_s;
  return 0;
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

double gn_quality_hum_hz(const gn_quality_hum *h, double beat_hz) {
  if (!(h->heard_s > 0)) return NAN;
  const double least_s = h->limits->hum_seen_share * h->heard_s;
  const gn_quality_line *best = NULL;
  for (size_t i = 0; i < h->lines.n; i++) {
    const gn_quality_line *line = &h->lines.items[i];
    if (line->weight_s >= least_s && (!best || line->power > best->power) && !is_hearts_own(h, line->hz, beat_hz)) best = line;
  }
  if (!best) return 0;
  return mains_of(h, fundamental_of(&(counted){h->limits, &h->lines, least_s, h->limits->hum_family_share * best->power}, best->hz));
}
