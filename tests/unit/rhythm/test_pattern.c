// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include "beats.h"

#include "base/random.h"

// Simulated series with known pattern. The generator shares no constant with the classifier.
typedef enum kind { EVEN_HEART, SETTLING, BREATHING, DROPPING, EARLY, NO_PATTERN, N_KINDS } kind;
static const girthline_pattern TRUTH[N_KINDS] = {GIRTHLINE_REGULAR, GIRTHLINE_REGULAR, GIRTHLINE_CYCLIC, GIRTHLINE_PAUSES, GIRTHLINE_EARLY_BEATS, GIRTHLINE_IRREGULAR};

static double between(gn_random *g, double lo, double hi) { return lo + (hi - lo) * gn_random_uniform(g); }

typedef struct heart { kind k; double usual_s, swing, period_s, phase, coupling, spread; int every, count; double early; } heart;

static heart make_heart(kind k, gn_random *g) {
  heart h = {.k = k, .usual_s = 60 / between(g, 30, k == DROPPING ? 44 : 130), .swing = between(g, 0.11, 0.17), .phase = between(g, 0, 6), .coupling = between(g, 0.55, 0.8)};
  h.spread = between(g, 0.17, 0.33);
  h.period_s = h.usual_s * between(g, 3, 8);
  h.every = 3 + (int)gn_random_below(g, k == DROPPING ? 4 : 6);
  h.count = (int)gn_random_below(g, 3);
  return h;
}

static double next_s(heart *h, double t, gn_random *g) {
  const double even = h->usual_s * (1 + 0.01 * gn_random_normal(g));
  switch (h->k) {
  case SETTLING: return even / (1 + 0.3 * exp(-t / 6));
  case BREATHING: return even * (1 + h->swing * sin(6.283 * t / h->period_s + h->phase));
  case DROPPING: return ++h->count % h->every == 0 ? 1.97 * even : even;
  case EARLY:
    if (h->early > 0) {
      const double after = even * (2 - h->early);
      h->early = 0;
      return after;
    }
    if (++h->count % (h->every + 1) == 0) h->early = h->coupling;
    return h->early > 0 ? even * h->early : even;
  case NO_PATTERN: return h->usual_s * fmax(0.45, exp(h->spread * gn_random_normal(g)));
  case EVEN_HEART:
  case N_KINDS: break;
  }
  return even;
}

static girthline_result *listen(heart h, double to_s, double jitter_s, double missed, gn_random *g) {
  double onsets[400];
  float confidence[400];
  size_t n = 0;
  for (double t = between(g, 0, h.usual_s); t < to_s; t += next_s(&h, t, g)) {
    onsets[n] = t + jitter_s * gn_random_normal(g);
    confidence[n] = (float)between(g, 0.85, 1);
    if (gn_random_uniform(g) < missed) {
      onsets[n] += between(g, -0.1, 0.1) * h.usual_s;
      if (gn_random_uniform(g) < 0.5) onsets[n] = NAN;
      confidence[n] = 0.3f;
    }
    n++;
  }
  girthline_result *r = with_beats(onsets, n, to_s);
  for (size_t i = 0; i < n; i++) r->beats[i].confidence = confidence[i];
  return r;
}

static double share_right(kind k, double to_s, double jitter_s, double missed) {
  gn_random g = gn_random_of(100 + (uint64_t)k);
  int right = 0;
  for (int i = 0; i < 200; i++) {
    girthline_result *r = listen(make_heart(k, &g), to_s, jitter_s, missed, &g);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 1000 * jitter_s * 1.414), GIRTHLINE_OK);
    assert_true(r->rhythm.explanation[0] != '\0');
    if (r->rhythm.pattern != GIRTHLINE_PATTERN_UNDETERMINED) assert_true(r->rhythm.confidence > 0 && r->rhythm.confidence <= 1);
    right += r->rhythm.pattern == TRUTH[k];
    girthline_result_free(r);
  }
  return right / 200.0;
}

static void patterns_are_named_in_30_seconds(void **state) {
  (void)state;
  for (kind k = EVEN_HEART; k < N_KINDS; k++) {
    const double right = share_right(k, 30, 0.006, 0);
    if (right < 0.97) print_error("kind %d: %.3f right\n", (int)k, right);
    assert_true(right >= 0.97);
  }
}

static void missed_beats_known_as_such_spoil_no_pattern(void **state) {
  (void)state;
  for (kind k = EVEN_HEART; k < N_KINDS; k++) {
    const double right = share_right(k, 40, 0.008, 0.05);
    if (right < 0.95) print_error("kind %d: %.3f right\n", (int)k, right);
    assert_true(right >= 0.95);
  }
}

static void a_regular_heart_is_never_irregular_because_a_beat_was_missed(void **state) {
  (void)state;
  gn_random g = gn_random_of(5);
  for (int i = 0; i < 300; i++) {
    girthline_result *r = listen(make_heart(i % 2 ? EVEN_HEART : SETTLING, &g), 30, 0.008, 0.1, &g);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 11), GIRTHLINE_OK);
    assert_true(r->rhythm.pattern == GIRTHLINE_REGULAR || r->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED);
    girthline_result_free(r);
  }
}

static void a_marked_breathing_arrhythmia_of_a_dog_is_cyclic(void **state) {
  (void)state;
  double onsets[200];
  size_t n = 0;
  for (double t = 0.2; t < 30; t += 0.65 * (1 + 0.3 * sin(6.283 * t / 4.1))) onsets[n++] = t;
  girthline_result *r = with_beats(onsets, n, 30);
  r->settings.species = GIRTHLINE_DOG;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 4), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_CYCLIC);
  girthline_result_free(r);
}

// Breathing alone; then with one beat dropped, the interval twice what the wave gives there, and one that comes at half of it. 25 to 40 % either
// way is what resting dogs' breathing can do; intervals and phase are drawn.
static void a_dog_s_breathing_makes_neither_pauses_nor_early_beats_and_hides_none(void **state) {
  (void)state;
  gn_random g = gn_random_of(32);
  int dropped = 0, early = 0;
  for (int k = 0; k < 60; k++) {
    double onsets[200];
    size_t n = 0;
    const double swing = between(&g, 0.25, 0.4), phase = between(&g, 0, 6), turn_s = between(&g, 3, 5);
    const bool events = k % 3 == 2;
    for (double t = 0.2; t < 40; n++) {
      onsets[n] = t;
      const double here_s = 0.65 * (1 + swing * sin(6.283 * t / turn_s + phase)) * (1 + 0.01 * gn_random_normal(&g));
      t += events && n == 20 ? 2.1 * here_s : events && n == 35 ? 0.5 * here_s : here_s;
    }
    girthline_result *r = with_beats(onsets, n, 40);
    r->settings.species = GIRTHLINE_DOG;
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 4), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, GIRTHLINE_CYCLIC);
    assert_true(r->rhythm.n_pauses <= events && r->rhythm.n_early <= events);
    if (r->rhythm.n_pauses) assert_near(r->rhythm.pauses[0].span.start_s, onsets[20], 1e-9);
    if (r->rhythm.n_early) assert_near(r->rhythm.early[0].onset_s, onsets[36], 1e-9);
    dropped += (int)r->rhythm.n_pauses;
    early += (int)r->rhythm.n_early;
    girthline_result_free(r);
  }
  assert_true(dropped >= 14 && early >= 10); // of 20 each: where the wave is at its shortest, twice as long is no pause, and at its longest half is not early
}

static void one_wrong_onset_does_not_hide_a_breathing_rhythm(void **state) {
  (void)state;
  int cyclic = 0;
  gn_random g = gn_random_of(31);
  for (int k = 0; k < 40; k++) {
    double onsets[200];
    size_t n = 0;
    const double phase = between(&g, 0, 6);
    for (double t = 0.2; t < 15; t += 1.05 * (1 + 0.13 * sin(6.283 * t / 5.3 + phase))) onsets[n++] = t;
    onsets[3 + gn_random_below(&g, 8)] += 0.25;
    girthline_result *r = with_beats(onsets, n, 15);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
    cyclic += r->rhythm.pattern == GIRTHLINE_CYCLIC;
    girthline_result_free(r);
  }
  assert_true(cyclic >= 30);
}

static void single_pauses_and_early_beats_are_listed_whatever_the_pattern(void **state) {
  (void)state;
  double ms[40];
  for (size_t i = 0; i < 40; i++) ms[i] = 1500 + 15 * (double)(i % 3);
  ms[20] = 3000;
  ms[30] = 950, ms[31] = 2050;
  girthline_result *r = with_intervals_ms(ms, 40, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_int_equal(r->rhythm.n_pauses, 1);
  assert_near(r->rhythm.pauses[0].ratio, 2, 0.02);
  assert_int_equal(r->rhythm.pauses[0].n_atrial, 0);
  assert_int_equal(r->rhythm.n_early, 1);
  assert_near(r->rhythm.early[0].ratio, 0.63, 0.01);
  assert_near(r->rhythm.longest_interval_s, 3, 1e-9);
  girthline_result_free(r);
}

static void two_and_three_dropped_beats_keep_their_ratio(void **state) {
  (void)state;
  const double ms[] = {1600, 1600, 1600, 4800, 1600, 1600, 1600, 1600, 6400, 1600, 1600, 1600};
  girthline_result *r = with_intervals_ms(ms, 12, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_PAUSES);
  assert_int_equal(r->rhythm.n_pauses, 2);
  assert_near(r->rhythm.pauses[0].ratio, 3, 1e-9);
  assert_near(r->rhythm.pauses[1].ratio, 4, 1e-9);
  girthline_result_free(r);
}

static void a_sound_alone_in_a_pause_is_the_atrias_only_where_a_dropped_beats_belongs(void **state) {
  (void)state;
  const double ms[] = {1600, 1600, 1600, 4800, 1600, 1600, 1600, 1600, 3200, 1600, 1600, 1600};
  // The first pause begins at 5.0 s and the second at 16.2 s: sounds belong 0.2 s ahead of 6.6, 8.2 and 17.8 s.
  const double lone[] = {3.0, 6.1, 6.3, 6.45, 6.55, 7.2, 8.1, 17.2, 18.0};
  girthline_extra s4 = {.kind = GIRTHLINE_EXTRA_S4, .delay_s = 0.2};
  for (int heard = 0; heard < 2; heard++) {
    girthline_result *r = with_intervals_ms(ms, 12, 0.2);
    r->extras = heard ? &s4 : NULL;
    r->n_extras = (size_t)heard;
    assert_int_equal(gn_rhythm_run(r, lone, sizeof lone / sizeof *lone, 3), GIRTHLINE_OK);
    r->extras = NULL;
    r->n_extras = 0;
    assert_int_equal(r->rhythm.n_pauses, 2);
    assert_int_equal(r->rhythm.pauses[0].n_atrial, heard ? 2 : 0);
    assert_int_equal(r->rhythm.pauses[1].n_atrial, 0);
    if (heard) assert_near(r->rhythm.pauses[0].atrial_onset_s[0], 6.45, 0);
    if (heard) assert_near(r->rhythm.pauses[0].atrial_onset_s[1], 8.1, 0);
    girthline_result_free(r);
  }
}

static void one_invented_beat_makes_no_early_beats(void **state) {
  (void)state;
  double onsets[31];
  size_t n = 0;
  for (size_t i = 0; i < 30; i++) {
    onsets[n++] = 1.5 * (double)i;
    if (i == 14) onsets[n++] = 1.5 * (double)i + 0.68;
  }
  girthline_result *r = with_beats(onsets, n, 45);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_int_equal(r->rhythm.n_early, 0);
  girthline_result_free(r);
}

// Every ninth beat comes 6 % early, every twenty-seventh 22 %, and a long interval follows: as ventricular beats of a fast heart do.
static void hardly_early_beats_with_long_intervals_after_are_a_pattern_and_the_early_ones_are_listed(void **state) {
  (void)state;
  gn_random g = gn_random_of(31);
  double ms[200];
  size_t n_early = 0;
  for (size_t i = 0; i < 200; i++) {
    ms[i] = 570 * (1 + 0.045 * gn_random_normal(&g));
    if (i % 9 == 5) ms[i] = 570 * (i % 27 == 5 ? 0.78 : 0.94), n_early += i % 27 == 5;
    if (i % 9 == 6) ms[i] = 570 * 1.3;
  }
  girthline_result *r = with_intervals_ms(ms, 200, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_EARLY_BEATS);
  assert_true(r->rhythm.n_early >= n_early && r->rhythm.n_early <= n_early + 2);
  assert_non_null(strstr(r->rhythm.explanation, "a little early"));
  girthline_result_free(r);
}

static void two_short_intervals_make_a_long_even_series_neither_irregular_nor_a_pattern(void **state) {
  (void)state;
  gn_random g = gn_random_of(32);
  double ms[200];
  for (size_t i = 0; i < 200; i++) ms[i] = 1400 * (1 + 0.05 * fmin(2, fmax(-2, gn_random_normal(&g))));
  ms[60] = 1400 * 0.80;
  ms[130] = 1400 * 0.82;
  girthline_result *r = with_intervals_ms(ms, 200, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_true(r->rhythm.n_early >= 2);
  girthline_result_free(r);
}

static void false_beats_in_a_very_even_heart_do_not_make_it_irregular(void **state) {
  (void)state;
  double ms[29];
  for (size_t i = 0; i < 29; i++) ms[i] = 1500 * (i % 3 ? 1.008 : 0.99);
  ms[9] = 0.70 * 1500, ms[10] = 0.55 * 1500; // a false beat and a late one
  ms[20] = 0.62 * 1500, ms[21] = 0.66 * 1500;
  girthline_result *r = with_intervals_ms(ms, 29, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 5), GIRTHLINE_OK);
  assert_int_not_equal(r->rhythm.pattern, GIRTHLINE_IRREGULAR);
  girthline_result_free(r);
}

// Beats heard twice again and again: two short intervals that make one usual one are no part of the spread.
static void beats_heard_twice_leave_an_even_heart_even(void **state) {
  (void)state;
  double onsets[60];
  size_t n = 0;
  for (size_t i = 0; i < 24; i++) {
    onsets[n++] = 1.5 * (double)i;
    if (i % 4 == 1) onsets[n++] = 1.5 * (double)i + 0.72;
  }
  girthline_result *r = with_beats(onsets, n, 36);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_REGULAR);
  assert_int_equal(r->rhythm.n_early, 0);
  assert_int_equal(r->rhythm.n_pauses, 0);
  assert_non_null(strstr(r->rhythm.explanation, "they spread 0.0 %"));
  girthline_result_free(r);
}

// The words tell what was put in: a wave of 12 % about every 5.0 s; intervals of which a third each is 2 % short, usual and 2 % long.
static void the_words_tell_the_numbers_that_were_put_in(void **state) {
  (void)state;
  double onsets[200], ms[60];
  size_t n = 0;
  for (double t = 0.2; t < 40; t += 0.8 * (1 + 0.12 * sin(6.283185 * (t + 0.4) / 5))) onsets[n++] = t;
  girthline_result *r = with_beats(onsets, n, 40);
  double swing = 0, period_s = 0, explained = 0;
  size_t used = 0;
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_int_equal(r->rhythm.pattern, GIRTHLINE_CYCLIC);
  assert_int_equal(sscanf(r->rhythm.explanation, "The intervals lengthen and shorten smoothly by %lf %% either way, about every %lf s; this wave explains %lf %% of their variance (%zu",
                          &swing, &period_s, &explained, &used), 4);
  assert_near(swing, 12, 1);
  assert_near(period_s, 5, 0.15);
  assert_near(explained, 98, 2);
  assert_int_equal(used, n - 1);
  girthline_result_free(r);
  for (size_t i = 0; i < 60; i++) ms[i] = 1500 * (0.98 + 0.02 * (double)((i * 7 + i / 9) % 3));
  r = with_intervals_ms(ms, 60, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_string_equal(r->rhythm.explanation, "The intervals are even: they spread 2.0 % about the usual one (60 intervals).");
  girthline_result_free(r);
  ms[30] = 1050, ms[31] = 1950, ms[45] = ms[50] = 3000; // so few are told of, and make no pattern
  r = with_intervals_ms(ms, 60, 0.2);
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  assert_string_equal(r->rhythm.explanation, "The intervals are even but for 1 early beat and 2 pauses: the others spread 2.0 % about the usual one (60 intervals).");
  girthline_result_free(r);
}

static double confidence_of(const double *ms, size_t n, size_t n_unsure) {
  girthline_result *r = with_intervals_ms(ms, n, 0.2);
  for (size_t i = 0; i < n_unsure; i++) r->beats[2 + 3 * i].confidence = 0.3f; // each takes two intervals
  assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
  const double c = r->rhythm.confidence;
  girthline_result_free(r);
  return c;
}

static void a_pattern_is_surer_of_more_intervals_and_less_sure_of_spoilt_ones(void **state) {
  (void)state;
  double ms[40], before = 0;
  for (size_t i = 0; i < 40; i++) ms[i] = 1500 + 15 * (double)(i % 3);
  for (size_t n = 5; n <= 40; n++) {
    const double c = confidence_of(ms, n, 0);
    assert_true(c > before && c < 1);
    before = c;
  }
  assert_true(before > 0.95);
  assert_near(before - confidence_of(ms, 40, 4), 0.2 * 8 / 40, 0.001); // a fifth for all of them; 32 instead of 40 intervals are as sure
  ms[20] = 3000;
  assert_near(before - confidence_of(ms, 40, 0), 0.1, 0.001); // one pause that makes no pattern
  ms[4] = 3000, ms[8] = 3000;
  assert_near(confidence_of(ms, 12, 0) - confidence_of(ms + 5, 12, 0), 0.1, 0.001); // two pauses, and one that makes a pattern
  gn_random g = gn_random_of(7);
  for (size_t i = 0; i < 40; i++) ms[i] = 1500 * (0.92 + 0.08 * (double)gn_random_below(&g, 3));
  assert_true(confidence_of(ms, 40, 0) < 0.75); // its spread of 8 % lies a little under the limit of 8.5
}

// Two pauses in sixty intervals may be beats missed, unless an atrial sound stands alone in each of them.
static void rare_pauses_are_a_pattern_where_an_atrial_sound_stands_in_two(void **state) {
  (void)state;
  double ms[60];
  for (size_t i = 0; i < 60; i++) ms[i] = i == 20 || i == 40 ? 3000 : 1500 + 15 * (double)(i % 3);
  for (size_t n_lone = 0; n_lone <= 2; n_lone++) {
    girthline_result *r = with_intervals_ms(ms, 60, 0.2);
    const double lone_s[] = {r->beats[20].s1_onset_s + 1.3, r->beats[40].s1_onset_s + 1.3};
    girthline_extra s4 = {.kind = GIRTHLINE_EXTRA_S4, .delay_s = 0.2}; // ahead of S1 where a beat follows
    r->extras = &s4;
    r->n_extras = 1;
    assert_int_equal(gn_rhythm_run(r, lone_s, n_lone, 3), GIRTHLINE_OK);
    r->extras = NULL;
    r->n_extras = 0;
    assert_int_equal(r->rhythm.n_pauses, 2);
    assert_int_equal(r->rhythm.pattern, n_lone == 2 ? GIRTHLINE_PAUSES : GIRTHLINE_REGULAR);
    girthline_result_free(r);
  }
}

static void fewer_than_five_usable_intervals_carry_no_pattern(void **state) {
  (void)state;
  const double ms[] = {1500, 1500, 1500, 1500, 1500};
  for (size_t n = 0; n <= 5; n++) {
    girthline_result *r = with_intervals_ms(ms, n, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.pattern, n < 5 ? GIRTHLINE_PATTERN_UNDETERMINED : GIRTHLINE_REGULAR);
    girthline_result_free(r);
  }
}

// Whichever of the intervals it is, the first and the last too.
static void a_single_pause_is_listed_wherever_it_stands(void **state) {
  (void)state;
  for (size_t at = 0; at < 12; at++) {
    double ms[12];
    for (size_t i = 0; i < 12; i++) ms[i] = i == at ? 3200 : 1600;
    girthline_result *r = with_intervals_ms(ms, 12, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.n_pauses, 1);
    assert_near(r->rhythm.pauses[0].span.start_s, 0.2 + 1.6 * (double)at, 1e-9);
    assert_near(r->rhythm.pauses[0].span.end_s, 3.4 + 1.6 * (double)at, 1e-9);
    assert_near(r->rhythm.pauses[0].ratio, 2, 1e-9);
    girthline_result_free(r);
  }
}

// A heart that quickens by 1.5 % with every beat: a pause of two of the intervals around it is twice the usual one, early and late.
static void the_usual_interval_is_that_of_the_beats_around(void **state) {
  (void)state;
  for (size_t at = 4; at < 32; at++) {
    double ms[36];
    for (size_t i = 0; i < 36; i++) ms[i] = 2000 * pow(0.985, (double)i) * (i == at ? 2 : 1);
    girthline_result *r = with_intervals_ms(ms, 36, 0.2);
    assert_int_equal(gn_rhythm_run(r, NULL, 0, 3), GIRTHLINE_OK);
    assert_int_equal(r->rhythm.n_pauses, 1);
    assert_near(r->rhythm.pauses[0].ratio, 2, 0.05);
    girthline_result_free(r);
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_single_pause_is_listed_wherever_it_stands),
      cmocka_unit_test(the_usual_interval_is_that_of_the_beats_around),
      cmocka_unit_test(patterns_are_named_in_30_seconds),
      cmocka_unit_test(missed_beats_known_as_such_spoil_no_pattern),
      cmocka_unit_test(a_regular_heart_is_never_irregular_because_a_beat_was_missed),
      cmocka_unit_test(a_marked_breathing_arrhythmia_of_a_dog_is_cyclic),
      cmocka_unit_test(a_dog_s_breathing_makes_neither_pauses_nor_early_beats_and_hides_none),
      cmocka_unit_test(one_wrong_onset_does_not_hide_a_breathing_rhythm),
      cmocka_unit_test(single_pauses_and_early_beats_are_listed_whatever_the_pattern),
      cmocka_unit_test(two_and_three_dropped_beats_keep_their_ratio),
      cmocka_unit_test(a_sound_alone_in_a_pause_is_the_atrias_only_where_a_dropped_beats_belongs),
      cmocka_unit_test(one_invented_beat_makes_no_early_beats),
      cmocka_unit_test(hardly_early_beats_with_long_intervals_after_are_a_pattern_and_the_early_ones_are_listed),
      cmocka_unit_test(two_short_intervals_make_a_long_even_series_neither_irregular_nor_a_pattern),
      cmocka_unit_test(false_beats_in_a_very_even_heart_do_not_make_it_irregular),
      cmocka_unit_test(beats_heard_twice_leave_an_even_heart_even),
      cmocka_unit_test(the_words_tell_the_numbers_that_were_put_in),
      cmocka_unit_test(a_pattern_is_surer_of_more_intervals_and_less_sure_of_spoilt_ones),
      cmocka_unit_test(rare_pauses_are_a_pattern_where_an_atrial_sound_stands_in_two),
      cmocka_unit_test(fewer_than_five_usable_intervals_carry_no_pattern),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
