// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/synth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"

static const char *const RHYTHMS[] = {"regular", "cyclic", "pauses", "early-beats", "irregular"};
static const char *const PHASES[] = {"systole", "diastole", "continuous"};
static const char *const TIMINGS[] = {"early", "mid", "late", "holo"};
static const char *const SHAPES[] = {"plateau", "crescendo", "decrescendo", "crescendo-decrescendo"};
static const char *const NOISES[] = {"breath", "gut", "handling", "hum", "voice", "wind", "dropout", "knocks"};
#define N_OF(a) ((int)(sizeof(a) / sizeof *(a)))


void gn_synth_spec_init(gn_synth_spec *spec) {
  *spec = (gn_synth_spec){.species = GIRTHLINE_HORSE, .pause_beats = 1, .split_s1_ms = -1, .split_s2_ms = -1, .snr_db = 24,
                          .hum_hz = 50, .knocks_per_min = 50, .seconds = 30, .rate_hz = 4000, .channels = 1, .seed = 1,
                          .clip = 1};
}

static int find(const char *const *words, int n, const char *word, size_t length) {
  for (int i = 0; i < n; i++)
    if (strlen(words[i]) == length && !strncmp(words[i], word, length)) return i;
  return -1;
}

bool gn_synth_rhythm_parse(const char *word, gn_synth_rhythm_kind *out, bool *settling) {
  *settling = !strcmp(word, "settling");
  const int i = *settling ? GN_SYNTH_REGULAR : find(RHYTHMS, N_OF(RHYTHMS), word, strlen(word));
  if (i < 0) return false;
  *out = (gn_synth_rhythm_kind)i;
  return true;
}

static bool parse_pitch(const char *word, size_t length, double *out) {
  if (length < 3 || word[0] < '0' || word[0] > '9') return false;
  char *end;
  *out = strtod(word, &end);
  return end == word + length - 2 && !strncmp(end, "hz", 2);
}

static bool parse_word(const char *word, size_t length, int place, gn_synth_murmur *out) {
  int i;
  switch (place) {
  case 0:
    if ((i = find(PHASES, N_OF(PHASES), word, length)) >= 0) out->phase = (gn_synth_phase)i;
    return i >= 0;
  case 1:
    if ((i = find(TIMINGS, N_OF(TIMINGS), word, length)) >= 0) out->timing = (gn_synth_timing)i;
    return i >= 0;
  case 2:
    if ((i = find(SHAPES, N_OF(SHAPES), word, length)) >= 0) out->shape = (gn_synth_shape)i;
    return i >= 0;
  default: break;
  }
  if (length == 7 && !strncmp(word, "musical", 7)) return out->musical = true;
  return parse_pitch(word, length, &out->pitch_hz);
}

bool gn_synth_murmur_parse(const char *text, gn_synth_murmur *out) {
  out->musical = false;
  out->pitch_hz = 0;
  int place = 0;
  for (text += strspn(text, " \t"); *text; text += strspn(text, " \t"), place++) {
    const size_t length = strcspn(text, " \t");
    if (!parse_word(text, length, place, out)) return false;
    text += length;
  }
  return place >= 3;
}

bool gn_synth_noise_parse(const char *list, unsigned *out) {
  *out = 0;
  if (!strcmp(list, "none") || !*list) return true;
  for (;;) {
    const size_t length = strcspn(list, ",");
    const int i = find(NOISES, N_OF(NOISES), list, length);
    if (i < 0) return false;
    *out |= 1u << i;
    if (!list[length]) return true;
    list += length + 1;
  }
}

const char *gn_synth_rhythm_name(gn_synth_rhythm_kind kind) { return RHYTHMS[kind]; }
const char *gn_synth_phase_name(gn_synth_phase phase) { return PHASES[phase]; }
const char *gn_synth_timing_name(gn_synth_timing timing) { return TIMINGS[timing]; }
const char *gn_synth_shape_name(gn_synth_shape shape) { return SHAPES[shape]; }

const char *gn_synth_noise_name(unsigned bit) {
  int i = 0;
  while (i < N_OF(NOISES) - 1 && !(bit >> i & 1u)) i++;
  return NOISES[i];
}

/// One number with its range; zero_too: 0 is also allowed and means "drawn".
typedef struct range { const char *what, *unit; double value, lo, hi; bool zero_too; } range;

static girthline_status check_ranges(const range *ranges, size_t n, girthline_error *error) {
  for (size_t i = 0; i < n; i++) {
    const range *r = &ranges[i];
    if ((r->zero_too && r->value == 0) || (r->value >= r->lo && r->value <= r->hi)) continue;
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "synth", "%s is %g; it has to lie between %g and %g%s%s.", r->what,
                        r->value, r->lo, r->hi, *r->unit ? " " : "", r->unit);
  }
  return GIRTHLINE_OK;
}

static girthline_status check_words(const gn_synth_spec *s, girthline_error *error) {
  if ((unsigned)s->species >= GIRTHLINE_N_SPECIES || (unsigned)s->rhythm >= GN_SYNTH_N_RHYTHMS ||
      s->n_murmurs > GN_SYNTH_MURMURS_MOST || s->noise > 255)
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "synth", "species, rhythm, number of murmurs or noise is out of range.");
  if (s->intervals && !s->intervals->n) return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "synth", "the list of intervals is empty.");
  if (s->hum_hz != 50 && s->hum_hz != 60)
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "synth", "hum-hz is %g; it has to be 50 or 60 Hz.", s->hum_hz);
  return GIRTHLINE_OK;
}

static girthline_status check_murmurs(const gn_synth_spec *s, girthline_error *error) {
  for (size_t i = 0; i < s->n_murmurs; i++) {
    const gn_synth_murmur *m = &s->murmurs[i];
    const range ranges[] = {{"level-db", "dB", m->level_db, -60, 40, false}, {"murmur pitch", "Hz", m->pitch_hz, 40, 650, true}};
    const girthline_status status = check_ranges(ranges, 2, error);
    if (status) return status;
    if ((unsigned)m->phase > GN_SYNTH_CONTINUOUS || (unsigned)m->timing > GN_SYNTH_HOLO ||
        (unsigned)m->shape > GN_SYNTH_CRESCENDO_DECRESCENDO)
      return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "synth", "a murmur's phase, timing or shape is out of range.");
  }
  return GIRTHLINE_OK;
}

girthline_status gn_synth_spec_check(const gn_synth_spec *s, girthline_error *error) {
  const range ranges[] = {
      {"bpm", "beats a minute", s->bpm, 10, 320, true},
      {"settle", "percent", s->settle_percent, 0, 150, false},
      {"cycle-depth", "percent", s->cycle_depth_percent, 1, 40, true},
      {"pause-beats", "beats", s->pause_beats, 1, 4, false},
      {"split-s1-ms", "ms", s->split_s1_ms, s->split_s1_ms < 0 ? -1 : 0, 80, false},
      {"split-s2-ms", "ms", s->split_s2_ms, s->split_s2_ms < 0 ? -1 : 0, 100, false},
      {"snr-db", "dB", s->snr_db, -20, 80, false},
      {"knocks", "a minute", s->knocks_per_min, 5, 300, false},
      {"breaths-per-min", "a minute", s->breaths_per_min, 2, 120, true},
      {"seconds", "s", s->seconds, 0.1, 604800, false},
      {"rate-hz", "Hz", s->rate_hz, 1600, 96000, false},
      {"channels", "", s->channels, 1, 2, false},
      {"gain-db", "dB", s->gain_db, -60, 60, false},
      {"clip", "of full scale", s->clip, 0.001, 1, false},
      {"dc", "of full scale", s->dc, -0.5, 0.5, false},
      {"resonance", "Hz", s->resonance_hz, 40, 700, true},
  };
  girthline_status status = check_words(s, error);
  if (!status) status = check_ranges(ranges, sizeof ranges / sizeof *ranges, error);
  return status ? status : check_murmurs(s, error);
}
