// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "window.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "envelope/envelope.h"
#include "filter/filter.h"
#include "filter/halve.h"
#include "segment/bounds.h"

void gn_window_clear(gn_window *w) {
  gn_quality_window_free(w->quality);
  gn_features_clear(&w->features);
  gn_peaks_clear(&w->peaks);
  gn_free(w->samples);
  gn_free(w->spoilt);
  gn_free(w->beats);
}

// The spans in which nothing can be measured, out of all problems of the window; and those without any heart sound, where the chest piece is off the
// animal: the decoder would lay beats into them.
static girthline_status list_spoilt(gn_window *w, const girthline_problem *problems, size_t n, double silent_heart_s) {
  void *items = w->spoilt;
  if (gn_grow(&items, &w->spoilt_capacity, 2 * n + 1, sizeof *w->spoilt)) return GIRTHLINE_NO_MEMORY;
  w->spoilt = items;
  w->hidden = w->spoilt + n;
  w->n_spoilt = w->n_hidden = 0;
  for (size_t i = 0; i < n; i++) {
    const girthline_span span = problems[i].span;
    if (!gn_quality_hides(problems[i].kind) && !(problems[i].kind == GIRTHLINE_NO_HEART_SOUND && span.end_s - span.start_s > silent_heart_s)) continue;
    w->spoilt[w->n_spoilt++] = span;
    if (problems[i].kind != GIRTHLINE_CLIPPING || !gn_quality_clips_by_beats(w->quality, span)) w->hidden[w->n_hidden++] = span;
  }
  return GIRTHLINE_OK;
}

// What needs the window's own rate: the band in which heart is held against noise, where it is not heard yet, and the sharp one of the envelopes in which
// other sounds than S1 and S2 are looked for, which is let go of at once. Both at once cost little more than one: apart, an analysis takes 7 % more.
static girthline_status hear_whole(gn_window *w, const gn_signal *low, bool is_heard) {
  const size_t n = w->sound.n;
  float *sharp = gn_room(n, sizeof *sharp), *heard = is_heard ? NULL : gn_quality_heard(w->quality, n);
  gn_biquad bands[2][2];
  gn_peaks_sharp_band(w->sound.fs_hz, bands[0]);
  gn_quality_heard_band(w->sound.fs_hz, bands[1]);
  const bool refused = !sharp || (!heard && !is_heard) || gn_biquad_zero_phase_bands((const gn_biquad(*)[2])bands, is_heard ? 1 : 2, w->sound.samples, (float *const[]){sharp, heard}, n) ||
                       gn_peaks_init(&w->peaks, &w->sound, low, sharp);
  gn_free(sharp);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

// What the decoder hears, and the low sounds beside it, do with half the rate.
static girthline_status hear(const gn_stages *s, gn_window *w, bool heard) {
  const gn_filter_settings filter = gn_filter_settings_default(s->profile);
  const gn_envelope_settings envelope = gn_envelope_settings_default(s->profile);
  gn_signal half;
  float *room;
  gn_bands bands = {0};
  if (gn_halve(&w->sound, &half, &room)) return GIRTHLINE_NO_MEMORY;
  girthline_status status = gn_filter_run(&half, &filter, &bands);
  gn_free(room);
  const gn_envelope_in in = {{bands.band[0], bands.band[1]}, bands.fine, bands.n, half.fs_hz, half.start_s, w->hidden, w->n_hidden};
  if (status == GIRTHLINE_OK && !s->result->beats_given) status = gn_envelope_run(&in, &envelope, &w->features);
  float *const low = bands.low;
  bands.low = NULL;
  gn_bands_clear(&bands); // there is other use for the room
  if (status == GIRTHLINE_OK) status = hear_whole(w, &(gn_signal){low, half.n, half.fs_hz, half.start_s}, heard);
  gn_free(low);
  return status;
}

// Heart is held against noise in the sound with its hum; all else is heard without it.
static girthline_status take_hum_off(const gn_stages *s, gn_window *w, const girthline_problem **problems, size_t *n_problems) {
  gn_biquad band[2];
  float *const heard = gn_quality_heard(w->quality, w->sound.n);
  gn_quality_heard_band(w->sound.fs_hz, band);
  if (!heard || gn_biquad_zero_phase(band, 2, w->samples, heard, w->sound.n)) return GIRTHLINE_NO_MEMORY;
  return gn_quality_take_hum_off(s->quality, w->quality, &w->sound, w->samples, problems, n_problems);
}

// First stage of the relay: what is spoilt, and what the decoder and the measures hear.
girthline_status gn_window_prepare(gn_stages *s, gn_window *w) {
  const girthline_problem *problems;
  size_t n_problems;
  girthline_status status = gn_quality_even_out(s->quality, &w->sound, w->samples);
  if (status == GIRTHLINE_OK) status = gn_quality_mark(s->quality, w->quality, &w->sound, &problems, &n_problems);
  const bool hums = status == GIRTHLINE_OK && gn_quality_hums(s->quality);
  if (hums) status = take_hum_off(s, w, &problems, &n_problems);
  if (status == GIRTHLINE_OK) status = list_spoilt(w, problems, n_problems, s->result->limits.rhythm.silent_heart_s);
  return status == GIRTHLINE_OK ? hear(s, w, hums) : status;
}

// Take over the window's final beats; a beat met again at the seam is not taken twice.
static girthline_status take_beats(gn_stages *s, const gn_window *w) {
  girthline_result *r = s->result;
  void *items = r->beats;
  if (gn_grow(&items, &s->beats_capacity, r->n_beats + w->n_beats + 1, sizeof *r->beats)) return GIRTHLINE_NO_MEMORY;
  r->beats = items;
  for (size_t i = 0; i < w->n_beats; i++) {
    const double at = gn_result_beat_s(&w->beats[i]);
    if (at < w->from_s || at >= w->to_s) continue;
    if (r->n_beats && at - gn_result_beat_s(&r->beats[r->n_beats - 1]) < 0.15) continue; // no heart here beats 400 times a minute
    r->beats[r->n_beats++] = w->beats[i];
  }
  return GIRTHLINE_OK;
}

static girthline_status keep_beats(gn_window *w, const girthline_beat *beats, size_t n) {
  void *items = w->beats;
  if (gn_grow(&items, &w->beats_capacity, n, sizeof *w->beats)) return GIRTHLINE_NO_MEMORY;
  w->beats = items;
  w->n_beats = n;
  if (n) memcpy(w->beats, beats, n * sizeof *w->beats);
  return GIRTHLINE_OK;
}

// Second stage: the beats. What one window taught is where the next begins.
girthline_status gn_window_decode(gn_stages *s, gn_window *w) {
  if (s->result->beats_given) return GIRTHLINE_OK;
  const girthline_beat *beats;
  size_t n_beats;
  girthline_status status = gn_segment_window(s->segment, &w->features, &beats, &n_beats);
  if (status == GIRTHLINE_OK) status = gn_segment_reconsider(s->segment, &w->sound, w->spoilt, w->n_spoilt, &n_beats);
  if (!s->refusal[0]) snprintf(s->refusal, sizeof s->refusal, "%s", gn_segment_reason(s->segment));
  gn_features_clear(&w->features);
  if (status == GIRTHLINE_OK) status = keep_beats(w, beats, n_beats);
  if (status != GIRTHLINE_OK) return status;
  w->n_beats = gn_beats_bound(w->beats, w->n_beats, &w->sound, w->hidden, w->n_hidden);
  return take_beats(s, w);
}

// Third stage: everything that is measured once the beats are known.
girthline_status gn_window_measure(gn_stages *s, gn_window *w) {
  const bool given = s->result->beats_given;
  const girthline_beat *beats = given ? s->result->beats : w->beats;
  const size_t n_beats = given ? s->result->n_beats : w->n_beats;
  const double from_to_s[2] = {w->from_s, w->to_s};
  girthline_status status = gn_quality_measure(s->quality, w->quality, &w->sound, from_to_s, beats, n_beats);
  if (status == GIRTHLINE_OK) status = gn_extra_collect(s->extra, &w->peaks, w->from_s, w->to_s, beats, n_beats, w->spoilt, w->n_spoilt);
  gn_peaks_clear(&w->peaks);
  if (status == GIRTHLINE_OK) status = gn_murmur_collect(s->murmur, &w->sound, w->from_s, w->to_s, beats, n_beats, w->spoilt, w->n_spoilt);
  return status;
}
