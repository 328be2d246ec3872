// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "analyse.h"

#include "base/biquad.h"

// A heart under noise of this band that never stops, and swells and fades by so much with a breath of 3.7 s.
static heart *under_noise(double low_hz, double high_hz, double rms, double swing_db) {
  heart *h = heart_new(2000, 25, 0.9, 0.33);
  float *noise = calloc(h->n, sizeof *noise);
  gn_random random = gn_random_of(3);
  for (size_t i = 0; i < h->n; i++) noise[i] = (float)(rms * gn_random_normal(&random));
  gn_biquad band[2];
  gn_biquad_bandpass(band, low_hz, high_hz, h->fs_hz);
  assert_int_equal(gn_biquad_zero_phase(band, 2, noise, noise, h->n), 0);
  for (size_t i = 0; i < h->n; i++) {
    const double breath = gn_sin(2 * GN_PI * (double)i / h->fs_hz / 3.7);
    h->x[i] += noise[i] * (float)sqrt(gn_from_db(swing_db * breath));
  }
  free(noise);
  return h;
}

// What is told of it where a hum of so many hertz was heard (0: none; NaN: not looked for).
static girthline_result *told(heart *h, double hum_hz) {
  girthline_profile store;
  gn_murmur *m = gn_murmur_new(girthline_profile_of(GIRTHLINE_HUMAN, -1, &store), h->fs_hz);
  girthline_result *r = gn_result_new();
  const gn_signal whole = {h->x, h->n, h->fs_hz, 0};
  r->quality.hum_hz = hum_hz;
  assert_int_equal(gn_murmur_collect(m, &whole, 0, 1e9, h->beats, h->n_beats, NULL, 0), GIRTHLINE_OK);
  assert_int_equal(gn_murmur_finish(m, r), GIRTHLINE_OK);
  gn_murmur_free(m);
  heart_free(h);
  return r;
}

static bool may_never_stop(const girthline_result *r) {
  return r->murmur.present == GIRTHLINE_UNKNOWN && strstr(reason_of(r, "/murmur/present"), "never stops");
}

// Where hum was heard, or could not be looked for, its lines are its own; a line elsewhere, or where none was heard, may be a murmur.
static void lines_of_the_mains_are_no_murmur_where_they_may_be_hum(void **state) {
  (void)state;
  static const struct { double line_hz, hum_hz; size_t n_phases; } CASES[] = {{50, 0, 1}, {50, 50, 0}, {60, 60, 0}, {50, NAN, 0}, {60, NAN, 0}, {47, 0, 1}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    heart *h = heart_new(2000, 25, 0.9, 0.33);
    heart_noise(h, 0, 1e9, 0.004, 5);
    for (int multiple = 1; multiple <= 7; multiple += 2) heart_tone(h, 0, 1e9, multiple * CASES[i].line_hz, multiple == 1 ? 0.005 : multiple == 7 ? 0.006 : 0.008);
    girthline_result *r = told(h, CASES[i].hum_hz);
    if (r->murmur.n_phases != CASES[i].n_phases) fail_msg("a line at %g Hz, hum at %g Hz: %zu phases", CASES[i].line_hz, CASES[i].hum_hz, r->murmur.n_phases);
    girthline_result_free(r);
  }
}

static void what_is_soft_or_comes_and_goes_is_no_continuous_murmur(void **state) {
  (void)state;
  static const struct { double rms, swing_db; } BACKGROUNDS[] = {{0.002, 0}, {0.05, 8}, {0.05, 12}};
  for (size_t i = 0; i < sizeof BACKGROUNDS / sizeof *BACKGROUNDS; i++) {
    heart *h = under_noise(150, 350, BACKGROUNDS[i].rms, BACKGROUNDS[i].swing_db);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.n_phases, 0);
    assert_false(may_never_stop(r));
    girthline_result_free(r);
    heart_free(h);
  }
}

static void a_murmur_that_never_stops_is_continuous(void **state) {
  (void)state;
  heart *h = under_noise(150, 350, 0.05, 0);
  girthline_result *r = analyse(h);
  assert_int_equal(r->murmur.present, GIRTHLINE_YES);
  assert_int_equal(r->murmur.n_phases, 1);
  assert_int_equal(r->murmur.phases[0].phase, GIRTHLINE_CONTINUOUS);
  assert_int_equal(r->murmur.phases[0].timing, GIRTHLINE_HOLO);
  assert_true(r->murmur.phases[0].peak_hz > 140 && r->murmur.phases[0].peak_hz < 360);
  assert_true(r->murmur.phases[0].confidence < 0.7);
  assert_true(r->murmur.phases[0].beats_fraction > 0.9);
  girthline_result_free(r);
  heart_free(h);
}

// What a chest piece passes on of a room: loud, steady, and with an end above. So may a murmur be: none is found, and where it is
// loud none is ruled out.
static void the_rumble_of_a_room_may_be_a_continuous_murmur(void **state) {
  (void)state;
  static const double BANDS_HZ[][2] = {{30, 150}, {30, 300}, {50, 200}};
  for (size_t i = 0; i < 2 * sizeof BANDS_HZ / sizeof *BANDS_HZ; i++) {
    heart *h = under_noise(BANDS_HZ[i / 2][0], BANDS_HZ[i / 2][1], i % 2 ? 0.1 : 0.02, 0);
    girthline_result *r = analyse(h);
    assert_int_equal(r->murmur.n_phases, 0);
    if (i % 2) assert_true(may_never_stop(r));
    else assert_int_equal(r->murmur.present, GIRTHLINE_NO);
    girthline_result_free(r);
    heart_free(h);
  }
}

// A little too soft, or beside a hum that may be all there is of it: none is told, and none is ruled out.
static void a_doubtful_murmur_that_never_stops_is_not_ruled_out(void **state) {
  (void)state;
  static const struct { double rms, hum_hz; girthline_tristate present; } CASES[] = {
      {0.035, 0, GIRTHLINE_YES}, {0.026, 0, GIRTHLINE_UNKNOWN}, {0.02, 0, GIRTHLINE_NO}, {0.026, 50, GIRTHLINE_UNKNOWN}, {0.02, 50, GIRTHLINE_NO}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    girthline_result *r = told(under_noise(150, 350, CASES[i].rms, 0), CASES[i].hum_hz);
    if (r->murmur.present != CASES[i].present) fail_msg("case %zu: %d", i, (int)r->murmur.present);
    assert_true(r->murmur.present != GIRTHLINE_UNKNOWN || may_never_stop(r));
    girthline_result_free(r);
  }
}

// So high that the highest band holds as much: the spectrum has no hump, and rises far more than that of white noise. A machine may sound so, too.
static void what_is_high_and_never_stops_may_be_a_murmur(void **state) {
  (void)state;
  static const struct { double rms, hum_hz; bool open; } CASES[] = {{0.05, 0, true}, {0.05, 50, true}, {0.015, 0, false}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    heart *h = under_noise(270, 600, CASES[i].rms, 0);
    heart_noise(h, 0, 1e9, 0.02, 11);
    girthline_result *r = told(h, CASES[i].hum_hz);
    if (r->murmur.present != (CASES[i].open ? GIRTHLINE_UNKNOWN : GIRTHLINE_NO)) fail_msg("case %zu: %d", i, (int)r->murmur.present);
    assert_int_equal(may_never_stop(r), CASES[i].open);
    girthline_result_free(r);
  }
}

// White noise, and its differences, that rise by 6 dB an octave.
static void a_hiss_is_no_continuous_murmur(void **state) {
  (void)state;
  for (int k = 0; k < 6; k++) {
    heart *h = heart_new(2000, 25, 0.9, 0.33);
    gn_random random = gn_random_of(9);
    double before = 0;
    for (size_t i = 0; i < h->n; i++) {
      const double white = 0.01 * pow(2, k / 2) * gn_random_normal(&random);
      h->x[i] += (float)(k % 2 ? white - before : white);
      before = white;
    }
    girthline_result *r = told(h, 0);
    assert_int_equal(r->murmur.n_phases, 0);
    assert_false(may_never_stop(r));
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lines_of_the_mains_are_no_murmur_where_they_may_be_hum),
      cmocka_unit_test(what_is_soft_or_comes_and_goes_is_no_continuous_murmur),
      cmocka_unit_test(a_murmur_that_never_stops_is_continuous),
      cmocka_unit_test(the_rumble_of_a_room_may_be_a_continuous_murmur),
      cmocka_unit_test(a_doubtful_murmur_that_never_stops_is_not_ruled_out),
      cmocka_unit_test(what_is_high_and_never_stops_may_be_a_murmur),
      cmocka_unit_test(a_hiss_is_no_continuous_murmur),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
