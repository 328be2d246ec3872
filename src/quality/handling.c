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
// rubbing hair above it. In 98 of 100 simulated recordings of 8 to 28 dB without handling, regular and irregular, no frame passes 4.1,
// 6.2, 4.6, 4.8, 6.5, 6.2 and 9.2 dB in these bands, in the order in which they stand here.
static const struct { int band; double sure_db; } ALONE[] = {{GN_BAND_WIDE, 5.5}, {GN_BAND_THUMP, 8}, {GN_BAND_LOW, 7}, {GN_BAND_MID, 7.5},
                                                             {GN_BAND_HIGH, 8.5}, {GN_BAND_BREATH, 8.5}, {GN_BAND_ABOVE, 12}};
enum { N_ALONE = sizeof ALONE / sizeof *ALONE };
static const double LEAST_ALONE_DB = -6; // of the usual beats over the whole band: a band that holds nothing else is lifted by any beat
static const double ALONE_UNDER_DB = -6; // in one band handling ends no further under what is sure: a choice

// What is looked at, frame by frame, and the powers from which on it tells of handling.
typedef struct sign {
  double *x;
  double sure;       // is handling
  double suspect;    // is, where it lasts longer than a beat's sound
  double floor;      // handling ends no further down
} sign;

static sign loudness(const gn_quality_view *v, double *x) {
  for (size_t i = 0; i < v->frames->n; i++) x[i] = gn_quality_loudness(v->frames, v->levels, i);
  return (sign){x, gn_from_db(v->limits->handling_sure_db), gn_from_db(v->limits->handling_suspect_db), gn_from_db(v->limits->handling_floor_db)};
}

static sign alone(const gn_quality_view *v, int k, double *x) {
  const double least = v->levels->peak[GN_BAND_WIDE] * gn_from_db(LEAST_ALONE_DB), peak = v->levels->peak[ALONE[k].band];
  for (size_t i = 0; i < v->frames->n; i++) x[i] = peak > 0 ? (double)v->frames->rows[i][ALONE[k].band] / peak : 0;
  const double sure = fmax(gn_from_db(ALONE[k].sure_db), peak > 0 ? least / peak : 0);
  return (sign){x, sure, sure, sure * gn_from_db(ALONE_UNDER_DB)};
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

// A loud beat (after a pause, in an irregular heart) is as short as any beat: its sound, smeared by the frame, stays within some
// dB of its peak for no longer than its own length and a frame.
static bool is_spoilt(const gn_quality_view *v, const sign *s, size_t peak) {
  if (s->x[peak] >= s->sure) return true;
  const stretch r = around(s->x, v->frames->n, peak, s->x[peak] * gn_from_db(v->limits->handling_length_db));
  const double frame_s = (double)v->frames->n_fft / v->frames->fs_hz;
  return (double)(r.end - r.start) * gn_quality_frames_step(v->frames) > v->limits->handling_length_share * v->profile->s1_length_s + frame_s;
}

static int mark(const gn_quality_view *v, const sign *s, gn_quality_spans *list) {
  const gn_quality_frames *f = v->frames;
  const double step_s = gn_quality_frames_step(f), widen_s = step_s / 2 + v->limits->handling_widen_s;
  int refused = 0;
  for (size_t i = 0; i < f->n && !refused; i++) {
    if (s->x[i] < s->suspect) continue;
    const size_t peak = peak_from(s->x, f->n, i, s->suspect);
    size_t next = i;
    while (next + 1 < f->n && s->x[next + 1] > s->suspect) next++;
    if (is_spoilt(v, s, peak)) {
      const double edge = fmax(s->x[peak] * gn_from_db(v->limits->handling_edge_db), s->floor);
      const stretch r = around(s->x, f->n, peak, fmin(edge, s->suspect));
      refused = gn_quality_spans_add(list, GIRTHLINE_HANDLING, fmax(v->start_s, gn_quality_frames_time(f, r.start) - widen_s),
                                     fmin(v->end_s, gn_quality_frames_time(f, r.end - 1) + widen_s));
      if (r.end > next + 1) next = r.end - 1;
    }
    i = next;
  }
  return refused;
}

int gn_quality_handling_mark(const gn_quality_view *v, gn_quality_spans *list) {
  double *x = gn_new(v->frames->n, sizeof *x);
  if (!x) return -1;
  const sign all = loudness(v, x);
  int refused = mark(v, &all, list);
  for (int k = 0; k < N_ALONE && !refused; k++) {
    const sign one = alone(v, k, x);
    refused = mark(v, &one, list);
  }
  gn_free(x);
  return refused;
}
