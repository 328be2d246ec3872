// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// From a recording to a result, one call per stage, top to bottom. Read this file first.
#include "pipeline.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "audio/audio.h"
#include "audio/decimate.h"
#include "audio/overview.h"
#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "base/relay.h"
#include "base/result.h"
#include "base/wide.h"
#include "findings/findings.h"
#include "murmur/murmur.h"
#include "quality/quality.h"
#include "rhythm/rhythm.h"
#include "segment/extra.h"
#include "segment/given.h"
#include "segment/segment.h"
#include "window.h"

#define BLOCK_N 4096      // samples that go through at a time: all of them stay in the nearest cache
#define WINDOW_S 120.0    // stretch decoded at once: enough beats to learn from, little enough to keep in memory
#define LONGEST_S 604800.0 // a week: what is analysed at once; longer than any recorder at an animal runs
#define GIVEN_SLACK_S 1.0 // a sound given later than this after the end is one of another recording: a choice
#define WINDOWS 3         // under way at once, where threads share the work: while one is heard out, the others are prepared; more would want their memory
#define ROUNDING 1e-6     // of a tenth of a second: what a difference of two times may be off by
#define OVERLAP_S 6.0     // neighbouring windows share this much; the seam lies in its middle. With 10 as many sounds are found there (performance.md)

/// Everything one analysis holds, so that one call lets go of all of it.
typedef struct girthline_analysis {
  gn_stages stages;
  girthline_profile store;
  gn_decimator *decimator;
  gn_overview overview;
  gn_relay *relay;         // has windows prepared, decoded and measured
  gn_window windows[WINDOWS];
  size_t n_threads;        // that may share it
  float *samples;          // decimated samples of the window that is filling
  size_t n, most_n, room_n; // in it; in a full one; room for a full one and what a block may add
  double window_start_s;
  double done_to_s;        // beats before this are in windows that were given away
  float block[BLOCK_N];    // samples on their way in, gathered to blocks that begin at the same places however they come
  size_t n_block, at;      // in it; samples of the recording that have come
  size_t first, end;       // the part that was asked for, in samples of the recording
  gn_audio *audio;         // where they come from, if they are read here
  girthline_status reading; // of that, with what there is to say of it
  girthline_error fault;
  girthline_status status; // of the last thing done: a fault stays
} pipeline;

static void pipeline_clear(pipeline *p) {
  gn_relay_free(p->relay); // no thread works on from here on
  girthline_result_free(p->stages.result);
  gn_decimator_free(p->decimator);
  gn_quality_free(p->stages.quality);
  gn_segment_free(p->stages.segment);
  gn_extra_free(p->stages.extra);
  gn_murmur_free(p->stages.murmur);
  gn_free(p->samples);
  for (size_t i = 0; i < WINDOWS; i++) gn_window_clear(&p->windows[i]);
}

// Where the part that is analysed ends, seconds; NaN: not known.
static double part_end_s(const girthline_settings *s, double duration_s) { return s->to_s > 0 && !(s->to_s >= duration_s) ? s->to_s : duration_s; }

// The sample at a time; what no recording reaches is behind all of them.
static size_t sample_at(double at_s, double fs_hz) {
  const double n = at_s * fs_hz + 0.5;
  return n < (double)SIZE_MAX ? (size_t)n : SIZE_MAX;
}

// The sounds given by hand, of the part that is analysed.
static girthline_status take_given(pipeline *p, const girthline_settings *s) {
  const double end_s = part_end_s(s, p->stages.result->recording.duration_s);
  size_t first = 0, end = s->n_given;
  while (first < end && s->given[first].time_s < s->from_s) first++;
  while (first < end && s->given[end - 1].time_s >= end_s) end--;
  p->stages.result->beats_given = true;
  return gn_segment_given(p->stages.result, s->given + first, end - first);
}

static gn_relay_stage prepare, decode, measure;

// Two, even where there are more processors: more would want more windows under way, and their memory.
static size_t threads_of(int wanted) {
  if (wanted == 0) return gn_relay_processors() > 1 ? 2 : 1;
  return wanted > 1 ? (size_t)wanted : 1;
}

static girthline_status pipeline_init(pipeline *p, const girthline_recording *recording, const girthline_settings *settings) {
  p->stages.result = gn_result_new();
  if (!p->stages.result) return GIRTHLINE_NO_MEMORY;
  p->stages.result->settings = *settings;
  p->stages.result->settings.given = NULL;
  p->stages.result->settings.n_given = 0;
  p->stages.result->settings.threads = 1; // says nothing of the result
  p->n_threads = threads_of(settings->threads);
  if (settings->limits) {
    p->stages.result->limits = *settings->limits;
    p->stages.result->settings.limits = &p->stages.result->limits;
  }
  p->stages.result->recording = *recording;
  const double fs_hz = recording->sample_rate_hz;
  p->first = sample_at(settings->from_s, fs_hz);
  p->end = settings->to_s > 0 ? sample_at(settings->to_s, fs_hz) : SIZE_MAX;
  p->window_start_s = (double)p->first / fs_hz;
  p->done_to_s = p->window_start_s - 1; // a first sound that began before the first sample still counts
  p->stages.profile = girthline_profile_of(settings->species, settings->age_days, &p->store);
  p->decimator = gn_decimator_new(fs_hz);
  if (!p->decimator) return GIRTHLINE_NO_MEMORY;
  const double analysis_hz = gn_decimator_fs_hz(p->decimator);
  p->stages.quality = gn_quality_new(&p->stages.result->limits.quality, p->stages.profile, fs_hz, analysis_hz, p->window_start_s);
  p->stages.segment = gn_segment_new(p->stages.profile);
  p->stages.extra = gn_extra_new(&p->stages.result->limits.extra, p->stages.profile);
  p->stages.murmur = gn_murmur_new(p->stages.profile, analysis_hz);
  if (p->stages.murmur && p->n_threads > 1) gn_murmur_share(p->stages.murmur);
  if (p->stages.segment && p->n_threads > 1) gn_segment_share(p->stages.segment);
  if (p->stages.segment) gn_segment_limit(p->stages.segment, &p->stages.result->limits.segment);
  p->most_n = (size_t)(WINDOW_S * analysis_hz);
  p->room_n = p->most_n + BLOCK_N + gn_decimator_tail(p->decimator) + 1;
  p->samples = gn_room(p->room_n, sizeof(float));
  p->relay = gn_relay_new((gn_relay_stage *const[]){prepare, decode, measure}, 3, WINDOWS, p);
  const double part_s = isnan(recording->duration_s) ? recording->duration_s : part_end_s(settings, recording->duration_s) - settings->from_s; // a stream may end sooner
  p->overview = gn_overview_of(&p->stages.result->pictures, fs_hz, part_s);
  if (!p->stages.quality || !p->stages.segment || !p->stages.extra || !p->stages.murmur || !p->samples || !p->relay) return GIRTHLINE_NO_MEMORY;
  return settings->given ? take_given(p, settings) : GIRTHLINE_OK;
}

static girthline_status prepare(void *user, size_t place) {
  pipeline *p = user;
  return gn_window_prepare(&p->stages, &p->windows[place]);
}

static girthline_status decode(void *user, size_t place) {
  pipeline *p = user;
  return gn_window_decode(&p->stages, &p->windows[place]);
}

static girthline_status measure(void *user, size_t place) {
  pipeline *p = user;
  gn_window *w = &p->windows[place];
  const girthline_status status = gn_window_measure(&p->stages, w);
  gn_free(w->samples); // there is other use for the room until the next window's are read
  w->samples = NULL;
  return status;
}

// The first n samples are a window whose beats are final up to to_s: on it goes. keep_n of its last samples, and what lies behind them,
// begin the next one.
static girthline_status give_window(pipeline *p, size_t n, double to_s, size_t keep_n) {
  size_t place;
  girthline_status status = gn_relay_place(p->relay, &place);
  if (status != GIRTHLINE_OK) return status;
  gn_window *w = &p->windows[place];
  float *const next = keep_n ? gn_room(p->room_n, sizeof(float)) : NULL;
  if (!w->quality) w->quality = gn_quality_window_new();
  const bool refused = !w->quality || (keep_n && !next);
  const double fs_hz = gn_decimator_fs_hz(p->decimator);
  w->samples = p->samples;
  w->sound = (gn_signal){p->samples, n, fs_hz, p->window_start_s};
  w->from_s = p->done_to_s;
  w->to_s = p->done_to_s = to_s;
  p->samples = next;
  if (refused) return GIRTHLINE_NO_MEMORY;
  status = gn_quality_begin(p->stages.quality, w->quality, w->sound.start_s, w->sound.start_s + (double)n / fs_hz);
  if (keep_n) memcpy(next, w->samples + n - keep_n, (p->n - n + keep_n) * sizeof(float));
  p->n = p->n - n + keep_n;
  p->window_start_s += (double)(n - keep_n) / fs_hz;
  return status == GIRTHLINE_OK ? gn_relay_give(p->relay) : status;
}

// A full window, whose last OVERLAP_S are in the next one too.
static girthline_status give_full_window(pipeline *p) {
  gn_relay_start(p->relay, p->n_threads); // a recording of a single window is done before a thread would be there
  return give_window(p, p->most_n, p->window_start_s + WINDOW_S - OVERLAP_S / 2, (size_t)(OVERLAP_S * gn_decimator_fs_hz(p->decimator)));
}

// Samples near the largest number may add up to more than there is.
GN_WIDE static void hold_finite(float *x, size_t n) {
  for (size_t i = 0; i < n; i++) x[i] = fabsf(x[i]) <= FLT_MAX ? x[i] : 0;
}

// The gathered block through everything that takes samples as they come.
static girthline_status run_block(pipeline *p) {
  girthline_status status = gn_quality_push(p->stages.quality, p->block, p->n_block);
  gn_overview_push(&p->overview, p->block, p->n_block, gn_quality_swing(p->stages.quality));
  const size_t n = gn_decimator_push(p->decimator, p->block, p->n_block, p->samples + p->n);
  hold_finite(p->samples + p->n, n);
  p->n += n;
  p->n_block = 0;
  if (status == GIRTHLINE_OK && p->n > p->most_n) status = give_full_window(p);
  return status;
}

// What is not a number is silence.
GN_WIDE static void copy_finite(float *restrict to, const float *restrict from, size_t n) {
  for (size_t k = 0; k < n; k++) to[k] = fabsf(from[k]) <= FLT_MAX ? from[k] : 0;
}

// Take samples over from the next place on; what lies outside the part that was asked for is only counted.
static girthline_status take_samples(pipeline *p, const float *samples, size_t n) {
  girthline_status status = GIRTHLINE_OK;
  const size_t at = p->at, before = p->first > at ? p->first - at : 0, inside = p->end > at ? p->end - at : 0;
  const size_t end = inside < n ? inside : n;
  for (size_t i = before; status == GIRTHLINE_OK && i < end;) {
    const size_t room = BLOCK_N - p->n_block, some = room < end - i ? room : end - i;
    copy_finite(p->block + p->n_block, samples + i, some);
    i += some;
    p->n_block += some;
    if (p->n_block == BLOCK_N) status = run_block(p);
  }
  if (status == GIRTHLINE_OK) p->at = at + n;
  return status;
}

// Read on to the end of a window, or of the part that was asked for, every sample a number and at once where it belongs. A fault of the reading
// does not end the work: what comes to grief in the sound before it comes first, as if it had been worked on before.
static girthline_status read_window(void *user, bool *more) {
  pipeline *p = user;
  const double done_to_s = p->done_to_s; // moves on with a window
  girthline_status status = GIRTHLINE_OK;
  for (*more = true; status == GIRTHLINE_OK && *more && p->done_to_s == done_to_s;) {
    const size_t room = BLOCK_N - p->n_block, left = p->end - p->at, want = left < room ? left : room;
    size_t got;
    *more = false;
    p->reading = gn_audio_read(p->audio, p->block + p->n_block, want, &got, &p->fault);
    if (p->reading != GIRTHLINE_OK) return GIRTHLINE_OK;
    p->at += got;
    p->n_block += got;
    if (p->n_block == BLOCK_N) status = run_block(p);
    *more = got == want && p->at < p->end;
  }
  return status;
}

// Read the part that was asked for, of the channel that beats there, by whichever thread is free.
static girthline_status read_through(pipeline *p, gn_audio *audio, girthline_error *error) {
  girthline_status status = gn_audio_choose_channel(audio, p->first, p->end, error);
  p->stages.result->recording.channel_used = gn_audio_recording(audio)->channel_used;
  p->at = p->first;
  p->audio = audio;
  if (status == GIRTHLINE_OK) status = gn_relay_draw(p->relay, read_window);
  if (status != GIRTHLINE_OK || p->reading == GIRTHLINE_OK) return status;
  status = gn_relay_wait(p->relay);
  if (status != GIRTHLINE_OK) return status;
  if (error) *error = p->fault;
  return p->reading;
}

// The decoder's own words, but where it had too little to decode.
static const char *why_no_beats(const pipeline *p, char *text, size_t n) {
  const girthline_result *r = p->stages.result;
  const double part_s = r->recording.to_s - r->recording.from_s, two_beats_s = 2 * 60 / p->stages.profile->usual_bpm[0];
  if (r->quality.silent) return "the recording is silent";
  if (part_s >= two_beats_s) return p->stages.refusal;
  snprintf(text, n, "no more than %.1f s was analysed, and two beats of a %s at rest take up to %.1f s", ceil(part_s * 10 - ROUNDING) / 10, p->stages.profile->name, two_beats_s);
  return text;
}

// Where no window gave beats: in the grade, for the rate and for the rhythm.
static girthline_status say_why_no_beats(const pipeline *p) {
  girthline_result *r = p->stages.result;
  char text[120];
  const char *const why = why_no_beats(p, text, sizeof text);
  if (r->n_beats || r->beats_given || !*why) return GIRTHLINE_OK;
  snprintf(r->quality.grade_reason, sizeof r->quality.grade_reason, "No heart beats were found: %s.", why);
  const char first = *why, capital = first >= 'a' && first <= 'z' ? (char)(first - 'a' + 'A') : first;
  snprintf(r->rhythm.explanation, sizeof r->rhythm.explanation, "%c%s.", capital, why + 1);
  const char *const reason = r->rhythm.explanation;
  bool refused = gn_result_undetermine(r, "/rate/bpm", "%s", reason) || gn_result_undetermine(r, "/rhythm/pattern", "%s", reason);
  refused = refused || gn_result_undetermine(r, "/murmur/present", "%s", reason);
  return refused ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

// What is still on its way, then the last window.
static girthline_status run_out(pipeline *p) {
  girthline_recording *rec = &p->stages.result->recording;
  girthline_status status = run_block(p);
  if (status != GIRTHLINE_OK) return status;
  const size_t n = gn_decimator_finish(p->decimator, p->samples + p->n);
  hold_finite(p->samples + p->n, n);
  p->n += n;
  rec->from_s = (double)p->first / rec->sample_rate_hz;
  rec->to_s = (double)(p->at < p->end ? p->at : p->end) / rec->sample_rate_hz;
  if (p->at < p->end || isnan(rec->duration_s)) rec->duration_s = (double)p->at / rec->sample_rate_hz;
  status = give_window(p, p->n, INFINITY, 0);
  return status == GIRTHLINE_OK ? gn_relay_wait(p->relay) : status;
}

static girthline_status tell_beats(pipeline *p) {
  const double *lone_s;
  size_t n_lone;
  girthline_status status = gn_quality_finish(p->stages.quality, p->stages.result);
  if (status == GIRTHLINE_OK) status = say_why_no_beats(p);
  if (status == GIRTHLINE_OK) status = gn_extra_finish(p->stages.extra, p->stages.result, &lone_s, &n_lone);
  if (status == GIRTHLINE_OK) status = gn_rhythm_run(p->stages.result, lone_s, n_lone, gn_segment_onset_jitter_ms(p->stages.segment));
  return status;
}

static girthline_status lay_beats(pipeline *p) { return gn_murmur_lay(p->stages.murmur, p->stages.result); }

typedef struct ending {
  pipeline *p;
  girthline_status (*work)(pipeline *p), status;
} ending;

static void end(void *piece) {
  ending *e = piece;
  e->status = e->work(e->p);
}

static girthline_status finish(pipeline *p) {
  girthline_status status = run_out(p);
  if (status != GIRTHLINE_OK) return status;
  ending beats = {p, tell_beats, GIRTHLINE_OK}, murmur = {p, lay_beats, GIRTHLINE_OK};
  gn_relay_both(end, &beats, &murmur, p->n_threads > 1);
  status = beats.status != GIRTHLINE_OK ? beats.status : murmur.status;
  if (status == GIRTHLINE_OK && gn_segment_murmur_hides_s1(p->stages.segment)) gn_murmur_hides_s1(p->stages.murmur);
  if (status == GIRTHLINE_OK) status = gn_murmur_finish(p->stages.murmur, p->stages.result);
  if (status == GIRTHLINE_OK) status = gn_extra_leave_murmurs(p->stages.result);
  if (status == GIRTHLINE_OK) status = gn_findings_run(p->stages.result);
  return status;
}

static girthline_status check(const girthline_settings *s, const girthline_recording *rec, girthline_error *error) {
  if (!(rec->sample_rate_hz >= GN_AUDIO_LOWEST_HZ && rec->sample_rate_hz <= GN_AUDIO_HIGHEST_HZ))
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "pipeline", "%g samples a second cannot be analysed: give %.0f to %.0f", rec->sample_rate_hz,
                        GN_AUDIO_LOWEST_HZ, GN_AUDIO_HIGHEST_HZ);
  if ((unsigned)s->species >= GIRTHLINE_N_SPECIES) return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "pipeline", "the species is not one of those known");
  if (!(s->from_s >= 0) || (s->to_s > 0 && s->to_s <= s->from_s))
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "pipeline", "the part from %g s to %g s is empty: give --from below --to", s->from_s, s->to_s);
  if (s->from_s >= rec->duration_s)
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "pipeline", "the part begins at %g s but the recording lasts %.3f s: give a smaller --from", s->from_s,
                        rec->duration_s);
  const double part_s = part_end_s(s, rec->duration_s) - s->from_s;
  if (rec->duration_s > LONGEST_S && part_s > LONGEST_S)
    return gn_error_set(error, GIRTHLINE_LIMIT, "pipeline", "this is %.0f hours of sound, and at most %.0f (a week) are analysed at once: give a part with --from and --to",
                        part_s / 3600, LONGEST_S / 3600);
  const double last_s = s->given && s->n_given ? s->given[s->n_given - 1].time_s : 0;
  if (last_s > rec->duration_s + GIVEN_SLACK_S)
    return gn_error_set(error, GIRTHLINE_BAD_HAND_FILE, "pipeline", "a sound is given at %.3f s but the recording lasts %.3f s: are these the sounds of this recording?",
                        last_s, rec->duration_s);
  return GIRTHLINE_OK;
}

// Keep a fault; memory that was refused has no words yet.
static girthline_status keep(pipeline *p, girthline_status status, girthline_error *error) {
  if (status == GIRTHLINE_NO_MEMORY) gn_error_memory(error, "pipeline");
  return p->status = status;
}

static girthline_status hand_over(pipeline *p, girthline_result **out, girthline_error *error) {
  if (keep(p, finish(p), error) != GIRTHLINE_OK) return p->status;
  *out = p->stages.result;
  p->stages.result = NULL;
  return GIRTHLINE_OK;
}

// What the caller of a stream need not know.
static girthline_recording completed(const girthline_recording *given) {
  girthline_recording r = *given;
  if (!(r.duration_s > 0)) r.duration_s = NAN;
  if (r.channels < 1) r.channels = 1;
  if (r.channel_used < 1) r.channel_used = 1;
  if (!r.encoding[0]) snprintf(r.encoding, sizeof r.encoding, "samples as they came");
  return r;
}

girthline_status girthline_analysis_new(const girthline_recording *recording, const girthline_settings *settings, girthline_analysis **out,
                                        girthline_error *error) {
  GN_PLAIN_NUMBERS;
  const girthline_settings used = settings ? *settings : girthline_settings_default();
  const girthline_recording facts = completed(recording);
  *out = NULL;
  girthline_status status = check(&used, &facts, error);
  if (status != GIRTHLINE_OK) return status;
  pipeline *p = gn_new(1, sizeof *p);
  if (!p) return gn_error_memory(error, "pipeline");
  status = keep(p, pipeline_init(p, &facts, &used), error);
  if (status == GIRTHLINE_OK) *out = p;
  else girthline_analysis_free(p);
  return status;
}

girthline_status girthline_analysis_push(girthline_analysis *p, const float *samples, size_t n, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  if (p->status != GIRTHLINE_OK || !p->stages.result)
    return gn_error_set(error, p->status ? p->status : GIRTHLINE_BAD_ARGUMENT, "pipeline", "this analysis has ended and takes no more samples");
  return keep(p, take_samples(p, samples, n), error);
}

girthline_status girthline_analysis_finish(girthline_analysis *p, girthline_result **out, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  *out = NULL;
  if (p->status != GIRTHLINE_OK || !p->stages.result)
    return gn_error_set(error, p->status ? p->status : GIRTHLINE_BAD_ARGUMENT, "pipeline", "this analysis has ended and has no result to give");
  if (p->at <= p->first)
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "pipeline", "%zu samples came, and the part to analyse begins behind them", p->at);
  return hand_over(p, out, error);
}

void girthline_analysis_free(girthline_analysis *p) {
  if (p) pipeline_clear(p);
  gn_free(p);
}

// What does not fit a recording is said with its name.
static girthline_status begin(const gn_audio *audio, const girthline_settings *settings, girthline_analysis **out, girthline_error *error) {
  girthline_error fault = {0};
  const girthline_status status = girthline_analysis_new(gn_audio_recording(audio), settings, out, &fault);
  return status == GIRTHLINE_OK ? status : gn_error_set(error, status, fault.stage, "%s: %s", gn_audio_name(audio), fault.text);
}

static girthline_status analyse(gn_audio *audio, const girthline_settings *settings, const gn_file_taker *taker, girthline_result **out,
                                girthline_error *error) {
  girthline_analysis *p = NULL;
  gn_audio_show(audio, taker);
  girthline_status status = begin(audio, settings, &p, error);
  if (status == GIRTHLINE_OK) status = keep(p, read_through(p, audio, error), error);
  if (status == GIRTHLINE_OK) status = keep(p, gn_audio_show_rest(audio, error), error);
  if (status == GIRTHLINE_OK) status = hand_over(p, out, error);
  girthline_analysis_free(p);
  gn_audio_close(audio);
  return status;
}

girthline_status gn_analyse_file_seen(const char *path, const girthline_settings *settings, const gn_file_taker *taker, girthline_result **out,
                                      girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_audio *audio = NULL;
  *out = NULL;
  const girthline_status status = gn_audio_open_path(path, &audio, error);
  return status == GIRTHLINE_OK ? analyse(audio, settings, taker, out, error) : status;
}

girthline_status girthline_analyse_file(const char *path, const girthline_settings *settings, girthline_result **out, girthline_error *error) {
  return gn_analyse_file_seen(path, settings, NULL, out, error);
}

girthline_status girthline_analyse_memory(const void *data, size_t n_bytes, const char *name, const girthline_settings *settings,
                                          girthline_result **out, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_audio *audio = NULL;
  *out = NULL;
  const girthline_status status = gn_audio_open_memory(data, n_bytes, name, &audio, error);
  return status == GIRTHLINE_OK ? analyse(audio, settings, NULL, out, error) : status;
}
