// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/random.h"
#include "murmur/parts.h"

// A picture of one band's power: beats of 1 s, of which systole and diastole are quiet in 35 and 95 cells.
enum { CELLS = 200, S1_END = 20, S2_START = 55, S2_END = 85, S1_START = 180, WINDOW = 12, ROW = 2, BEATS = 24 };

typedef struct picture {
  gn_murmur_cube cube;
  float contour[GN_MURMUR_ROWS * CELLS], floor_contour[GN_MURMUR_ROWS * CELLS];
} picture;

static picture *picture_new(size_t n_beats) {
  picture *p = calloc(1, sizeof *p);
  p->cube = (gn_murmur_cube){.n_beats = n_beats, .n_cells = CELLS, .n_systole = 65, .n_first = 67, .n_second = 68, .systole_s = 0.325, .diastole_s = 0.675, .interval_s = 1,
                             .contour = p->contour, .floor_contour = p->floor_contour, .s1_end = S1_END, .s2_start = S2_START, .s2_end = S2_END, .s1_start = S1_START,
                             .s1_power = 1, .s1_peak_power = 1};
  p->cube.power = calloc((size_t)GN_MURMUR_ROWS * CELLS * n_beats, sizeof *p->cube.power);
  return p;
}

static void picture_free(picture *p) {
  free(p->cube.power);
  free(p);
}

// What a band's power is in noise: the sum of some squares of normal numbers.
static void lay_noise(picture *p, uint64_t seed) {
  gn_random random = gn_random_of(seed);
  for (size_t c = 0; c < CELLS; c++)
    for (size_t b = 0; b < p->cube.n_beats; b++) {
      double power = 0;
      for (int k = 0; k < 4; k++) {
        const double x = gn_random_normal(&random);
        power += x * x / 4;
      }
      gn_murmur_cell(&p->cube, ROW, c)[b] = (float)(1e-4 * power);
    }
}

static void lift(picture *p, size_t b, size_t at, double times) {
  for (size_t c = at; c < at + WINDOW; c++) gn_murmur_cell(&p->cube, ROW, c)[b] *= (float)times;
}

// At a place of the beat's own among all that is quiet, which is a ring.
static void lift_somewhere(picture *p, size_t b, gn_random *random) {
  const size_t n_systole = S2_START - S1_END, n = n_systole + S1_START - S2_END, from = gn_random_below(random, n);
  for (size_t i = from; i < from + WINDOW; i++) {
    const size_t at = i % n;
    gn_murmur_cell(&p->cube, ROW, at < n_systole ? S1_END + at : S2_END + at - n_systole)[b] *= 4;
  }
}

// Of a window that stood out of the quiet.
static gn_murmur_evidence ask(const picture *p, size_t at) {
  const girthline_limits limits = girthline_limits_default();
  gn_murmur_evidence e = {.found = true, .phase = at >= S2_END, .row = ROW, .length = 0, .a = at, .n = WINDOW, .low_db = 1};
  gn_murmur_test t;
  assert_int_equal(gn_murmur_test_init(&t, &p->cube), 0);
  t.limits = &limits.murmur;
  assert_int_equal(gn_murmur_chance(&t, &e), 0);
  gn_murmur_test_clear(&t);
  return e;
}

// The window that stands out most of noise: the one in which the weakest beats are strongest.
static size_t best_window(const picture *p) {
  float values[BEATS], scratch[BEATS];
  double most = 0;
  size_t best = 0;
  for (size_t a = S1_END; a + WINDOW <= S1_START; a++) {
    if (a + WINDOW > S2_START && a < S2_END) continue;
    gn_murmur_window(&p->cube, ROW, a, WINDOW, values);
    const double q = gn_murmur_quantile(values, p->cube.n_beats, 0.2, scratch);
    if (q > most) most = q, best = a;
  }
  return best;
}

// Of noise, with what is lifted somewhere in every beat or without, the best window is rarely beyond chance.
static void best_window_is_rarely_beyond_chance(bool lifts) {
  enum { SEEDS = 60 };
  picture *p = picture_new(BEATS);
  int n_beyond = 0, n_told = 0;
  for (uint64_t seed = 1; seed <= SEEDS; seed++) {
    gn_random random = gn_random_of(100 + seed);
    lay_noise(p, seed);
    for (size_t b = 0; lifts && b < BEATS; b++) lift_somewhere(p, b, &random);
    const gn_murmur_evidence e = ask(p, best_window(p));
    n_beyond += e.beyond_chance;
    n_told += e.beats_chance > 3;
  }
  picture_free(p);
  assert_true(n_beyond <= SEEDS / 15 && n_told <= SEEDS / 15);
}

// The best place of beats in step is as good as the best of beats out of step, where nothing repeats: of so many it is the best of all now and then.
static void the_best_window_of_noise_is_not_beyond_chance(void **state) {
  (void)state;
  best_window_is_rarely_beyond_chance(false);
}

static void what_repeats_in_every_beat_is_beyond_chance(void **state) {
  (void)state;
  static const size_t AT[] = {S1_END, S2_START - WINDOW, S2_END + 1, S1_START - WINDOW};
  picture *p = picture_new(BEATS);
  for (size_t k = 0; k < sizeof AT / sizeof *AT; k++)
    for (uint64_t seed = 1; seed <= 15; seed++) {
      lay_noise(p, seed);
      for (size_t b = 0; b < BEATS; b++) lift(p, b, AT[k], 4);
      const gn_murmur_evidence e = ask(p, AT[k]);
      assert_true(e.beyond_chance && e.beats_chance > 3);
    }
  picture_free(p);
}

// As loud and as long in every beat, at a place of each beat's own.
static void what_lies_elsewhere_in_every_beat_is_not(void **state) {
  (void)state;
  best_window_is_rarely_beyond_chance(true);
}

// One beat alone shows as much wherever it is turned to: as much as the window has is as good.
static void what_one_beat_has_alone_is_not_beyond_chance_however_loud(void **state) {
  (void)state;
  picture *p = picture_new(BEATS);
  for (size_t c = 0; c < CELLS; c++)
    for (size_t b = 0; b < BEATS; b++) gn_murmur_cell(&p->cube, ROW, c)[b] = b ? NAN : 1e-4f;
  lift(p, 0, S2_END + 21, 1000);
  const gn_murmur_evidence e = ask(p, S2_END + 21);
  assert_false(e.beyond_chance);
  assert_near(e.beats_chance, 0, 0);
  picture_free(p);
}

static void what_is_all_alike_missing_or_without_room_is_not_beyond_chance(void **state) {
  (void)state;
  static const float POWER[] = {1e-4f, 0, NAN};
  picture *p = picture_new(BEATS);
  for (size_t k = 0; k < sizeof POWER / sizeof *POWER; k++) {
    for (size_t i = 0; i < (size_t)GN_MURMUR_ROWS * CELLS * BEATS; i++) p->cube.power[i] = POWER[k];
    const gn_murmur_evidence e = ask(p, S2_END);
    assert_false(e.beyond_chance);
    assert_near(e.beats_chance, 0, 0);
  }
  lay_noise(p, 1);
  for (size_t b = 0; b < BEATS; b++) lift(p, b, S2_END, 100);
  p->cube.s2_start = p->cube.s1_end; // a quiet part as long as the window: there is nowhere to turn to
  p->cube.s1_start = S2_END + WINDOW;
  const gn_murmur_evidence e = ask(p, S2_END);
  assert_false(e.beyond_chance);
  assert_near(e.beats_chance, 0, 0);
  picture_free(p);
}

static void refused_memory_is_told(void **state) {
  (void)state;
  const girthline_limits limits = girthline_limits_default();
  picture *p = picture_new(BEATS);
  lay_noise(p, 1);
  gn_murmur_test t;
  assert_int_equal(gn_murmur_test_init(&t, &p->cube), 0);
  t.limits = &limits.murmur;
  size_t n_refused = 0;
  for (size_t k = 1; k <= 6; k++) {
    gn_murmur_evidence e = {.row = ROW, .a = S1_END, .n = WINDOW, .low_db = 1};
    gn_memory_refuse(k);
    const int refused = gn_murmur_chance(&t, &e);
    assert_int_equal(refused != 0, gn_memory_refuse(0) == 0);
    n_refused += refused != 0;
  }
  assert_in_range(n_refused, 1, 5);
  gn_murmur_test_clear(&t);
  picture_free(p);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_best_window_of_noise_is_not_beyond_chance),
      cmocka_unit_test(what_repeats_in_every_beat_is_beyond_chance),
      cmocka_unit_test(what_lies_elsewhere_in_every_beat_is_not),
      cmocka_unit_test(what_one_beat_has_alone_is_not_beyond_chance_however_loud),
      cmocka_unit_test(what_is_all_alike_missing_or_without_room_is_not_beyond_chance),
      cmocka_unit_test(refused_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
