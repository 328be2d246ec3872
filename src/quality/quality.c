// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "quality/quality.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "base/statistics.h"
#include "quality/parts.h"

static const double LIKE_USUAL = 0.1; // an interval this near to the median one holds one beat: a choice
static const double AT_END_S = 0.1; // a dropout this near to an end of the recording begins or ends there
// Heart sounds that are clipped are so beat after beat; a clipped stretch that stands alone is a bang. Choices: that many others no further than
// four beats of the slowest rate away, or one so long that it holds two beats of that: of a fast heart they run together.
static const double CLIPPED_NEAR_S = 10, CLIPPED_LONG_S = 5;
static const size_t CLIPPED_OTHERS_N = 2;

struct gn_quality {
  girthline_quality_limits limits;
  const girthline_profile *profile;
  girthline_profile profile_store;
  gn_quality_clipping clipping;
  gn_quality_frames frames;
  gn_quality_hum hum;
  gn_quality_noise noise;
  gn_quality_breathing breathing;
  gn_quality_spans raw;    ///< from the recording's own samples: clipping, digital dropouts
  gn_quality_spans all;    ///< of the recording
  bool frames_own;         ///< the frames held are of samples that no other window has
  double listened_to_s;    ///< hum was looked for up to here
};

struct gn_quality_window {
  gn_quality_spans raw;     ///< those that reach into it or lie near ahead of it
  gn_quality_spans spans;   ///< all
  gn_quality_frames frames; ///< its rows are its own, the rest is the stage's
  float *heard;             ///< its sound in the band of the noise measure
};

gn_quality_window *gn_quality_window_new(void) { return gn_new(1, sizeof(gn_quality_window)); }

void gn_quality_window_free(gn_quality_window *w) {
  if (!w) return;
  gn_quality_spans_clear(&w->raw);
  gn_quality_spans_clear(&w->spans);
  gn_free(w->frames.rows);
  gn_free(w->heard);
  gn_free(w);
}

float *gn_quality_heard(gn_quality_window *w, size_t n) {
  gn_free(w->heard);
  return w->heard = gn_room(n, sizeof *w->heard);
}

gn_quality *gn_quality_new(const girthline_quality_limits *limits, const girthline_profile *profile, double fs_hz, double analysis_fs_hz, double start_s) {
  gn_quality *q = gn_new(1, sizeof *q);
  if (!q) return NULL;
  q->limits = *limits;
  q->profile_store = *profile;
  q->profile = &q->profile_store;
  gn_quality_clipping_init(&q->clipping, &q->limits, fs_hz);
  q->clipping.start_s = start_s;
  q->hum.limits = q->noise.limits = q->breathing.limits = &q->limits;
  q->raw.join_s = q->all.join_s = limits->join_s;
  if (gn_quality_frames_init(&q->frames, &q->limits, q->profile, analysis_fs_hz)) {
    gn_quality_free(q);
    return NULL;
  }
  return q;
}

void gn_quality_free(gn_quality *q) {
  if (!q) return;
  gn_quality_frames_clear(&q->frames);
  gn_quality_spans_clear(&q->raw);
  gn_quality_spans_clear(&q->all);
  gn_free(q);
}

girthline_status gn_quality_push(gn_quality *q, const float *samples, size_t n) {
  return gn_quality_clipping_push(&q->clipping, samples, n, &q->raw) ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

gn_swing gn_quality_swing(const gn_quality *q) { return q->clipping.swing; }

// Spans of `from` that reach into [start_s, end_s], cut to it.
static int take(gn_quality_spans *to, const gn_quality_spans *from, double start_s, double end_s) {
  for (size_t i = 0; i < from->n; i++) {
    const girthline_span s = from->items[i].span;
    if (gn_quality_spans_add(to, from->items[i].kind, fmax(s.start_s, start_s), fmin(s.end_s, end_s))) return -1;
  }
  return 0;
}

// Copied as they are: each is cut and joined with the others where the window is marked.
girthline_status gn_quality_begin(const gn_quality *q, gn_quality_window *w, double start_s, double end_s) {
  w->raw.n = w->spans.n = 0;
  w->spans.join_s = q->limits.join_s;
  for (size_t i = 0; i < q->raw.n; i++) {
    const girthline_span s = q->raw.items[i].span;
    if (!(s.end_s > start_s - CLIPPED_NEAR_S && s.start_s < end_s)) continue;
    void *items = w->raw.items;
    if (gn_grow(&items, &w->raw.capacity, w->raw.n + 1, sizeof *w->raw.items)) return GIRTHLINE_NO_MEMORY;
    w->raw.items = items;
    w->raw.items[w->raw.n++] = q->raw.items[i];
  }
  return GIRTHLINE_OK;
}

// What is lost is told by the sound as it came, with its hum, which is lost there too: without it a heart's quiet may be as still.
static int mark_all(gn_quality_window *w, const gn_quality_view *view, bool hum_off) {
  if (gn_quality_handling_mark(view, &w->spans) || (!hum_off && gn_quality_dropout_mark(view, &w->spans))) return -1;
  if (gn_quality_absence_mark(view, &w->spans) || gn_quality_breathing_mark(view, &w->spans)) return -1;
  return take(&w->spans, &w->raw, view->start_s, view->end_s);
}

// The frames as they are now, for the measures: those of the next window may be marked meanwhile.
static int keep_frames(gn_quality_window *w, const gn_quality_frames *frames) {
  void *rows = w->frames.rows;
  size_t capacity = w->frames.capacity;
  if (gn_grow(&rows, &capacity, frames->n, sizeof *frames->rows)) return -1;
  w->frames = *frames;
  w->frames.rows = rows;
  w->frames.capacity = capacity;
  if (frames->n) memcpy(rows, frames->rows, frames->n * sizeof *frames->rows);
  return 0;
}

// What is spoilt, from the window's frames.
static girthline_status mark(gn_quality *q, gn_quality_window *w, const gn_signal *window, bool hum_off) {
  const double start_s = window->start_s, end_s = start_s + (double)window->n / window->fs_hz;
  gn_quality_levels levels;
  if (gn_quality_frames_cover(&q->frames, window) || gn_quality_levels_of(&q->frames, q->profile, &levels)) return GIRTHLINE_NO_MEMORY;
  if (keep_frames(w, &q->frames)) return GIRTHLINE_NO_MEMORY;
  if (mark_all(w, &(gn_quality_view){&q->limits, &q->frames, &levels, q->profile, start_s, end_s}, hum_off)) return GIRTHLINE_NO_MEMORY;
  gn_quality_spans_sort(&w->spans);
  return GIRTHLINE_OK;
}

girthline_status gn_quality_mark(gn_quality *q, gn_quality_window *w, const gn_signal *window, const girthline_problem **problems, size_t *n_problems) {
  *problems = NULL;
  *n_problems = 0;
  const girthline_status status = mark(q, w, window, false);
  if (status != GIRTHLINE_OK) return status;
  const double end_s = window->start_s + (double)window->n / window->fs_hz;
  if (end_s > q->listened_to_s && gn_quality_hum_add(&q->hum, &(gn_quality_cut){window, &w->spans})) return GIRTHLINE_NO_MEMORY;
  q->listened_to_s = fmax(q->listened_to_s, end_s);
  *problems = w->spans.items;
  *n_problems = w->spans.n;
  return GIRTHLINE_OK;
}

// The samples were changed: their frames are taken anew, and no other window has them.
static void begin_own_frames(gn_quality *q) {
  q->frames.n = 0;
  q->frames_own = true;
}

girthline_status gn_quality_even_out(gn_quality *q, const gn_signal *window, float *samples) {
  if (q->frames_own) q->frames.n = 0;
  q->frames_own = false;
  if (gn_quality_frames_cover(&q->frames, window)) return GIRTHLINE_NO_MEMORY;
  const int changed = gn_quality_even_gain(&q->frames, window, samples);
  if (changed > 0) begin_own_frames(q);
  return changed < 0 ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

bool gn_quality_hums(const gn_quality *q) { return q->hum.n_families > 0; }

static void keep_lost(gn_quality_spans *spans) {
  size_t kept = 0;
  for (size_t i = 0; i < spans->n; i++)
    if (spans->items[i].kind == GIRTHLINE_DROPOUT) spans->items[kept++] = spans->items[i];
  spans->n = kept;
}

girthline_status gn_quality_take_hum_off(gn_quality *q, gn_quality_window *w, const gn_signal *window, float *samples, const girthline_problem **problems,
                                         size_t *n_problems) {
  for (size_t i = 0; i < q->hum.n_families; i++)
    if (gn_quality_hum_off(&q->hum.families[i], &(gn_quality_cut){window, &w->spans}, samples)) return GIRTHLINE_NO_MEMORY;
  keep_lost(&w->spans);
  begin_own_frames(q);
  const girthline_status status = mark(q, w, window, true);
  *problems = w->spans.items;
  *n_problems = w->spans.n;
  return status;
}

bool gn_quality_hides(girthline_problem_kind kind) { return GN_QUALITY_HIDING >> kind & 1; }

girthline_status gn_quality_measure(gn_quality *q, gn_quality_window *w, const gn_signal *window, const double from_to_s[2],
                                    const girthline_beat *beats, size_t n_beats) {
  const double from_s = from_to_s[0], to_s = from_to_s[1];
  size_t first = 0, end = n_beats;
  while (first < n_beats && beats[first].s1_onset_s < from_s) first++;
  while (end > first && beats[end - 1].s1_onset_s >= to_s) end--;
  const gn_quality_cut cut = {window, &w->spans};
  if (take(&q->all, &w->spans, window->start_s, window->start_s + (double)window->n / window->fs_hz)) return GIRTHLINE_NO_MEMORY;
  const int no_noise = gn_quality_noise_add(&q->noise, &cut, w->heard, n_beats ? beats + first : NULL, end - first);
  gn_free(w->heard);
  w->heard = NULL;
  if (no_noise) return GIRTHLINE_NO_MEMORY;
  const int refused = gn_quality_breathing_add(&q->breathing, &w->frames, &w->spans, from_s, to_s, beats, n_beats);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

bool gn_quality_clips_by_beats(const gn_quality_window *w, girthline_span clipped) {
  size_t n_others = 0;
  for (size_t i = 0; i < w->raw.n; i++) {
    const girthline_span s = w->raw.items[i].span;
    if (w->raw.items[i].kind != GIRTHLINE_CLIPPING) continue;
    if (!(s.start_s < clipped.end_s && s.end_s > clipped.start_s)) n_others += fabs(s.start_s - clipped.start_s) <= CLIPPED_NEAR_S;
    else if (s.end_s - s.start_s >= CLIPPED_LONG_S) return true;
  }
  return n_others >= CLIPPED_OTHERS_N;
}

static double usable_s(const gn_quality_spans *all, double from_s, double to_s) {
  double spoilt_s = 0, reached_s = from_s;
  for (size_t i = 0; i < all->n; i++) {
    if (!(GN_QUALITY_SPOILING >> all->items[i].kind & 1)) continue;
    const double start_s = fmax(reached_s, all->items[i].span.start_s), end_s = fmin(to_s, all->items[i].span.end_s);
    if (end_s <= start_s) continue;
    spoilt_s += end_s - start_s;
    reached_s = end_s;
  }
  return fmax(0, to_s - from_s - spoilt_s);
}

// Time before the recording's first sound and after its last: no sound came through, and nothing was lost by it.
static double silent_ends_s(const gn_quality_spans *all, double from_s, double to_s) {
  double ends_s = 0;
  for (size_t i = 0; i < all->n; i++) {
    const girthline_span s = all->items[i].span;
    if (all->items[i].kind == GIRTHLINE_DROPOUT && (s.start_s <= from_s + AT_END_S || s.end_s >= to_s - AT_END_S)) ends_s += s.end_s - s.start_s;
  }
  return ends_s;
}

static int hand_over_problems(gn_quality *q, girthline_quality *out) {
  gn_quality_spans_sort(&q->all);
  if (!q->all.n) return 0;
  out->problems = gn_new(q->all.n, sizeof *out->problems);
  if (!out->problems) return -1;
  memcpy(out->problems, q->all.items, q->all.n * sizeof *out->problems);
  out->n_problems = q->all.n;
  return 0;
}

// Of a constant only what rounding and the filters' ends made of it was seen.
static int mark_silent(gn_quality *q, girthline_quality *out, double from_s, double to_s) {
  q->all.n = 0;
  if (out->hum_hz > 0) out->hum_hz = 0;
  return gn_quality_spans_add(&q->all, GIRTHLINE_NO_HEART_SOUND, from_s, to_s);
}

static int say_why(girthline_result *r, const char *no_breath) {
  static const char GIVEN[] = "The sounds were given by hand by their onset alone: where they end is not known.";
  const girthline_quality *out = &r->quality;
  const bool given = r->beats_given && r->n_beats;
  int refused = 0;
  if (isnan(out->heart_to_noise_db))
    refused |= gn_result_undetermine(r, "/quality/heart_to_noise_db", "%s", given        ? GIVEN
                                                                            : r->n_beats ? "No whole beat with quiet beside it is free of spoilt spans."
                                                                                         : "No heart beats were found to measure.");
  if (isnan(out->clipped_fraction)) refused |= gn_result_undetermine(r, "/quality/clipped_fraction", "The recording holds no samples.");
  if (isnan(out->hum_hz)) refused |= gn_result_undetermine(r, "/quality/hum_hz", "The recording is too short to look for a steady line in: that takes a little over 4 s.");
  if (isnan(out->breaths_per_min)) refused |= gn_result_undetermine(r, "/quality/breaths_per_min", "%s", given ? GIVEN : no_breath);
  if (isnan(out->best_span.start_s))
    refused |= gn_result_undetermine(r, "/quality/best_span", "There is no run of three whole confident beats free of spoilt spans.");
  return refused;
}

// Beats a second, from the intervals like the usual one: a missed beat is none of them. NaN with no interval; -1 when memory is refused.
static double beats_a_second(const girthline_result *r) {
  if (r->n_beats < 2) return NAN;
  double *x = gn_new(2 * r->n_beats, sizeof *x), sum = 0, kept = 0;
  if (!x) return -1;
  size_t n = 0;
  for (size_t i = 0; i + 1 < r->n_beats; i++) {
    const double interval_s = r->beats[i + 1].s1_onset_s - r->beats[i].s1_onset_s;
    if (isfinite(interval_s)) x[n] = x[r->n_beats + n] = interval_s, n++;
  }
  const double usual_s = gn_median(x, n);
  for (size_t i = 0; i < n; i++)
    if (fabs(x[r->n_beats + i] / usual_s - 1) < LIKE_USUAL) sum += x[r->n_beats + i], kept++;
  gn_free(x);
  return kept > 0 ? kept / sum : (double)NAN;
}

girthline_status gn_quality_finish(gn_quality *q, girthline_result *r) {
  girthline_quality *out = &r->quality;
  const double seen_s = (double)q->clipping.n_seen / q->clipping.fs_hz;
  const double from_s = isfinite(r->recording.from_s) ? r->recording.from_s : 0, to_s = isfinite(r->recording.to_s) ? r->recording.to_s : seen_s;
  if (gn_quality_clipping_flush(&q->clipping, &q->raw) || take(&q->all, &q->raw, from_s, to_s)) return GIRTHLINE_NO_MEMORY;
  const double beat_hz = beats_a_second(r);
  if (beat_hz < 0) return GIRTHLINE_NO_MEMORY;
  out->hum_hz = gn_quality_hum_hz(&q->hum, beat_hz);
  out->silent = q->clipping.n_seen > 1 && isinf(q->clipping.quantum); // whatever the value is
  if (out->silent && mark_silent(q, out, from_s, to_s)) return GIRTHLINE_NO_MEMORY;
  if (hand_over_problems(q, out)) return GIRTHLINE_NO_MEMORY;
  out->usable_s = usable_s(&q->all, from_s, to_s);
  out->clipped_fraction = q->clipping.n_seen ? (double)q->clipping.n_clipped / (double)q->clipping.n_seen : (double)NAN;
  out->heart_to_noise_db = gn_quality_noise_db(&q->noise);
  const char *no_breath = NULL;
  out->breaths_per_min = gn_quality_breathing_rate(&q->breathing, q->profile, &no_breath);
  out->best_span = gn_quality_best_span(r);
  gn_quality_grade(out, &r->limits.quality, r->beats, r->n_beats, to_s - from_s - silent_ends_s(&q->all, from_s, to_s));
  return say_why(r, no_breath) ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}
