// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What the background says of the recorder.
#include "analyse.h"

#include "base/biquad.h"

// A heart in a room's rumble under 90 Hz and a recorder's hiss; low_pass: both as a recorder passes them that keeps 20 to 120 Hz.
static girthline_result *heard(bool low_pass, double rumble_rms) {
  heart *h = heart_new(2000, 25, 0.9, 0.33);
  float *rumble = calloc(h->n, sizeof *rumble);
  gn_random random = gn_random_of(4);
  gn_biquad band[2];
  for (size_t i = 0; i < h->n; i++) rumble[i] = (float)(rumble_rms * gn_random_normal(&random));
  gn_biquad_bandpass(band, 20, 90, h->fs_hz);
  assert_int_equal(gn_biquad_zero_phase(band, 2, rumble, rumble, h->n), 0);
  for (size_t i = 0; i < h->n; i++) h->x[i] += rumble[i] + (float)(0.002 * gn_random_normal(&random));
  gn_biquad_bandpass(band, 20, 120, h->fs_hz);
  if (low_pass) assert_int_equal(gn_biquad_zero_phase(band, 2, h->x, h->x, h->n), 0);
  girthline_result *r = analyse(h);
  free(rumble);
  heart_free(h);
  return r;
}

static void no_murmur_is_not_said_of_what_the_recorder_cuts_off(void **state) {
  (void)state;
  girthline_result *r = heard(true, 0.002);
  assert_int_equal(r->murmur.present, GIRTHLINE_UNKNOWN);
  assert_true(isnan(r->murmur.detection_limit_db[0]) && isnan(r->murmur.detection_limit_db[1]));
  girthline_result_free(r);
}

static void rumble_over_hiss_is_no_cut_off(void **state) {
  (void)state;
  for (int k = 0; k < 3; k++) {
    girthline_result *r = heard(false, (double[]){0.002, 0.02, 0.08}[k]);
    assert_int_equal(r->murmur.present, GIRTHLINE_NO);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_murmur_is_not_said_of_what_the_recorder_cuts_off),
      cmocka_unit_test(rumble_over_hiss_is_no_cut_off),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
