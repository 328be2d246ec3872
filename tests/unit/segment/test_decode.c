// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "hear.h"

#include "base/random.h"
#include "segment/decode_parts.h"

#define PAD 100

static gn_model learnt(void) {
  return (gn_model){.n_s1 = 17, .n_s2 = 12, .systole_sd = 0.10, .interval_sd = 0.07, .long_share = 0.03, .short_share = 0.02};
}

static gn_durations tables(const gn_model *m, girthline_species species) {
  const girthline_profile *profile = hear_profile(species);
  const gn_lags lags = gn_lags_between(60 / profile->possible_bpm[1], 60 / profile->possible_bpm[0]);
  gn_durations d;
  assert_int_equal(gn_durations_init(&d, &lags, 100, profile), 0);
  gn_durations_fill(&d, m, profile, 0, (double)lags.n);
  return d;
}

static double sum_of(const float *row, size_t n, size_t from) {
  double sum = 0;
  for (size_t i = from; i < n; i++)
    if (row[i] > -1e29f) sum += exp((double)row[i]);
  return sum;
}

static void durations_are_probabilities(void **state) {
  (void)state;
  const gn_model m = learnt();
  for (girthline_species k = GIRTHLINE_HORSE; k < GIRTHLINE_N_SPECIES; k++) {
    gn_durations d = tables(&m, k);
    for (size_t j = 0; j < d.lags.n; j++) {
      const float *interval = d.interval + j * d.most_interval_n, *rest = d.survival + j * d.most_interval_n;
      assert_near(sum_of(interval, d.most_interval_n, 0), 1, 0.03);
      assert_near(sum_of(d.systole + j * d.most_systole_n, d.most_systole_n, 0), 1, 0.04);
      for (size_t r = 0; r < d.most_interval_n; r += 7) assert_near((double)rest[r], fmax(1e-6, sum_of(interval, d.most_interval_n, r + 1)), 1e-4);
    }
    gn_durations_clear(&d);
  }
}

static void the_chance_of_an_interval_is_that_of_its_row(void **state) {
  (void)state;
  const gn_model m = learnt();
  gn_durations d = tables(&m, GIRTHLINE_HORSE);
  for (size_t j = 0; j < d.lags.n; j += 5)
    for (size_t r = (size_t)d.period_n[0]; r < d.most_interval_n; r += 3)
      assert_near(gn_durations_interval_chance(&m, d.period_n[j], (double)r), d.chance[j * d.most_interval_n + r], 1e-8);
  gn_durations_clear(&d);
}

// The fastest horse has 240 beats a minute: one of 0.25 s may come a quarter early, and none earlier, whatever the period.
static void no_beat_comes_earlier_than_a_heart_of_the_kind_can(void **state) {
  (void)state;
  const gn_model m = learnt();
  gn_durations d = tables(&m, GIRTHLINE_HORSE);
  for (size_t j = 0; j < d.lags.n; j += 5) {
    const float *interval = d.interval + j * d.most_interval_n;
    for (size_t r = 0; (double)r < 0.7 * 0.25 * d.rate_hz; r++) assert_true(interval[r] <= GN_NEVER);
    if (d.period_n[j] < 0.5 * d.rate_hz) assert_true(interval[(size_t)(0.8 * 0.25 * d.rate_hz)] > GN_NEVER);
  }
  gn_durations_clear(&d);
}

static void before_anything_is_learnt_the_likeliest_duration_costs_nothing(void **state) {
  (void)state;
  gn_model m = learnt();
  m.generic = true;
  gn_durations d = tables(&m, GIRTHLINE_HORSE);
  for (size_t j = 0; j < d.lags.n; j++) {
    float top = -1e30f;
    for (size_t r = 0; r < d.most_interval_n; r++) top = fmaxf(top, d.interval[j * d.most_interval_n + r]);
    assert_near(top, 0, 1e-6);
  }
  gn_durations_clear(&d);
}

static void expected_systole_grows_with_the_interval_and_stays_under_its_share(void **state) {
  (void)state;
  for (girthline_species k = GIRTHLINE_HORSE; k < GIRTHLINE_N_SPECIES; k++) {
    const girthline_profile *p = hear_profile(k);
    assert_near(gn_systole_expected_s(p, 1), fmin(p->systole_at_1s_s, p->systole_share_most), 1e-12);
    for (double t = 0.2; t < 4; t += 0.05) {
      assert_true(gn_systole_expected_s(p, t + 0.05) > gn_systole_expected_s(p, t));
      assert_true(gn_systole_expected_s(p, t) <= p->systole_share_most * t + 1e-12);
    }
  }
}

/// Evidence written down by hand: sounds where they are said to be, a little against them everywhere else.
typedef struct bench {
  gn_durations d;
  gn_scores s;
  gn_decoder *decoder;
  float place[64];
  size_t n_place;
} bench;

static bench *bench_new(size_t n, double period_s) {
  bench *t = test_calloc(1, sizeof *t);
  const gn_model m = learnt();
  t->d = tables(&m, GIRTHLINE_HORSE);
  assert_int_equal(gn_scores_init(&t->s, n, PAD), 0);
  t->decoder = gn_decoder_new(n, PAD);
  t->s.after_s1_n = 13;
  for (size_t i = 0; i < n + 2 * PAD; i++) t->s.s1[i] = t->s.s2[i] = i < PAD || i >= n + PAD ? 0 : -6;
  t->n_place = n / 100 + 1;
  for (size_t i = 0; i < t->n_place; i++) t->place[i] = (float)(log(period_s / t->d.lags.first_s) / GN_PERIOD_STEP);
  return t;
}

static void bench_free(bench *t) {
  gn_durations_clear(&t->d);
  gn_scores_clear(&t->s);
  gn_decoder_free(t->decoder);
  test_free(t);
}

static void sound(bench *t, bool second, long frame, float evidence) { (second ? t->s.s2 : t->s.s1)[frame + PAD] = evidence; }

static size_t decode(bench *t, const gn_beat_frames **beats) {
  size_t n;
  const double score = gn_decode_best(t->decoder, &t->s, &t->d, t->place, t->n_place, beats, &n);
  assert_true(isfinite(score));
  return n;
}

static void the_best_path_goes_through_the_evidence(void **state) {
  (void)state;
  static const long S1[] = {40, 190, 345, 490, 800, 945, 1040, 1210, 1360}; // one dropped beat, one early
  bench *t = bench_new(1450, 1.5);
  for (size_t i = 0; i < 9; i++) sound(t, false, S1[i], 12), sound(t, true, S1[i] + 45, 12);
  const gn_beat_frames *beats;
  assert_int_equal(decode(t, &beats), 9);
  for (size_t i = 0; i < 9; i++) {
    assert_int_equal(beats[i].s1, S1[i]);
    assert_int_equal(beats[i].s2, S1[i] + 45);
  }
  gn_posterior p[16];
  gn_decode_posterior(t->decoder, &t->s, &t->d, 6, p);
  for (size_t i = 0; i < 9; i++) assert_true(p[i].s1 > 0.99f && p[i].s1 <= 1 && p[i].s2 > 0.99f && p[i].s2 <= 1);
  bench_free(t);
}

// Ten beats that are worth a little less than they cost, between clear ones: left out one by one they would go under, as a heart does not.
static void a_heart_goes_on_through_noise_that_leaves_little_of_it(void **state) {
  (void)state;
  bench *t = bench_new(2400, 1.5);
  for (long i = 0; i < 16; i++) {
    const bool clear = i < 3 || i > 12;
    sound(t, false, 40 + 150 * i, clear ? 12 : 2.25f);
    sound(t, true, 85 + 150 * i, clear ? 12 : 2.25f);
  }
  const gn_beat_frames *beats;
  assert_int_equal(decode(t, &beats), 16);
  for (size_t i = 0; i < 16; i++) assert_int_equal(beats[i].s1, 40 + 150 * (long)i);
  for (long i = 3; i < 13; i++) sound(t, false, 40 + 150 * i, -6), sound(t, true, 85 + 150 * i, -6); // nothing is there: no beat is
  assert_int_equal(decode(t, &beats), 6);
  bench_free(t);
}

static void a_sound_that_may_as_well_be_elsewhere_has_half_the_posterior(void **state) {
  (void)state;
  bench *t = bench_new(1000, 1.5);
  for (long at = 40; at < 1000; at += 150) {
    const bool unsure = at == 490;
    sound(t, false, unsure ? at - 7 : at, 12);
    if (unsure) sound(t, false, at + 7, 12);
    sound(t, true, at + 45, 12);
  }
  // The expected systole at 1.5 s lies near the middle of the two, which are 38 and 52 frames before S2.
  const gn_beat_frames *beats;
  const size_t n = decode(t, &beats);
  assert_int_equal(n, 7);
  gn_posterior p[16];
  gn_decode_posterior(t->decoder, &t->s, &t->d, 6, p);
  assert_true(p[3].s1 > 0.5f && p[3].s1 < 0.97f); // the likelier of the two, but not sure
  assert_true(p[3].s2 > 0.97f);
  assert_true(p[1].s1 > 0.99f && p[5].s1 > 0.99f);
  bench_free(t);
}

// Where accounts are held against each other a clearer sound far off is S2; a heart whose account was chosen keeps its own, and its early beat's.
static void a_burst_is_no_s2_once_the_heart_is_known(void **state) {
  (void)state;
  for (int known = 0; known < 2; known++) {
    bench *t = bench_new(1000, 1.5);
    gn_model m = learnt();
    m.systole_sd = 0.05;
    m.pooled = !known;
    gn_durations_fill(&t->d, &m, hear_profile(GIRTHLINE_HORSE), 0, (double)t->d.lags.n);
    for (long at = 40; at < 1000; at += 150) {
      const bool early = at == 790, burst = at == 490;
      sound(t, false, at, 12);
      sound(t, true, at + (early ? 36 : 45), burst ? 3 : 12);
      if (burst) sound(t, true, at + 65, 10);
    }
    const gn_beat_frames *beats;
    assert_int_equal(decode(t, &beats), 7);
    for (long i = 0; i < 7; i++) assert_int_equal(beats[i].s2 - beats[i].s1, i == 5 ? 36 : i == 3 && !known ? 65 : 45);
    bench_free(t);
  }
}

static void evidence_of_nothing_is_no_certainty(void **state) {
  (void)state;
  bench *t = bench_new(1000, 1.5);
  for (size_t i = 0; i < 1000 + 2 * PAD; i++) t->s.s1[i] = t->s.s2[i] = 0;
  const gn_beat_frames *beats;
  const size_t n = decode(t, &beats);
  gn_posterior p[1200];
  gn_decode_posterior(t->decoder, &t->s, &t->d, 6, p);
  for (size_t i = 0; i < n; i++) assert_true(p[i].s1 < 0.8f);
  bench_free(t);
}

static void a_murmur_in_systole_speaks_for_the_beat(void **state) {
  (void)state;
  bench *t = bench_new(1450, 1.5);
  // S2 is not heard; where systole is louder than diastole its end is where S2 was.
  for (long at = 40; at < 1450; at += 150) sound(t, false, at, 12);
  for (size_t i = 1; i <= 1450 + 2 * PAD; i++) {
    const long in = ((long)i - PAD - 40) % 150;
    t->s.systole[i] = t->s.systole[i - 1] + (i > PAD && i < 1450 + PAD ? (in >= 13 && in < 42 ? 1.0 : -1.0) : 0);
  }
  const gn_beat_frames *beats;
  const size_t n = decode(t, &beats);
  assert_int_equal(n, 10);
  for (size_t i = 0; i + 1 < n; i++) assert_near((double)(beats[i].s2 - beats[i].s1), 45, 3);
  bench_free(t);
}

/// Every sequence heard out, none left aside: what the search has to come to. The period is the same throughout.
typedef struct every {
  const bench *t;
  size_t n, j, most, *second;
  double *reach, *go, *systole, *ahead, *behind;
} every;

static double systole_of(const every *e, size_t i, size_t k) {
  const gn_scores *s = &e->t->s;
  const size_t a = i + s->after_s1_n, b = i + k - GN_TEMPLATE_LEAD;
  return (double)e->t->d.systole[e->j * e->t->d.most_systole_n + k] + (b > a ? s->systole[b] - s->systole[a] : 0) + (double)s->s2[i + k];
}

static double interval_of(const every *e, size_t a, size_t b) {
  const size_t r = b - a, least = (size_t)fmax(floor(0.35 * e->t->d.period_n[e->j]), floor(1.35 * (double)e->second[a]));
  return r >= least && r < e->t->d.most_interval_n ? (double)e->t->d.interval[e->j * e->t->d.most_interval_n + r] : -1e30;
}

static double begin_of(const every *e, size_t i) {
  return -log(e->t->d.period_n[e->j]) - ((double)i > PAD + 1.3 * e->t->d.period_n[e->j] ? 14 : 0);
}

static double end_of(const every *e, size_t i) {
  const size_t left = e->n - i;
  return left < e->most ? log((double)e->t->d.survival[e->j * e->t->d.most_interval_n + left]) : -14;
}

static void hear_systoles(every *e, size_t i) {
  const size_t from = e->t->d.systole_from_n[e->j], to = e->t->d.systole_to_n[e->j];
  double best = -1e30, behind = 0, all = 0;
  for (size_t k = from; k <= to; k++) {
    const double v = systole_of(e, i, k), p = (double)e->t->d.systole[e->j * e->t->d.most_systole_n + k];
    all += exp(v);
    if (i + k >= e->n) behind += exp(p);
    else if (v > best) best = v, e->second[i] = k;
  }
  if (behind > 0 && log(behind) > best) best = log(behind);
  e->systole[i] = log(all);
  e->go[i] = best;
}

static every hear_every(const bench *t) {
  every e = {.t = t, .n = t->decoder->n + PAD, .j = (size_t)(t->place[0] + 0.5f)};
  e.most = (size_t)(4 * t->d.period_n[e.j]);
  double *room = test_calloc(5 * e.n, sizeof *room);
  e.reach = room, e.go = room + e.n, e.systole = room + 2 * e.n, e.ahead = room + 3 * e.n, e.behind = room + 4 * e.n;
  e.second = test_calloc(e.n, sizeof *e.second);
  for (size_t i = 0; i < e.n; i++) {
    double best = begin_of(&e, i), sum = exp(best);
    for (size_t a = 0; a < i; a++) {
      const double r = interval_of(&e, a, i);
      best = fmax(best, e.go[a] + (i - a >= e.most ? -14 - (double)(i - a - e.most) / t->d.period_n[e.j] : r)); // past the longest it is a gap
      sum += exp(e.ahead[a] + e.systole[a] + r);
    }
    e.ahead[i] = log(sum) + (double)t->s.s1[i];
    e.reach[i] = best + (double)t->s.s1[i];
    hear_systoles(&e, i);
    e.go[i] += e.reach[i];
  }
  for (size_t a = e.n; a-- > 0;) {
    double sum = exp(end_of(&e, a));
    for (size_t i = a + 1; i < e.n; i++) sum += exp(interval_of(&e, a, i) + (double)t->s.s1[i] + e.systole[i] + e.behind[i]);
    e.behind[a] = log(sum);
  }
  return e;
}

static double best_of(const every *e) {
  double best = -1e30;
  for (size_t i = 0; i < e->n; i++) best = fmax(best, e->go[i] + end_of(e, i));
  return best;
}

static double first_near(const every *e, long from, long to) {
  double all = 0, p = 0;
  for (size_t i = 0; i < e->n; i++) {
    const double v = exp(e->ahead[i] + e->systole[i] + e->behind[i]);
    all += exp(e->ahead[i] + e->systole[i] + end_of(e, i));
    if ((long)i - PAD >= from && (long)i - PAD < to) p += v;
  }
  return fmin(1, p / all);
}

static void every_free(every *e) {
  test_free(e->reach);
  test_free(e->second);
}

// Sounds of every strength among evidence that wavers, in systole too.
static bench *unsure_bench(unsigned seed, double strength) {
  bench *t = bench_new(420, 0.6);
  gn_random r = gn_random_of(seed);
  for (size_t i = PAD; i < 420 + PAD; i++) {
    t->s.s1[i] = (float)(3 * gn_random_normal(&r) - 3);
    t->s.s2[i] = (float)(3 * gn_random_normal(&r) - 3);
    t->s.systole[i + 1] = t->s.systole[i] + 0.3 * gn_random_normal(&r);
  }
  for (size_t i = 420 + PAD; i < 420 + 2 * PAD; i++) t->s.systole[i + 1] = t->s.systole[i];
  for (double at = 20; at < 420; at += 60 + 4 * gn_random_normal(&r)) {
    sound(t, false, (long)at, (float)(strength * fabs(gn_random_normal(&r))));
    if (at < 380) sound(t, true, (long)at + 27, (float)(strength * fabs(gn_random_normal(&r))));
  }
  return t;
}

static void nothing_that_is_left_aside_would_have_counted(void **state) {
  (void)state;
  static const double STRENGTH[] = {0, 3, 8, 20};
  for (unsigned k = 0; k < 24; k++) {
    bench *t = unsure_bench(k, STRENGTH[k % 4]);
    const gn_beat_frames *beats;
    size_t n;
    const double score = gn_decode_best(t->decoder, &t->s, &t->d, t->place, t->n_place, &beats, &n);
    every e = hear_every(t);
    assert_near(score, best_of(&e), 1e-3);
    assert_true(n > 0 && n < 64);
    gn_posterior p[64];
    gn_decode_posterior(t->decoder, &t->s, &t->d, 6, p);
    for (size_t i = 0; i < n; i++) {
      assert_near(p[i].s1, first_near(&e, beats[i].s1 - 6, beats[i].s1 + 7), 2e-4);
      if (i + 1 < n) assert_near(p[i].unbroken, 1 - first_near(&e, beats[i].s1 + 7, beats[i + 1].s1 - 6), 2e-4);
    }
    every_free(&e);
    bench_free(t);
  }
}

static void the_shortest_windows_are_decoded(void **state) {
  (void)state;
  for (size_t n = 0; n < 5; n++) {
    bench *t = bench_new(n, 1.5);
    const gn_beat_frames *beats;
    const size_t found = decode(t, &beats);
    gn_posterior p[300];
    assert_true(found < 300);
    gn_decode_posterior(t->decoder, &t->s, &t->d, 6, p);
    bench_free(t);
  }
}

static void refused_memory_gives_no_decoder(void **state) {
  (void)state;
  size_t k = 1;
  for (; k < 30; k++) {
    gn_memory_refuse(k);
    gn_decoder *d = gn_decoder_new(100, PAD);
    gn_memory_refuse(0);
    gn_decoder_free(d);
    if (d) break;
  }
  assert_true(k > 5 && k < 30); // each allocation was refused once
  gn_decoder_free(NULL);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(durations_are_probabilities),
      cmocka_unit_test(the_chance_of_an_interval_is_that_of_its_row),
      cmocka_unit_test(no_beat_comes_earlier_than_a_heart_of_the_kind_can),
      cmocka_unit_test(before_anything_is_learnt_the_likeliest_duration_costs_nothing),
      cmocka_unit_test(expected_systole_grows_with_the_interval_and_stays_under_its_share),
      cmocka_unit_test(the_best_path_goes_through_the_evidence),
      cmocka_unit_test(a_heart_goes_on_through_noise_that_leaves_little_of_it),
      cmocka_unit_test(a_sound_that_may_as_well_be_elsewhere_has_half_the_posterior),
      cmocka_unit_test(a_burst_is_no_s2_once_the_heart_is_known),
      cmocka_unit_test(evidence_of_nothing_is_no_certainty),
      cmocka_unit_test(a_murmur_in_systole_speaks_for_the_beat),
      cmocka_unit_test(nothing_that_is_left_aside_would_have_counted),
      cmocka_unit_test(the_shortest_windows_are_decoded),
      cmocka_unit_test(refused_memory_gives_no_decoder),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
