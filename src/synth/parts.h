// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files of this folder share. Amplitudes inside are relative: a usual S1 peaks near 1.
#ifndef GN_SYNTH_PARTS_H
#define GN_SYNTH_PARTS_H

#include "base/random.h"
#include "synth/synth.h"

enum { BLOCK_N = 4096 };   // samples made at a time
enum { DROPPED_MOST = 4 };

// ---- random streams: one per part, so that adding a noise changes no beat
typedef enum stream_of {
  STREAM_ANIMAL = 1, STREAM_RHYTHM, STREAM_HEART, STREAM_MURMUR, STREAM_BREATH, STREAM_GUT, STREAM_HANDLING, STREAM_HUM,
  STREAM_VOICE, STREAM_WIND, STREAM_SENSOR, STREAM_DROPOUT, STREAM_RECORDER, STREAM_KNOCKS, STREAM_PUT_ON, STREAM_ROOM
} stream_of;
gn_random gn_synth_stream(uint64_t seed, stream_of id);
double gn_synth_between(gn_random *r, double lo, double hi);
double gn_synth_white(gn_random *r);  // variance 1, near normal, one draw
double gn_synth_spread(gn_random *r, double relative); // log-normal about 1
double gn_synth_exponential(gn_random *r, double mean);

// ---- filters (Bristow-Johnson's forms of the second-order sections)
typedef struct biquad { double b0, b1, b2, a1, a2, z1, z2; } biquad;
biquad gn_synth_low_pass(double fs_hz, double f_hz, double q);
biquad gn_synth_high_pass(double fs_hz, double f_hz, double q);
biquad gn_synth_band_pass(double fs_hz, double f_hz, double q); // 1 at f_hz
biquad gn_synth_peak(double fs_hz, double f_hz, double q, double gain_db);
void gn_synth_filter(biquad *f, float *x, size_t n);
static inline double gn_synth_step(biquad *f, double x) {
  const double y = f->b0 * x + f->z1;
  f->z1 = f->b1 * x - f->a1 * y + f->z2;
  f->z2 = f->b2 * x - f->a2 * y;
  return y;
}

// ---- where parts are laid down: n samples from absolute index start_n; what falls outside is dropped
typedef struct track {
  float *x;
  size_t n;
  int64_t start_n;
  double fs_hz;
} track;

// ---- the animal: what is fixed for one recording
typedef struct animal {
  double bpm, breaths_per_min, breath_phase, breath_wobble; // radians
  double systole_scale, systole_memory;                     // share of the last interval in the effective one
  double pitch, stretch;                                    // of frequencies and of lengths against the horse
  double s1_split_s, s2_split_s, s2_split_breath;           // P2's extra delay at full inspiration, share
  double s2_over_s1, s3_gain, s4_gain, s3_delay_s, s4_lead_s, click_at;
  double breath_depth, loud_spread;                         // modulation of loudness by breathing; beat-to-beat SD
  const struct animal_kind *kind;
} animal;
void gn_synth_animal_draw(animal *a, const gn_synth_spec *spec);
double gn_synth_systole(const animal *a, double interval_s);  // seconds
double gn_synth_breath_angle(const animal *a, double t_s);    // radians, 0 = inspiration begins
double gn_synth_inspiration(const animal *a, double t_s);     // 0 .. 1, smooth

// ---- rhythm
typedef struct beat {
  double s1_s, interval_s;      // to the next S1
  double systole_s, ratio;      // ratio: last interval over the usual one
  bool early, pause;            // pause: interval_s holds dropped beats
  double dropped_s[DROPPED_MOST]; // where a dropped beat's S1 would have begun
  int n_dropped;
} beat;
typedef struct rhythm {
  const gn_synth_spec *spec;
  const animal *a;
  gn_random r;
  double t_s, last_s, slow_s;    // next S1; last interval; slow average
  double wander, cycle_s, cycle_phase, depth, cv, settle_tau_s, debt_s;
  int until_event;
  size_t given_at; // in the list of given intervals
  bool compensates, early_next;
  double drift_phase, drift_s;
} rhythm;
void gn_synth_rhythm_start(rhythm *r, const gn_synth_spec *spec, const animal *a);
void gn_synth_rhythm_next(rhythm *r, beat *out);

// ---- heart sounds
enum { MODES_MOST = 5 };
typedef struct mode { double f_hz, gain, tau_s, phase; } mode;
typedef struct sound_voice { mode modes[MODES_MOST]; int n; double attack_s, rough; } sound_voice;
typedef struct heart {
  const gn_synth_spec *spec;
  const animal *a;
  gn_random r;
  sound_voice m1, t1, late, a2, p2, s3, s4, click;
  double *scratch; // scratch_n samples
  size_t scratch_n;
} heart;
int gn_synth_heart_start(heart *h, const gn_synth_spec *spec, const animal *a); // -1: memory
void gn_synth_heart_clear(heart *h);
/// Lay one beat's sounds down and tell where each is (up to 8 sounds, in time order). Returns how many.
int gn_synth_heart_beat(heart *h, const beat *b, track *out, gn_synth_sound sounds[8]);

// ---- murmurs
typedef struct murmur {
  gn_synth_murmur what;
  const animal *a;
  gn_random r;
  biquad low, high, low2;
  double phase, vibrato_phase, vibrato_hz, harmonics[4];
} murmur;
void gn_synth_murmur_start(murmur *m, const gn_synth_spec *spec, size_t index, const animal *a);
/// s1_end_s, s2_end_s: where this beat's sounds end. Gives the span(s) the level is measured over.
gn_synth_span gn_synth_murmur_beat(murmur *m, const beat *b, double s1_end_s, double s2_end_s, track *out);

// ---- noises: each fills or adds to a block that begins at absolute index start_n
typedef struct spans { gn_synth_span *items; size_t n, capacity; } spans;
int gn_synth_spans_add(spans *s, double start_s, double end_s); // -1: memory

typedef struct steady { // breath, hum, wind, sensor: no events
  double fs_hz;
  const animal *a;
  double hum_hz, hum_gain[5], hum_phase[5], gust, gust_to;
  gn_random breath_r, wind_r, sensor_r;
  biquad breath_hp, breath_lp, breath_lp2, expiry_lp, wind1, wind2;
  double pink;
} steady;
void gn_synth_steady_start(steady *s, const gn_synth_spec *spec, const animal *a);
void gn_synth_breath(steady *s, int64_t start_n, float *x, size_t n);
void gn_synth_hum(steady *s, int64_t start_n, float *x, size_t n);
void gn_synth_wind(steady *s, float *x, size_t n);
void gn_synth_sensor(steady *s, gn_random *r, float *x, size_t n);

typedef struct events { // gut, voice, handling, knocks: things that begin at random moments
  gn_random r;
  double next_s;
  double a, b; // what an event kind keeps for the recording
} events;
void gn_synth_gut_start(events *e, const gn_synth_spec *spec);
void gn_synth_voice_start(events *e, const gn_synth_spec *spec);
void gn_synth_handling_start(events *e, const gn_synth_spec *spec);
void gn_synth_knocks_start(events *e, const gn_synth_spec *spec);
/// Lay down all events that begin before until_s.
void gn_synth_gut(events *e, double until_s, track *out);
void gn_synth_voice(events *e, double until_s, track *out);
int gn_synth_handling(events *e, double until_s, track *out, spans *bad); // -1: memory
void gn_synth_knocks(events *e, double until_s, track *out);
double gn_synth_put_on(const gn_synth_spec *spec, track *out); // returns when the chest piece sits, seconds

#endif
