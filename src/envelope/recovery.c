// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// Gain control turns a recording down within milliseconds of a thump and up again by so many dB a second, and all bands alike. Breath
// swells and ebbs too, but it does not drop at once in every band by many dB to come back on a straight line.
#include "envelope/recovery.h"

#include <math.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"

#define BEFORE_S 4.0       // looked at before a spoilt stretch and behind it
#define BEHIND_S 7.0
#define EDGE_S 0.08        // of either, where the thump itself may still sound
#define JOIN_S 0.3         // stretches nearer than this are one thump
#define LEAST_S 1.0        // heard behind it, or nothing is told
#define DEPTH_LEAST_DB 6.0 // of a dive that is told from breath; they are tried up to the most, in steps
#define DEPTH_MOST_DB 30.0
#define DEPTH_STEP_DB 2.0
#define APART_S 0.2        // frames nearer than this tell the same
#define CEILING 0.96       // quantile of the level: above it are the heart's loudest sounds and what was not marked
// Chosen on five simulated sets: of 1332 thumps without gain control 10 seem to turn it down, of 73 with it 27.
#define LEAST_NATS 4.0
static const double RATES_DB_S[] = {2, 3, 4, 5};
enum { N_RATES = sizeof RATES_DB_S / sizeof *RATES_DB_S };

typedef struct course { double depth_db, db_a_frame; } course; // of the gain behind a spoilt stretch
typedef struct thump { size_t from, start, end, to; } thump; // frames looked at: from .. start - 1 and end .. to - 1

static double lacking_db(const course *c, size_t since) { return gn_max(0, c->depth_db - c->db_a_frame * (double)since); }

/// Over the frames that count from the thump's end up to some frame, j frames after that end: their number, sums of j, j^2, the level x and j x.
typedef struct sums { double n, j, jj, x, jx; } sums;

/// What is known of a thump before any course is tried.
typedef struct heard {
  sums *upto;         ///< by frame after the end; upto[k] holds those before the k-th
  size_t n_behind;
  double n, x, xx;    ///< before and behind: frames that count, sums of the level and its square
} heard;

static void listen(const gn_features *f, const float *level, const thump *t, heard *h) {
  h->n_behind = t->to - t->end;
  h->n = h->x = h->xx = 0;
  h->upto[0] = (sums){0};
  for (size_t k = t->from; k < t->start; k++)
    if (!f->spoilt[k]) h->n++, h->x += (double)level[k], h->xx += (double)level[k] * (double)level[k];
  for (size_t i = 0; i < h->n_behind; i++) {
    const double x = (double)level[t->end + i], j = (double)i;
    sums *s = &h->upto[i + 1];
    *s = h->upto[i];
    if (!f->spoilt[t->end + i]) s->n++, s->j += j, s->jj += j * j, s->x += x, s->jx += j * x, h->xx += x * x;
  }
  h->n += h->upto[h->n_behind].n;
  h->x += h->upto[h->n_behind].x;
}

// Sum of squares about the mean of what the levels would be without that course.
static double rest(const heard *h, const course *c) {
  const double lasts_n = c->depth_db > 0 ? ceil(c->depth_db / c->db_a_frame) : 0, d = c->depth_db, r = c->db_a_frame;
  const sums *s = &h->upto[lasts_n < (double)h->n_behind ? (size_t)lasts_n : h->n_behind];
  const double added = d * s->n - r * s->j, squares = d * d * s->n - 2 * d * r * s->j + r * r * s->jj, both = d * s->x - r * s->jx, sum = h->x + added;
  return h->n > 0 ? h->xx + 2 * both + squares - sum * sum / h->n : 0;
}

// The course that tells the levels best; a depth of 0 where none is sure.
static course find_course(const heard *h, double rate_hz) {
  course best = {0, 0};
  double least = rest(h, &best) * gn_exp(-2 * LEAST_NATS * APART_S * rate_hz / gn_max(1, h->n));
  for (size_t r = 0; r < N_RATES; r++)
    for (double depth = DEPTH_LEAST_DB; depth <= DEPTH_MOST_DB; depth += DEPTH_STEP_DB) {
      const course c = {depth, RATES_DB_S[r] / rate_hz};
      const double left = rest(h, &c);
      if (left < least) least = left, best = c;
    }
  return best;
}

// The end of the spoilt stretch that begins at k, with those close behind it.
static size_t end_of(const gn_features *f, size_t k) {
  const size_t join = (size_t)(JOIN_S * f->rate_hz);
  size_t end = k;
  for (; k < f->n && k < end + join; k++)
    if (f->spoilt[k]) end = k + 1;
  return end;
}

static size_t next_spoilt(const gn_features *f, size_t k) {
  while (k < f->n && !f->spoilt[k]) k++;
  return k;
}

static void undo(gn_features *f, const float *level, heard *h) {
  const size_t edge = (size_t)(EDGE_S * f->rate_hz), before = (size_t)(BEFORE_S * f->rate_hz), behind = (size_t)(BEHIND_S * f->rate_hz);
  size_t last_end = 0;
  for (size_t start = next_spoilt(f, 0); start < f->n;) {
    const size_t end = end_of(f, start), next = next_spoilt(f, end);
    thump t = {start > before ? start - before : 0, start > edge ? start - edge : 0, end + edge, next < end + behind ? next : end + behind};
    if (t.from < last_end + edge) t.from = last_end + edge;
    if (t.from > t.start) t.from = t.start;
    if (t.to >= t.end + (size_t)(LEAST_S * f->rate_hz)) {
      listen(f, level, &t, h);
      const course c = find_course(h, f->rate_hz);
      for (size_t b = 0; b < GN_N_BANDS && c.depth_db > 0; b++)
        for (size_t k = end; k < next; k++) f->level_db[b][k] += (float)lacking_db(&c, k - end);
    }
    last_end = end;
    start = next;
  }
}

// clear: room for as many levels as there are frames.
static void undo_all(gn_features *f, float *level, float *clear, heard *h) {
  size_t n = 0;
  for (size_t k = 0; k < f->n; k++) {
    level[k] = 0.5f * (f->level_db[0][k] + f->level_db[1][k]);
    if (!f->spoilt[k]) clear[n++] = level[k];
  }
  if (!n || n == f->n) return;
  const float most = gn_quantile_f(clear, n, CEILING);
  for (size_t k = 0; k < f->n; k++) level[k] = gn_min_f(level[k], most);
  undo(f, level, h);
}

int gn_recovery_undo(gn_features *f) {
  float *level = gn_room(2 * f->n, sizeof *level), *clear = level ? level + f->n : NULL;
  heard h = {.upto = gn_new((size_t)(BEHIND_S * f->rate_hz) + 1, sizeof *h.upto)};
  const bool refused = !level || !h.upto;
  if (!refused) undo_all(f, level, clear, &h);
  gn_free(level);
  gn_free(h.upto);
  return refused ? -1 : 0;
}
