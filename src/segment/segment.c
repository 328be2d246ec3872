// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/segment.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#ifdef GN_DEBUG
#include <stdlib.h>
#endif
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "segment/decode.h"
#include "segment/model.h"
#include "segment/onset.h"
#include "segment/period.h"

#define N_PATHS 3
#define MOST_CANDIDATES 16
#define KEPT 4          // candidates refined (one loses 0.002 of F1)
#define ROUNDS 2        // re-estimations
#define OCTAVE 34.66f   // grid places of a factor two
#define OFFSET_SD 0.12  // prior spread of a recording's log systole around the species' expectation
#define OFFSET_MOST 0.30
#define STEADY_FLOOR_S 0.010 // what the frames and the onset finding alone add to a gap's spread
#define STEADY_WEIGHT 2.0    // log odds for a gap steadier by e (choice)

/// One account of the window: a course of the period and the beats that go with it.
typedef struct candidate {
  gn_model model;
  bool irregular;      // no local period: one wide distribution
  float *place;        // by second
  double score;        // log likelihood of everything
  gn_beat_frames *beats;
  size_t n_beats;
} candidate;

struct gn_segment {
  girthline_profile profile;
  double fs_hz;
  gn_lags lags;
  gn_durations durations;
  girthline_beat *beats;
  size_t n_beats, capacity;
  double jitter_ms, name_log_odds;
  char reason[200];
};

gn_segment *gn_segment_new(const girthline_profile *profile, double analysis_fs_hz) {
  gn_segment *s = gn_new(1, sizeof *s);
  if (!s) return NULL;
  s->profile = *profile;
  s->fs_hz = analysis_fs_hz;
  s->jitter_ms = NAN;
  s->lags = gn_lags_between(60 / profile->possible_bpm[1], 60 / profile->possible_bpm[0]);
  if (!gn_durations_init(&s->durations, &s->lags, 100, profile)) return s;
  gn_segment_free(s);
  return NULL;
}

void gn_segment_free(gn_segment *s) {
  if (!s) return;
  gn_durations_clear(&s->durations);
  gn_free(s->beats);
  gn_free(s);
}

double gn_segment_onset_jitter_ms(const gn_segment *s) { return s->jitter_ms; }
const char *gn_segment_reason(const gn_segment *s) { return s->reason; }

/// Everything one window needs, so that one clear lets go of all of it.
typedef struct work {
  gn_segment *s;
  const gn_features *f;
  gn_scores scores;
  gn_decoder *decoder;
  size_t n_seconds;
  candidate list[MOST_CANDIDATES];
  size_t n;
} work;

static void work_clear(work *w) {
  gn_scores_clear(&w->scores);
  gn_decoder_free(w->decoder);
  for (size_t i = 0; i < w->n; i++) {
    gn_free(w->list[i].place);
    gn_free(w->list[i].beats);
  }
}

static float median_place(const float *place, size_t n) {
  float sorted[4096];
  size_t m = 0;
  for (size_t i = 0; i < n && m < 4096; i++) sorted[m++] = place[i];
  return gn_quantile_f(sorted, m, 0.5);
}

static int add_candidate(work *w, const float *place, float shift, bool irregular) {
  const float middle = median_place(place, w->n_seconds) + shift;
  if (w->n == MOST_CANDIDATES || middle < 0 || middle > (float)(w->s->lags.n - 1)) return 0;
  for (size_t i = 0; i < w->n; i++)
    if (w->list[i].irregular == irregular && fabsf(median_place(w->list[i].place, w->n_seconds) - middle) < 3) return 0;
  candidate *c = &w->list[w->n];
  c->place = gn_new(w->n_seconds, sizeof(float));
  if (!c->place) return -1;
  w->n++;
  const double period_s = gn_lags_s(&w->s->lags, (double)middle), systole_s = gn_systole_expected_s(&w->s->profile, period_s);
  if (gn_model_init(&c->model, w->f, &w->s->profile, systole_s, period_s - systole_s)) return -1;
  c->irregular = irregular;
  if (irregular) c->model.interval_sd = 0.30;
  for (size_t k = 0; k < w->n_seconds; k++)
    c->place[k] = irregular ? middle : fminf(fmaxf(place[k] + shift, 0), (float)(w->s->lags.n - 1));
  return 0;
}

static int list_candidates(work *w) {
  gn_period_path paths[N_PATHS] = {0};
  const double usual_s = 120 / (w->s->profile.usual_bpm[0] + w->s->profile.usual_bpm[1]);
  const gn_period_settings settings = {.window_s = fmin(10, fmax(4, 6 * usual_s)), .step_cost = 0.03, .steps_most = 4};
  const int n = gn_period_find(w->f, &w->s->lags, &settings, paths, N_PATHS);
  int bad = n < 0;
  for (int i = 0; i < n && !bad; i++) {
    static const float SHIFTS[] = {0, OCTAVE, -OCTAVE};
    for (int k = 0; k < 3 && !bad; k++) bad = add_candidate(w, paths[i].place, SHIFTS[k], false);
    for (int k = 0; k < 3 && !bad && i == 0; k++) bad = add_candidate(w, paths[i].place, SHIFTS[k], true);
  }
  for (int i = 0; i < n; i++) gn_free(paths[i].place);
  return bad ? -1 : 0;
}

static int decode(work *w, candidate *c) {
  float least = c->place[0], most = c->place[0];
  for (size_t k = 1; k < w->n_seconds; k++) least = fminf(least, c->place[k]), most = fmaxf(most, c->place[k]);
  gn_durations_fill(&w->s->durations, &c->model, &w->s->profile, (double)least, (double)most);
  const gn_beat_frames *beats;
  size_t n_beats;
  c->score = gn_decode_best(w->decoder, &w->scores, &w->s->durations, c->place, w->n_seconds, &beats, &n_beats);
  c->score += w->scores.diastole_total;
  const double z = c->model.systole_log_offset / OFFSET_SD;
  c->score -= 0.5 * z * z;
  gn_free(c->beats);
  c->n_beats = n_beats;
  c->beats = gn_new(n_beats, sizeof *c->beats);
  if (!c->beats) return -1;
  memcpy(c->beats, beats, n_beats * sizeof *beats);
  return 0;
}

// Local period by second: the median of the five intervals around it.
static void learn_period(const work *w, candidate *c) {
  if (c->n_beats < 3) return;
  const size_t n_int = c->n_beats - 1;
  for (size_t k = 0; k < w->n_seconds; k++) {
    size_t i = 0;
    while (i + 1 < n_int && (double)c->beats[i + 1].s1 / w->f->rate_hz <= (double)k) i++;
    double near[7];
    size_t m = 0;
    for (size_t q = i < 3 ? 0 : i - 3; q < n_int && q <= i + 3; q++) near[m++] = (double)(c->beats[q + 1].s1 - c->beats[q].s1) / w->f->rate_hz;
    const double place = gn_log(gn_median(near, m) / w->s->lags.first_s) / GN_PERIOD_STEP;
    c->place[k] = (float)fmin(fmax(place, 0), (double)(w->s->lags.n - 1));
  }
}

static double period_at(const work *w, const candidate *c, long frame) {
  const long k = (long)((double)frame / w->f->rate_hz + 0.5);
  return gn_lags_s(&w->s->lags, (double)c->place[k < 0 ? 0 : k >= (long)w->n_seconds ? (long)w->n_seconds - 1 : k]);
}

static double within(double x, double least, double most) { return fmin(fmax(x, least), most); }

static int learn_durations(const work *w, candidate *c) {
  const size_t n = c->n_beats;
  double *log_systole = gn_new(2 * n, sizeof *log_systole), *spread = log_systole ? log_systole + n : NULL;
  if (!log_systole) return -1;
  size_t n_long = 0, n_short = 0, n_usual = 0;
  for (size_t i = 0; i < n; i++) {
    const double period_s = period_at(w, c, c->beats[i].s1);
    log_systole[i] = gn_log((double)(c->beats[i].s2 - c->beats[i].s1) / w->f->rate_hz / gn_systole_expected_s(&w->s->profile, period_s));
    if (i + 1 == n) break;
    const double q = (double)(c->beats[i + 1].s1 - c->beats[i].s1) / w->f->rate_hz / period_s;
    if (q > 1.35) n_long++;
    else if (q < 0.75) n_short++;
    else spread[n_usual++] = fabs(gn_log(q));
  }
  gn_model *m = &c->model;
  const double all = (double)(n_long + n_short + n_usual) + 1;
  if (n_usual >= 3) m->interval_sd = c->irregular ? within(1.4826 * gn_median(spread, n_usual), 0.15, 0.35) : within(1.4826 * gn_median(spread, n_usual), 0.03, 0.10);
  m->long_share = within(((double)n_long + 0.3) / all, 0.01, 0.30);
  m->short_share = within(((double)n_short + 0.2) / all, 0.01, 0.20);
  const double weight = (double)n / ((double)n + 2);
  for (size_t i = 0; i < n; i++) spread[i] = log_systole[i];
  const double offset = n ? gn_median(spread, n) : 0;
  m->systole_log_offset = within(weight * offset, -OFFSET_MOST, OFFSET_MOST);
  for (size_t i = 0; i < n; i++) spread[i] = fabs(log_systole[i] - offset);
  m->systole_sd = within(1.4826 * (n ? gn_median(spread, n) : 0.1) + 0.02, 0.04, 0.14);
  gn_free(log_systole);
  return 0;
}

static int refine(work *w, candidate *c, int rounds) {
  for (int round = 0; round < rounds; round++) {
    if (gn_model_learn(&c->model, w->f, c->beats, c->n_beats)) return -1;
    if (!c->irregular) learn_period(w, c);
    if (learn_durations(w, c)) return -1;
    gn_model_score(&c->model, w->f, &w->scores);
    if (decode(w, c)) return -1;
#ifdef GN_DEBUG
  if (getenv("RR")) fprintf(stderr, "   round %d n %zu score %.1f off %.3f ssd %.3f isd %.3f sound %.2f quiet %.2f dia %.1f,%.1f sys %.1f,%.1f dtot %.1f\n", round, c->n_beats, c->score, c->model.systole_log_offset, c->model.systole_sd, c->model.interval_sd, c->model.sound.log_det, c->model.quiet.log_det, (double)c->model.diastole[0], (double)c->model.diastole[1], (double)c->model.systole[0], (double)c->model.systole[1], w->scores.diastole_total);
#endif
  }
  return 0;
}

static double median_interval(const candidate *c) {
  double sorted[1024];
  size_t m = 0;
  for (size_t i = 0; i + 1 < c->n_beats && m < 1024; i++) sorted[m++] = (double)(c->beats[i + 1].s1 - c->beats[i].s1);
  return m ? gn_median(sorted, m) : 0;
}

// Best first; of two that read the same beats only the better stays.
static void rank(work *w) {
  for (size_t i = 1; i < w->n; i++)
    for (size_t k = i; k > 0 && w->list[k].score > w->list[k - 1].score; k--) {
      const candidate t = w->list[k];
      w->list[k] = w->list[k - 1];
      w->list[k - 1] = t;
    }
  size_t kept = 0;
  for (size_t i = 0; i < w->n; i++) {
    bool twin = false;
    for (size_t k = 0; k < kept && !twin; k++)
      twin = w->list[k].irregular == w->list[i].irregular && fabs(median_interval(&w->list[k]) / fmax(1, median_interval(&w->list[i])) - 1) < 0.04;
    if (twin || kept == KEPT) {
      gn_free(w->list[i].place);
      gn_free(w->list[i].beats);
      w->list[i] = (candidate){0};
    } else {
      const candidate t = w->list[i];
      w->list[i] = (candidate){0};
      w->list[kept++] = t;
    }
  }
  w->n = kept;
}

// Log odds that the names are right rather than exchanged. The evidence of the frames has no say: it is the same sounds
// under either name, and its small differences are accidents of the templates' lengths. What tells S1 from S2 is the time
// between them at that rate, which of the two gaps is the steadier (the one after S1), and how they sound.
static int naming(const work *w, const candidate *c, double *log_odds) {
  const size_t n = c->n_beats;
  *log_odds = 0;
  if (n < 3) return 0;
  double *after1 = gn_new(3 * n, sizeof *after1), *after2 = after1 ? after1 + n : NULL, *off = after1 ? after1 + 2 * n : NULL;
  if (!after1) return -1;
  size_t m = 0;
  for (size_t i = 0; i + 1 < n; i++) {
    const double a = (double)(c->beats[i].s2 - c->beats[i].s1) / w->f->rate_hz, b = (double)(c->beats[i + 1].s1 - c->beats[i].s2) / w->f->rate_hz;
    if (a + b > 1.35 * period_at(w, c, c->beats[i].s1)) continue; // a pause says nothing about systole
    after1[m] = a, after2[m] = b, m++;
  }
  if (m >= 2) {
    const double a = gn_median(after1, m), b = gn_median(after2, m), expected = gn_systole_expected_s(&w->s->profile, a + b);
    const double za = gn_log(a / expected) / OFFSET_SD, zb = gn_log(b / expected) / OFFSET_SD;
    for (size_t i = 0; i < m; i++) off[i] = fabs(after1[i] - a);
    const double sd1 = 1.4826 * gn_median(off, m) + STEADY_FLOOR_S;
    for (size_t i = 0; i < m; i++) off[i] = fabs(after2[i] - b);
    const double sd2 = 1.4826 * gn_median(off, m) + STEADY_FLOOR_S;
    *log_odds = within(0.5 * (zb * zb - za * za), -20, 20) + within(STEADY_WEIGHT * gn_log(sd2 / sd1), -3, 3) + gn_model_naming(&c->model);
  }
  gn_free(after1);
  return 0;
}

// Give the sounds each other's names and learn anew.
static int exchange_names(work *w, candidate *c) {
  const gn_model before = c->model;
  c->n_beats--;
  for (size_t i = 0; i < c->n_beats; i++) c->beats[i] = (gn_beat_frames){c->beats[i].s2, c->beats[i + 1].s1};
  memcpy(c->model.s1, before.s2, sizeof before.s2);
  memcpy(c->model.s2, before.s1, sizeof before.s1);
  return refine(w, c, ROUNDS);
}

static int choose(work *w) {
  if (list_candidates(w)) return -1;
  for (size_t i = 0; i < w->n; i++) {
    gn_model_score(&w->list[i].model, w->f, &w->scores);
    if (decode(w, &w->list[i])) return -1;
  }
#ifdef GN_DEBUG
  for (size_t i = 0; i < w->n; i++) fprintf(stderr, "1: %d place %.0f bpm %.1f n %zu score %.1f beats-bpm %.1f\n", w->list[i].irregular, (double)median_place(w->list[i].place, w->n_seconds), 60 / gn_lags_s(&w->s->lags, (double)median_place(w->list[i].place, w->n_seconds)), w->list[i].n_beats, w->list[i].score, 6000 / median_interval(&w->list[i]));
#endif
  for (size_t i = 0; i < w->n; i++)
    if (refine(w, &w->list[i], 1)) return -1;
#ifdef GN_DEBUG
  for (size_t i = 0; i < w->n; i++) fprintf(stderr, "1b: %d place %.0f bpm %.1f n %zu score %.1f beats-bpm %.1f\n", w->list[i].irregular, (double)median_place(w->list[i].place, w->n_seconds), 60 / gn_lags_s(&w->s->lags, (double)median_place(w->list[i].place, w->n_seconds)), w->list[i].n_beats, w->list[i].score, 6000 / median_interval(&w->list[i]));
#endif
  rank(w);
  for (size_t i = 0; i < w->n; i++)
    if (refine(w, &w->list[i], ROUNDS)) return -1;
#ifdef GN_DEBUG
  for (size_t i = 0; i < w->n; i++) fprintf(stderr, "2: %d n %zu score %.1f beats-bpm %.1f sd %.3f off %.3f ssd %.3f long %.3f short %.3f logdet %.2f\n", w->list[i].irregular, w->list[i].n_beats, w->list[i].score, 6000 / median_interval(&w->list[i]), w->list[i].model.interval_sd, w->list[i].model.systole_log_offset, w->list[i].model.systole_sd, w->list[i].model.long_share, w->list[i].model.short_share, w->list[i].model.quiet.log_det);
#endif
  for (size_t i = 1; i < w->n; i++)
    if (w->list[i].score > w->list[0].score) {
      const candidate t = w->list[0];
      w->list[0] = w->list[i];
      w->list[i] = t;
    }
  double log_odds = 0;
  if (w->n && naming(w, &w->list[0], &log_odds)) return -1;
  if (log_odds < 0 && (exchange_names(w, &w->list[0]) || naming(w, &w->list[0], &log_odds))) return -1;
  w->s->name_log_odds = log_odds;
#ifdef GN_DEBUG
  if (w->n) fprintf(stderr, "3: best %.1f naming %.1f timbre %.1f\n", w->list[0].score, log_odds, gn_model_naming(&w->list[0].model));
#endif
  return 0;
}

static int keep_beats(work *w, const float *p1, const float *p2, const gn_sound_times *t1, const gn_sound_times *t2) {
  gn_segment *s = w->s;
  const candidate *c = &w->list[0];
  void *items = s->beats;
  if (gn_grow(&items, &s->capacity, c->n_beats, sizeof *s->beats)) return -1;
  s->beats = items;
  s->n_beats = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    const bool has1 = c->beats[i].s1 >= 0, has2 = c->beats[i].s2 < (long)w->f->n && c->beats[i].s2 >= 0;
    if (has1 && w->f->spoilt[c->beats[i].s1]) continue; // left out, not guessed
    if (!has1 && !has2) continue;
    girthline_beat b = {.s1_onset_s = NAN, .s2_onset_s = NAN, .s1_peak_s = NAN, .s1_offset_s = NAN, .s2_peak_s = NAN, .s2_offset_s = NAN};
    if (has1) {
      b.s1_onset_s = w->f->start_s + t1[i].onset_s;
      b.s1_peak_s = (float)(t1[i].peak_s - t1[i].onset_s);
      b.s1_offset_s = (float)(t1[i].offset_s - t1[i].onset_s);
    }
    if (has2 && !w->f->spoilt[c->beats[i].s2]) {
      b.s2_onset_s = w->f->start_s + t2[i].onset_s;
      b.s2_peak_s = (float)(t2[i].peak_s - t2[i].onset_s);
      b.s2_offset_s = (float)(t2[i].offset_s - t2[i].onset_s);
    }
    b.confidence = p1[i];
    b.name_confidence = p2[i];
    s->beats[s->n_beats++] = b;
  }
  return 0;
}

// Posteriors and exact times of the chosen candidate.
static int read_out(work *w) {
  candidate *c = &w->list[0];
  const size_t n = c->n_beats;
  float *p = gn_new(2 * n, sizeof *p);
  long *frames = gn_new(2 * n, sizeof *frames);
  gn_sound_times *t = gn_new(2 * n, sizeof *t);
  int bad = !p || !frames || !t;
  if (!bad) {
    gn_model_score(&c->model, w->f, &w->scores);
    bad = decode(w, c);
  }
  if (!bad) {
    gn_decode_posterior(w->decoder, &w->scores, &w->s->durations, c->place, w->n_seconds, 6, p, p + n);
    for (size_t i = 0; i < n; i++) {
      frames[i] = c->beats[i].s1 >= 0 ? c->beats[i].s1 : LONG_MIN;
      frames[n + i] = c->beats[i].s2 < (long)w->f->n ? c->beats[i].s2 : LONG_MIN;
    }
    double jitter2;
    bad = gn_onset_refine(w->f, frames, n, w->s->profile.s1_length_s, t, &w->s->jitter_ms) ||
          gn_onset_refine(w->f, frames + n, n, w->s->profile.s2_length_s, t + n, &jitter2);
  }
  if (!bad) bad = keep_beats(w, p, p + n, t, t + n);
  gn_free(p);
  gn_free(frames);
  gn_free(t);
  return bad ? -1 : 0;
}

girthline_status gn_segment_window(gn_segment *s, const gn_features *f, const girthline_beat **beats, size_t *n_beats) {
  work w = {.s = s, .f = f, .n_seconds = (size_t)((double)f->n / f->rate_hz) + 1};
  girthline_status status = GIRTHLINE_NO_MEMORY;
  const size_t pad = s->durations.most_systole_n;
  s->n_beats = 0;
  s->reason[0] = 0;
  w.decoder = gn_decoder_new(f->n, pad);
  if (!w.decoder || gn_scores_init(&w.scores, f->n, pad) || choose(&w)) goto done;
  if (w.n == 0 || w.list[0].n_beats < 2) snprintf(s->reason, sizeof s->reason, "no repeating pair of sounds was found");
  else if (read_out(&w)) goto done;
  status = GIRTHLINE_OK;
done:
  *beats = s->beats;
  *n_beats = s->n_beats;
  work_clear(&w);
  return status;
}
