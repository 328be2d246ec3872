// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/random.h"
#include "heart.h"

#define N 80000 // 20 s at 4 kHz
static float x[N];

static void sine(double hz, double amplitude, double rail, double gain, double quantum) {
  for (size_t i = 0; i < N; i++) {
    double v = amplitude * gn_sin(2 * GN_PI * hz * (double)i / 4000 + 0.3);
    v = fmax(-rail, fmin(rail, v));
    if (quantum > 0) v = floor(v / quantum + 0.5) * quantum;
    x[i] = (float)(v * gain);
  }
}

static double fraction(size_t chunk_n, gn_quality_spans *spans) {
  gn_quality_clipping c;
  const girthline_limits limits = girthline_limits_default();
  gn_quality_clipping_init(&c, &limits.quality, 4000);
  for (size_t i = 0; i < N; i += chunk_n) assert_int_equal(gn_quality_clipping_push(&c, x + i, N - i < chunk_n ? N - i : chunk_n, spans), 0);
  assert_int_equal(gn_quality_clipping_flush(&c, spans), 0);
  return (double)c.n_clipped / N;
}

static double fraction_alone(void) {
  gn_quality_spans spans = {.join_s = 0.1};
  const double f = fraction(N, &spans);
  gn_quality_spans_clear(&spans);
  return f;
}

// A sine of amplitude 1 cut at r is at the rail for 1 - 2 asin(r) / pi of the time: 0.4097 at 0.8... as asin(0.8) = 0.92730.
static void clipped_share_of_a_sine_is_its_closed_form(void **state) {
  (void)state;
  const double gains[] = {1, 0.3, 0.01};
  for (int i = 0; i < 3; i++) {
    sine(31, 1, 0.8, gains[i], 1.0 / 32768);
    assert_near(fraction_alone(), 1 - 2 * 0.9272952 / GN_PI, 0.02);
  }
  sine(31, 1, 0.8, 100, 0); // float samples without a quantum
  assert_near(fraction_alone(), 1 - 2 * 0.9272952 / GN_PI, 0.02);
}

static void coarse_slow_and_quiet_signals_are_not_clipped(void **state) {
  (void)state;
  const double hz[] = {3, 31, 300};
  for (int i = 0; i < 3; i++) {
    sine(hz[i], 0.9, 1, 1, 1.0 / 128);
    assert_near(fraction_alone(), 0, 0);
    sine(hz[i], 0.9, 1, 1, 1.0 / 32768);
    assert_near(fraction_alone(), 0, 0);
    sine(hz[i], 5.3 / 32768, 1, 1, 1.0 / 32768);
    assert_near(fraction_alone(), 0, 0);
  }
}

static void silence_and_dc_are_not_clipped(void **state) {
  (void)state;
  memset(x, 0, sizeof x);
  assert_near(fraction_alone(), 0, 0);
  for (size_t i = 0; i < N; i++) x[i] = 0.7f;
  assert_near(fraction_alone(), 0, 0);
  for (size_t i = 0; i < N; i++) x[i] = (float)NAN;
  assert_near(fraction_alone(), 0, 0);
}

static void a_dense_stretch_is_a_span_and_a_touched_peak_is_not(void **state) {
  (void)state;
  sine(31, 1, 2, 0.5, 0);
  for (size_t i = 40000; i < 48000; i++) x[i] = fmaxf(-0.1f, fminf(0.1f, x[i])); // 10 to 12 s, 87 % at the rail
  gn_quality_spans spans = {.join_s = 0.1};
  fraction(N, &spans);
  assert_int_equal(spans.n, 1);
  assert_int_equal(spans.items[0].kind, GIRTHLINE_CLIPPING);
  assert_near(spans.items[0].span.start_s, 10, 0.45);
  assert_near(spans.items[0].span.end_s, 12, 0.45);
  gn_quality_spans_clear(&spans);
  sine(31, 1, 0.98, 1, 0);
  fraction(N, &spans);
  assert_int_equal(spans.n, 0);
}

static void a_cut_to_a_constant_is_a_dropout(void **state) {
  (void)state;
  sine(31, 0.5, 1, 1, 1.0 / 32768);
  for (size_t i = 40000; i < 40400; i++) x[i] = 0; // 100 ms
  for (size_t i = 60000; i < 60100; i++) x[i] = 0; // 25 ms: too short
  gn_quality_spans spans = {.join_s = 0.1};
  fraction(N, &spans);
  assert_int_equal(spans.n, 1);
  assert_int_equal(spans.items[0].kind, GIRTHLINE_DROPOUT);
  assert_near(spans.items[0].span.start_s, 10, 0.001);
  assert_near(spans.items[0].span.end_s, 10.1, 0.001);
  gn_quality_spans_clear(&spans);
}

static void chunks_give_what_the_whole_gives(void **state) {
  (void)state;
  sine(47, 1, 0.6, 1, 1.0 / 32768);
  memset(x + 30000, 0, 900 * sizeof *x);
  gn_quality_spans whole = {.join_s = 0.1}, cut = {.join_s = 0.1};
  const double a = fraction(N, &whole), b = fraction(17, &cut);
  assert_true(a == b);
  assert_int_equal(whole.n, cut.n);
  for (size_t i = 0; i < whole.n; i++) { // field by field: what lies between the fields is nobody's
    assert_near(whole.items[i].span.start_s, cut.items[i].span.start_s, 0);
    assert_near(whole.items[i].span.end_s, cut.items[i].span.end_s, 0);
    assert_int_equal(whole.items[i].kind, cut.items[i].kind);
  }
  gn_quality_spans_clear(&whole);
  gn_quality_spans_clear(&cut);
}

static gn_quality_clipping after(size_t n, size_t chunk_n, gn_quality_spans *spans) {
  static girthline_limits limits; // kept by what is returned
  limits = girthline_limits_default();
  gn_quality_clipping c;
  gn_quality_clipping_init(&c, &limits.quality, 4000);
  for (size_t i = 0; i < n; i += chunk_n) assert_int_equal(gn_quality_clipping_push(&c, x + i, n - i < chunk_n ? n - i : chunk_n, spans), 0);
  return c;
}

// Of the runs noted so far, and the one that waits for its right edge, those that may still count as clipping.
static size_t counting(const gn_quality_clipping *c) {
  size_t n = 0;
  for (size_t i = 0; i <= c->n_runs; i++) {
    const float value = i < c->n_runs ? c->runs[i].value : c->held.n ? c->held.value : 0;
    n += value != 0 && fabsf(value) >= (float)c->limits->clip_extreme_share * fabsf(value > 0 ? c->block_max : c->block_min);
  }
  return n;
}

// Whole stretches are passed over or taken at a glance, short chunks sample by sample: the bookkeeping must stand alike at any end. The noise is
// coarse, so that runs of every length come, stands still now and then, and is three times as loud every eighth 300 samples.
static void a_stretch_at_a_glance_leaves_what_sample_by_sample_leaves(void **state) {
  (void)state;
  gn_random r = gn_random_of(5);
  for (int levels = 2; levels < 40; levels += 7) {
    for (size_t i = 0, still = 0; i < N; i++) {
      if (gn_random_below(&r, 500) == 0) still = gn_random_below(&r, 200);
      x[i] = i && still ? x[i - 1] : (float)(((int)gn_random_below(&r, (uint64_t)levels) - levels / 2) * (i / 300 % 8 ? 1 : 3)) / 64.0f;
      still -= still > 0;
    }
    for (size_t n = N - 64; n < N; n += 5) {
      gn_quality_spans spans[2] = {{.join_s = 0.1}, {.join_s = 0.1}};
      const gn_quality_clipping a = after(n, N, &spans[0]), b = after(n, 13, &spans[1]);
      assert_true(a.n_seen == b.n_seen && a.n_clipped == b.n_clipped && counting(&a) == counting(&b) && spans[0].n == spans[1].n);
      assert_true(a.last == b.last && a.before == b.before && a.run_n == b.run_n && a.before_n == b.before_n && a.quantum == b.quantum);
      assert_true(a.step_sum == b.step_sum && a.activity == b.activity && a.activity_at_run == b.activity_at_run);
      assert_true(a.rail[0] == b.rail[0] && a.rail[1] == b.rail[1] && a.block_min == b.block_min && a.block_max == b.block_max);
      gn_quality_spans_clear(&spans[0]);
      gn_quality_spans_clear(&spans[1]);
    }
  }
}

// Whatever blocks of 0.4 s (1601 samples) end among them.
static void the_swing_is_that_of_the_samples_pushed_last(void **state) {
  (void)state;
  sine(35, 0.5, 1, 1, 0);
  gn_quality_spans spans = {0};
  gn_quality_clipping c = after(1500, 1500, &spans);
  for (size_t i = 1500, n = 1; i + n < N; i += n, n = n * 3 + 1) {
    gn_swing swing = {x[i], x[i]};
    gn_extremes(x + i, n, &swing.low, &swing.high);
    assert_int_equal(gn_quality_clipping_push(&c, x + i, n, &spans), 0);
    assert_near((double)c.swing.low, (double)swing.low, 0);
    assert_near((double)c.swing.high, (double)swing.high, 0);
  }
  gn_quality_spans_clear(&spans);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(clipped_share_of_a_sine_is_its_closed_form), cmocka_unit_test(coarse_slow_and_quiet_signals_are_not_clipped),
      cmocka_unit_test(silence_and_dc_are_not_clipped),             cmocka_unit_test(a_dense_stretch_is_a_span_and_a_touched_peak_is_not),
      cmocka_unit_test(a_cut_to_a_constant_is_a_dropout),           cmocka_unit_test(chunks_give_what_the_whole_gives),
      cmocka_unit_test(a_stretch_at_a_glance_leaves_what_sample_by_sample_leaves), cmocka_unit_test(the_swing_is_that_of_the_samples_pushed_last),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
