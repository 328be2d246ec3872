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

static double lacking_db(const course *c, size_t since) { return fmax(0, c->depth_db - c->db_a_frame * (double)since); }

// Sum of squares about the mean of what the levels would be without that course; *n: frames that count.
static double rest(const float *level, const unsigned char *spoilt, const thump *t, const course *c, size_t *n) {
  double sum = 0, squares = 0;
  *n = 0;
  for (size_t k = t->from; k < t->to; k++) {
    if (k == t->start) k = t->end;
    if (k >= t->to) break;
    if (spoilt[k]) continue;
    const double x = (double)level[k] + (k >= t->end ? lacking_db(c, k - t->end) : 0);
    sum += x, squares += x * x, ++*n;
  }
  return *n ? squares - sum * sum / (double)*n : 0;
}

// The course that tells the levels best; a depth of 0 where none is sure.
static course find_course(const gn_features *f, const float *level, const thump *t) {
  course best = {0, 0};
  size_t n;
  const double flat = rest(level, f->spoilt, t, &best, &n);
  double least = flat * gn_exp(-2 * LEAST_NATS * APART_S * f->rate_hz / (double)(n ? n : 1));
  for (size_t r = 0; r < N_RATES; r++)
    for (double depth = DEPTH_LEAST_DB; depth <= DEPTH_MOST_DB; depth += DEPTH_STEP_DB) {
      const course c = {depth, RATES_DB_S[r] / f->rate_hz};
      const double left = rest(level, f->spoilt, t, &c, &n);
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

static void undo(gn_features *f, const float *level) {
  const size_t edge = (size_t)(EDGE_S * f->rate_hz), before = (size_t)(BEFORE_S * f->rate_hz), behind = (size_t)(BEHIND_S * f->rate_hz);
  size_t last_end = 0;
  for (size_t start = next_spoilt(f, 0); start < f->n;) {
    const size_t end = end_of(f, start), next = next_spoilt(f, end);
    thump t = {start > before ? start - before : 0, start > edge ? start - edge : 0, end + edge, next < end + behind ? next : end + behind};
    if (t.from < last_end + edge) t.from = last_end + edge;
    if (t.from > t.start) t.from = t.start;
    if (t.to >= t.end + (size_t)(LEAST_S * f->rate_hz)) {
      const course c = find_course(f, level, &t);
      for (size_t b = 0; b < GN_N_BANDS; b++)
        for (size_t k = end; k < next; k++) f->level_db[b][k] += (float)lacking_db(&c, k - end);
    }
    last_end = end;
    start = next;
  }
}

int gn_recovery_undo(gn_features *f) {
  float *level = gn_new(2 * f->n, sizeof *level), *clear = level ? level + f->n : NULL;
  size_t n = 0;
  if (!level) return -1;
  for (size_t k = 0; k < f->n; k++) {
    level[k] = 0.5f * (f->level_db[0][k] + f->level_db[1][k]);
    if (!f->spoilt[k]) clear[n++] = level[k];
  }
  if (n && n < f->n) {
    const float most = gn_quantile_f(clear, n, CEILING);
    for (size_t k = 0; k < f->n; k++) level[k] = fminf(level[k], most);
    undo(f, level);
  }
  gn_free(level);
  return 0;
}
