// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "sample_result.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"

#define DURATION_S 30.0
#define RATE_HZ 4000
#define SYSTOLE_S 0.44
#define N_BEATS 16

// First sounds: about 1.7 s apart, a pause of twice that after the fifth, one early beat at the eleventh.
static const double ONSETS_S[N_BEATS] = {0.62, 2.30, 4.01, 5.73, 7.42, 10.83, 12.52, 14.20, 15.93, 17.64, 18.71, 21.10, 22.80, 24.49, 26.20, 27.88};

const char *const SAMPLE_HOSTILE[] = {"</title><script>document.title='owned'</script>",
                                      "\"><img src=x onerror=document.title='owned'>",
                                      "' onmouseover='document.title=1",
                                      "]]><!-- -->&lt;b&gt;&#60;script&#62;",
                                      "\xE2\x80\xAE"
                                      "gpj.wav\x1B[31m\x07\x7F\xC2\x9B",
                                      "bad\xFF\xC0\xAF\xED\xA0\x80 utf8",
                                      "line\nbreak\ttab\r",
                                      NULL};

static void beats(girthline_result *r) {
  r->n_beats = N_BEATS;
  r->beats = gn_new(N_BEATS, sizeof *r->beats);
  for (int i = 0; i < N_BEATS; i++) r->beats[i] = (girthline_beat){ONSETS_S[i], ONSETS_S[i] + SYSTOLE_S, 0.045F, 0.125F, 0.03F, 0.085F, 0.96F, 0.98F, 0};
}

static void rhythm(girthline_result *r) {
  girthline_rhythm *y = &r->rhythm;
  y->pattern = GIRTHLINE_PAUSES;
  y->confidence = 0.92;
  snprintf(y->explanation, sizeof y->explanation, "The intervals are steady at 1.70 s but for one pause of twice that length and one beat that came early.");
  y->n_intervals = N_BEATS - 1;
  y->intervals = gn_new(y->n_intervals, sizeof *y->intervals);
  for (int i = 0; i < N_BEATS - 1; i++) y->intervals[i] = (girthline_interval){{ONSETS_S[i], ONSETS_S[i + 1]}, i != 13};
  y->used_count = y->n_intervals - 1;
  y->mean_interval_s = 1.8171;
  y->sdnn_ms = 493.2;
  y->rmssd_ms = 812.7;
  y->interval_cv_percent = 27.14;
  y->pnn50_percent = 42.86;
  y->sd1_ms = 575.4;
  y->sd2_ms = 398.2;
  y->onset_jitter_ms = 6.3;
  y->longest_interval_s = 3.41;
  y->n_pauses = 1;
  y->pauses = gn_new(1, sizeof *y->pauses);
  y->pauses[0] = (girthline_pause){{7.42, 10.83}, 2.01, {8.93}, 1};
  y->n_early = 1;
  y->early = gn_new(1, sizeof *y->early);
  y->early[0] = (girthline_early){18.71, 0.63};
  gn_result_undetermine(r, "/rhythm/sample_entropy", "The recording has %d intervals; sample entropy needs 200.", N_BEATS - 1);
}

static void rate(girthline_result *r) {
  r->rate = (girthline_rate){35.3, 33.02, 35.1, 0.62, 32, 38, gn_new(2, sizeof(girthline_counted)), 2, {28, 44}, GIRTHLINE_WITHIN};
  r->rate.counted[0] = (girthline_counted){{0, 15}, 8, 32};
  r->rate.counted[1] = (girthline_counted){{15, 30}, 9, 36};
}

static void murmur(girthline_result *r) {
  r->murmur.present = GIRTHLINE_YES;
  r->murmur.detection_limit_db[0] = -24.2;
  r->murmur.detection_limit_db[1] = -22.6;
  r->murmur.n_phases = 1;
  r->murmur.phases[0] = (girthline_murmur_phase){GIRTHLINE_SYSTOLE,
                                                 GIRTHLINE_EARLY,
                                                 GIRTHLINE_CRESCENDO_DECRESCENDO,
                                                 -11.4,
                                                 {-12.6, -10.3},
                                                 GIRTHLINE_SOFTER,
                                                 142,
                                                 {80, 260},
                                                 GIRTHLINE_NO,
                                                 0.93,
                                                 GIRTHLINE_YES,
                                                 0.88,
                                                 0.3,
                                                 0.75};
  r->n_extras = 1;
  r->extras = gn_new(1, sizeof *r->extras);
  r->extras[0] = (girthline_extra){GIRTHLINE_EXTRA_S4, 0.75, 0.18, -14, 0.8, gn_new(12, sizeof(double)), 12};
  for (int i = 0; i < 12; i++) r->extras[0].onsets_s[i] = ONSETS_S[i] - 0.18;
}

static void quality(girthline_result *r) {
  girthline_quality *q = &r->quality;
  q->grade = GIRTHLINE_FAIR;
  snprintf(q->grade_reason, sizeof q->grade_reason, "Breathing covers the beats for 2.4 s and a thump of the chest piece for 0.6 s.");
  q->usable_s = 27.0;
  q->heart_to_noise_db = 17.3;
  q->clipped_fraction = 0.0004;
  q->hum_hz = 0;
  q->breaths_per_min = 12;
  q->best_span = (girthline_span){10.83, 21.10};
  q->n_problems = 2;
  q->problems = gn_new(2, sizeof *q->problems);
  q->problems[0] = (girthline_problem){{2.9, 3.5}, GIRTHLINE_HANDLING};
  q->problems[1] = (girthline_problem){{22.9, 25.3}, GIRTHLINE_BREATHING};
}

static void finding(girthline_finding *f, girthline_urgency urgency, const char *kind, const char *const texts[3]) {
  f->kind = kind;
  f->urgency = urgency;
  f->text = gn_strdup(texts[0]);
  f->advice = gn_strdup(texts[1]);
  f->evidence = gn_strdup(texts[2]);
}

static void findings(girthline_result *r) {
  r->n_findings = 2;
  r->findings = gn_new(2, sizeof *r->findings);
  finding(&r->findings[0], GIRTHLINE_SOON, "pauses",
          (const char *const[]){"One pause of 2.0 usual intervals, with a lone fourth sound in it.",
                                "An ECG at rest settles what the pause is; exercise only on a veterinarian's decision.",
                                "7.4 to 10.8 s, against a usual interval of 1.70 s."});
  finding(&r->findings[1], GIRTHLINE_ROUTINE, "murmur-systole",
          (const char *const[]){"A soft murmur early in systole that ends before the second sound.",
                                "Listen at each valve area; an echocardiography settles where it comes from if it is new or louder than before.",
                                "11 dB softer than S1 in 93 % of the clean beats."});
}

static double pulse(double t, double length_s, double hz) { return t > 0 && t < length_s ? sin(3.14159265 * t / length_s) * sin(6.2831853 * hz * t) : 0; }

static double sound_at(double t, uint32_t *seed) {
  double sum = 0;
  *seed = *seed * 1664525U + 1013904223U;
  const double noise = (double)(*seed >> 8) / (1 << 23) - 1;
  for (int i = 0; i < N_BEATS; i++) {
    const double at = t - ONSETS_S[i];
    if (at < -0.4 || at > 0.7) continue;
    sum += 0.5 * pulse(at, 0.125, 38) + 0.32 * pulse(at - SYSTOLE_S, 0.085, 55) + 0.1 * pulse(at + 0.18, 0.09, 28);
    if (at > 0.13 && at < 0.33) sum += 0.12 * noise * sin(3.14159265 * (at - 0.13) / 0.2);
  }
  if (t > 2.9 && t < 3.5) sum += 0.9 * pulse(t - 2.9, 0.6, 15);
  if (t > 22.9 && t < 25.3) sum += 0.16 * noise;
  return sum + 0.012 * noise;
}

void sample_sound(void **data, size_t *n_bytes) {
  const size_t n = (size_t)(DURATION_S * RATE_HZ);
  const uint32_t numbers[] = {(uint32_t)(36 + 2 * n), RATE_HZ, RATE_HZ * 2, (uint32_t)(2 * n)};
  const size_t places[] = {4, 24, 28, 40};
  unsigned char *wav = calloc(1, 44 + 2 * n);
  uint32_t seed = 1;
  memcpy(wav, "RIFF....WAVEfmt \x10\0\0\0\1\0\1\0........\2\0\x10\0data", 40);
  for (int k = 0; k < 4; k++)
    for (size_t i = 0; i < 4; i++) wav[places[k] + i] = (unsigned char)(numbers[k] >> 8 * i);
  for (size_t i = 0; i < n; i++) {
    const double value = fmin(fmax(sound_at((double)i / RATE_HZ, &seed), -1), 0.999);
    const int sample = (int)lrint(value * 32768);
    wav[44 + 2 * i] = (unsigned char)(sample & 255);
    wav[45 + 2 * i] = (unsigned char)(sample >> 8 & 255);
  }
  *data = wav;
  *n_bytes = 44 + 2 * n;
}

// The same each time, and made once: a fuzzer asks for it thousands of times.
static void fill_overview(float *least, float *most) {
  uint32_t seed = 1;
  const int per = (int)(DURATION_S * RATE_HZ) / GIRTHLINE_OVERVIEW_N;
  for (int i = 0; i < GIRTHLINE_OVERVIEW_N; i++) {
    least[i] = INFINITY;
    most[i] = -INFINITY;
    for (int k = 0; k < per; k++) {
      const float s = (float)sound_at((double)(i * per + k) / RATE_HZ, &seed);
      least[i] = fminf(least[i], s);
      most[i] = fmaxf(most[i], s);
    }
  }
}

static void overview(girthline_pictures *p) {
  static float least[GIRTHLINE_OVERVIEW_N], most[GIRTHLINE_OVERVIEW_N];
  static bool is_filled;
  if (!is_filled) fill_overview(least, most);
  is_filled = true;
  p->n_overview = GIRTHLINE_OVERVIEW_N;
  p->overview_step_s = DURATION_S / GIRTHLINE_OVERVIEW_N;
  memcpy(p->overview_min, least, sizeof least);
  memcpy(p->overview_max, most, sizeof most);
}

static void cycle(girthline_pictures *p) {
  static const double EDGES[] = {20, 50, 100, 200, 400, 700};
  p->n_cycle_beats = 13;
  p->cycle_start_s = -0.25;
  p->cycle_step_s = 2.0 / GIRTHLINE_CYCLE_BINS;
  p->cycle_systole_s = SYSTOLE_S;
  p->cycle_interval_s = 1.70;
  for (int b = 0; b < GIRTHLINE_CYCLE_BANDS; b++) {
    p->cycle_band_hz[b][0] = EDGES[b];
    p->cycle_band_hz[b][1] = EDGES[b + 1];
    for (int i = 0; i < GIRTHLINE_CYCLE_BINS; i++) {
      const double t = p->cycle_start_s + (i + 0.5) * p->cycle_step_s, murmur_db = b >= 2 ? 14 - 3 * (b - 2) : 3;
      double db = 0.8 * sin(i * 1.7 + b);
      db = fmax(db, (32 - 7 * b) * exp(-pow((t - 0.06) / 0.06, 2)));
      db = fmax(db, (30 - 5 * b) * exp(-pow((t - SYSTOLE_S - 0.04) / 0.045, 2)));
      db = fmax(db, (32 - 7 * b) * exp(-pow((t - 1.76) / 0.07, 2)));
      db = fmax(db, murmur_db * exp(-pow((t - 0.24) / 0.08, 2)));
      if (b == 0) db = fmax(db, 12 * exp(-pow((t + 0.14) / 0.04, 2)));
      p->cycle_db[b][i] = (float)db;
      p->cycle_lo_db[b][i] = (float)(db - 1.5 - 0.1 * fabs(db));
      p->cycle_hi_db[b][i] = (float)(db + 1.5 + 0.1 * fabs(db));
    }
  }
}

static void recording(girthline_result *r) {
  girthline_recording *rec = &r->recording;
  rec->duration_s = rec->to_s = DURATION_S;
  rec->from_s = 0;
  rec->sample_rate_hz = RATE_HZ;
  rec->channels = rec->channel_used = 1;
  snprintf(rec->encoding, sizeof rec->encoding, "WAV, 16-bit PCM");
}

girthline_result *sample_result_full(void) {
  girthline_result *r = gn_result_new();
  recording(r);
  r->settings.side = GIRTHLINE_LEFT;
  r->settings.area = GIRTHLINE_AORTIC;
  r->settings.species_assumed = false;
  beats(r);
  rhythm(r);
  rate(r);
  murmur(r);
  quality(r);
  findings(r);
  overview(&r->pictures);
  cycle(&r->pictures);
  return r;
}

girthline_result *sample_result_empty(void) {
  static const char *const POINTERS[] = {"/rate/bpm",          "/rate/mean_bpm",  "/rate/settled_bpm", "/rate/settled_from_s",
                                         "/rate/min_bpm",      "/rate/max_bpm",   "/rate/standing",    "/rhythm/pattern",
                                         "/rhythm/confidence", "/murmur/present", "/quality/best_span"};
  girthline_result *r = gn_result_new();
  recording(r);
  r->quality.usable_s = 0;
  snprintf(r->quality.grade_reason, sizeof r->quality.grade_reason, "No heart sound stands out of the noise.");
  for (size_t i = 0; i < sizeof POINTERS / sizeof POINTERS[0]; i++) gn_result_undetermine(r, POINTERS[i], "No beat was found that could be relied on.");
  return r;
}
