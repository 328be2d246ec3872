// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "segment/moving.h"

#define LENGTH_S 0.085
#define INTERVAL_S 1.5
enum { N_BEATS = 20 };

typedef struct tape { float *x; size_t n; double fs_hz; } tape;

static tape tape_new(double fs_hz) {
  tape t = {.n = (size_t)((N_BEATS + 1) * INTERVAL_S * fs_hz), .fs_hz = fs_hz};
  t.x = calloc(t.n, sizeof *t.x);
  gn_random r = gn_random_of(4);
  for (size_t i = 0; i < t.n; i++) t.x[i] = (float)(0.002 * gn_random_normal(&r));
  return t;
}

// A tone that rises in 8 ms and dies away in 22.
static void blow(tape *t, double at_s, double hz, double amplitude) {
  for (size_t i = (size_t)ceil(at_s * t->fs_hz); i < t->n && (double)i / t->fs_hz < at_s + 0.2; i++) {
    const double u = (double)i / t->fs_hz - at_s;
    t->x[i] += (float)(amplitude * (1 - gn_exp(-u / 0.008)) * gn_exp(-u / 0.022) * gn_sin(2 * GN_PI * hz * u));
  }
}

static double onset_of(int beat) { return 0.7 + beat * INTERVAL_S; }

// Two components; the second follows the first after delay_s and up to a quarter more, with a breath of five beats.
static tape split(double fs_hz, double delay_s) {
  tape t = tape_new(fs_hz);
  gn_random r = gn_random_of(9);
  for (int b = 0; b < N_BEATS; b++) {
    const double gain = 1 + 0.1 * gn_random_normal(&r), breath = 0.5 - 0.5 * gn_cos(2 * GN_PI * b / 5.0);
    blow(&t, onset_of(b), 60, gain);
    blow(&t, onset_of(b) + delay_s * (1 + 0.25 * breath), 50, 0.55 * gain);
  }
  return t;
}

static gn_moving_part part_of(const tape *t, double scatter_s, bool *found) {
  gn_moving *m = gn_moving_new(LENGTH_S);
  gn_moving_part part;
  const gn_signal whole = {t->x, t->n, t->fs_hz, 0};
  gn_random r = gn_random_of(2);
  for (int b = 0; b < N_BEATS; b++) assert_int_equal(gn_moving_add(m, &whole, onset_of(b) + scatter_s * gn_random_normal(&r)), 0);
  assert_int_equal(gn_moving_find(m, &part, found), 0);
  gn_moving_free(m);
  return part;
}

static void the_second_component_is_what_moves(void **state) {
  (void)state;
  const double rates_hz[] = {1000, 2000, 3000}, delays_s[] = {0.025, 0.035, 0.045};
  for (int k = 0; k < 3; k++)
    for (int d = 0; d < 3; d++) {
      tape t = split(rates_hz[k], delays_s[d]);
      bool found;
      const gn_moving_part p = part_of(&t, 0.003, &found);
      assert_true(found);
      assert_near(p.onset_s, 1.125 * delays_s[d], 0.010);
      assert_true(p.tenth_s <= p.quarter_s && p.quarter_s < delays_s[d] + 0.03);
      assert_true(p.share > 0.5 && p.share <= 1 && p.level > 0 && p.level <= p.peak);
      assert_near(p.beats_fraction, 1, 0);
      free(t.x);
    }
}

// Beats louder and softer than each other, and onsets that scatter, are no second component.
static void a_sound_that_keeps_its_form_moves_from_its_start_or_not_at_all(void **state) {
  (void)state;
  tape t = split(2000, 0);
  bool found;
  const gn_moving_part p = part_of(&t, 0.004, &found);
  assert_true(!found || p.share < 0.4 || p.tenth_s < 0.02);
  free(t.x);
}

static void gain_changes_the_powers_alone(void **state) {
  (void)state;
  tape t = split(2000, 0.035);
  bool found;
  const gn_moving_part a = part_of(&t, 0.003, &found);
  for (size_t i = 0; i < t.n; i++) t.x[i] *= 8;
  const gn_moving_part b = part_of(&t, 0.003, &found);
  assert_near(a.onset_s, b.onset_s, 1e-9);
  assert_near(a.quarter_s, b.quarter_s, 1e-9);
  assert_near(b.peak / a.peak, 64, 1e-6);
  free(t.x);
}

static void too_few_beats_silence_ends_and_nan_give_nothing(void **state) {
  (void)state;
  const float fills[] = {0, 0.5f, NAN};
  for (int k = 0; k < 3; k++) {
    tape t = tape_new(2000);
    for (size_t i = 0; i < t.n; i++) t.x[i] = fills[k];
    bool found;
    const gn_moving_part p = part_of(&t, 0, &found);
    assert_true(!found || p.share >= 0);
    free(t.x);
  }
  tape t = split(2000, 0.035);
  const gn_signal whole = {t.x, t.n, t.fs_hz, 0}, none = {t.x, 0, t.fs_hz, 0}, one = {t.x, 1, t.fs_hz, 0};
  gn_moving *m = gn_moving_new(LENGTH_S);
  gn_moving_part part;
  bool found;
  for (int b = 0; b < 4; b++) assert_int_equal(gn_moving_add(m, &whole, onset_of(b)), 0);
  assert_int_equal(gn_moving_add(m, &whole, 0), 0);
  assert_int_equal(gn_moving_add(m, &whole, (double)t.n / t.fs_hz), 0);
  assert_int_equal(gn_moving_add(m, &none, 1), 0);
  assert_int_equal(gn_moving_add(m, &one, 0), 0);
  assert_int_equal(gn_moving_find(m, &part, &found), 0);
  assert_false(found);
  gn_moving_free(m);
  gn_moving_free(NULL);
  free(t.x);
}

// A day's beats: what is kept stays bounded and spread over all.
static void many_beats_are_thinned_and_tell_the_same(void **state) {
  (void)state;
  tape t = split(1000, 0.035);
  const gn_signal whole = {t.x, t.n, t.fs_hz, 0};
  gn_moving *m = gn_moving_new(LENGTH_S);
  for (int i = 0; i < 2000; i++) assert_int_equal(gn_moving_add(m, &whole, onset_of(i % N_BEATS)), 0);
  gn_moving_part part;
  bool found;
  assert_int_equal(gn_moving_find(m, &part, &found), 0);
  assert_true(found);
  assert_near(part.onset_s, 1.125 * 0.035, 0.010);
  gn_moving_free(m);
  free(t.x);
}

static void refused_memory_is_reported_wherever_it_strikes(void **state) {
  (void)state;
  tape t = split(1000, 0.035);
  const gn_signal whole = {t.x, t.n, t.fs_hz, 0};
  bool through = false;
  size_t k = 1;
  for (; !through && k < 100; k++) {
    gn_memory_refuse(k);
    gn_moving *m = gn_moving_new(LENGTH_S);
    gn_moving_part part;
    bool found;
    int refused = m ? 0 : -1;
    for (int b = 0; !refused && b < 6; b++) refused = gn_moving_add(m, &whole, onset_of(b));
    if (!refused) refused = gn_moving_find(m, &part, &found);
    gn_memory_refuse(0);
    through = !refused;
    gn_moving_free(m);
  }
  assert_true(through && k > 10);
  free(t.x);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_second_component_is_what_moves),
      cmocka_unit_test(a_sound_that_keeps_its_form_moves_from_its_start_or_not_at_all),
      cmocka_unit_test(gain_changes_the_powers_alone),
      cmocka_unit_test(too_few_beats_silence_ends_and_nan_give_nothing),
      cmocka_unit_test(many_beats_are_thinned_and_tell_the_same),
      cmocka_unit_test(refused_memory_is_reported_wherever_it_strikes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
