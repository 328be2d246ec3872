// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/sound.h"

#define TWO_PI 6.283185307179586

static gn_sound tone(double hz, double rate_hz, double length_s) {
  gn_sound s = {.rate_hz = rate_hz, .n = (size_t)(rate_hz * length_s)};
  s.samples = gn_new(s.n, sizeof *s.samples);
  for (size_t i = 0; i < s.n; i++) s.samples[i] = (float)(0.5 * sin(TWO_PI * hz * (double)i / rate_hz));
  return s;
}

// The tone's frequency from its upward crossings between 20 and 80 % of the sound.
static double frequency(const gn_sound *s) {
  double first = -1, last = -1;
  int n = -1;
  for (size_t i = s->n / 5; i + 1 < s->n * 4 / 5; i++) {
    if (!(s->samples[i] < 0 && s->samples[i + 1] >= 0)) continue;
    last = (double)i + (double)(s->samples[i] / (s->samples[i] - s->samples[i + 1]));
    if (n++ < 0) first = last;
  }
  return n > 0 ? n * s->rate_hz / (last - first) : 0;
}

static void slowing_keeps_the_pitch_and_doubles_the_length(void **state) {
  (void)state;
  gn_sound s = tone(120, 8000, 3), slow = {0};
  assert_int_equal(gn_sound_slow(&s, 2, &slow, NULL), GIRTHLINE_OK);
  assert_int_equal(slow.n, 2 * s.n);
  assert_near(frequency(&slow), 120, 0.6);
  gn_sound_clear(&s);
  gn_sound_clear(&slow);
}

static void transposing_doubles_the_pitch_and_keeps_the_length(void **state) {
  (void)state;
  gn_sound s = tone(120, 8000, 3), high = {0};
  assert_int_equal(gn_sound_transpose(&s, 2, &high, NULL), GIRTHLINE_OK);
  assert_near(high.n, s.n, 2);
  assert_near(high.rate_hz, 8000, 0);
  assert_near(frequency(&high), 240, 1.2);
  gn_sound_clear(&s);
  gn_sound_clear(&high);
}

// Beats stay where they are: a click train of one a second lands at two seconds' distance within the search's reach.
static void slowing_keeps_the_time_of_a_beat(void **state) {
  (void)state;
  gn_sound s = {.rate_hz = 8000, .n = 24000, .samples = gn_new(24000, sizeof(float))}, slow = {0};
  for (int beat = 0; beat < 3; beat++)
    for (int i = 0; i < 800; i++) s.samples[beat * 8000 + 4000 + i] = (float)(sin(TWO_PI * 50 * i / 8000.0) * sin(TWO_PI * i / 1600.0));
  assert_int_equal(gn_sound_slow(&s, 2, &slow, NULL), GIRTHLINE_OK);
  for (int beat = 0; beat < 3; beat++) {
    double sum = 0, moment = 0;
    for (size_t i = (size_t)beat * 16000; i < (size_t)(beat + 1) * 16000; i++) {
      const double power = (double)slow.samples[i] * (double)slow.samples[i];
      sum += power;
      moment += power * (double)i;
    }
    assert_near(moment / sum / 8000, 2 * (beat + 0.55), 0.05);
  }
  gn_sound_clear(&s);
  gn_sound_clear(&slow);
}

static double rms_middle(const gn_sound *s) {
  double sum = 0;
  for (size_t i = s->n / 4; i < s->n * 3 / 4; i++) sum += (double)s->samples[i] * (double)s->samples[i];
  return sqrt(sum / ((double)s->n / 2));
}

// Twice the second-order Butterworth response: at an edge -6 dB, a factor of 4 away about -48 dB.
static void the_heart_band_passes_100_hz_and_stops_5_hz(void **state) {
  (void)state;
  gn_sound s = tone(100, 8000, 2), low = tone(5, 8000, 2);
  for (size_t i = 0; i < s.n; i++) s.samples[i] += 0.8F * low.samples[i];
  assert_int_equal(gn_sound_heart_band(&s, NULL), GIRTHLINE_OK);
  assert_near(frequency(&s), 100, 0.5);
  assert_near(rms_middle(&s), 0.9 / sqrt(2), 0.09); // the peak that sets the level may lie at an end
  gn_sound_clear(&s);
  gn_sound_clear(&low);
}

// No net delay: the sound of a symmetric pulse stays symmetric.
static void the_heart_band_has_no_delay(void **state) {
  (void)state;
  gn_sound s = {.rate_hz = 8000, .n = 8001, .samples = gn_new(8001, sizeof(float))};
  for (int i = -400; i <= 400; i++) s.samples[4000 + i] = (float)(cos(TWO_PI * 60 * i / 8000.0) * 0.5 * (1 + cos(TWO_PI * i / 800.0)));
  assert_int_equal(gn_sound_heart_band(&s, NULL), GIRTHLINE_OK);
  for (int i = 1; i < 3000; i++) assert_near(s.samples[4000 + i], s.samples[4000 - i], 1e-5);
  gn_sound_clear(&s);
}

static void silence_and_one_sample_stay_themselves(void **state) {
  (void)state;
  gn_sound none = {.rate_hz = 8000}, one = {.rate_hz = 8000, .n = 1, .samples = gn_new(1, sizeof(float))}, out = {0};
  assert_int_equal(gn_sound_heart_band(&none, NULL), GIRTHLINE_OK);
  assert_int_equal(gn_sound_heart_band(&one, NULL), GIRTHLINE_OK);
  assert_near(one.samples[0], 0, 0);
  assert_int_equal(gn_sound_slow(&none, 2, &out, NULL), GIRTHLINE_OK);
  assert_int_equal(out.n, 0);
  assert_int_equal(gn_sound_slow(&one, 2, &out, NULL), GIRTHLINE_OK);
  assert_int_equal(out.n, 2);
  gn_sound_clear(&one);
  gn_sound_clear(&out);
}

static void a_tone_keeps_its_pitch_at_another_rate(void **state) {
  (void)state;
  static const double RATES[] = {1000, 4000, 44100, 96000};
  for (size_t i = 0; i < sizeof RATES / sizeof RATES[0]; i++) {
    gn_sound s = tone(60, RATES[i], 2), out = {0};
    assert_int_equal(gn_sound_resample(&s, 8000, &out, NULL), GIRTHLINE_OK);
    assert_near(out.n, 16000, 2);
    assert_near(frequency(&out), 60, 0.05);
    assert_near(rms_middle(&out), 0.5 / sqrt(2), 0.002);
    gn_sound_clear(&s);
    gn_sound_clear(&out);
  }
}

// "RIFF" and length, "fmt " 16, PCM, one channel, rate, bytes a second, block, bits, "data" and length: 44 bytes, whose
// base64 is known in full for two samples.
static void the_data_uri_is_a_pcm_wav(void **state) {
  (void)state;
  float samples[] = {0.5F, -2};
  const gn_sound s = {.rate_hz = 8000, .n = 2, .samples = samples};
  gn_html html = {0};
  gn_sound_data_uri(&s, &html);
  assert_string_equal(html.text, "data:audio/wav;base64,UklGRigAAABXQVZFZm10IBAAAAABAAEAQB8AAIA+AAACABAAZGF0YQQAAAAAQACA");
  gn_html_clear(&html);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(slowing_keeps_the_pitch_and_doubles_the_length),
                                     cmocka_unit_test(transposing_doubles_the_pitch_and_keeps_the_length),
                                     cmocka_unit_test(slowing_keeps_the_time_of_a_beat),
                                     cmocka_unit_test(the_heart_band_passes_100_hz_and_stops_5_hz),
                                     cmocka_unit_test(the_heart_band_has_no_delay),
                                     cmocka_unit_test(silence_and_one_sample_stay_themselves),
                                     cmocka_unit_test(a_tone_keeps_its_pitch_at_another_rate),
                                     cmocka_unit_test(the_data_uri_is_a_pcm_wav)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
