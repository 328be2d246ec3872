// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"
#include "base/random.h"
#include "envelope/recovery.h"

#define N 4000 // 40 s
enum { START = 1500, END = 1550 }; // of the thump

// Background of 5 dB spread with a sound 16 dB over it for a tenth of each second; a thump hides half a second.
static gn_features thumped(void) {
  gn_features f = {.n = N, .rate_hz = 100};
  gn_random r = gn_random_of(7);
  for (size_t b = 0; b < GN_N_BANDS; b++) f.level_db[b] = test_calloc(N, sizeof(float));
  f.spoilt = test_calloc(N, 1);
  for (size_t k = 0; k < N; k++) {
    f.spoilt[k] = k >= START && k < END;
    for (size_t b = 0; b < GN_N_BANDS; b++) f.level_db[b][k] = (float)(-60 + 5 * gn_random_normal(&r) + (k % 100 < 10 ? 16 : 0) + (f.spoilt[k] ? 30 : 0));
  }
  return f;
}

static void let_go(gn_features *f) {
  for (size_t b = 0; b < GN_N_BANDS; b++) test_free(f->level_db[b]);
  test_free(f->spoilt);
}

// The gain falls by so many dB with the thump and comes back by so many a second.
static void turn_down(gn_features *f, double depth_db, double db_a_second) {
  for (size_t k = END; k < N; k++)
    for (size_t b = 0; b < GN_N_BANDS; b++) f->level_db[b][k] -= (float)fmax(0, depth_db - db_a_second * (double)(k - END) / 100);
}

static double furthest(const gn_features *a, const gn_features *b) {
  double most = 0;
  for (size_t i = 0; i < GN_N_BANDS; i++)
    for (size_t k = 0; k < N; k++) most = fmax(most, fabs((double)(a->level_db[i][k] - b->level_db[i][k])));
  return most;
}

static void a_gain_that_comes_back_after_a_thump_is_undone(void **state) {
  (void)state;
  static const double COURSES[][2] = {{18, 3.6}, {12, 2.5}, {24, 5}};
  for (size_t i = 0; i < 3; i++) {
    gn_features before = thumped(), f = thumped();
    turn_down(&f, COURSES[i][0], COURSES[i][1]);
    assert_int_equal(gn_recovery_undo(&f), 0);
    assert_true(furthest(&before, &f) < 3); // of the 12 to 24 dB
    let_go(&before);
    let_go(&f);
  }
}

static void a_level_that_does_not_dive_stays_as_it_is(void **state) {
  (void)state;
  for (size_t i = 0; i < 4; i++) {
    gn_features f = thumped(), before = thumped();
    for (size_t k = 0; k < N; k++)
      for (size_t b = 0; b < GN_N_BANDS; b++) {
        float *x = &f.level_db[b][k];
        if (i == 1) *x += (float)(5 * sin(2 * M_PI * (double)k / 350)); // breath
        if (i == 2 && k >= END) *x += 12;                               // the gain rises
        if (i == 3) *x = -200;                                          // silence
        before.level_db[b][k] = *x;
      }
    assert_int_equal(gn_recovery_undo(&f), 0);
    assert_near(furthest(&before, &f), 0, 0);
    let_go(&before);
    let_go(&f);
  }
}

static void spoilt_from_end_to_end_and_nothing_spoilt_change_nothing(void **state) {
  (void)state;
  for (int all = 0; all < 2; all++) {
    gn_features f = thumped(), before = thumped();
    turn_down(&f, 18, 3.6);
    turn_down(&before, 18, 3.6);
    memset(f.spoilt, all, N);
    assert_int_equal(gn_recovery_undo(&f), 0);
    assert_near(furthest(&before, &f), 0, 0);
    let_go(&before);
    let_go(&f);
  }
  gn_features none = {.rate_hz = 100};
  assert_int_equal(gn_recovery_undo(&none), 0);
}

static void refused_memory_is_told(void **state) {
  (void)state;
  gn_features f = thumped();
  gn_memory_refuse(1);
  const int refused = gn_recovery_undo(&f);
  gn_memory_refuse(0);
  assert_int_equal(refused, -1);
  let_go(&f);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_gain_that_comes_back_after_a_thump_is_undone),
      cmocka_unit_test(a_level_that_does_not_dive_stays_as_it_is),
      cmocka_unit_test(spoilt_from_end_to_end_and_nothing_spoilt_change_nothing),
      cmocka_unit_test(refused_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
