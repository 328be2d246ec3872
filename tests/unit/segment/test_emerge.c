// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>

#include "base/memory.h"
#include "base/random.h"
#include "segment/emerge.h"

enum { SOUNDS = 30, TONES = 5 };
#define EVERY_S 0.8
#define FIRST_S 0.4
#define NEXT_S 0.5
#define EARLY_S 0.06

typedef struct heart {
  float *x;
  gn_signal window;
  double begins_s[SOUNDS], onset_s[SOUNDS]; // of the sounds; as they are said to begin, up to 8 ms this way or that
} heart;

static heart *heart_new(double fs_hz) {
  heart *h = calloc(1, sizeof *h);
  gn_random r = gn_random_of(3);
  const size_t n = (size_t)((FIRST_S + SOUNDS * EVERY_S) * fs_hz);
  h->x = calloc(n, sizeof *h->x);
  h->window = (gn_signal){h->x, n, fs_hz, 0};
  for (size_t i = 0; i < n; i++) h->x[i] = (float)(1e-3 * gn_random_normal(&r));
  for (size_t i = 0; i < SOUNDS; i++) {
    h->begins_s[i] = FIRST_S + EVERY_S * (double)i + 0.02 * gn_random_uniform(&r);
    h->onset_s[i] = h->begins_s[i] + 0.016 * (gn_random_uniform(&r) - 0.5);
  }
  return h;
}

static void heart_free(heart *h) {
  free(h->x);
  free(h);
}

// A tone from one time to another, as loud at its beginning and its end as is said.
static void add_tone(heart *h, double from_s, double to_s, const double height[2], double hz, double phase) {
  const double fs_hz = h->window.fs_hz;
  for (size_t k = (size_t)ceil(from_s * fs_hz); (double)k < to_s * fs_hz; k++) {
    const double u = ((double)k / fs_hz - from_s) / (to_s - from_s);
    h->x[k] += (float)((height[0] + u * (height[1] - height[0])) * sin(2 * M_PI * hz * ((double)k / fs_hz - from_s) + phase));
  }
}

// The same sound every time, or so many times in five: it comes at once and dies away.
static void add_sounds(heart *h, size_t in_five) {
  static const double FALLING[2] = {0.3, 0};
  for (size_t i = 0; i < SOUNDS; i++) {
    if (i % 5 >= in_five) continue;
    add_tone(h, h->begins_s[i], h->begins_s[i] + 0.09, FALLING, 45, 0);
    add_tone(h, h->begins_s[i], h->begins_s[i] + 0.05, FALLING, 70, 1);
  }
}

// Never the same: it swells up to the sounds, which are said to begin so much too early.
static void add_murmur(heart *h, double early_s, uint64_t seed) {
  static const double SWELLING[2] = {0, 0.15};
  gn_random r = gn_random_of(seed);
  for (size_t i = 0; i < SOUNDS; i++) {
    for (size_t k = 0; k < TONES; k++) {
      const double phase = 2 * M_PI * gn_random_uniform(&r), hz = 110 + 200 * gn_random_uniform(&r);
      add_tone(h, h->begins_s[i] - 0.15, h->begins_s[i], SWELLING, hz, phase);
    }
    h->onset_s[i] -= early_s;
  }
}

static double late_s(const heart *h, size_t n, double next_s) {
  double late;
  assert_int_equal(gn_emerge_find(&h->window, h->onset_s, n, next_s, &late), 0);
  return late;
}

static void sounds_emerge_from_a_murmur_that_runs_into_them_at_any_rate_and_gain(void **state) {
  (void)state;
  static const double RATES_HZ[] = {1000, 2000, 3000};
  for (size_t k = 0; k < 3; k++) {
    heart *h = heart_new(RATES_HZ[k]);
    add_sounds(h, 5);
    add_murmur(h, EARLY_S, 4);
    const double late = late_s(h, SOUNDS, NEXT_S);
    assert_near(late, EARLY_S + 0.003, 0.008);
    for (size_t i = 0; i < h->window.n; i++) h->x[i] *= 0.01f;
    assert_near(late_s(h, SOUNDS, NEXT_S), late, 1e-9);
    heart_free(h);
  }
}

// Of few sounds the sum is to a good part the one that is laid on it, which agrees with itself best where it lies; and what lies ahead of them has a
// part in where they lie until they are aligned once more, without it.
static void five_and_seven_sounds_are_aligned_by_each_other(void **state) {
  (void)state;
  for (size_t n = 5; n <= 7; n += 2)
    for (uint64_t seed = 4; seed < 6; seed++) {
      heart *h = heart_new(2000);
      add_sounds(h, 5);
      add_murmur(h, EARLY_S, seed);
      for (size_t i = 0; i < SOUNDS; i++) h->onset_s[i] += n == 7 ? 0 : i % 2 ? 0.004 : -0.004;
      assert_near(late_s(h, n, NEXT_S), EARLY_S, 0.012);
      heart_free(h);
    }
}

// Louder in its second part, which looks like the first one moved, and behind something low that never repeats: by what is laid on each other alone it
// would lie on the louder part, against the energy there it does not.
static void a_sound_that_grows_lies_by_its_form_and_not_by_where_it_is_loud(void **state) {
  (void)state;
  static const double LOW[2] = {0.2, 0.2}, FIRST[2] = {0.3, 0.15}, SECOND[2] = {0.5, 0};
  for (uint64_t seed = 4; seed < 9; seed++) {
    heart *h = heart_new(2000);
    gn_random r = gn_random_of(9 + seed);
    for (size_t i = 0; i < SOUNDS; i++) {
      const double begins_s = h->begins_s[i];
      add_tone(h, begins_s - 0.05, begins_s, LOW, 45, 2 * M_PI * gn_random_uniform(&r));
      add_tone(h, begins_s, begins_s + 0.04, FIRST, 55, 0);
      add_tone(h, begins_s + 0.04, begins_s + 0.12, SECOND, 55, 0);
    }
    add_murmur(h, EARLY_S, seed);
    assert_near(late_s(h, SOUNDS, NEXT_S), EARLY_S + 0.003, 0.005);
    heart_free(h);
  }
}

// As far as onsets are off by themselves.
static void a_few_milliseconds_are_not_late(void **state) {
  (void)state;
  heart *h = heart_new(2000);
  add_sounds(h, 5);
  add_murmur(h, 0.012, 4);
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  for (size_t i = 0; i < SOUNDS; i++) h->onset_s[i] -= 0.012;
  assert_near(late_s(h, SOUNDS, NEXT_S), 0.024, 0.008);
  heart_free(h);
}

static void sounds_that_nothing_runs_into_begin_where_they_were_said_to(void **state) {
  (void)state;
  heart *h = heart_new(2000);
  add_sounds(h, 5);
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  for (size_t i = 0; i < SOUNDS; i++) h->onset_s[i] -= EARLY_S; // too early, but in silence: not for this to tell
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  heart_free(h);
}

// A split sound whose first part comes 30 to 50 ms ahead of the other: it does not repeat beside that, and is no murmur.
static void a_part_of_the_sound_that_moves_by_itself_is_no_murmur(void **state) {
  (void)state;
  static const double FALLING[2] = {0.3, 0};
  heart *h = heart_new(2000);
  gn_random r = gn_random_of(6);
  add_sounds(h, 5);
  for (size_t i = 0; i < SOUNDS; i++) {
    const double from_s = h->begins_s[i] - 0.03 - 0.02 * gn_random_uniform(&r);
    add_tone(h, from_s, from_s + 0.03, FALLING, 60, 0);
    add_tone(h, from_s, from_s + 0.03, FALLING, 140, 0);
    add_tone(h, h->begins_s[i], h->begins_s[i] + 0.04, FALLING, 140, 0);
    h->onset_s[i] = from_s;
  }
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  heart_free(h);
}

// Soft and low, loud and high: what comes ahead of the sound every time is its own.
static void a_part_of_the_sound_that_repeats_with_it_is_no_murmur(void **state) {
  (void)state;
  static const double SOFT[2] = {0.04, 0.04}, LOUD[2] = {0.3, 0.3};
  heart *h = heart_new(2000);
  add_sounds(h, 5);
  for (size_t i = 0; i < SOUNDS; i++) {
    add_tone(h, h->begins_s[i] - EARLY_S, h->begins_s[i], SOFT, 45, 0);
    add_tone(h, h->begins_s[i] - EARLY_S, h->begins_s[i], LOUD, 200, 0);
    h->onset_s[i] -= EARLY_S;
  }
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  heart_free(h);
}

// A murmur, and behind it nothing, or a sound in three beats of five.
static void nothing_emerges_where_hardly_anything_repeats(void **state) {
  (void)state;
  heart *h = heart_new(2000);
  add_murmur(h, EARLY_S, 4);
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  add_sounds(h, 3);
  assert_true(late_s(h, SOUNDS, NEXT_S) == 0);
  heart_free(h);
}

static void few_sounds_or_no_room_before_the_next_tell_nothing(void **state) {
  (void)state;
  heart *h = heart_new(2000);
  add_sounds(h, 5);
  add_murmur(h, EARLY_S, 4);
  assert_true(late_s(h, 5, NEXT_S) > 0);
  assert_true(late_s(h, 4, NEXT_S) == 0);
  assert_true(late_s(h, 0, (double)NAN) == 0);
  assert_near(late_s(h, SOUNDS, (double)NAN), late_s(h, SOUNDS, 1), 0); // as far from the next as counts
  assert_true(late_s(h, SOUNDS, 0.05) == 0);
  h->onset_s[1] = (double)NAN; // not found
  assert_true(late_s(h, 5, NEXT_S) == 0);
  heart_free(h);
}

static void refused_memory_is_told(void **state) {
  (void)state;
  heart *h = heart_new(2000);
  double late;
  for (size_t k = 1; k <= 6; k++) {
    gn_memory_refuse(k);
    assert_int_equal(gn_emerge_find(&h->window, h->onset_s, SOUNDS, NEXT_S, &late), -1);
    gn_memory_refuse(0);
  }
  heart_free(h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sounds_emerge_from_a_murmur_that_runs_into_them_at_any_rate_and_gain),
      cmocka_unit_test(five_and_seven_sounds_are_aligned_by_each_other),
      cmocka_unit_test(a_sound_that_grows_lies_by_its_form_and_not_by_where_it_is_loud),
      cmocka_unit_test(a_few_milliseconds_are_not_late),
      cmocka_unit_test(sounds_that_nothing_runs_into_begin_where_they_were_said_to),
      cmocka_unit_test(a_part_of_the_sound_that_moves_by_itself_is_no_murmur),
      cmocka_unit_test(a_part_of_the_sound_that_repeats_with_it_is_no_murmur),
      cmocka_unit_test(nothing_emerges_where_hardly_anything_repeats),
      cmocka_unit_test(few_sounds_or_no_room_before_the_next_tell_nothing),
      cmocka_unit_test(refused_memory_is_told),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
