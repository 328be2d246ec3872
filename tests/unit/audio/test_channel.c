// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <stdlib.h>
#include <string.h>

#include "audio/audio.h"
#include "base/random.h"
#include "memory_file.h"
#include "synth/synth.h"

enum { FS_HZ = 8000 };

// A channel: heart sounds (two 40 Hz and 50 Hz bursts a beat), noise, hum, all with a level of their own.
typedef struct sound {
  double heart, noise, hum, constant, thump;
  double interval_s, wobble, breath; // wobble: of the hum, a part of it; breath: of the noise, 0 to 1
  double stray;                      // one sample at 3 s, where not 0
} sound;

static double burst(double t_s, double at_s, double f_hz) {
  const double u = (t_s - at_s) / 0.02;
  return fabs(u) > 6 ? 0 : exp(-u * u) * sin(2 * M_PI * f_hz * t_s);
}

static void add(float *x, size_t n, size_t step, sound s, uint64_t seed) {
  gn_random random = gn_random_of(seed);
  const double interval_s = s.interval_s > 0 ? s.interval_s : 1.6;
  for (size_t i = 0; i < n; i++) {
    const double t_s = (double)i / FS_HZ, in_beat_s = fmod(t_s, interval_s);
    double y = s.heart * (burst(in_beat_s, 0.15, 40) + 0.7 * burst(in_beat_s, 0.15 + 0.3 * fmin(1, interval_s), 50));
    y += s.noise * gn_random_normal(&random) * (1 - s.breath * (0.5 + 0.49 * cos(2 * M_PI * t_s / 5)));
    y += s.hum * (1 + s.wobble * sin(2 * M_PI * 1.1 * t_s)) * sin(2 * M_PI * 50 * t_s) + s.constant;
    if ((t_s > 7 && t_s < 7.1) || (t_s > 8.2 && t_s < 8.3)) y += s.thump;
    x[i * step] = (float)(i == 3 * FS_HZ && s.stray != 0 ? s.stray : y);
  }
}

// Which of interleaved channels is taken for a part.
static int choice_for(const float *x, size_t n, size_t channels, int fs_hz, size_t from, size_t to) {
  memory_file m = memory_file_of(SF_FORMAT_WAV | SF_FORMAT_FLOAT, fs_hz, (int)channels, x, n);
  gn_audio *audio;
  girthline_error error = {0};
  assert_int_equal(gn_audio_open_memory(m.bytes, (size_t)m.n, "c", &audio, &error), GIRTHLINE_OK);
  assert_int_equal(gn_audio_choose_channel(audio, from, to, &error), GIRTHLINE_OK);
  const int used = gn_audio_recording(audio)->channel_used;
  float first[100];
  size_t got;
  assert_int_equal(gn_audio_read(audio, first, 100, &got, &error), GIRTHLINE_OK);
  for (size_t i = 0; i < got; i++) assert_true(first[i] == x[(from + i) * channels + (size_t)used - 1]); // gone back, and no mix
  gn_audio_close(audio);
  free(m.bytes);
  return used;
}

static int choice(const float *x, size_t n, size_t channels, int fs_hz) { return choice_for(x, n, channels, fs_hz, 0, SIZE_MAX); }

static int chosen(const sound *sounds, size_t channels, double seconds, double gain) {
  const size_t n = (size_t)(seconds * FS_HZ);
  float *x = calloc(n * channels + 1, sizeof *x);
  for (size_t c = 0; c < channels; c++) add(x + c, n, channels, sounds[c], c + 1);
  for (size_t i = 0; i < n * channels; i++) x[i] *= (float)gain;
  const int used = choice(x, n, channels, FS_HZ);
  free(x);
  return used;
}

static void the_channel_that_beats_is_chosen(void **state) {
  (void)state;
  static const struct {
    const char *name;
    sound sounds[3];
    size_t channels;
    int want;
  } table[] = {
      {"silent first", {{.heart = 0}, {.heart = 0.1, .noise = 0.001}}, 2, 2},
      {"constant first", {{.constant = 0.5}, {.heart = 0.1, .noise = 0.001}}, 2, 2},
      {"louder noise first", {{.noise = 0.3}, {.heart = 0.05, .noise = 0.005}}, 2, 2},
      {"louder noise last", {{.heart = 0.05, .noise = 0.005}, {.noise = 0.3}}, 2, 1},
      {"louder hum first", {{.hum = 0.5, .noise = 0.001}, {.heart = 0.05, .noise = 0.01}}, 2, 2},
      {"pure hum first", {{.hum = 0.5}, {.heart = 0.05, .noise = 0.01}}, 2, 2},
      {"cleaner heart last", {{.heart = 0.05, .noise = 0.05}, {.heart = 0.05, .noise = 0.005}}, 2, 2},
      {"the same twice", {{.heart = 0.05}, {.heart = 0.05}}, 2, 1},
      {"opposite phase", {{.heart = 0.05}, {.heart = -0.05}}, 2, 1},
      {"three", {{.noise = 0.1}, {.heart = 0}, {.heart = 0.02, .noise = 0.003}}, 3, 3},
      {"a thump in the heart", {{.noise = 0.1}, {.heart = 0.02, .noise = 0.003, .thump = 0.9}}, 2, 2},
      {"a fast heart", {{.noise = 0.1}, {.heart = 0.05, .noise = 0.005, .interval_s = 0.35}}, 2, 2},
      {"a slow heart", {{.noise = 0.1}, {.heart = 0.05, .noise = 0.005, .interval_s = 2.3}}, 2, 2},
      {"all silent", {{.heart = 0}, {.heart = 0}}, 2, 1},
      {"noise and silence", {{.heart = 0}, {.noise = 0.1}}, 2, 2},
      {"hum that wobbles a little", {{.hum = 0.5, .wobble = 0.01}, {.heart = 0.05, .noise = 0.01}}, 2, 2},
      {"noise that swells with the breath", {{.noise = 0.1, .breath = 1}, {.heart = 0.05, .noise = 0.04}}, 2, 2},
      {"two thumps in silence", {{.thump = 0.9}, {.heart = 0.05, .noise = 0.04}}, 2, 2},
      {"a heart with a sample that is no number", {{.noise = 0.1}, {.heart = 0.05, .noise = 0.005, .stray = NAN}}, 2, 2},
      {"noise with a sample that is no number", {{.noise = 0.1, .stray = NAN}, {.heart = 0.05, .noise = 0.005}}, 2, 2},
      {"a heart with a sample beyond all measure", {{.noise = 0.1}, {.heart = 0.05, .noise = 0.005, .stray = 1e30}}, 2, 2},
      {"no noise at all", {{.noise = 0.1}, {.heart = 0.05}}, 2, 2},
  };
  int failures = 0;
  for (size_t i = 0; i < sizeof table / sizeof *table; i++)
    for (double gain = 0.01; gain < 2; gain *= 100) {
      const int used = chosen(table[i].sounds, table[i].channels, 20, gain);
      if (used != table[i].want) print_error("%s at gain %g: channel %d\n", table[i].name, gain, used), failures++;
    }
  assert_int_equal(failures, 0);
}

static void a_short_recording_gives_the_channel_with_sound(void **state) {
  (void)state;
  const sound sounds[2] = {{.heart = 0}, {.noise = 0.1}};
  assert_int_equal(chosen(sounds, 2, 1, 1), 2);
  assert_int_equal(chosen(sounds, 2, 0.1, 1), 2);
  assert_in_range(chosen(sounds, 2, 1.0 / FS_HZ, 1), 1, 2);
}

// The heart is in the first channel for 20 s, then in the second. A part that ends within a block is no longer than it is.
static void the_channel_is_that_of_the_part(void **state) {
  (void)state;
  enum { N = 20 * FS_HZ };
  const sound heart = {.heart = 0.05, .noise = 0.005}, room = {.noise = 0.1};
  float *x = calloc(4 * N, sizeof *x);
  add(x, N, 2, heart, 1);
  add(x + 1, N, 2, room, 2);
  add(x + 2 * N, N, 2, room, 3);
  add(x + 2 * N + 1, N, 2, heart, 4);
  assert_int_equal(choice_for(x, 2 * N, 2, FS_HZ, 0, N), 1);
  assert_int_equal(choice_for(x, 2 * N, 2, FS_HZ, N, SIZE_MAX), 2);
  assert_int_equal(choice_for(x, 2 * N, 2, FS_HZ, N + 5 * FS_HZ, 2 * N), 2);
  for (size_t i = 0; i < N; i++) x[2 * i] = x[2 * i + 1] = 0; // of silent channels the first
  assert_int_equal(choice_for(x, 2 * N, 2, FS_HZ, 100, N), 1);
  free(x);
}

static void sixty_four_channels_are_looked_at(void **state) {
  (void)state;
  sound sounds[64] = {0};
  for (int i = 0; i < 64; i++) sounds[i].noise = 0.1;
  sounds[40] = (sound){.heart = 0.1, .noise = 0.01};
  assert_int_equal(chosen(sounds, 64, 12, 1), 41);
}

// Beats that come now later, now sooner, beside a room that hears voices and breath, which have a time of their own.
static void an_uneven_heart_is_told_from_its_room(void **state) {
  (void)state;
  static const gn_synth_rhythm_kind rhythms[] = {GN_SYNTH_IRREGULAR, GN_SYNTH_CYCLIC};
  int wrong = 0;
  for (size_t k = 0; k < 2; k++)
    for (uint64_t seed = 41; seed <= 60; seed++) {
      gn_synth_spec spec;
      gn_synth_spec_init(&spec);
      spec.bpm = 34;
      spec.rhythm = rhythms[k];
      spec.noise = GN_SYNTH_VOICE | GN_SYNTH_BREATH;
      spec.snr_db = 14;
      spec.seconds = 20;
      spec.channels = 2;
      spec.seed = seed;
      gn_synth *synth = gn_synth_new(&spec, NULL);
      assert_non_null(synth);
      const size_t n = gn_synth_frames(synth);
      float *x = calloc(2 * n, sizeof *x);
      assert_int_equal(gn_synth_read(synth, x, n, NULL), n);
      wrong += choice(x, n, 2, spec.rate_hz) != 1;
      gn_synth_free(synth);
      free(x);
    }
  assert_in_range(wrong, 0, 1); // of 40
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_channel_that_beats_is_chosen),
      cmocka_unit_test(a_short_recording_gives_the_channel_with_sound),
      cmocka_unit_test(the_channel_is_that_of_the_part),
      cmocka_unit_test(sixty_four_channels_are_looked_at),
      cmocka_unit_test(an_uneven_heart_is_told_from_its_room),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
