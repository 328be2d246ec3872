// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "quality/parts.h"

// A thump or a rub lifts all heart bands at once, each against its own loudest beats; a frame's excess is the mean of
// the three power ratios. On simulated recordings without handling the excess stays under 5.6 dB (44 of 45: under 4.2);
// thumps that hide a beat reach 5 to 13.
// One band alone, against its own loudest in most blocks: a thump of the chest piece lies under the heart or in its lowest band,
// rubbing hair above it. Outside handling, simulated recordings of 2 to 15 dB over breath and gut stay under 7, 7 and 11 dB in
// nineteen of twenty; the missed thumps and rubs reached 8 to 20. Less than this alone says nothing.
static const struct { int band; double sure_db; } ALONE[] = {{GN_BAND_THUMP, 7.0}, {GN_BAND_LOW, 7.0}, {GN_BAND_BREATH, 11.0}};
enum { N_ALONE = sizeof ALONE / sizeof *ALONE };
static const double LEAST_ALONE_DB = -6; // of the usual beats over the whole band: a band that holds nothing else is lifted by any beat
// A beat's sound, smeared by the frame, stays within some dB of its peak for no longer than its own length and a frame.

static double alone(const gn_quality_view *v, size_t i) {
  double most = 0;
  const double least = v->levels->peak[GN_BAND_WIDE] * gn_from_db(LEAST_ALONE_DB);
  for (int k = 0; k < N_ALONE; k++) {
    const double peak = v->levels->peak[ALONE[k].band];
    if ((double)v->frames->rows[i][ALONE[k].band] < least) continue;
    if (peak > 0) most = fmax(most, (double)v->frames->rows[i][ALONE[k].band] / peak * gn_from_db(v->limits->handling_sure_db - ALONE[k].sure_db));
  }
  return most;
}

static double *excess_of(const gn_quality_view *v) {
  const gn_quality_frames *f = v->frames;
  double *x = gn_new(f->n, sizeof *x);
  const double sure = gn_from_db(v->limits->handling_sure_db);
  for (size_t i = 0; x && i < f->n; i++) {
    const double one = alone(v, i);
    x[i] = gn_quality_loudness(f, v->levels, i);
    if (one >= sure) x[i] = fmax(x[i], one);
  }
  return x;
}

typedef struct stretch { size_t start, end; } stretch; // frames [start, end)

// The frames around `peak` that stay above `level`.
static stretch around(const double *x, size_t n, size_t peak, double level) {
  stretch s = {peak, peak + 1};
  while (s.start > 0 && x[s.start - 1] > level) s.start--;
  while (s.end < n && x[s.end] > level) s.end++;
  return s;
}

static size_t peak_from(const double *x, size_t n, size_t start, double level) {
  size_t best = start;
  for (size_t i = start; i < n && x[i] > level; i++)
    if (x[i] > x[best]) best = i;
  return best;
}

// A loud beat (after a pause, in an irregular heart) is as short as any beat.
static bool is_spoilt(const gn_quality_view *v, const double *x, size_t peak) {
  if (x[peak] >= gn_from_db(v->limits->handling_sure_db)) return true;
  const stretch s = around(x, v->frames->n, peak, x[peak] * gn_from_db(v->limits->handling_length_db));
  const double frame_s = (double)v->frames->n_fft / v->frames->fs_hz;
  return (double)(s.end - s.start) * gn_quality_frames_step(v->frames) > v->limits->handling_length_share * v->profile->s1_length_s + frame_s;
}

int gn_quality_handling_mark(const gn_quality_view *v, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  double *x = excess_of(v);
  if (!x) return -1;
  const double suspect = gn_from_db(v->limits->handling_suspect_db), step_s = gn_quality_frames_step(f);
  int refused = 0;
  for (size_t i = 0; i < f->n && !refused; i++) {
    if (x[i] < suspect) continue;
    const size_t peak = peak_from(x, f->n, i, suspect);
    size_t next = i;
    while (next + 1 < f->n && x[next + 1] > suspect) next++;
    if (is_spoilt(v, x, peak)) {
      const double edge = fmax(x[peak] * gn_from_db(v->limits->handling_edge_db), gn_from_db(v->limits->handling_floor_db));
      const stretch s = around(x, f->n, peak, fmin(edge, suspect));
      refused = gn_quality_spans_add(list, GIRTHLINE_HANDLING, fmax(v->start_s, gn_quality_frames_time(f, s.start) - step_s / 2 - v->limits->handling_widen_s),
                                     fmin(v->end_s, gn_quality_frames_time(f, s.end - 1) + step_s / 2 + v->limits->handling_widen_s));
      if (s.end > next + 1) next = s.end - 1;
    }
    i = next;
  }
  gn_free(x);
  return refused;
}
