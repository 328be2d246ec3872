// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <string.h>

#include "base/wide.h"
#include "quality/parts.h"

// Clipping is a run of equal samples at the extreme of its surroundings, entered and left by steps too large, or after
// neighbours too brief, for a smooth peak that was only rounded to the file's quantum. For a parabola of which n samples
// round to one value the step beside them is at most (1 + 2/n)^2 quanta (2.8 for three), and the next value stands for at
// least (sqrt(2) - 1) / 2 = 0.207 of the time.
static const double BLOCK_S = 0.4;        // about one sound
#define ACTIVITY_N 64 // samples over which the mean step is taken
// The smallest step is one of the whole recording: it is sought in the first so many samples, then in the first ACTIVITY_N of every so many. A choice:
// of 645 recordings of up to a minute none is said to be clipped otherwise than with every sample; with the latter alone 16 are, by up to 1e-4.
#define QUANTUM_FIRST_N 65536
#define QUANTUM_EVERY_N 4096

void gn_quality_clipping_init(gn_quality_clipping *c, const girthline_quality_limits *limits, double fs_hz) {
  memset(c, 0, sizeof *c);
  c->limits = limits;
  c->flat_n = (uint64_t)limits->clip_run_n;
  c->fs_hz = fs_hz;
  c->quantum = INFINITY;
}

static double time_of(const gn_quality_clipping *c, uint64_t sample) { return c->start_s + (double)sample / c->fs_hz; }

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
  if (c->run_n < c->flat_n || !c->before_n || c->last == 0) return;
  const double in = (double)c->last - (double)c->before, out = (double)c->last - (double)next;
  if (in * out <= 0 || in * (double)c->last <= 0) return; // not a peak away from zero
  c->held = (gn_quality_run){c->n_seen - c->run_n, c->run_n, c->last};
  c->held_before_n = c->before_n;
  c->held_step = fmin(fabs(in), fabs(out));
}

static int end_dropout(gn_quality_clipping *c, gn_quality_spans *list) {
  if ((double)c->run_n < c->limits->gap_s * c->fs_hz || c->activity_at_run < c->limits->gap_step_quanta * c->quantum) return 0;
  if (fabs((double)c->last - (double)c->before) < c->limits->gap_step_quanta * c->quantum) return 0; // died away rather than cut off
  return gn_quality_spans_add(list, GIRTHLINE_DROPOUT, time_of(c, c->n_seen - c->run_n), time_of(c, c->n_seen));
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
  return gn_quality_spans_add(list, GIRTHLINE_CLIPPING, time_of(c, start), time_of(c, c->n_seen));
}

static bool seeks_quantum(const gn_quality_clipping *c) {
  return c->n_seen < QUANTUM_FIRST_N || c->n_seen % QUANTUM_EVERY_N < ACTIVITY_N || isinf(c->quantum); // as long as all are one value, everywhere
}

static int change(gn_quality_clipping *c, float v, double step, gn_quality_spans *list) {
  if (c->run_n >= c->flat_n || c->held.n) {
    if (end_dropout(c, list)) return -1;
    end_run(c, v);
  }
  if (step < c->quantum && seeks_quantum(c)) c->quantum = step;
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

static void end_stretch(gn_quality_clipping *c) {
  c->activity = c->step_sum / ACTIVITY_N;
  c->step_sum = 0;
}

static int push_each(gn_quality_clipping *c, const float *samples, size_t n, gn_quality_spans *list) {
  for (size_t i = 0; i < n; i++)
    if (push_one(c, samples[i], list)) return -1;
  if (c->n_seen % ACTIVITY_N == 0) end_stretch(c);
  return 0;
}

// A stretch of ACTIVITY_N samples at a glance, in loops that a compiler can keep in vector registers.
enum { HALF_N = ACTIVITY_N / 2 };
typedef struct glance {
  float sum;     // of the steps
  uint64_t same; // bit i: sample i equals the one before
  bool finer;    // a step is smaller than any before, and not 0
} glance;

GN_WIDE_PART uint32_t bits_of(const float step[HALF_N]) {
  static const uint32_t BIT[HALF_N] = {1u << 0,  1u << 1,  1u << 2,  1u << 3,  1u << 4,  1u << 5,  1u << 6,  1u << 7,  1u << 8,  1u << 9,  1u << 10,
                                       1u << 11, 1u << 12, 1u << 13, 1u << 14, 1u << 15, 1u << 16, 1u << 17, 1u << 18, 1u << 19, 1u << 20, 1u << 21,
                                       1u << 22, 1u << 23, 1u << 24, 1u << 25, 1u << 26, 1u << 27, 1u << 28, 1u << 29, 1u << 30, 1u << 31};
  uint32_t bits = 0;
  for (size_t i = 0; i < HALF_N; i++) bits |= BIT[i] & -(uint32_t)(step[i] == 0);
  return bits;
}

// The steps of a stretch, and their sum.
GN_WIDE_PART float steps_of(const float *restrict x, float step[ACTIVITY_N]) {
  float sum[HALF_N];
  gn_row row = {0};
  for (size_t i = 0; i < ACTIVITY_N; i++) step[i] = fabsf(x[i] - x[(ptrdiff_t)i - 1]);
  for (size_t i = 0; i < HALF_N; i++) sum[i] = step[i] + step[i + HALF_N];
  for (size_t i = 0; i < HALF_N; i += sizeof row / sizeof *sum) row += *(const gn_row *)(sum + i);
  return (row[0] + row[2]) + (row[1] + row[3]);
}

GN_WIDE static glance glance_at(float quantum, const float *restrict x) {
  float step[ACTIVITY_N];
  int n_small = 0;
  const float sum = steps_of(x, step);
  for (size_t i = 0; i < ACTIVITY_N; i++) n_small += step[i] < quantum;
  const uint64_t same = bits_of(step) | (uint64_t)bits_of(step + HALF_N) << HALF_N;
  return (glance){sum, same, n_small > __builtin_popcountll(same)};
}

GN_WIDE_PART size_t ones(uint64_t bits) { return ~bits ? (size_t)__builtin_ctzll(~bits) : 64; }

// How many of the samples before x[end] equal the one before them, counted from the last on; `end` when all do.
static size_t same_before(const float *x, size_t end) {
  size_t n = 0;
  while (n < end && x[(ptrdiff_t)(end - n) - 1] == x[(ptrdiff_t)(end - n) - 2]) n++;
  return n;
}

// The bookkeeping as it stands n samples on, of which none ends a run of three or more that may count.
static void go_on(gn_quality_clipping *c, const float *x, size_t n) {
  const size_t n_last = same_before(x, n);
  c->n_seen += n;
  if (n_last == n) {
    c->run_n += n;
    return;
  }
  const size_t first = n - 1 - n_last, n_before = same_before(x, first); // first: of the run at the end
  c->before = first ? x[first - 1] : c->last;
  c->before_n = n_before == first ? c->run_n + first : n_before + 1;
  c->last = x[first];
  c->run_n = n_last + 1;
  c->activity_at_run = c->activity;
}

// To the end of the run under way, or of the n samples; how many that took.
static size_t end_of_run(gn_quality_clipping *c, const float *x, uint64_t same, size_t n, gn_quality_spans *list) {
  const size_t more = ones(same) < n ? ones(same) : n;
  c->run_n += more;
  c->n_seen += more;
  if (more == n) return n;
  if (change(c, x[more], fabs((double)x[more] - (double)c->last), list)) return 0;
  c->run_n = 1;
  c->n_seen++;
  return more + 1;
}

enum { LANES = 8 };
typedef int32_t marks __attribute__((vector_size(LANES * sizeof(int32_t))));
typedef int64_t marks_by_two __attribute__((vector_size(LANES * sizeof(int32_t)))); // the same bytes, two marks to a number

// Whether the stretch's last sample equals the one ahead of it, as in a gap.
GN_WIDE_PART bool may_be_gap(const float *x) { return x[ACTIVITY_N - 1] == x[-1]; }

// Or a sample of it lies outside.
GN_WIDE_PART bool may_count(float low, float high, const float *x) {
  marks outside = {0};
  for (size_t i = 0; i < ACTIVITY_N; i += LANES) {
    const gn_eight v = *(const gn_eight *)(x + i);
    outside |= (v <= low) | (v >= high);
  }
  const marks_by_two any = (marks_by_two)outside;
  return ((any[0] | any[1]) | (any[2] | any[3])) || may_be_gap(x);
}

GN_WIDE static double activity_of(const float *x) {
  float step[ACTIVITY_N];
  return (double)steps_of(x, step) / ACTIVITY_N;
}

// How many there are before one that may count.
GN_WIDE static size_t count_inside(float low, float high, const float *x, size_t most) {
  size_t n = 0;
  while (n < most && !may_count(low, high, x + n * ACTIVITY_N)) n++;
  return n;
}

static size_t count_moving(const float *x, size_t most) {
  size_t n = 0;
  while (n < most && !may_be_gap(x + n * ACTIVITY_N)) n++;
  return n;
}

// How many stretches are passed over: no run in them is a gap, and all lie too far inside what the block reaches so far to be clipping.
static size_t pass_over(gn_quality_clipping *c, const float *x, size_t n_stretches) {
  const double share = c->limits->clip_extreme_share;
  const float low = (float)(share * (double)c->block_min), high = (float)(share * (double)c->block_max);
  const size_t to_quantum = (QUANTUM_EVERY_N - c->n_seen % QUANTUM_EVERY_N) / ACTIVITY_N, most = to_quantum < n_stretches ? to_quantum : n_stretches;
  if (seeks_quantum(c) || c->held.n || c->run_n >= ACTIVITY_N || c->limits->gap_s * c->fs_hz < 2 * ACTIVITY_N || c->last <= low || c->last >= high) return 0;
  const bool all_inside = c->here.low > low && c->here.high < high;
  const size_t n = all_inside ? count_moving(x, most) : count_inside(low, high, x, most);
  if (!n) return 0;
  if (n > 1) c->activity = activity_of(x + (n - 2) * ACTIVITY_N);
  go_on(c, x, n * ACTIVITY_N);
  c->activity = activity_of(x + (n - 1) * ACTIVITY_N);
  return n;
}

// Run by run.
static int push_runs(gn_quality_clipping *c, const float *x, uint64_t same, gn_quality_spans *list) {
  for (size_t done, n = ACTIVITY_N; n; n -= done, x += done, same = done < 64 ? same >> done : 0) {
    const uint64_t third = same & (same << 1 | (c->run_n > 1));
    if (c->held.n || c->run_n >= c->flat_n) {
      done = end_of_run(c, x, same, n, list);
      if (!done) return -1;
    } else {
      done = third ? (size_t)__builtin_ctzll(third) + 1 : n;
      go_on(c, x, done);
    }
  }
  return 0;
}

// A stretch that is not passed over: only runs of three or more are looked at one by one.
static int push_stretch(gn_quality_clipping *c, const float *x, gn_quality_spans *list) {
  const glance g = glance_at((float)c->quantum, x);
  if (!c->n_seen || !(g.sum < INFINITY) || (g.finer && seeks_quantum(c))) return push_each(c, x, ACTIVITY_N, list);
  if (push_runs(c, x, g.same, list)) return -1;
  c->step_sum += (double)g.sum;
  end_stretch(c);
  return 0;
}

// The same bookkeeping as push_each for whole stretches, with the sample before them ahead of them.
static int push_stretches(gn_quality_clipping *c, const float *x, size_t n_stretches, gn_quality_spans *list) {
  for (size_t n; n_stretches; x += n * ACTIVITY_N, n_stretches -= n) {
    n = pass_over(c, x, n_stretches);
    if (!n && push_stretch(c, x, list)) return -1;
    n += !n;
  }
  return 0;
}

// One that has no sample ahead of it.
static int push_first_stretch(gn_quality_clipping *c, const float *x, gn_quality_spans *list) {
  float joined[1 + ACTIVITY_N] = {c->last};
  memcpy(joined + 1, x, ACTIVITY_N * sizeof *x);
  return push_stretches(c, joined + 1, 1, list);
}

int gn_quality_clipping_push(gn_quality_clipping *c, const float *samples, size_t n, gn_quality_spans *list) {
  const uint64_t block_n = (uint64_t)(BLOCK_S * c->fs_hz) + 1;
  for (size_t i = 0; i < n;) {
    const uint64_t to_block = c->block_start + block_n - c->n_seen;
    const size_t here = to_block < n - i ? (size_t)to_block : n - i;
    float low = samples[i], high = samples[i];
    gn_extremes(samples + i, here, &low, &high);
    const bool finite = isfinite(low) && isfinite(high);
    c->here = (gn_swing){low, high};
    c->swing = i ? (gn_swing){fminf(c->swing.low, low), fmaxf(c->swing.high, high)} : c->here;
    if (finite) c->block_min = fminf(c->block_min, low), c->block_max = fmaxf(c->block_max, high);
    for (const size_t end = i + here; i < end;) {
      const size_t to_activity = ACTIVITY_N - c->n_seen % ACTIVITY_N, left = end - i;
      const bool whole = finite && to_activity == ACTIVITY_N && left >= ACTIVITY_N;
      const size_t some = !whole ? (to_activity < left ? to_activity : left) : i ? left / ACTIVITY_N * ACTIVITY_N : ACTIVITY_N;
      const int bad = !whole ? push_each(c, samples + i, some, list) : i ? push_stretches(c, samples + i, some / ACTIVITY_N, list) : push_first_stretch(c, samples, list);
      if (bad) return -1;
      i += some;
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
