// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "murmur/murmur.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/relay.h"
#include "base/result.h"
#include "murmur/locked.h"
#include "murmur/parts.h"

static const double HEAD_MOST_S = 2.6, TAIL_MOST_S = 1.4; // kept of a beat's start and, of a long pause, its end
static const double SYSTOLE_MOST_S = 2, DIASTOLE_MOST_S = 8; // longer is a gap or a slip of the hand (no heart here takes half of it); bounds time and memory
static const double LAST_DIASTOLE_SHARE = 1.3;            // of the systole: how far a beat without a next S1 is followed
static const double CONFIDENCE_LEAST = 0.2;               // beats the decoder itself doubts this much are left out
static const double SPOILT_MARGIN_S = 0.010;              // the envelopes' own reach
static const double SETTLE_S = 0.2;                       // around a beat that is filtered alone: the filters ring 60 ms
static const double SPILL_SHARE = 0.25;                   // of diastole: a murmur of its own is longer (a choice)
static const double HUM_HZ = 4, MAINS_HZ = 1;             // as near as the spectrum tells a line; mains keep to a hertz
static const double MAINS_OF_HZ[2] = {50, 60};            // the world's power lines
static const double THROUGH_SHARE = 0.5;                  // of systole, of diastole: one that never stops has begun, and goes on, by then (a choice)
static const double ONE_PITCH_LOG = 0.18;                 // a pitch is told to 15 %; further apart, they are two
static const double BREATHS_OFF = 0.2;                    // share: they are told to two a minute, of ten and more; a third of the beats is further off
static const size_t WHOLE_BEATS_LEAST = 2;

struct gn_murmur {
  const girthline_profile *profile;
  double fs_hz;
  gn_murmur_beat *beats;
  size_t n_beats, n_seen, stride, wave_stride;
  bool hides_s1, shares, laid;
  bool lifts[2], lacks_lows; // what seemed a murmur of a phase was the recorder's gain; or may be the background, without its lower half
  gn_murmur_lasting lasting;
  gn_murmur_cube cube; // these three once the beats are laid on each other
  gn_murmur_test test;
  gn_murmur_locked locked;
  gn_murmur_background background[GN_MURMUR_BANDS]; // where no murmur of a phase is told
};

gn_murmur *gn_murmur_new(const girthline_profile *profile, double analysis_fs_hz) {
  gn_murmur *m = gn_new(1, sizeof *m);
  if (!m) return NULL;
  m->profile = profile;
  m->fs_hz = analysis_fs_hz;
  m->stride = m->wave_stride = 1;
  m->beats = gn_new(GN_MURMUR_MOST_BEATS, sizeof *m->beats);
  if (m->beats) return m;
  gn_free(m);
  return NULL;
}

void gn_murmur_free(gn_murmur *m) {
  if (!m) return;
  gn_murmur_locked_clear(&m->locked);
  gn_murmur_test_clear(&m->test);
  gn_murmur_cube_clear(&m->cube);
  for (size_t i = 0; i < m->n_beats; i++) gn_murmur_beat_clear(&m->beats[i]);
  gn_free(m->beats);
  gn_free(m);
}

void gn_murmur_hides_s1(gn_murmur *m) { m->hides_s1 = true; }
void gn_murmur_share(gn_murmur *m) { m->shares = true; }

// Keep every second beat (by its number among all beats, so that the choice does not depend on the windows).
static void thin_beats(gn_murmur *m) {
  m->stride *= 2;
  size_t kept = 0;
  for (size_t i = 0; i < m->n_beats; i++) {
    if (m->beats[i].index % m->stride) gn_murmur_beat_clear(&m->beats[i]);
    else m->beats[kept++] = m->beats[i];
  }
  m->n_beats = kept;
}

static void thin_waves(gn_murmur *m) {
  for (;;) {
    size_t n_waves = 0;
    for (size_t i = 0; i < m->n_beats; i++) n_waves += m->beats[i].wave != NULL;
    if (n_waves <= GN_MURMUR_MOST_WAVES) return;
    m->wave_stride *= 2;
    for (size_t i = 0; i < m->n_beats; i++)
      if (m->beats[i].index % m->wave_stride) {
        gn_free(m->beats[i].wave);
        m->beats[i].wave = NULL;
      }
  }
}

static void blank_spoilt(gn_murmur_beat *beat, double from_s, const girthline_span *spoilt, size_t n_spoilt) {
  const double end_s = beat->s2_s + beat->diastole_s;
  for (size_t c = 0; c < beat->n_cells; c++) {
    const double at_s = c < beat->head_n ? from_s + ((double)c + 0.5) * GN_MURMUR_CELL_S
                                         : end_s - ((double)(beat->n_cells - c) - 0.5) * GN_MURMUR_CELL_S;
    for (size_t k = 0; k < n_spoilt; k++) {
      if (at_s < spoilt[k].start_s - SPOILT_MARGIN_S || at_s > spoilt[k].end_s + SPOILT_MARGIN_S) continue;
      for (size_t row = 0; row < GN_MURMUR_ROWS; row++) beat->power[c * GN_MURMUR_ROWS + row] = NAN;
      break;
    }
  }
}

static int keep_wave(gn_murmur_beat *beat, const gn_signal *window, double from_s) {
  for (size_t c = 0; c < beat->head_n; c++)
    if (isnan(beat->power[c * GN_MURMUR_ROWS])) return 0;
  const double start = (from_s - window->start_s) * window->fs_hz;
  const size_t n = (size_t)((double)beat->head_n * GN_MURMUR_CELL_S * window->fs_hz);
  if (!(start >= 0) || (size_t)start + n > window->n) return 0;
  beat->wave = gn_room(n, sizeof *beat->wave);
  if (!beat->wave) return -1;
  memcpy(beat->wave, window->samples + (size_t)start, n * sizeof *beat->wave);
  beat->n_wave = n;
  return 0;
}

// A sound that seems longer than its kind is a sound and what follows it.
static double sound_length(float found_s, double usual_s) {
  if (!((double)found_s > 0)) return usual_s;
  return (double)found_s < usual_s ? (double)found_s : usual_s;
}

// Times of one beat; false when it is of no use here.
static bool describe_beat(const gn_murmur *m, const girthline_beat *beats, size_t n_beats, size_t i, gn_murmur_beat *out) {
  const girthline_beat *b = &beats[i];
  if ((double)b->confidence < CONFIDENCE_LEAST || (isnan(b->s1_onset_s) && isnan(b->s2_onset_s))) return false;
  const double next_s = i + 1 < n_beats ? beats[i + 1].s1_onset_s : (double)NAN;
  *out = (gn_murmur_beat){.s1_s = b->s1_onset_s, .s2_s = b->s2_onset_s, .systole_s = b->s2_onset_s - b->s1_onset_s};
  out->diastole_s = next_s - b->s2_onset_s;
  out->s1_length_s = sound_length(b->s1_offset_s, m->profile->s1_length_s);
  out->s2_length_s = sound_length(b->s2_offset_s, m->profile->s2_length_s);
  if (out->diastole_s > DIASTOLE_MOST_S) out->diastole_s = NAN; // the next beat is not known
  return !(out->systole_s <= 0) && !(out->systole_s > SYSTOLE_MOST_S) && !(out->diastole_s <= 0);
}

static int keep_beat(gn_murmur *m, const gn_signal *window, const float *envelopes, size_t n_envelope_cells, gn_murmur_beat *beat,
                     const girthline_span *spoilt, size_t n_spoilt) {
  const double from_s = isnan(beat->s1_s) ? beat->s2_s : beat->s1_s;
  double systole_s = isnan(beat->s1_s) ? 0 : beat->systole_s;
  if (isnan(systole_s)) systole_s = m->profile->systole_at_1s_s;
  const double usual_s = m->profile->systole_at_1s_s;
  const double length_s = systole_s + (isnan(beat->diastole_s) ? LAST_DIASTOLE_SHARE * (systole_s > 0 ? systole_s : usual_s) : beat->diastole_s);
  const bool cut = length_s > HEAD_MOST_S + TAIL_MOST_S;
  beat->head_n = (size_t)((cut ? HEAD_MOST_S : length_s) / GN_MURMUR_CELL_S);
  beat->n_cells = beat->head_n + (cut ? (size_t)(TAIL_MOST_S / GN_MURMUR_CELL_S) : 0);
  beat->power = gn_room(beat->n_cells * GN_MURMUR_ROWS, sizeof *beat->power);
  if (!beat->power) return -1;
  gn_murmur_cut(window, envelopes, n_envelope_cells, beat, from_s);
  blank_spoilt(beat, from_s, spoilt, n_spoilt);
  if (beat->index % m->wave_stride == 0 && keep_wave(beat, window, from_s)) {
    gn_murmur_beat_clear(beat);
    return -1;
  }
  if (m->n_beats == GN_MURMUR_MOST_BEATS) thin_beats(m);
  if (beat->index % m->stride) gn_murmur_beat_clear(beat);
  else m->beats[m->n_beats++] = *beat;
  thin_waves(m);
  return 0;
}

// Once only every second beat or fewer is kept, the filters run over the kept beats alone, with room to settle.
static gn_signal around(const gn_murmur *m, const gn_signal *window, const gn_murmur_beat *beat) {
  const double from_s = isnan(beat->s1_s) ? beat->s2_s : beat->s1_s;
  double to_s = beat->s2_s + beat->diastole_s;
  if (isnan(to_s)) to_s = from_s + HEAD_MOST_S;
  const double first = floor((from_s - SETTLE_S - window->start_s) * window->fs_hz), last = ceil((to_s + SETTLE_S - window->start_s) * window->fs_hz);
  const size_t a = first > 0 ? (size_t)first : 0, b = last < (double)window->n ? (size_t)last : window->n;
  if (m->stride < 2 || b <= a + 2) return *window;
  return (gn_signal){window->samples + a, b - a, window->fs_hz, window->start_s + (double)a / window->fs_hz};
}

static int keep_alone(gn_murmur *m, const gn_signal *window, gn_murmur_beat *beat, const girthline_span *spoilt, size_t n_spoilt) {
  const gn_signal part = around(m, window, beat);
  size_t n_cells = 0;
  float *envelopes = gn_murmur_envelopes(&part, &n_cells);
  const int refused = !envelopes || keep_beat(m, &part, envelopes, n_cells, beat, spoilt, n_spoilt);
  gn_free(envelopes);
  return refused;
}

girthline_status gn_murmur_collect(gn_murmur *m, const gn_signal *window, double from_s, double to_s, const girthline_beat *beats, size_t n_beats,
                                   const girthline_span *spoilt, size_t n_spoilt) {
  if (window->n < 2 || n_beats == 0) return GIRTHLINE_OK;
  size_t n_cells = 0;
  float *envelopes = NULL;
  int refused = 0;
  for (size_t i = 0; !refused && i < n_beats; i++) {
    const double at_s = gn_result_beat_s(&beats[i]);
    if (!(at_s >= from_s && at_s < to_s)) continue;
    gn_murmur_beat beat;
    if (!describe_beat(m, beats, n_beats, i, &beat)) continue;
    beat.index = m->n_seen++;
    if (beat.index % m->stride) continue;
    if (m->stride == 1 && !envelopes) refused = !(envelopes = gn_murmur_envelopes(window, &n_cells));
    if (!refused) refused = envelopes ? keep_beat(m, window, envelopes, n_cells, &beat, spoilt, n_spoilt) : keep_alone(m, window, &beat, spoilt, n_spoilt);
  }
  gn_free(envelopes);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

static const char *const PHASE[2] = {"systole", "diastole"};
static const char *const LIMIT[2] = {"/murmur/detection_limit_db/systole", "/murmur/detection_limit_db/diastole"};
static const char LIFTS[] = "What lies between the sounds rises and falls as a recorder's own gain does, and may hide a murmur or look like one: record again "
                            "with automatic gain and noise reduction switched off.";

static int no_limit(girthline_result *result, int phase, const char *why) {
  result->murmur.detection_limit_db[phase] = NAN;
  return gn_result_undetermine(result, LIMIT[phase], "%s", why);
}

static int undetermined(girthline_result *result, const char *why) {
  result->murmur.present = GIRTHLINE_UNKNOWN;
  return gn_result_undetermine(result, "/murmur/present", "%s", why) || no_limit(result, 0, why) || no_limit(result, 1, why);
}

static int take_limits(const double limit_db[2], girthline_result *result) {
  for (int phase = 0; phase < 2; phase++) {
    result->murmur.detection_limit_db[phase] = limit_db[phase];
    if (isnan(limit_db[phase]) && gn_result_undetermine(result, LIMIT[phase], "The sounds leave no quiet part of %s to look into.", PHASE[phase])) return -1;
  }
  return 0;
}

static int decide_absence(const gn_murmur *m, girthline_result *result) {
  if (m->cube.n_whole < WHOLE_BEATS_LEAST)
    return gn_result_undetermine(result, "/murmur/present",
                                 "Fewer than two whole beats were heard: nothing can be seen to repeat. Record at least ten beats.");
  if (gn_murmur_recorder_cuts_off(m->background))
    return undetermined(result, "No murmur was found, but the recorder passes too little above 150 Hz, where many murmurs lie: record again with its filter set wider.");
  if (m->lifts[0] || m->lifts[1]) return undetermined(result, LIFTS);
  if (m->lacks_lows)
    return undetermined(result, "The recorder passes too little below 150 Hz to tell a murmur that never stops from the background: record again with its filter set wider.");
  if (m->lasting == GN_MURMUR_MAY_NOT_STOP)
    return gn_result_undetermine(result, "/murmur/present",
                                 "A steady sound lies under the whole beat: the room's, or a murmur that never stops. Record again elsewhere; what comes along is the animal's.");
  for (int phase = 0; phase < 2; phase++)
    if (!(result->murmur.detection_limit_db[phase] <= result->limits.murmur.none_limit_db)) {
      const double least_db = ceil(result->murmur.detection_limit_db[phase]);
      if (isnan(least_db))
        return gn_result_undetermine(result, "/murmur/present", "No murmur was found, but the sounds leave no quiet part of %s to look into.", PHASE[phase]);
      return gn_result_undetermine(result, "/murmur/present",
                                   "No murmur was found, but in %s only one of %s%.0f dB or louder would have been: record again in a quieter place, "
                                   "for longer, or at another site.", PHASE[phase], least_db < 0 ? "\xE2\x88\x92" : "", fabs(least_db));
    }
  result->murmur.present = GIRTHLINE_NO;
  return 0;
}

// Softer than what a "none" has to rule out.
static bool is_soft(const gn_murmur_test *t, const girthline_murmur_phase *p) { return p->level_db < t->limits->none_limit_db; }

// A breath in step with every second beat lies in both phases. Where breaths are counted, they are half as many.
static bool breath_in_step(const gn_murmur *m, gn_murmur_test *t, double breaths_per_min, const girthline_murmur_phase phases[2], const gn_murmur_evidence found[2]) {
  if (fabs(breaths_per_min * 2 * t->cube->interval_s / 60 - 1) > BREATHS_OFF) return false;
  for (int phase = 0; phase < 2; phase++)
    if (found[phase].found && is_soft(t, &phases[phase]) && gn_murmur_alternates(t, &found[phase], m->beats)) return true;
  return false;
}

// A systolic murmur that fills its phase and is heard a little past S2 lies in systole all the same.
static bool spills(const girthline_murmur_phase phases[2], const gn_murmur_evidence found[2], const gn_murmur_cube *cube) {
  return (found[0].rows & found[1].rows) && phases[0].ends_before_s2 == GIRTHLINE_NO && phases[1].end_fraction <= SPILL_SHARE &&
         phases[1].end_fraction * gn_murmur_diastole_s(cube) < GN_MURMUR_REMAINDER_S;
}

static bool continuous(const girthline_murmur_phase phases[2], const gn_murmur_evidence found[2], const gn_murmur_cube *cube) {
  // Through S2: up to it, and on from it, in a band both share.
  return (found[0].rows & found[1].rows) && phases[0].ends_before_s2 == GIRTHLINE_NO && phases[0].start_fraction < THROUGH_SHARE &&
         phases[1].end_fraction > THROUGH_SHARE &&
         phases[1].start_fraction <= ((double)(cube->s2_end - cube->n_systole) + 4) / (double)(cube->n_cells - cube->n_systole) &&
         fabs(phases[0].level_db - phases[1].level_db) < 6 && fabs(gn_log(phases[0].peak_hz / phases[1].peak_hz)) < ONE_PITCH_LOG;
}

static void join(girthline_murmur *out) {
  const int louder = out->phases[1].level_db > out->phases[0].level_db;
  girthline_murmur_phase both = out->phases[louder];
  both.phase = GIRTHLINE_CONTINUOUS;
  both.timing = GIRTHLINE_HOLO;
  both.start_fraction = out->phases[0].start_fraction;
  both.end_fraction = out->phases[1].end_fraction;
  both.ends_before_s2 = GIRTHLINE_NO;
  out->phases[0] = both;
  out->n_phases = 1;
}

static int phase_reasons(girthline_result *result, size_t i) {
  const girthline_murmur_phase *p = &result->murmur.phases[i];
  static const char *const FIELD[] = {"level_db", "level_db_interval/0", "level_db_interval/1", "peak_hz", "band_hz/0", "band_hz/1", "musical", "ends_before_s2"};
  const bool missing[] = {isnan(p->level_db), isnan(p->level_db_interval[0]), isnan(p->level_db_interval[1]), isnan(p->peak_hz), isnan(p->band_hz[0]),
                          isnan(p->band_hz[1]), p->musical == GIRTHLINE_UNKNOWN, p->ends_before_s2 == GIRTHLINE_UNKNOWN};
  static const char *const WHY[] = {"The background covers the murmur's level.", "The background covers the murmur's level.",
                                    "The background covers the murmur's level.", "Too few unspoilt beats for a spectrum.",
                                    "Too few unspoilt beats for a spectrum.", "Too few unspoilt beats for a spectrum.",
                                    "Too few unspoilt beats for a spectrum.", "The murmur lies in diastole."};
  for (size_t k = 0; k < sizeof missing / sizeof missing[0]; k++) {
    if (!missing[k]) continue;
    char *pointer = gn_strprintf("/murmur/phases/%zu/%s", i, FIELD[k]);
    const int refused = !pointer || gn_result_undetermine(result, pointer, "%s", WHY[k]);
    gn_free(pointer);
    if (refused) return -1;
  }
  return 0;
}

// The mains hum, or may where hum could not be looked for (NaN).
static bool may_hum(double hum_hz, double mains_hz) { return isnan(hum_hz) || fabs(hum_hz - mains_hz) < MAINS_HZ; }

// One tone at a multiple of the mains that never stops is the hum's own. (A line elsewhere may be the murmur itself.)
static bool is_hum(const girthline_murmur_phase *p, double hum_hz) {
  if (p->musical != GIRTHLINE_YES) return false;
  for (int k = 0; k < 2; k++) {
    const double hz = isnan(hum_hz) ? MAINS_OF_HZ[k] : hum_hz;
    if (may_hum(hum_hz, MAINS_OF_HZ[k]) && fabs(p->peak_hz - hz * floor(p->peak_hz / hz + 0.5)) < HUM_HZ) return true;
  }
  return false;
}

// Of the murmurs that were found, those that are told.
static int choose(gn_murmur *m, const gn_murmur_evidence found[2], const girthline_murmur_phase phases[2], girthline_result *result) {
  gn_murmur_test *test = &m->test;
  girthline_murmur *out = &result->murmur;
  const bool breath = breath_in_step(m, test, result->quality.breaths_per_min, phases, found);
  for (int phase = 0; phase < 2; phase++) {
    const girthline_murmur_phase *p = &phases[phase];
    if (!found[phase].found) continue;
    if ((breath && is_soft(test, p)) || gn_murmur_is_hidden_near(&found[phase], p, out->detection_limit_db[phase])) { // what may hide as much
      if (p->level_db > out->detection_limit_db[phase]) out->detection_limit_db[phase] = p->level_db;
      continue;
    }
    if (gn_murmur_is_none(test, m->locked.usable, &found[phase], p, result)) continue;
    m->lifts[phase] = gn_murmur_is_lifted(test, &found[phase], p);
    if (!m->lifts[phase]) out->phases[out->n_phases++] = *p;
  }
  const double hum_hz = result->quality.hum_hz;
  unsigned rows;
  m->lasting = GN_MURMUR_STOPS;
  if (!out->n_phases) {
    gn_murmur_background_of(test, m->background);
    m->lasting = gn_murmur_lasts(test->cube, m->background, may_hum(hum_hz, MAINS_OF_HZ[0]) || may_hum(hum_hz, MAINS_OF_HZ[1]), &rows);
  }
  if (m->lasting == GN_MURMUR_NEVER_STOPS) {
    m->lacks_lows = gn_murmur_recorder_lacks_lows(test->cube);
    if (gn_murmur_describe_continuous(test, rows, m->beats, m->fs_hz, &out->phases[0])) return -1;
    out->n_phases = m->lacks_lows || is_hum(&out->phases[0], hum_hz) ? 0 : 1;
  }
  if (!out->n_phases) return 0;
  out->present = GIRTHLINE_YES;
  for (int phase = 0; phase < 2; phase++)
    if (m->lifts[phase] && no_limit(result, phase, LIFTS)) return -1;
  if (out->n_phases == 2 && spills(out->phases, found, test->cube)) out->n_phases = 1;
  if (out->n_phases == 2 && continuous(out->phases, found, test->cube)) join(out);
  if (out->n_phases == 2 && out->phases[1].level_db > out->phases[0].level_db) {
    const girthline_murmur_phase first = out->phases[0];
    out->phases[0] = out->phases[1];
    out->phases[1] = first;
  }
  for (size_t i = 0; i < out->n_phases; i++)
    if (phase_reasons(result, i)) return -1;
  return 0;
}

static int describe_all(gn_murmur *m, const gn_murmur_evidence found[2], girthline_result *result) {
  double limit_db[2];
  girthline_murmur_phase phases[2];
  return gn_murmur_tell(&m->test, &m->locked, m->beats, found, limit_db, phases) || take_limits(limit_db, result) || choose(m, found, phases, result) ? -1 : 0;
}

// Only what is not found beside S1 is looked for without it.
static int search(gn_murmur *m, gn_murmur_evidence found[2]) {
  if (gn_murmur_search(&m->test, &m->locked, found)) return -1;
  m->test.hides_s1 = m->hides_s1 && !found[0].found;
  if (!m->test.hides_s1) return 0;
  gn_murmur_locked_clear(&m->locked); // one that was found in diastole was taken off
  return gn_murmur_locked_init(&m->locked, &m->cube, m->beats, m->shares) || gn_murmur_search(&m->test, &m->locked, found) ? -1 : 0;
}

// What is usual in the recording, for one test or the other; and its picture.
typedef struct learning {
  gn_murmur *m;
  girthline_pictures *pictures; // NULL: the test in noise
  int refused;
} learning;

static void learn(void *piece) {
  learning *l = piece;
  if (!l->pictures) {
    l->refused = gn_murmur_locked_init(&l->m->locked, &l->m->cube, l->m->beats, l->m->shares);
    return;
  }
  gn_murmur_picture(&l->m->cube, l->m->test.scratch, l->pictures);
  gn_murmur_test_learn(&l->m->test);
}

static int learn_both(gn_murmur *m, girthline_result *result) {
  learning by_step = {m, NULL, 0}, by_excess = {m, &result->pictures, 0};
  if (gn_murmur_test_init(&m->test, &m->cube)) return -1;
  m->test.limits = &result->limits.murmur;
  m->test.fs_hz = m->fs_hz;
  m->test.shares = m->shares;
  gn_relay_both(learn, &by_step, &by_excess, m->shares);
  return by_step.refused;
}

static int examine(gn_murmur *m, girthline_result *result) {
  gn_murmur_evidence found[2];
  if (search(m, found) || describe_all(m, found, result)) return -1;
  return result->murmur.n_phases ? 0 : decide_absence(m, result);
}

// The picture, once more where the sounds had to be moved.
static int build(gn_murmur *m, gn_murmur_cube *cube) {
  bool moved;
  if (gn_murmur_cube_build(cube, m->beats, m->n_beats)) return -1;
  const int refused = gn_murmur_align(cube, m->beats, m->n_beats, m->fs_hz, &moved);
  if (!refused && !moved) return 0;
  gn_murmur_cube_clear(cube);
  return refused ? -1 : gn_murmur_cube_build(cube, m->beats, m->n_beats);
}

static size_t systoles(const gn_murmur *m) {
  size_t n = 0;
  for (size_t i = 0; i < m->n_beats; i++)
    if (!isnan(m->beats[i].systole_s)) n++;
  return n;
}

girthline_status gn_murmur_lay(gn_murmur *m, girthline_result *result) {
  if (m->laid || systoles(m) == 0) return GIRTHLINE_OK;
  if (build(m, &m->cube) || learn_both(m, result)) return GIRTHLINE_NO_MEMORY;
  m->laid = true;
  return GIRTHLINE_OK;
}

girthline_status gn_murmur_finish(gn_murmur *m, girthline_result *result) {
  result->murmur.n_phases = 0;
  if (gn_murmur_lay(m, result) != GIRTHLINE_OK) return GIRTHLINE_NO_MEMORY;
  if (!m->laid)
    return undetermined(result, m->n_seen ? "No beat with both of its sounds was heard." : "No heart beats were found.") ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
  return examine(m, result) ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}
