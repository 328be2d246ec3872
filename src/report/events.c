// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/events.h"

#include <math.h>

#define BEATS_BEFORE 1.4 ///< usual intervals shown before an event, and after it
#define BEATS_AFTER 1.6
#define LONGEST_SHOWN_S 30.0 ///< a longer pause is shown by its first part

// How far from the usual interval, either way: 2 and 0.5 are as far.
static double size_of(const gn_event *e) { return e->ratio > 1 ? e->ratio : 1 / fmax(e->ratio, 1e-3); }

static gn_event pause_event(const girthline_result *r, size_t i) {
  const girthline_pause *p = &r->rhythm.pauses[i];
  const double usual_s = (p->span.end_s - p->span.start_s) / fmax(p->ratio, 1);
  return (gn_event){true, i, p->span.start_s, p->ratio, {p->span.start_s - BEATS_BEFORE * usual_s, p->span.end_s + BEATS_AFTER * usual_s}};
}

static gn_event early_event(const girthline_result *r, size_t i) {
  const double at_s = r->rhythm.early[i].onset_s, usual_s = isfinite(r->rate.bpm) && r->rate.bpm > 0 ? 60 / r->rate.bpm : 1;
  return (gn_event){false, i, at_s, r->rhythm.early[i].ratio, {at_s - (1 + BEATS_BEFORE) * usual_s, at_s + (1 + BEATS_AFTER) * usual_s}};
}

static bool shown_by(const gn_event *shown, size_t n, const gn_event *e) {
  for (size_t i = 0; i < n; i++)
    if (e->at_s >= shown[i].around.start_s && e->at_s <= shown[i].around.end_s) return true;
  return false;
}

// Kept by size while gathering; the smallest gives way.
static void offer(gn_event *kept, size_t *n, gn_event e) {
  if (!isfinite(e.ratio) || shown_by(kept, *n, &e)) return;
  if (*n < GN_MOST_SHOWN_EVENTS) {
    kept[(*n)++] = e;
    return;
  }
  size_t least = 0;
  for (size_t i = 1; i < *n; i++)
    if (size_of(&kept[i]) < size_of(&kept[least])) least = i;
  if (size_of(&e) > size_of(&kept[least])) kept[least] = e;
}

size_t gn_events_most(const girthline_result *r, gn_event events[GN_MOST_SHOWN_EVENTS]) {
  size_t n = 0;
  const double start_s = isfinite(r->recording.from_s) ? r->recording.from_s : 0;
  const double end_s = r->recording.to_s > start_s ? r->recording.to_s : r->recording.duration_s;
  for (size_t i = 0; i < r->rhythm.n_pauses; i++) offer(events, &n, pause_event(r, i));
  for (size_t i = 0; i < r->rhythm.n_early; i++) offer(events, &n, early_event(r, i));
  for (size_t i = 1; i < n; i++)
    for (size_t k = i; k && events[k].at_s < events[k - 1].at_s; k--) {
      const gn_event swap = events[k];
      events[k] = events[k - 1];
      events[k - 1] = swap;
    }
  for (size_t i = 0; i < n; i++) {
    girthline_span *around = &events[i].around;
    around->start_s = fmax(around->start_s, start_s);
    if (isfinite(end_s)) around->end_s = fmin(around->end_s, end_s);
    around->end_s = fmin(around->end_s, around->start_s + LONGEST_SHOWN_S);
  }
  return n;
}

size_t gn_events_count(const girthline_result *r, gn_event_list list) {
  return list == GN_EVENTS_PAUSES ? r->rhythm.n_pauses : list == GN_EVENTS_EARLY ? r->rhythm.n_early : r->quality.n_problems;
}

const char *gn_events_name(gn_event_list list) {
  static const char *const NAMES[] = {"Pauses", "Early beats", "Spoilt spans"};
  return NAMES[list];
}

const char *gn_events_meaning(gn_event_list list) {
  static const char *const MEANINGS[] = {"Intervals of 1.6 times the usual one or longer.", "Beats that come well before their time.", "What covered the heart there; nothing is measured in them."};
  return MEANINGS[list];
}

static void put_span(gn_buffer *out, girthline_span span) {
  gn_buffer_fixed(out, span.start_s, 1);
  gn_buffer_puts(out, " to ");
  gn_buffer_fixed(out, span.end_s, 1);
  gn_buffer_puts(out, "\xC2\xA0s");
}

static void put_ratio(gn_buffer *out, double ratio) {
  if (!isfinite(ratio)) return;
  gn_buffer_puts(out, " (");
  gn_buffer_fixed(out, ratio, 1);
  gn_buffer_puts(out, " times the usual)");
}

static void put_event(gn_buffer *out, const girthline_result *r, gn_event_list list, size_t i) {
  static const char *const PROBLEMS[] = {"handling", "dropout", "clipping", "breathing", "noise", "no heart sound"};
  if (list == GN_EVENTS_PAUSES) {
    put_span(out, r->rhythm.pauses[i].span);
    put_ratio(out, r->rhythm.pauses[i].ratio);
  } else if (list == GN_EVENTS_EARLY) {
    gn_buffer_puts(out, "at ");
    gn_buffer_fixed(out, r->rhythm.early[i].onset_s, 1);
    gn_buffer_puts(out, "\xC2\xA0s");
    put_ratio(out, r->rhythm.early[i].ratio);
  } else {
    const girthline_problem *p = &r->quality.problems[i];
    gn_buffer_printf(out, "%s ", (unsigned)p->kind <= GIRTHLINE_NO_HEART_SOUND ? PROBLEMS[p->kind] : "spoilt");
    put_span(out, p->span);
  }
}

void gn_events_words(gn_buffer *out, const girthline_result *r, gn_event_list list, size_t most) {
  const size_t n = gn_events_count(r, list), shown = n < most ? n : most;
  for (size_t i = 0; i < shown; i++) {
    if (i) gn_buffer_puts(out, ", ");
    put_event(out, r, list, i);
  }
  if (n > shown) gn_buffer_printf(out, ", and %zu more", n - shown);
}
