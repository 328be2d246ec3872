// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "heart.h"

// Breath noise in and out: the way in louder and shorter, a rest at the end.
static void breathe(heart *h, double per_min, double rms, uint64_t seed) {
  gn_random r = gn_random_of(seed);
  for (size_t i = 0; i < h->n; i++) {
    const double turns = (double)i / FS_HZ * per_min / 60, phase = turns - floor(turns);
    const double in = phase < 0.35 ? gn_sin(GN_PI * phase / 0.35) : 0, out = phase > 0.4 && phase < 0.8 ? 0.6 * gn_sin(GN_PI * (phase - 0.4) / 0.4) : 0;
    h->samples[i] += (float)(rms * (in + out) * gn_random_normal(&r));
  }
}

static double rate_of(const heart *h) {
  girthline_result *r = heart_judge(h);
  assert_non_null(r);
  const double rate = r->quality.breaths_per_min;
  girthline_result_free(r);
  return rate;
}

static void breaths_are_counted_within_one_a_minute(void **state) {
  (void)state;
  const double rates[] = {8.5, 10, 13.5, 18, 24};
  for (int i = 0; i < 5; i++) {
    heart h = heart_new(40, 1.6, 0.002);
    breathe(&h, rates[i], 0.02, 4);
    assert_near(rate_of(&h), rates[i], 1);
    heart_free(&h);
  }
}

// Twenty bursts from the gut, as loud as the breath, in 40 s.
static void breathing_is_counted_beside_the_gut(void **state) {
  (void)state;
  int right = 0;
  for (uint64_t seed = 0; seed < 12; seed++) {
    heart h = heart_new(40, 1.6, 0.004);
    gn_random r = gn_random_of(seed + 60);
    breathe(&h, 11, 0.012, seed + 40);
    for (uint64_t k = 0; k < 20; k++) {
      const double at_s = 39 * gn_random_uniform(&r);
      heart_noise(&h, at_s, at_s + 0.6, 0.012, 100 * seed + k);
    }
    right += fabs(rate_of(&h) - 11) <= 1;
    heart_free(&h);
  }
  assert_true(right >= 7); // 9 are
}

static void no_breathing_is_heard_where_there_is_none(void **state) {
  (void)state;
  for (uint64_t seed = 0; seed < 4; seed++) {
    heart h = heart_new(40, 1.6, 0.002);
    heart_noise(&h, 0, 40, 0.01, seed + 20);
    assert_true(isnan(rate_of(&h)));
    heart_free(&h);
  }
}

static void a_murmur_is_no_breathing(void **state) {
  (void)state;
  heart h = heart_new(40, 1.6, 0.002);
  gn_random r = gn_random_of(9);
  for (size_t k = 0; k < h.n_beats; k++)
    for (size_t i = (size_t)((h.beats[k].s1_onset_s + 0.12) * FS_HZ); (double)i < h.beats[k].s2_onset_s * FS_HZ; i++)
      h.samples[i] += (float)(0.05 * gn_random_normal(&r));
  assert_true(isnan(rate_of(&h)));
  heart_free(&h);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(breaths_are_counted_within_one_a_minute),
      cmocka_unit_test(breathing_is_counted_beside_the_gut),
      cmocka_unit_test(no_breathing_is_heard_where_there_is_none),
      cmocka_unit_test(a_murmur_is_no_breathing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
