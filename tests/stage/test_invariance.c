// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Eight hearts: level, sample rate and silence ahead change no beat by more than 5 ms, no rate by more than 0.1 a minute, and no word.
#include "recorded.h"

#include "base/maths.h"

typedef struct kind { girthline_species species; double bpm, snr_db; gn_synth_rhythm_kind rhythm; const char *murmur; unsigned noise; } kind;
static const kind KINDS[] = {
    {GIRTHLINE_HORSE, 34, 22, GN_SYNTH_REGULAR, NULL, 0},
    {GIRTHLINE_HORSE, 40, 16, GN_SYNTH_PAUSES, "systole holo plateau", GN_SYNTH_BREATH},
    {GIRTHLINE_HORSE, 44, 20, GN_SYNTH_IRREGULAR, NULL, 0},
    {GIRTHLINE_HORSE, 120, 20, GN_SYNTH_REGULAR, NULL, GN_SYNTH_HUM},
    {GIRTHLINE_FOAL, 90, 18, GN_SYNTH_CYCLIC, NULL, GN_SYNTH_BREATH},
    {GIRTHLINE_DOG, 96, 20, GN_SYNTH_CYCLIC, "systole holo plateau", 0},
    {GIRTHLINE_CAT, 170, 22, GN_SYNTH_REGULAR, NULL, 0},
    {GIRTHLINE_HUMAN, 70, 18, GN_SYNTH_EARLY_BEATS, "diastole holo decrescendo", GN_SYNTH_BREATH},
};
enum { N_KINDS = sizeof KINDS / sizeof *KINDS };

typedef struct reading { recorded *sound; girthline_settings settings; girthline_result *result; } reading;

static reading reading_of(const kind *k) {
  gn_synth_spec spec = recorded_spec();
  spec.seconds = 20;
  spec.rate_hz = 8000;
  spec.species = k->species;
  spec.bpm = k->bpm;
  spec.snr_db = k->snr_db;
  spec.rhythm = k->rhythm;
  spec.noise = k->noise;
  if (k->murmur) {
    assert_true(gn_synth_murmur_parse(k->murmur, &spec.murmurs[0]));
    spec.murmurs[0].level_db = -4;
    spec.n_murmurs = 1;
  }
  reading r = {recorded_made(&spec), girthline_settings_default(), NULL};
  r.settings.species = k->species;
  r.settings.species_assumed = false;
  r.result = recorded_analyse(r.sound, &r.settings);
  assert_true(r.result->n_beats > 5);
  return r;
}

static void reading_free(reading *r) {
  girthline_result_free(r->result);
  recorded_free(r->sound);
}

static void assert_as_before(const reading *r, recorded *changed, double shift_s) {
  girthline_result *b = recorded_analyse(changed, &r->settings);
  recorded_assert_alike(r->result, b, shift_s);
  assert_int_equal(r->result->quality.grade, b->quality.grade);
  girthline_result_free(b);
  recorded_free(changed);
}

static void no_level_of_a_float_file_changes_what_is_read(void **state) {
  (void)state;
  static const float GAINS[] = {0.01f, 100};
  for (int k = 0; k < N_KINDS; k++) {
    reading r = reading_of(&KINDS[k]);
    for (int g = 0; g < 2; g++) {
      recorded *w = recorded_new(r.sound->n, 1, r.sound->rate_hz);
      for (size_t i = 0; i < w->n; i++) w->x[i] = GAINS[g] * r.sound->x[i];
      assert_as_before(&r, w, 0);
    }
    reading_free(&r);
  }
}

// Hann-windowed sinc, cut 10 % under the lower of the two half rates: what a recorder at that rate would have kept.
static recorded *at_rate(const recorded *w, int rate_hz) {
  enum { CROSSINGS = 24 };
  const double step = (double)w->rate_hz / rate_hz, cut = 0.9 * fmin(1, 1 / step), reach = CROSSINGS / cut;
  recorded *r = recorded_new((size_t)((double)w->n / step), 1, rate_hz);
  for (size_t i = 0; i < r->n; i++) {
    const double at = (double)i * step;
    const int64_t first = (int64_t)ceil(at - reach), last = (int64_t)floor(at + reach);
    double sum = 0;
    for (int64_t j = first < 0 ? 0 : first; j <= last && j < (int64_t)w->n; j++) {
      const double t = (double)j - at, x = GN_PI * cut * t, taper = 0.5 + 0.5 * cos(GN_PI * t / reach);
      sum += (double)w->x[j] * cut * taper * (fabs(x) < 1e-9 ? 1 : sin(x) / x);
    }
    r->x[i] = (float)sum;
  }
  return r;
}

static void no_sample_rate_from_2_to_48_khz_changes_what_is_read(void **state) {
  (void)state;
  static const int RATES_HZ[] = {2000, 11025, 48000};
  for (int k = 0; k < N_KINDS; k++) {
    reading r = reading_of(&KINDS[k]);
    // Each heart at the lowest and one of the others: the ordinary run stays short.
    assert_as_before(&r, at_rate(r.sound, RATES_HZ[0]), 0);
    if (k % 2) assert_as_before(&r, at_rate(r.sound, RATES_HZ[1 + k / 2 % 2]), 0);
    reading_free(&r);
  }
}

static void no_silence_ahead_changes_what_is_read(void **state) {
  (void)state;
  for (int k = 0; k < N_KINDS; k++) {
    reading r = reading_of(&KINDS[k]);
    const size_t ahead_n = (size_t)(k % 2 ? 2.5 : 5) * (size_t)r.sound->rate_hz;
    recorded *w = recorded_new(r.sound->n + ahead_n, 1, r.sound->rate_hz);
    memcpy(w->x + ahead_n, r.sound->x, r.sound->n * sizeof *w->x);
    assert_as_before(&r, w, (double)ahead_n / r.sound->rate_hz);
    reading_free(&r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_level_of_a_float_file_changes_what_is_read),
      cmocka_unit_test(no_sample_rate_from_2_to_48_khz_changes_what_is_read),
      cmocka_unit_test(no_silence_ahead_changes_what_is_read),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
