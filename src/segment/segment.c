// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "segment/segment.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "segment/bounds.h"
#include "segment/candidate.h"
#include "segment/certainty.h"
#include "segment/cycle_naming.h"
#include "segment/departure.h"
#include "segment/jitter.h"
#include "segment/kinds.h"
#include "segment/naming.h"
#include "segment/overlooked.h"
#include "segment/repeat.h"
#include "segment/timing.h"
#include "segment/trust.h"

#define LAST_ROUNDS 2 // re-estimations of the chosen candidate with its sounds' spread learnt apart
#define REPEAT_ROUNDS 2 // hearings with the waveform: the second learns from beats the first has cleaned
#define S2_LEAST 0.2f  // posterior under which a second sound is not claimed
#define NO_PAIRS "no repeating pair of sounds was found"
#define NEXT_BEST 20.0 // nats that an account may lie under the best one and still be heard when that one is refused
#define NEXT_BEST_TWICE 60.0 // the same where the best one may have left out every second beat: a choice
#define NEXT_BEST_PAIRED 0.25 // or of what the best one gains, where it may have taken each sound for a beat, and another pairs them: a choice
#define CARRIED_ODDS_MOST 4.0 // log odds of the names that a window hands on: enough to lean on, not to overrule clear sounds
#define NEAR_N 6      // frames within which a sound counts as in its place: 60 ms

struct gn_segment {
  girthline_profile profile;
  girthline_segment_limits limits;
  gn_lags lags;
  gn_durations durations;
  bool shares; ///< two threads may hear the accounts of one window
  girthline_beat *beats;
  size_t n_beats, n_doubted, capacity, n_jitter; ///< n_jitter: beats the jitter was measured on
  ///< n_doubted: beats of a refused account that nothing speaks against but the time between its sounds
  size_t n_named, n_hidden; ///< beats whose names were looked at again; of them those with an S1 under a murmur
  double jitter_ms, name_log_odds;
  gn_overlooked overlooked; ///< of the account the beats come from
  gn_carried carried; ///< from the last window that gave beats
  char reason[200];
};

gn_segment *gn_segment_new(const girthline_profile *profile) {
  gn_segment *s = gn_new(1, sizeof *s);
  if (!s) return NULL;
  s->profile = *profile;
  s->limits = girthline_limits_default().segment;
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

void gn_segment_share(gn_segment *s) { s->shares = true; }

void gn_segment_limit(gn_segment *s, const girthline_segment_limits *limits) { s->limits = *limits; }

double gn_segment_onset_jitter_ms(const gn_segment *s) { return s->jitter_ms; }
const char *gn_segment_reason(const gn_segment *s) { return s->reason; }

// The next beat is left out: the beat kept last is not followed by the one that will be.
static void break_after_last(gn_segment *s) {
  if (s->n_beats) s->beats[s->n_beats - 1].unbroken = GN_BROKEN;
}

static int keep_beats(gn_segment *s, const gn_hearing *h, const gn_posterior *p, const gn_sound_times *t1, const gn_sound_times *t2) {
  const gn_candidate *c = &h->list[0];
  void *items = s->beats;
  if (gn_grow(&items, &s->capacity, c->n_beats, sizeof *s->beats)) return -1;
  s->beats = items;
  s->n_beats = 0;
  for (size_t i = 0; i < c->n_beats; i++) {
    if (isnan(p[i].s1)) continue; // a stray one
    const bool has1 = c->beats[i].s1 >= 0, inside2 = c->beats[i].s2 < (long)h->f->n && c->beats[i].s2 >= 0;
    const bool has2 = inside2 && p[i].s2 >= S2_LEAST && !h->f->spoilt[c->beats[i].s2];
    const bool hidden = has1 && h->f->spoilt[c->beats[i].s1]; // left out, not guessed
    if (hidden || (!has1 && !has2)) {
      break_after_last(s);
      continue;
    }
    girthline_beat b;
    memset(&b, 0, sizeof b); // the bytes between the fields too: equal analyses are equal to the byte
    b.s1_onset_s = b.s2_onset_s = NAN;
    b.s1_peak_s = b.s1_offset_s = b.s2_peak_s = b.s2_offset_s = NAN;
    if (has1) {
      b.s1_onset_s = h->f->start_s + t1[i].onset_s;
      b.s1_peak_s = (float)(t1[i].peak_s - t1[i].onset_s);
      b.s1_offset_s = (float)(t1[i].offset_s - t1[i].onset_s);
    }
    if (has2) {
      b.s2_onset_s = h->f->start_s + t2[i].onset_s;
      b.s2_peak_s = (float)(t2[i].peak_s - t2[i].onset_s);
      b.s2_offset_s = (float)(t2[i].offset_s - t2[i].onset_s);
    }
    b.confidence = p[i].s1;
    b.name_confidence = (float)gn_naming_confidence(s->name_log_odds);
    b.unbroken = fmaxf(p[i].unbroken, GN_BROKEN);
    s->beats[s->n_beats++] = b;
  }
  return 0;
}

// The mean over windows, each counting by its beats.
static int learn_jitter(gn_segment *s) {
  double jitter_ms;
  if (gn_jitter_measure(s->beats, s->n_beats, &jitter_ms)) return -1;
  if (isnan(jitter_ms)) return 0;
  const double before = s->n_jitter ? s->jitter_ms : 0, all = (double)(s->n_jitter + s->n_beats);
  s->jitter_ms = (before * (double)s->n_jitter + jitter_ms * (double)s->n_beats) / all;
  s->n_jitter += s->n_beats;
  return 0;
}

// Once more with the waveform, and again with what those beats teach, unless a clear heart's are the same.
static int hear_repeats(gn_hearing *h) {
  gn_candidate *c = &h->list[0];
  const double gain = c->gain_per_beat;
  for (int round = 0; round < REPEAT_ROUNDS; round++) {
    bool told = false;
    if (c->n_beats < 2) break;
    if (round > 0 && gn_candidate_learn(h, c)) return -1;
    if (gn_timing_find(h, c) || gn_repeat_score(h, c, c->times, c->times + c->n_beats, &told)) return -1;
    if (!told && round == 0) break; // scores and beats are as they were
    if (gn_candidate_decode(h, c)) return -1;
    if (gain >= GN_CLEAR_GAIN && c->moved_n <= GN_SAME_N) break;
  }
  c->gain_per_beat = gain;
  return 0;
}

// Posteriors and exact times of the chosen candidate.
static int read_out(gn_segment *s, gn_hearing *h, bool doubted) {
  if (hear_repeats(h) || gn_overlooked_find(h, &h->list[0], doubted, &s->overlooked)) return -1;
  gn_candidate *c = &h->list[0];
  gn_posterior *p = gn_new(c->n_beats, sizeof *p);
  int bad = !p || gn_timing_find(h, c);
  if (!bad) gn_decode_posterior(h->decoder, &h->scores, &s->durations, NEAR_N, p);
  if (!bad) bad = gn_certainty_find(h, c, p);
  if (!bad) bad = keep_beats(s, h, p, c->times, c->times + c->n_beats);
  gn_free(p);
  return bad ? -1 : 0;
}

// Exchanging the names ruins an account whose sounds do not stand the other way round: then another one tells more, and is
// heard instead.
static bool prefer_another(gn_hearing *h) {
  size_t best = 0;
  for (size_t i = 1; i < h->n; i++)
    if (h->list[i].score > h->list[best].score) best = i;
  const gn_candidate t = h->list[0];
  h->list[0] = h->list[best];
  h->list[best] = t;
  return best > 0;
}

// The chosen account, its names settled, learnt once more on its own.
static int settle(gn_hearing *h, double *log_odds) {
  size_t tries = h->n;
  do {
    if (gn_naming_settle(h, &h->list[0], log_odds)) return -1;
  } while (--tries > 0 && prefer_another(h));
  h->list[0].model.pooled = false;
  return gn_overlooked_sooner(h, &h->list[0]) || gn_candidate_refine(h, &h->list[0], LAST_ROUNDS) ? -1 : 0;
}

// Would the account be believed, were the time between its sounds a usual systole? Then it may be a heart whose sounds are others.
static bool only_time_speaks_against(const gn_segment *s, const gn_trust *trust, double interval_s) {
  gn_trust other = *trust;
  other.systole_offset = 0;
  other.systole_share = gn_systole_expected_s(&s->profile, interval_s) / interval_s;
  return !gn_trust_refusal(&s->limits, &other, &s->profile, interval_s);
}

// Keep the beats of the first such account, to be named anew or forgotten.
static int keep_doubted(gn_segment *s, gn_hearing *h, const gn_trust *trust, double interval_s) {
  if (s->n_doubted || !only_time_speaks_against(s, trust, interval_s)) return 0;
  if (read_out(s, h, true)) return -1;
  s->n_doubted = s->n_beats;
  s->n_beats = 0;
  return 0;
}

// How far another account may lie under the best one, nats, where one that gained so much was refused so.
static double next_best_under(const char *refusal, double gain) {
  static const char *const MAY_BE_SINGLE_SOUNDS[] = {GN_TRUST_TOO_LONG, GN_TRUST_ALTERNATE, GN_TRUST_IN_TURN, GN_TRUST_UNPAIRED};
  if (!strcmp(refusal, GN_TRUST_FASTER)) return INFINITY; // as no heart beats so, what it gains tells nothing against another
  if (!strcmp(refusal, GN_TRUST_MIDWAY)) return NEXT_BEST_TWICE;
  for (size_t i = 0; i < sizeof MAY_BE_SINGLE_SOUNDS / sizeof *MAY_BE_SINGLE_SOUNDS; i++)
    if (!strcmp(refusal, MAY_BE_SINGLE_SOUNDS[i])) return NEXT_BEST_PAIRED * gain;
  return NEXT_BEST;
}

// Bursts of noise: what else may be decoded in them is no heart, either.
static bool tells_of_noise(const char *refusal) { return !strcmp(refusal, GN_TRUST_OTHERWISE) || !strcmp(refusal, GN_TRUST_ONE_BURST); }

// What was heard of an account.
typedef struct verdict {
  const char *refusal; // NULL where it is to be believed
  double gain;         // nats, of all its beats
  bool single;         // each of its beats is a single sound
} verdict;

// Settle the first account and judge it.
static int judge_first(gn_segment *s, gn_hearing *h, verdict *v) {
  gn_candidate *c = &h->list[0];
  *v = (verdict){.refusal = NO_PAIRS};
  if (c->n_beats < 2) return 0;
  if (settle(h, &s->name_log_odds)) return -1;
  gn_trust trust = gn_trust_measure(h, c);
  if (gn_trust_asks_times(&s->limits, &trust) && gn_timing_uneven(h, c, &trust.uneven)) return -1;
  const bool mixed = gn_trust_asks_kinds(&s->limits, &trust);
  if ((mixed || gn_trust_asks_repeats(&trust)) && gn_kinds_measure(h, c, mixed, &trust.kinds)) return -1;
  const double interval_s = gn_candidate_interval_n(c) / h->f->rate_hz;
  *v = (verdict){gn_trust_refusal(&s->limits, &trust, &s->profile, interval_s), trust.gain_per_beat * (double)c->n_beats, gn_trust_is_single(&s->limits, &trust)};
  return v->refusal && !v->single ? keep_doubted(s, h, &trust, interval_s) : 0;
}

// Judge the best account; the next best is heard where that one is not to be believed and tells little more. *refusal is NULL where one is, and else
// tells what spoke against the best, or that one of them tells of noise.
static int judge(gn_segment *s, gn_hearing *h, const char **refusal) {
  const double best_score = h->n ? h->list[0].score : 0;
  double next_best = NEXT_BEST;
  bool paired = false;
  *refusal = h->n ? NULL : NO_PAIRS;
  for (bool first = true; h->n > 0; first = false) {
    verdict v;
    if (judge_first(s, h, &v)) return -1;
    const bool last = !v.refusal || tells_of_noise(v.refusal);
    if (first || last) *refusal = v.refusal;
    if (last) return 0;
    next_best = fmax(next_best, next_best_under(v.refusal, v.gain));
    if (!paired && v.single) { // heard behind all others that may be believed
      paired = true;
      if (gn_candidate_pair(h, &h->list[0])) return -1;
      h->list[0].score = best_score - next_best;
      prefer_another(h);
      continue;
    }
    gn_candidate_forget_first(h);
    if (h->n > 0 && h->list[0].score < best_score - next_best) break;
  }
  return 0;
}

// Go on with what the window before has taught; false in *done where this one has to be heard afresh.
static int go_on(gn_segment *s, gn_hearing *h, bool *done) {
  const char *refusal;
  *done = false;
  if (!s->carried.known) return 0;
  if (gn_candidate_resume(h, &s->carried) || judge(s, h, &refusal)) return -1;
  s->name_log_odds += s->carried.name_log_odds;
  *done = !refusal && s->name_log_odds > 0 && gn_candidate_holds(h, &s->carried);
  if (!*done) gn_candidate_drop(h);
  return 0;
}

// Accept the account that was chosen.
static int accept(gn_segment *s, gn_hearing *h) {
  s->n_doubted = 0;
  if (read_out(s, h, false)) return -1;
  s->carried = gn_candidate_carry(h, fmin(s->name_log_odds, CARRIED_ODDS_MOST));
  return 0;
}

// All accounts, by two threads where they may: the second hears in room of its own.
static int choose(const gn_segment *s, gn_hearing *h) {
  if (!s->shares || gn_memory_counts()) return gn_candidate_choose(h, NULL);
  gn_durations durations;
  gn_hearing beside = {0};
  const int bad = gn_durations_init(&durations, &s->lags, s->durations.rate_hz, &s->profile) ||
                  gn_hearing_init(&beside, h->f, &s->profile, &durations) || gn_candidate_choose(h, &beside) ? -1 : 0;
  gn_hearing_clear(&beside);
  gn_durations_clear(&durations);
  return bad;
}

// Hear a window; *refusal is NULL where its beats are to be believed.
static int hear(gn_segment *s, const gn_features *f, const char **refusal) {
  gn_hearing h;
  bool done = false;
  *refusal = NULL;
  int bad = gn_hearing_init(&h, f, &s->profile, &s->durations) || go_on(s, &h, &done) || (!done && (choose(s, &h) || judge(s, &h, refusal)));
  if (!bad && !*refusal) bad = accept(s, &h);
  gn_hearing_clear(&h);
  return bad;
}

// A murmur that swells into S1 may fill the upper band, and no pairs of short sounds are found: hear the lower one alone. Half as much tells a
// heart from noise, so that only what is plain counts, and nothing learnt here is handed on. *refusal is left as it was where nothing is.
static int hear_low(gn_segment *s, const gn_features *f, const char **refusal) {
  gn_features low = *f;
  gn_hearing h;
  const char *said = NULL;
  for (size_t b = 1; b < GN_N_BANDS; b++) low.level_db[b] = f->level_db[0];
  int bad = gn_hearing_init(&h, &low, &s->profile, &s->durations) || choose(s, &h) || judge(s, &h, &said);
  s->n_doubted = 0;
  if (!bad && !said) {
    const gn_trust trust = gn_trust_measure(&h, &h.list[0]);
    if (gn_trust_plain(&s->limits, &trust)) {
      bad = accept(s, &h);
      s->carried.known = false;
      *refusal = NULL;
    }
  }
  gn_hearing_clear(&h);
  return bad;
}

girthline_status gn_segment_window(gn_segment *s, const gn_features *f, const girthline_beat **beats, size_t *n_beats) {
  const char *refusal;
  s->n_beats = s->n_doubted = 0;
  s->reason[0] = 0;
  int bad = hear(s, f, &refusal);
  if (!bad && refusal && !s->n_doubted && !tells_of_noise(refusal)) bad = hear_low(s, f, &refusal);
  if (!bad && refusal) snprintf(s->reason, sizeof s->reason, "%s", refusal);
  *beats = s->beats;
  *n_beats = s->n_beats;
  return bad ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

// The beats given, of the account or of a refused one (which may come back), by the names that a murmur between the sounds gives them.
static int name_anew(gn_segment *s, const gn_signal *window, gn_cycle_beats in, gn_cycle_outcome *out) {
  const double end_s = window->start_s + (double)window->n / window->fs_hz;
  if (gn_cycle_name(window, &s->profile, &in, out)) return -1;
  if (!out->renamed && in.n_beats && gn_overlooked_holds(&s->overlooked)) {
    *out = (gn_cycle_outcome){0};
    s->n_beats = gn_overlooked_name(&s->overlooked, &s->profile, end_s, s->beats, in.n_beats);
    return 0;
  }
  if (in.doubted && in.n_beats && !out->renamed) { // the third sound may have been taken for S1, and the S2 of the next beat for its S2
    in.n_beats = gn_cycle_exchange(s->beats, in.n_beats);
    if (gn_cycle_name(window, &s->profile, &in, out)) return -1;
  }
  if (in.doubted) s->n_beats = out->renamed ? in.n_beats : 0;
  else if (out->exchanged) s->n_beats = gn_cycle_exchange(s->beats, s->n_beats);
  return 0;
}

// Where the onsets of a kind were brought back from a murmur that runs into its sounds, the names were weighed by other times than they have now.
static int sharpen(gn_segment *s, const gn_signal *window) {
  const bool settled = s->n_beats == 0 || s->beats[0].name_confidence != (float)gn_naming_confidence(s->name_log_odds); // a murmur had its say
  double before, after;
  if (settled) return gn_departure_sharpen(window, s->beats, s->n_beats);
  if (gn_naming_of_beats(&s->profile, s->beats, s->n_beats, &before) || gn_departure_sharpen(window, s->beats, s->n_beats)) return -1;
  if (gn_naming_of_beats(&s->profile, s->beats, s->n_beats, &after)) return -1;
  s->name_log_odds += after - before;
  const bool change = s->name_log_odds < 0;
  if (change) {
    s->n_beats = gn_cycle_exchange(s->beats, s->n_beats);
    s->carried.known = false;
  }
  const float sure = (float)gn_naming_confidence(fabs(s->name_log_odds));
  for (size_t i = 0; i < s->n_beats; i++) s->beats[i].name_confidence = sure;
  return 0;
}

girthline_status gn_segment_reconsider(gn_segment *s, const gn_signal *window, const girthline_span *spoilt, size_t n_spoilt, size_t *n_beats) {
  const bool doubted = s->n_beats == 0;
  const gn_cycle_beats in = {s->beats, doubted ? s->n_doubted : s->n_beats, spoilt, n_spoilt, doubted};
  gn_cycle_outcome out = {0};
  if (name_anew(s, window, in, &out)) return GIRTHLINE_NO_MEMORY;
  if (s->n_beats) s->reason[0] = 0;
  s->n_named += s->n_beats;
  s->n_hidden += out.hides_s1 ? s->n_beats : 0;
  if (sharpen(s, window) || learn_jitter(s)) return GIRTHLINE_NO_MEMORY;
  *n_beats = s->n_beats;
  return GIRTHLINE_OK;
}

bool gn_segment_murmur_hides_s1(const gn_segment *s) { return 2 * s->n_hidden > s->n_named; }
