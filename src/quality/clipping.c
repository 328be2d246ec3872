// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <string.h>

#include "quality/parts.h"

// Clipping is a run of equal samples at the extreme of its surroundings, entered and left by steps too large, or after
// neighbours too brief, for a smooth peak that was only rounded to the file's quantum. For a parabola of which n samples
// round to one value the step beside them is at most (1 + 2/n)^2 quanta (2.8 for three), and the next value stands for at
// least (sqrt(2) - 1) / 2 = 0.207 of the time.
static const double BLOCK_S = 0.4;        // about one sound
#define ACTIVITY_N 64 // samples over which the mean step is taken

void gn_quality_clipping_init(gn_quality_clipping *c, const girthline_quality_limits *limits, double fs_hz) {
  memset(c, 0, sizeof *c);
  c->limits = limits;
  c->fs_hz = fs_hz;
  c->quantum = INFINITY;
}

static bool is_shaped(const gn_quality_clipping *c, uint64_t after_n) {
  const double n = (double)c->held.n;
  if (c->held_step >= c->limits->clip_step_quanta * c->quantum) return true;
  const double brief_n = c->limits->clip_brief_share * n;
  return c->held.n >= (uint64_t)c->limits->clip_long_run_n && (double)c->held_before_n <= brief_n && (double)after_n <= brief_n;
}

// The run after the held one has ended.
static void settle_held(gn_quality_clipping *c, uint64_t after_n) {
  if (is_shaped(c, after_n) && c->n_runs < GN_QUALITY_BLOCK_RUNS) c->runs[c->n_runs++] = c->held;
  c->held.n = 0;
}

// The run under way has ended because `next` differs.
static void end_run(gn_quality_clipping *c, float next) {
  if (c->held.n) settle_held(c, c->run_n);
  if (c->run_n < (uint64_t)c->limits->clip_run_n || !c->before_n || c->last == 0) return;
  const double in = (double)c->last - (double)c->before, out = (double)c->last - (double)next;
  if (in * out <= 0 || in * (double)c->last <= 0) return; // not a peak away from zero
  c->held = (gn_quality_run){c->n_seen - c->run_n, c->run_n, c->last};
  c->held_before_n = c->before_n;
  c->held_step = fmin(fabs(in), fabs(out));
}

static int end_dropout(gn_quality_clipping *c, gn_quality_spans *list) {
  if ((double)c->run_n < c->limits->gap_s * c->fs_hz || c->activity_at_run < c->limits->gap_step_quanta * c->quantum) return 0;
  if (fabs((double)c->last - (double)c->before) < c->limits->gap_step_quanta * c->quantum) return 0; // died away rather than cut off
  return gn_quality_spans_add(list, GIRTHLINE_DROPOUT, (double)(c->n_seen - c->run_n) / c->fs_hz, (double)c->n_seen / c->fs_hz);
}

static size_t alike(const gn_quality_clipping *c, float value) {
  size_t n = 0;
  for (size_t i = 0; i < c->n_runs; i++) n += c->runs[i].value == value;
  return n;
}

// A run counts when its level is a known rail or comes twice in the block; a lone one waits for the next of its level.
static uint64_t accepted_n(gn_quality_clipping *c, const gn_quality_run *run) {
  const int side = run->value > 0;
  if (c->rail[side] == run->value) return run->n;
  if (alike(c, run->value) >= 2) {
    c->rail[side] = run->value;
    return run->n;
  }
  const gn_quality_run waiting = c->pending[side];
  c->pending[side] = *run;
  if (!waiting.n || waiting.value != run->value) return 0;
  c->pending[side].n = 0;
  c->rail[side] = run->value;
  return run->n + waiting.n;
}

static int end_block(gn_quality_clipping *c, gn_quality_spans *list) {
  const double swing = (double)c->block_max - (double)c->block_min;
  uint64_t n = 0;
  for (size_t i = 0; i < c->n_runs && swing >= c->limits->clip_swing_quanta * c->quantum; i++) {
    const double extreme = c->runs[i].value > 0 ? (double)c->block_max : (double)c->block_min;
    if (fabs((double)c->runs[i].value) >= c->limits->clip_extreme_share * fabs(extreme)) n += accepted_n(c, &c->runs[i]);
  }
  c->n_clipped += n;
  const uint64_t length_n = c->n_seen - c->block_start, start = c->block_start;
  c->n_runs = 0;
  c->block_start = c->n_seen;
  c->block_min = c->block_max = 0;
  if ((double)n <= c->limits->clip_dense_share * (double)length_n) return 0;
  return gn_quality_spans_add(list, GIRTHLINE_CLIPPING, (double)start / c->fs_hz, (double)c->n_seen / c->fs_hz);
}

static int change(gn_quality_clipping *c, float v, double step, gn_quality_spans *list) {
  if (c->run_n >= (uint64_t)c->limits->clip_run_n || c->held.n) {
    if (end_dropout(c, list)) return -1;
    end_run(c, v);
  }
  if (step < c->quantum) c->quantum = step;
  c->before = c->last;
  c->before_n = c->run_n;
  c->last = v;
  c->run_n = 0;
  c->activity_at_run = c->activity;
  return 0;
}

static int push_one(gn_quality_clipping *c, float sample, gn_quality_spans *list) {
  const float v = isfinite(sample) ? sample : 0;
  if (v != c->last && c->n_seen) {
    const double step = fabs((double)v - (double)c->last);
    c->step_sum += step;
    if (change(c, v, step, list)) return -1;
  } else
    c->last = v;
  c->run_n++;
  c->n_seen++;
  if (v > c->block_max) c->block_max = v;
  if (v < c->block_min) c->block_min = v;
  return 0;
}

// Most sound has no flat runs and no gaps: the same bookkeeping as push_one for samples that all differ from the one
// before, in one tight loop. False, with nothing changed, where there is anything to look at more closely.
static bool push_plain(gn_quality_clipping *c, const float *samples, size_t n) {
  if (n < 2 || !c->n_seen || c->run_n >= (uint64_t)c->limits->clip_run_n || c->held.n) return false;
  float last = c->last, low = c->block_min, high = c->block_max;
  double sum = c->step_sum, least = c->quantum;
  for (size_t i = 0; i < n; i++) {
    const double step = fabs((double)samples[i] - (double)last);
    if (!(step > 0)) return false; // equal, or not a number
    last = samples[i];
    sum += step;
    least = step < least ? step : least;
    low = last < low ? last : low;
    high = last > high ? last : high;
  }
  if (!isfinite(sum)) return false;
  c->step_sum = sum;
  c->quantum = least;
  c->block_min = low;
  c->block_max = high;
  c->before = samples[n - 2];
  c->before_n = 1;
  c->last = last;
  c->run_n = 1;
  c->activity_at_run = c->activity;
  c->n_seen += n;
  return true;
}

int gn_quality_clipping_push(gn_quality_clipping *c, const float *samples, size_t n, gn_quality_spans *list) {
  const uint64_t block_n = (uint64_t)(BLOCK_S * c->fs_hz) + 1;
  for (size_t i = 0; i < n;) {
    const uint64_t to_activity = ACTIVITY_N - c->n_seen % ACTIVITY_N, to_block = c->block_start + block_n - c->n_seen;
    size_t some = (size_t)(to_activity < to_block ? to_activity : to_block);
    if (some > n - i) some = n - i;
    if (!push_plain(c, samples + i, some))
      for (size_t k = 0; k < some; k++)
        if (push_one(c, samples[i + k], list)) return -1;
    i += some;
    if (c->n_seen % ACTIVITY_N == 0) {
      c->activity = c->step_sum / ACTIVITY_N;
      c->step_sum = 0;
    }
    if (c->n_seen - c->block_start >= block_n && end_block(c, list)) return -1;
  }
  return 0;
}

int gn_quality_clipping_flush(gn_quality_clipping *c, gn_quality_spans *list) {
  if (!c->n_seen) return 0;
  if (c->held.n) settle_held(c, c->run_n);
  if (end_dropout(c, list)) return -1;
  return end_block(c, list);
}
