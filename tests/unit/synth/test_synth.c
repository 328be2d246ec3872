// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "whole.h"

#include <string.h>

#include "base/fft.h"
#include "base/memory.h"

// 25 to 700 Hz by leaving out the other lines of one transform over the whole: nothing like the synth's own filters.
static float *in_band(const whole *w) {
  const size_t n = gn_fft_size(w->n);
  gn_fft *fft = gn_fft_new(n);
  float *x = test_calloc(n, sizeof *x), *lines = test_calloc(n + 2, sizeof *lines);
  memcpy(x, w->x, w->n * sizeof *x);
  gn_fft_forward(fft, x, lines);
  for (size_t k = 0; k <= n / 2; k++) {
    const double f = (double)k * w->fs_hz / (double)n;
    if (f < 25 || f > 700) lines[2 * k] = lines[2 * k + 1] = 0;
  }
  gn_fft_inverse(fft, lines, x);
  gn_fft_free(fft);
  test_free(lines);
  return x;
}

static double mean_square(const float *x, const whole *w, double from_s, double to_s) {
  double sum = 0, n = 0;
  for (size_t i = (size_t)(from_s * w->fs_hz); i < (size_t)(to_s * w->fs_hz) && i < w->n; i++, n++) sum += (double)x[i] * (double)x[i];
  return n > 0 ? sum / n : 0;
}

static double median_of(double *x, size_t n) {
  for (size_t i = 1; i < n; i++)
    for (size_t j = i; j > 0 && x[j] < x[j - 1]; j--) {
      const double t = x[j];
      x[j] = x[j - 1];
      x[j - 1] = t;
    }
  assert_true(n > 0);
  return 0.5 * (x[(n - 1) / 2] + x[n / 2]);
}

// RMS over S1 and S2 against RMS between them, in dB.
static double sounds_over_gaps_db(const whole *w, const float *heart, const float *noise) {
  double sounds = 0, sounds_s = 0, gaps = 0, gaps_s = 0;
  for (size_t k = 0; k + 1 < w->n_sounds; k++) {
    const gn_synth_sound *s = &w->sounds[k], *next = &w->sounds[k + 1];
    sounds += mean_square(heart, w, s->onset_s, s->end_s) * (s->end_s - s->onset_s);
    sounds_s += s->end_s - s->onset_s;
    gaps += mean_square(noise, w, s->end_s, next->onset_s) * (next->onset_s - s->end_s);
    gaps_s += next->onset_s - s->end_s;
  }
  return 10 * log10(sounds / sounds_s / (gaps / gaps_s));
}

static void difference(whole *a, const whole *b) {
  for (size_t i = 0; i < a->n; i++) a->x[i] -= b->x[i];
}

static void the_signal_to_noise_ratio_comes_back_within_half_a_decibel(void **state) {
  (void)state;
  static const struct { girthline_species species; unsigned noise; double snr_db; int rate_hz; } CASES[] = {
      {GIRTHLINE_HORSE, 0, 20, 4000}, {GIRTHLINE_HORSE, GN_SYNTH_BREATH, 10, 2000},
      {GIRTHLINE_DOG, GN_SYNTH_BREATH | GN_SYNTH_GUT, 3, 4000},
      {GIRTHLINE_CAT, GN_SYNTH_HUM | GN_SYNTH_VOICE | GN_SYNTH_WIND, 6, 4000}, {GIRTHLINE_CALF, GN_SYNTH_WIND, -2, 8000}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    gn_synth_spec spec = usual();
    spec.species = CASES[i].species;
    spec.rate_hz = CASES[i].rate_hz;
    spec.noise = CASES[i].noise;
    spec.snr_db = 80;
    whole *clean = made(&spec);
    spec.snr_db = CASES[i].snr_db;
    whole *noisy = made(&spec);
    difference(noisy, clean);
    float *heart = in_band(clean), *noise = in_band(noisy);
    assert_near(sounds_over_gaps_db(clean, heart, noise), CASES[i].snr_db, 0.5);
    test_free(heart);
    test_free(noise);
    done(clean);
    done(noisy);
  }
}

// The murmur alone: the same recording with and without it, over the part of the beat where it was asked for.
static double murmur_level_db(gn_synth_spec spec) {
  spec.snr_db = 80;
  whole *with = made(&spec);
  spec.n_murmurs = 0;
  whole *without = made(&spec);
  difference(with, without);
  float *murmur = in_band(with), *heart = in_band(without);
  double ratio[512];
  size_t n = 0;
  for (size_t k = 0; k + 2 < without->n_sounds && n < 512; k += 2) {
    const gn_synth_sound *s1 = &without->sounds[k], *s2 = s1 + 1, *next = s1 + 2;
    const bool systole = with->facts.murmurs[0].phase == GN_SYNTH_SYSTOLE;
    const double from_s = systole ? s1->onset_s : s2->onset_s, to_s = systole ? s2->onset_s : next->onset_s;
    // Its span: from the first to the last sample that is not next to nothing.
    double most = 0, first = to_s, last = from_s;
    for (size_t i = (size_t)(from_s * with->fs_hz); i < (size_t)(to_s * with->fs_hz); i++) most = fmax(most, fabs((double)with->x[i]));
    for (size_t i = (size_t)(from_s * with->fs_hz); i < (size_t)(to_s * with->fs_hz); i++) {
      if (fabs((double)with->x[i]) < 0.02 * most) continue;
      first = fmin(first, (double)i / with->fs_hz);
      last = fmax(last, (double)i / with->fs_hz);
    }
    ratio[n++] = 10 * log10(mean_square(murmur, without, first, last) / mean_square(heart, without, s1->onset_s, s1->end_s));
  }
  test_free(murmur);
  test_free(heart);
  done(with);
  done(without);
  return median_of(ratio, n);
}

static void the_murmur_level_comes_back_within_half_a_decibel(void **state) {
  (void)state;
  static const struct { girthline_species species; const char *words; double level_db; } CASES[] = {
      {GIRTHLINE_HORSE, "systole holo plateau", -8}, {GIRTHLINE_HORSE, "systole mid crescendo-decrescendo 180hz", -14},
      {GIRTHLINE_HORSE, "diastole holo decrescendo musical 210hz", -5}, {GIRTHLINE_DOG, "systole late crescendo", 3},
      {GIRTHLINE_CAT, "systole holo plateau", -3}, {GIRTHLINE_FOAL, "diastole early decrescendo", -6}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    gn_synth_spec spec = usual();
    spec.species = CASES[i].species;
    spec.n_murmurs = 1;
    assert_true(gn_synth_murmur_parse(CASES[i].words, &spec.murmurs[0]));
    spec.murmurs[0].level_db = CASES[i].level_db;
    assert_near(murmur_level_db(spec), CASES[i].level_db, 0.5);
  }
}

// It did not begin with the recording: before the first beat it is as loud as after it.
static void a_continuous_murmur_is_heard_from_the_first_sample_on(void **state) {
  (void)state;
  static const girthline_species KINDS[] = {GIRTHLINE_HORSE, GIRTHLINE_CAT};
  for (uint64_t seed = 1; seed <= 8; seed++) {
    gn_synth_spec spec = usual();
    spec.species = KINDS[seed % 2];
    spec.seed = seed;
    spec.snr_db = 80;
    spec.n_murmurs = 1;
    assert_true(gn_synth_murmur_parse("continuous holo plateau", &spec.murmurs[0]));
    whole *with = made(&spec);
    spec.n_murmurs = 0;
    whole *without = made(&spec);
    difference(with, without);
    const double first_s = without->sounds[0].onset_s, later = mean_square(with->x, with, first_s, first_s + 10);
    for (double from_s = 0; from_s + 0.1 <= first_s; from_s += 0.1) assert_near(10 * log10(mean_square(with->x, with, from_s, from_s + 0.1) / later), 0, 6);
    done(with);
    done(without);
  }
}

static void truth_is_where_the_sound_leaves_the_background(void **state) {
  (void)state;
  for (girthline_species species = GIRTHLINE_HORSE; species < GIRTHLINE_N_SPECIES; species++) {
    gn_synth_spec spec = usual();
    spec.species = species;
    spec.snr_db = 80;
    spec.rate_hz = 8000;
    spec.seconds = 15;
    whole *w = made(&spec);
    const double full = largest(w, 0, 15);
    assert_true(w->n_sounds > 10);
    for (size_t k = 0; k < w->n_sounds; k++) {
      const double onset_s = w->sounds[k].onset_s;
      assert_true(largest(w, onset_s - 0.012, onset_s - 0.0002) < 0.05 * full);
      assert_true(largest(w, onset_s, onset_s + 0.010) > 0.06 * full);
      assert_int_equal(w->sounds[k].number, k % 2 + 1);
    }
    done(w);
  }
}

static void truth_of_the_first_sample_is_exact(void **state) {
  (void)state;
  gn_synth_spec with = usual();
  with.snr_db = 80;
  with.s3 = with.s4 = true;
  gn_synth_spec without = with;
  without.s3 = without.s4 = false;
  whole *w = made(&with);
  // Before the first sound of all there is sensor noise 80 dB down and nothing else.
  assert_true(largest(w, 0, w->sounds[0].onset_s) < 1e-3 * largest(w, 0, 30));
  for (size_t k = 1; k < w->n_sounds; k++) assert_true(w->sounds[k].onset_s > w->sounds[k - 1].onset_s);
  done(w);
}

// Field by field: what lies between a number and a time is not given.
static void assert_same_sounds(const whole *a, const whole *b) {
  assert_int_equal(a->n_sounds, b->n_sounds);
  for (size_t i = 0; i < a->n_sounds; i++) {
    assert_int_equal(a->sounds[i].number, b->sounds[i].number);
    assert_near(a->sounds[i].onset_s, b->sounds[i].onset_s, 0);
    assert_near(a->sounds[i].end_s, b->sounds[i].end_s, 0);
  }
}

static void chunks_give_the_same_samples_as_the_whole(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  spec.noise = 255;
  spec.channels = 2;
  spec.put_on = spec.agc = true;
  whole *a = made_by(&spec, 1000000), *b = made_by(&spec, 77);
  assert_memory_equal(a->x, b->x, a->n * 2 * sizeof *a->x);
  assert_int_equal(a->n_sounds, b->n_sounds);
  assert_same_sounds(a, b);
  spec.seed++;
  whole *c = made(&spec);
  assert_true(memcmp(a->x, c->x, a->n * 2 * sizeof *a->x) != 0);
  done(a);
  done(b);
  done(c);
}

// Power within half the width of a frequency, in steps of one cycle over two seconds.
static double power_near(const whole *w, double at_hz, double wide_hz) {
  double sum = 0;
  for (double f = at_hz - wide_hz / 2; f <= at_hz + wide_hz / 2; f += 0.5) {
    double re = 0, im = 0;
    for (size_t i = 0; i < w->n; i++) {
      const double angle = 2 * acos(-1) * f * (double)i / w->fs_hz;
      re += (double)w->x[i] * cos(angle);
      im += (double)w->x[i] * sin(angle);
    }
    sum += re * re + im * im;
  }
  return sum;
}

static void a_hum_stands_at_the_mains_and_its_multiples(void **state) {
  (void)state;
  for (int k = 0; k < 2; k++) {
    gn_synth_spec spec = usual();
    spec.seconds = 10;
    whole *without = made(&spec);
    spec.noise = GN_SYNTH_HUM;
    spec.hum_hz = k ? 60 : 50;
    whole *with = made(&spec);
    difference(with, without);
    for (int n = 1; n <= 3; n++) assert_true(power_near(with, n * spec.hum_hz, 0) > 20 * power_near(with, n * spec.hum_hz + 5, 4));
    assert_true(power_near(with, k ? 50 : 60, 0) < 0.05 * power_near(with, spec.hum_hz, 0));
    done(with);
    done(without);
  }
}

static void a_musical_murmur_has_a_tone_and_its_octave_at_its_pitch(void **state) {
  (void)state;
  for (int musical = 0; musical < 2; musical++) {
    gn_synth_spec spec = usual();
    spec.seconds = 10;
    whole *without = made(&spec);
    spec.n_murmurs = 1;
    assert_true(gn_synth_murmur_parse(musical ? "diastole holo plateau musical 210hz" : "diastole holo plateau 210hz", &spec.murmurs[0]));
    whole *with = made(&spec);
    difference(with, without);
    const double tone = power_near(with, 210, 10) / power_near(with, 300, 10), octave = power_near(with, 420, 10) / power_near(with, 360, 10);
    if (musical) assert_true(tone > 20 && octave > 5);
    else assert_true(tone < 10 && octave < 3);
    done(with);
    done(without);
  }
}

static void a_noise_changes_no_beat(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  whole *a = made(&spec);
  spec.noise = 255;
  spec.snr_db = 2;
  whole *b = made(&spec);
  assert_int_equal(a->n_sounds, b->n_sounds);
  assert_same_sounds(a, b);
  done(a);
  done(b);
}

static void handling_is_loud_only_inside_the_bad_spans(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  whole *without = made(&spec);
  spec.noise = GN_SYNTH_HANDLING;
  whole *with = made(&spec);
  const double full = largest(without, 0, 30);
  difference(with, without);
  assert_true(with->facts.n_bad > 0);
  double outside = 0, inside = 0;
  for (size_t i = 0; i < with->n; i++) {
    const double t = (double)i / with->fs_hz, size = fabs((double)with->x[i]);
    bool bad = false;
    for (size_t k = 0; k < with->facts.n_bad; k++) bad = bad || (t >= with->facts.bad[k].start_s && t <= with->facts.bad[k].end_s);
    if (bad) inside = fmax(inside, size);
    else outside = fmax(outside, size);
  }
  assert_true(inside > 0.8 * full);
  assert_true(outside < 0.25 * full);
  done(with);
  done(without);
}

static void a_dropout_is_next_to_silent(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  spec.noise = GN_SYNTH_DROPOUT;
  whole *w = made(&spec);
  assert_int_equal(w->facts.n_bad, 1);
  assert_true(largest(w, w->facts.bad[0].start_s + 0.02, w->facts.bad[0].end_s - 0.02) < 0.03 * largest(w, 0, 30));
  done(w);
}

static void every_setting_stays_finite_and_within_the_clip(void **state) {
  (void)state;
  static const double SECONDS[] = {0.1, 0.1001, 3};
  static const int RATES[] = {1600, 44100, 96000};
  for (size_t i = 0; i < 3; i++)
    for (size_t k = 0; k < 3; k++) {
      gn_synth_spec spec = usual();
      spec.species = (girthline_species)(3 * i + k);
      spec.seconds = SECONDS[i];
      spec.rate_hz = RATES[k];
      spec.channels = 2;
      spec.noise = 255;
      spec.gain_db = 30;
      spec.clip = 0.6;
      spec.dc = 0.1;
      spec.agc = spec.muffled = spec.put_on = spec.click = spec.s3 = spec.s4 = true;
      spec.resonance_hz = 700;
      spec.n_murmurs = 1;
      assert_true(gn_synth_murmur_parse("continuous holo plateau musical 650hz", &spec.murmurs[0]));
      whole *w = made(&spec);
      assert_int_equal(w->n, (size_t)(SECONDS[i] * RATES[k] + 0.5));
      for (size_t j = 0; j < 2 * w->n; j++) assert_true(fabs((double)w->x[j]) <= 0.6000001);
      done(w);
    }
}

static void the_fastest_and_slowest_hearts_are_made(void **state) {
  (void)state;
  static const double RATES_BPM[] = {10, 320};
  for (int rhythm = 0; rhythm < GN_SYNTH_N_RHYTHMS; rhythm++)
    for (size_t i = 0; i < 2; i++) {
      gn_synth_spec spec = usual();
      spec.bpm = RATES_BPM[i];
      spec.rhythm = (gn_synth_rhythm_kind)rhythm;
      spec.pause_beats = 4;
      spec.seconds = 120;
      spec.s3 = spec.s4 = true;
      spec.settle_percent = i ? 150 : 0;
      whole *w = made(&spec);
      for (size_t k = 1; k < w->n_sounds; k++) assert_true(w->sounds[k].onset_s > w->sounds[k - 1].onset_s);
      done(w);
    }
}

static void values_out_of_range_are_refused_with_a_sentence(void **state) {
  (void)state;
  static const struct { size_t at; double value; } CASES[] = {
#define AT(field) offsetof(gn_synth_spec, field)
      {AT(bpm), 9}, {AT(bpm), 321}, {AT(bpm), NAN}, {AT(bpm), -1}, {AT(settle_percent), -1}, {AT(settle_percent), 151},
      {AT(cycle_depth_percent), 41}, {AT(split_s1_ms), 81}, {AT(split_s1_ms), NAN}, {AT(split_s2_ms), 101}, {AT(snr_db), -21}, {AT(snr_db), 81},
      {AT(snr_db), NAN}, {AT(hum_hz), 55}, {AT(knocks_per_min), 4}, {AT(knocks_per_min), 301}, {AT(breaths_per_min), 1}, {AT(breaths_per_min), 121},
      {AT(seconds), 0}, {AT(seconds), 604801}, {AT(seconds), NAN}, {AT(seconds), INFINITY}, {AT(gain_db), -61}, {AT(gain_db), 61},
      {AT(clip), 0}, {AT(clip), 1.1}, {AT(dc), -0.6}, {AT(dc), 0.6}, {AT(resonance_hz), 39}, {AT(resonance_hz), 701}};
  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    gn_synth_spec spec = usual();
    memcpy((char *)&spec + CASES[i].at, &CASES[i].value, sizeof(double));
    girthline_error error = {0};
    assert_null(gn_synth_new(&spec, &error));
    assert_int_equal(error.status, GIRTHLINE_BAD_ARGUMENT);
    assert_true(strlen(error.text) > 10);
  }
  static const struct { size_t at; int value; } WHOLE[] = {{AT(rate_hz), 1599}, {AT(rate_hz), 96001}, {AT(channels), 0}, {AT(channels), 3},
                                                          {AT(pause_beats), 0}, {AT(pause_beats), 5}};
  for (size_t i = 0; i < sizeof WHOLE / sizeof *WHOLE; i++) {
    gn_synth_spec spec = usual();
    memcpy((char *)&spec + WHOLE[i].at, &WHOLE[i].value, sizeof(int));
    assert_int_equal(gn_synth_spec_check(&spec, NULL), GIRTHLINE_BAD_ARGUMENT);
  }
}

static void a_murmur_is_read_from_its_words(void **state) {
  (void)state;
  gn_synth_murmur m = {0};
  assert_true(gn_synth_murmur_parse(" diastole  holo decrescendo musical 210.5hz", &m));
  assert_true(m.phase == GN_SYNTH_DIASTOLE && m.timing == GN_SYNTH_HOLO && m.shape == GN_SYNTH_DECRESCENDO && m.musical);
  assert_near(m.pitch_hz, 210.5, 0);
  static const char *const BAD[] = {"", "systole", "systole holo", "holo systole plateau", "systole holo plateau loud", "systole holo plateau hz",
                                    "systole holo plateau 200", "systole holo plateau -200hz", "Systole holo plateau"};
  for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) assert_false(gn_synth_murmur_parse(BAD[i], &m));
}

static void refused_memory_is_an_error_and_leaks_nothing(void **state) {
  (void)state;
  gn_synth_spec spec = usual();
  spec.noise = 255;
  spec.rhythm = GN_SYNTH_PAUSES;
  spec.s4 = true;
  spec.seconds = 12;
  spec.n_murmurs = 2;
  assert_true(gn_synth_murmur_parse("systole holo plateau", &spec.murmurs[0]) && gn_synth_murmur_parse("diastole late crescendo", &spec.murmurs[1]));
  int refused = 0, finished = 0;
  for (size_t k = 1; k < 200 && !finished; k++) {
    girthline_error error = {0};
    float x[512];
    gn_memory_refuse(k);
    gn_synth *s = gn_synth_new(&spec, &error);
    while (s && gn_synth_read(s, x, 512, &error) == 512) {}
    gn_memory_refuse(0);
    gn_synth_free(s);
    if (error.status == GIRTHLINE_NO_MEMORY) refused++;
    else finished = 1;
  }
  assert_true(refused > 20 && finished);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_signal_to_noise_ratio_comes_back_within_half_a_decibel),
      cmocka_unit_test(the_murmur_level_comes_back_within_half_a_decibel),
      cmocka_unit_test(a_continuous_murmur_is_heard_from_the_first_sample_on),
      cmocka_unit_test(truth_is_where_the_sound_leaves_the_background),
      cmocka_unit_test(truth_of_the_first_sample_is_exact),
      cmocka_unit_test(chunks_give_the_same_samples_as_the_whole),
      cmocka_unit_test(a_hum_stands_at_the_mains_and_its_multiples),
      cmocka_unit_test(a_musical_murmur_has_a_tone_and_its_octave_at_its_pitch),
      cmocka_unit_test(a_noise_changes_no_beat),
      cmocka_unit_test(handling_is_loud_only_inside_the_bad_spans),
      cmocka_unit_test(a_dropout_is_next_to_silent),
      cmocka_unit_test(every_setting_stays_finite_and_within_the_clip),
      cmocka_unit_test(the_fastest_and_slowest_hearts_are_made),
      cmocka_unit_test(values_out_of_range_are_refused_with_a_sentence),
      cmocka_unit_test(a_murmur_is_read_from_its_words),
      cmocka_unit_test(refused_memory_is_an_error_and_leaks_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
