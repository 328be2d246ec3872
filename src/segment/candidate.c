// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/candidate.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/relay.h"
#include "base/statistics.h"

#define N_PATHS 3
#define KEPT 4          // candidates refined (one loses 0.002 of F1)
#define ROUNDS 2        // re-estimations after the first
#define OCTAVE 34.66f   // grid places of a factor two
// Choices, judged on 240 simulated recordings.
#define OFFSET_SD 0.12  // prior spread of a recording's log systole around the species' expectation; with 0.08 and 0.18 as much is read right
#define OFFSET_MOST 0.30     // furthest a model follows a recording there (not varied)
#define SYSTOLE_SD_MOST 0.10 // a wider one reads any two sounds as a beat's: with 0.14 F1 is 0.001 less, with 0.07 it is 0.003
#define REGULAR_SD_MOST 0.10 // of log interval around a steady period; with 0.07 and 0.15 as much is read right
#define IRREGULAR_SD 0.30 // of log interval before an irregular heart's own is known; with 0.20 one rate less is right, with 0.45 one more
#define CARRIED_PLACES 12 // grid places within which a window's period is the last window's still: a quarter either way
#define PERIOD_ODDS 30.0 // nats by which intervals speak for their local periods, that no account without one is heard: a choice
#define BEAT_PRICE 1.0 // nats that each beat costs an account against the others: with more beats it has more to choose. A choice: with none one of 2520
                       // simulated hearts is read at twice its rate, with 3 one at half of it
#define CARRIED_GAIN 0.6  // share of the last window's log likelihood per beat that says its sounds are still the same

// What intervals and systoles teach, of the local period and of the expected systole. Choices, not varied one by one; the share of sounds read right judges all.
#define LONG_RATIO 1.35  // an interval is a long one from there
#define SHORT_RATIO 0.75 // and a short one under this
#define USUAL_LEAST_N 3  // intervals between the two, for their spread to be learnt
static const double REGULAR_SD_LEAST = 0.03, IRREGULAR_SD_RANGE[2] = {0.15, 0.35};        // of log interval
static const double LONG_PRIOR_N = 0.3, LONG_SHARE_RANGE[2] = {0.01, 0.30};               // intervals; of the intervals
static const double SHORT_PRIOR_N = 0.2, SHORT_SHARE_RANGE[2] = {0.01, 0.20};
static const double OFFSET_PRIOR_BEATS = 2;                                               // that lie at the species' expectation
static const double SYSTOLE_SD_LEAST = 0.04, SYSTOLE_SD_UNKNOWN = 0.15;                     // of log systole; the second is that of no beat

int gn_hearing_init(gn_hearing *h, const gn_features *f, const girthline_profile *profile, gn_durations *durations) {
  *h = (gn_hearing){.f = f, .profile = profile, .durations = durations, .n_seconds = (size_t)((double)f->n / f->rate_hz) + 1};
  const size_t pad = durations->most_systole_n;
  h->decoder = gn_decoder_new(f->n, pad);
  return h->decoder && !gn_scores_init(&h->scores, f->n, pad) ? 0 : -1;
}

void gn_candidate_clear(gn_candidate *c) {
  gn_free(c->place);
  gn_free(c->beats);
  gn_free(c->times);
  *c = (gn_candidate){0};
}

int gn_candidate_copy(const gn_hearing *h, const gn_candidate *c, gn_candidate *out) {
  *out = *c;
  out->times = NULL;
  out->place = gn_new(h->n_seconds, sizeof *out->place);
  out->beats = gn_new(c->n_beats, sizeof *out->beats);
  if (!out->place || !out->beats) {
    gn_candidate_clear(out);
    return -1;
  }
  memcpy(out->place, c->place, h->n_seconds * sizeof *out->place);
  memcpy(out->beats, c->beats, c->n_beats * sizeof *out->beats);
  return 0;
}

void gn_candidate_drop(gn_hearing *h) {
  for (size_t i = 0; i < h->n; i++) gn_candidate_clear(&h->list[i]);
  h->n = 0;
}

void gn_hearing_clear(gn_hearing *h) {
  gn_scores_clear(&h->scores);
  gn_decoder_free(h->decoder);
  gn_candidate_drop(h);
  *h = (gn_hearing){0};
}

static float median_place(const float *place, size_t n) {
  float sorted[4096];
  size_t m = 0;
  for (size_t i = 0; i < n && m < 4096; i++) sorted[m++] = place[i];
  return gn_quantile_f(sorted, m, 0.5);
}

// A new entry of the list with room for its course of the period; NULL when memory is refused.
static gn_candidate *append(gn_hearing *h, bool irregular) {
  gn_candidate *c = &h->list[h->n];
  c->place = gn_new(h->n_seconds, sizeof(float));
  if (!c->place) return NULL;
  h->n++;
  c->irregular = irregular;
  return c;
}

static void set_course(gn_hearing *h, gn_candidate *c, const float *place, float shift) {
  const float middle = median_place(place, h->n_seconds) + shift, most = (float)(h->durations->lags.n - 1);
  for (size_t k = 0; k < h->n_seconds; k++) c->place[k] = c->irregular ? middle : fminf(fmaxf(place[k] + shift, 0), most);
}

static int add_candidate(gn_hearing *h, const float *place, float shift, bool irregular) {
  const float middle = median_place(place, h->n_seconds) + shift;
  if (h->n == GN_CANDIDATES_MOST || middle < 0 || middle > (float)(h->durations->lags.n - 1)) return 0;
  for (size_t i = 0; i < h->n; i++)
    if (h->list[i].irregular == irregular && fabsf(median_place(h->list[i].place, h->n_seconds) - middle) < 3) return 0;
  gn_candidate *c = append(h, irregular);
  if (!c) return -1;
  const double period_s = gn_lags_s(&h->durations->lags, (double)middle), systole_s = gn_systole_expected_s(h->profile, period_s);
  if (gn_model_init(&c->model, h->f, h->profile, systole_s, period_s - systole_s)) return -1;
  if (irregular) c->model.interval_sd = IRREGULAR_SD;
  set_course(h, c, place, shift);
  return 0;
}

static int find_paths(gn_hearing *h, gn_period_path *paths, size_t most) {
  const double usual_s = 120 / (h->profile->usual_bpm[0] + h->profile->usual_bpm[1]);
  const gn_period_settings settings = {.window_s = fmin(10, fmax(4, 6 * usual_s)), .step_cost = 0.03, .steps_most = 4};
  return gn_period_find(h->f, &h->durations->lags, &settings, paths, most);
}

static int list_candidates(gn_hearing *h) {
  gn_period_path paths[N_PATHS] = {0};
  const int n = find_paths(h, paths, N_PATHS);
  int bad = n < 0;
  for (int i = 0; i < n && !bad; i++) {
    static const float SHIFTS[] = {0, OCTAVE, -OCTAVE};
    for (int k = 0; k < 3 && !bad; k++) bad = add_candidate(h, paths[i].place, SHIFTS[k], false);
    for (int k = 0; k < 3 && !bad && i == 0; k++) bad = add_candidate(h, paths[i].place, SHIFTS[k], true);
  }
  for (int i = 0; i < n; i++) gn_free(paths[i].place);
  return bad ? -1 : 0;
}

static long further(long a, long b) { return a > b ? a : b; }

static long moved(const gn_beat_frames *a, size_t n_a, const gn_beat_frames *b, size_t n_b) {
  long most = n_a == n_b ? 0 : LONG_MAX;
  for (size_t i = 0; i < n_a && most < LONG_MAX; i++) most = further(most, further(labs(a[i].s1 - b[i].s1), labs(a[i].s2 - b[i].s2)));
  return most;
}

void gn_candidate_forget_times(gn_candidate *c) {
  gn_free(c->times);
  c->times = NULL;
}

int gn_candidate_decode(gn_hearing *h, gn_candidate *c) {
  float least = c->place[0], most = c->place[0];
  for (size_t k = 1; k < h->n_seconds; k++) least = fminf(least, c->place[k]), most = fmaxf(most, c->place[k]);
  gn_durations_fill(h->durations, &c->model, h->profile, (double)least, (double)most);
  const gn_beat_frames *beats;
  size_t n_beats;
  c->score = gn_decode_best(h->decoder, &h->scores, h->durations, c->place, h->n_seconds, &beats, &n_beats);
  const double z = c->systole_offset / OFFSET_SD;
  c->score -= 0.5 * z * z;
  c->gain_per_beat = c->score / (double)n_beats;
  c->score += h->scores.diastole_total - (h->scores.generic ? 0 : BEAT_PRICE * (double)n_beats);
  c->moved_n = c->beats ? moved(c->beats, c->n_beats, beats, n_beats) : LONG_MAX;
  if (c->moved_n > 0) gn_candidate_forget_times(c);
  gn_free(c->beats);
  c->n_beats = n_beats;
  c->beats = gn_new(n_beats, sizeof *c->beats);
  if (!c->beats) return -1;
  memcpy(c->beats, beats, n_beats * sizeof *beats);
  return 0;
}

static double place_of(const gn_hearing *h, double period_s) {
  const double place = gn_log(period_s / h->durations->lags.first_s) / GN_PERIOD_STEP;
  return fmin(fmax(place, 0), (double)(h->durations->lags.n - 1));
}

// The period by second: the median of the intervals around it; of all where there is no local one.
static void learn_period(const gn_hearing *h, gn_candidate *c) {
  if (c->n_beats < 3) return;
  if (c->irregular) {
    const float place = (float)place_of(h, gn_candidate_interval_n(c) / h->f->rate_hz);
    for (size_t k = 0; k < h->n_seconds; k++) c->place[k] = place;
    return;
  }
  const size_t n_int = c->n_beats - 1;
  for (size_t k = 0; k < h->n_seconds; k++) {
    size_t i = 0;
    while (i + 1 < n_int && (double)c->beats[i + 1].s1 / h->f->rate_hz <= (double)k) i++;
    double near[7];
    size_t m = 0;
    for (size_t q = i < 3 ? 0 : i - 3; q < n_int && q <= i + 3; q++) near[m++] = (double)(c->beats[q + 1].s1 - c->beats[q].s1) / h->f->rate_hz;
    c->place[k] = (float)place_of(h, gn_median(near, m));
  }
}

double gn_candidate_period_s(const gn_hearing *h, const gn_candidate *c, long frame) {
  const long k = (long)((double)frame / h->f->rate_hz + 0.5);
  return gn_lags_s(&h->durations->lags, (double)c->place[k < 0 ? 0 : k >= (long)h->n_seconds ? (long)h->n_seconds - 1 : k]);
}

static double within(double x, double least, double most) { return fmin(fmax(x, least), most); }

static int learn_durations(const gn_hearing *h, gn_candidate *c) {
  const size_t n = c->n_beats;
  double *log_systole = gn_new(2 * n, sizeof *log_systole), *spread = log_systole ? log_systole + n : NULL;
  if (!log_systole) return -1;
  size_t n_long = 0, n_short = 0, n_usual = 0;
  for (size_t i = 0; i < n; i++) {
    const double period_s = gn_candidate_period_s(h, c, c->beats[i].s1);
    log_systole[i] = gn_log((double)(c->beats[i].s2 - c->beats[i].s1) / h->f->rate_hz / gn_systole_expected_s(h->profile, period_s));
    if (i + 1 == n) break;
    const double q = (double)(c->beats[i + 1].s1 - c->beats[i].s1) / h->f->rate_hz / period_s;
    if (q > LONG_RATIO) n_long++;
    else if (q < SHORT_RATIO) n_short++;
    else spread[n_usual++] = gn_log(q);
  }
  gn_model *m = &c->model;
  const double all = (double)(n_long + n_short + n_usual) + 1;
  const double least_sd = c->irregular ? IRREGULAR_SD_RANGE[0] : REGULAR_SD_LEAST, most_sd = c->irregular ? IRREGULAR_SD_RANGE[1] : REGULAR_SD_MOST;
  if (n_usual >= USUAL_LEAST_N) m->interval_sd = within(gn_robust_sd(spread, n_usual, 0), least_sd, most_sd);
  m->long_share = within(((double)n_long + LONG_PRIOR_N) / all, LONG_SHARE_RANGE[0], LONG_SHARE_RANGE[1]);
  m->short_share = within(((double)n_short + SHORT_PRIOR_N) / all, SHORT_SHARE_RANGE[0], SHORT_SHARE_RANGE[1]);
  const double weight = (double)n / ((double)n + OFFSET_PRIOR_BEATS);
  for (size_t i = 0; i < n; i++) spread[i] = log_systole[i];
  const double offset = n ? gn_median(spread, n) : 0;
  c->systole_offset = weight * offset;
  m->systole_log_offset = within(c->systole_offset, -OFFSET_MOST, OFFSET_MOST);
  c->systole_spread = (n ? gn_robust_sd(log_systole, n, offset) : SYSTOLE_SD_UNKNOWN) + GN_SYSTOLE_SD_MORE;
  m->systole_sd = within(c->systole_spread, SYSTOLE_SD_LEAST, SYSTOLE_SD_MOST);
  gn_free(log_systole);
  return 0;
}

int gn_candidate_learn(gn_hearing *h, gn_candidate *c) {
  if (gn_model_learn(&c->model, h->f, c->beats, c->n_beats)) return -1;
  learn_period(h, c);
  if (learn_durations(h, c)) return -1;
  gn_model_score(&c->model, h->f, &h->scores);
  return 0;
}

int gn_candidate_refine(gn_hearing *h, gn_candidate *c, int rounds) {
  for (int round = 0; round < rounds; round++) {
    if (gn_candidate_learn(h, c) || gn_candidate_decode(h, c)) return -1;
    if (c->gain_per_beat >= GN_CLEAR_GAIN && c->moved_n <= GN_SAME_N) break;
  }
  return 0;
}

int gn_candidate_pair(gn_hearing *h, gn_candidate *c) {
  size_t n = 0;
  for (size_t i = 0; i + 1 < c->n_beats; i++) {
    const long gap = c->beats[i + 1].s1 - c->beats[i].s1;
    const bool shorter_than_before = i == 0 || gap < c->beats[i].s1 - c->beats[i - 1].s1;
    const bool shorter_than_next = i + 2 == c->n_beats || gap < c->beats[i + 2].s1 - c->beats[i + 1].s1;
    if (shorter_than_before && shorter_than_next) c->beats[n++] = (gn_beat_frames){c->beats[i].s1, c->beats[i + 1].s1};
  }
  c->n_beats = n;
  gn_candidate_forget_times(c);
  return gn_candidate_refine(h, c, ROUNDS);
}

enum { COUNTED = 1024 }; // beats that a median is taken of

double gn_candidate_interval_n(const gn_candidate *c) {
  double sorted[COUNTED];
  size_t m = 0;
  for (size_t i = 0; i + 1 < c->n_beats && m < COUNTED; i++) sorted[m++] = (double)(c->beats[i + 1].s1 - c->beats[i].s1);
  return m ? gn_median(sorted, m) : 0;
}

double gn_candidate_systole_n(const gn_candidate *c) {
  double sorted[COUNTED];
  size_t m = 0;
  for (; m < c->n_beats && m < COUNTED; m++) sorted[m] = (double)(c->beats[m].s2 - c->beats[m].s1);
  return m ? gn_median(sorted, m) : 0;
}

// Best first; of two that read the same beats only the better stays.
static void rank(gn_hearing *h) {
  for (size_t i = 1; i < h->n; i++)
    for (size_t k = i; k > 0 && h->list[k].score > h->list[k - 1].score; k--) {
      const gn_candidate t = h->list[k];
      h->list[k] = h->list[k - 1];
      h->list[k - 1] = t;
    }
  size_t kept = 0;
  for (size_t i = 0; i < h->n; i++) {
    bool twin = false;
    for (size_t k = 0; k < kept && !twin; k++)
      twin = h->list[k].irregular == h->list[i].irregular && fabs(gn_candidate_interval_n(&h->list[k]) / fmax(1, gn_candidate_interval_n(&h->list[i])) - 1) < 0.04;
    if (twin || kept == KEPT) {
      gn_candidate_clear(&h->list[i]);
    } else {
      const gn_candidate t = h->list[i];
      h->list[i] = (gn_candidate){0};
      h->list[kept++] = t;
    }
  }
  h->n = kept;
}

static void best_first(gn_hearing *h) {
  for (size_t i = 1; i < h->n; i++)
    if (h->list[i].score > h->list[0].score) {
      const gn_candidate t = h->list[0];
      h->list[0] = h->list[i];
      h->list[i] = t;
    }
}

void gn_candidate_forget_first(gn_hearing *h) {
  gn_candidate_clear(&h->list[0]);
  h->n--;
  h->list[0] = h->list[h->n];
  h->list[h->n] = (gn_candidate){0};
  best_first(h);
}

// What one thread hears of the accounts: all from the first on, so many apart. rounds 0: as they are; else they learn.
typedef struct share {
  gn_hearing *by;
  gn_candidate *list;
  size_t first, end, apart;
  int rounds, bad;
} share;

static void hear_share(void *piece) {
  share *s = piece;
  const gn_model *scored = NULL;
  for (size_t i = s->first; i < s->end && !s->bad; i += s->apart) {
    gn_candidate *c = &s->list[i];
    if (s->rounds) {
      s->bad = gn_candidate_refine(s->by, c, s->rounds);
      continue;
    }
    if (!scored || !gn_model_alike(&c->model, scored)) gn_model_score(&c->model, s->by->f, &s->by->scores);
    scored = &c->model;
    s->bad = gn_candidate_decode(s->by, c);
  }
}

static int hear_all(gn_hearing *h, gn_hearing *beside, int rounds) {
  const size_t apart = beside ? 2 : 1;
  share one = {h, h->list, 0, h->n, apart, rounds, 0}, other = {beside, h->list, 1, beside ? h->n : 0, apart, rounds, 0};
  gn_relay_both(hear_share, &one, &other, beside != NULL);
  return one.bad || other.bad ? -1 : 0;
}

int gn_candidate_choose(gn_hearing *h, gn_hearing *beside) {
  if (list_candidates(h) || hear_all(h, beside, 0) || hear_all(h, beside, 1)) return -1;
  rank(h);
  if (hear_all(h, beside, ROUNDS)) return -1;
  best_first(h);
  return 0;
}

// Log odds of an account's intervals before its local periods against another one's model of no period but the middle one.
static double log_odds_of_period(const gn_hearing *h, const gn_candidate *c, const gn_model *other) {
  const double middle_n = gn_lags_s(&h->durations->lags, (double)median_place(c->place, h->n_seconds)) * h->f->rate_hz;
  double sum = 0;
  for (size_t i = 0; i + 1 < c->n_beats; i++) {
    const double r = (double)(c->beats[i + 1].s1 - c->beats[i].s1);
    const double with = gn_durations_interval_chance(&c->model, gn_candidate_period_s(h, c, c->beats[i].s1) * h->f->rate_hz, r);
    const double without = gn_durations_interval_chance(other, middle_n, r);
    if (with > 0 && without > 0) sum += gn_log(with / without);
  }
  return sum;
}

// The two accounts of a window that goes on as the last one did; the more likely one is learnt from. The one without a period would have to win
// back what it loses on the beats of the other by reading them otherwise.
static int resume_along(gn_hearing *h, const gn_carried *carried, const float *place) {
  gn_model_score(&carried->model, h->f, &h->scores);
  for (int irregular = 0; irregular < 2; irregular++) {
    gn_model model = carried->model;
    model.interval_sd = irregular ? IRREGULAR_SD : fmin(model.interval_sd, REGULAR_SD_MOST);
    if (irregular && log_odds_of_period(h, &h->list[0], &model) >= PERIOD_ODDS) break;
    gn_candidate *c = append(h, irregular);
    if (!c) return -1;
    set_course(h, c, place, 0);
    c->model = model;
    if (gn_candidate_decode(h, c)) return -1;
  }
  best_first(h);
  return gn_candidate_refine(h, &h->list[0], 1);
}

// Along the first of so many paths that goes on from the last window; none is listed where none does.
static int resume_on_one_of(gn_hearing *h, const gn_carried *carried, size_t most) {
  gn_period_path paths[N_PATHS] = {0};
  const double before = gn_log(carried->interval_s / h->durations->lags.first_s) / GN_PERIOD_STEP;
  const int n = find_paths(h, paths, most);
  int bad = n < 0;
  for (int i = 0; i < n && !bad && h->n == 0; i++)
    if (fabs((double)median_place(paths[i].place, h->n_seconds) - before) <= CARRIED_PLACES) bad = resume_along(h, carried, paths[i].place);
  for (int i = 0; i < n; i++) gn_free(paths[i].place);
  return bad ? -1 : 0;
}

// The most periodic path is the one nearly always: the others are looked for where it is not.
int gn_candidate_resume(gn_hearing *h, const gn_carried *carried) {
  if (resume_on_one_of(h, carried, 1)) return -1;
  return h->n ? 0 : resume_on_one_of(h, carried, N_PATHS);
}

bool gn_candidate_holds(const gn_hearing *h, const gn_carried *carried) {
  const gn_candidate *c = &h->list[0];
  const double interval_s = gn_candidate_interval_n(c) / h->f->rate_hz;
  return c->gain_per_beat >= CARRIED_GAIN * carried->gain_per_beat && interval_s > 0 &&
         fabs(gn_log(interval_s / carried->interval_s)) <= CARRIED_PLACES * GN_PERIOD_STEP;
}

gn_carried gn_candidate_carry(const gn_hearing *h, double name_log_odds) {
  const gn_candidate *c = &h->list[0];
  return (gn_carried){true, c->model, gn_candidate_interval_n(c) / h->f->rate_hz, c->gain_per_beat, name_log_odds};
}
