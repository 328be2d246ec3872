// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/synth.h"

#include <errno.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/version.h>

#include "cli/options.h"
#include "cli/output.h"
#include "cli/say.h"
#include "synth/write.h"

static const double SETTLING_PERCENT = 38; // how much faster a `settling` recording starts when --settle is not given

enum option_code {
  OPT_TRUTH = 256, OPT_FACTS, OPT_SPECIES, OPT_BPM, OPT_RHYTHM, OPT_INTERVALS, OPT_SETTLE, OPT_CYCLE_DEPTH, OPT_PAUSE_BEATS, OPT_MURMUR,
  OPT_LEVEL_DB, OPT_S3, OPT_S4, OPT_SPLIT_S1, OPT_SPLIT_S2, OPT_CLICK, OPT_SNR_DB, OPT_NOISE, OPT_HUM_HZ, OPT_DROPOUT,
  OPT_KNOCKS, OPT_BREATHS, OPT_PUT_ON, OPT_SECONDS, OPT_RATE_HZ, OPT_CHANNELS, OPT_SEED, OPT_GAIN_DB, OPT_CLIP, OPT_DC,
  OPT_AGC, OPT_MUFFLED, OPT_RESONANCE, OPT_FORCE, OPT_QUIET, OPT_HELP, OPT_VERSION
};

static const gn_option TABLE[] = {
    {0, "", NULL, "Files"},
    {OPT_TRUTH, "truth", "OUT.csv", "every heart sound: time_s,sound (S1 to S4); the moment it leaves the background"},
    {OPT_FACTS, "facts", "OUT.json", "rhythm, murmur, noise, rates, pauses, early beats, spans in which the heart is hidden"},
    {OPT_FORCE, "force", NULL, "replace files that girthline synth did not write"},
    {0, "", NULL, "Animal and rhythm"},
    {OPT_SPECIES, "species", "NAME", "horse (default), foal, donkey, dog, cat, cattle, calf, sheep, goat or human"},
    {OPT_BPM, "bpm", "N", "10 to 320 beats a minute, once settled"},
    {OPT_RHYTHM, "rhythm", "PATTERN", "regular, cyclic, pauses, early-beats, irregular; settling: regular, faster at the start"},
    {OPT_INTERVALS, "intervals", "FILE.csv", "use these intervals between beats in turn: interval_s (0.15 to 20 s) and, if wanted, early (0 or 1)"},
    {OPT_SETTLE, "settle", "PERCENT", "0 to 150: start this much faster, whatever the rhythm (settling: 38)"},
    {OPT_CYCLE_DEPTH, "cycle-depth", "PERCENT", "1 to 40: how far a cyclic rhythm speeds and slows (default: between 8 and 12)"},
    {OPT_PAUSE_BEATS, "pause-beats", "N", "1 to 4 beats dropped per pause (default: 1)"},
    {OPT_BREATHS, "breaths-per-min", "N", "2 to 120 breaths a minute"},
    {0, "", NULL, "Sounds"},
    {OPT_MURMUR, "murmur", "\"PHASE TIMING SHAPE\"",
     "systole, diastole, continuous; early, mid, late, holo; plateau, crescendo, decrescendo, crescendo-decrescendo; then, if wanted, musical or "
     "a pitch as 200hz; up to three, by repeating the option or with ';' between them"},
    {OPT_LEVEL_DB, "level-db", "N",
     "-60 to 40 dB: RMS over the murmur's span against RMS over S1, both 25 to 700 Hz, median over beats (default: -10); once for all, or once "
     "per murmur in their order"},
    {OPT_S3, "s3", NULL, "add third sounds"},
    {OPT_S4, "s4", NULL, "add fourth sounds (alone in a pause)"},
    {OPT_SPLIT_S1, "split-s1-ms", "N", "0 to 80 ms between the two parts of S1"},
    {OPT_SPLIT_S2, "split-s2-ms", "N", "0 to 100 ms between the two parts of S2, wider in inspiration"},
    {OPT_CLICK, "click", NULL, "a click in systole"},
    {0, "", NULL, "Noise"},
    {OPT_SNR_DB, "snr-db", "N",
     "-20 to 80 dB: RMS over S1 and S2 against RMS of the noise between the sounds, 25 to 700 Hz, handling and knocks left out (default: 24)"},
    {OPT_NOISE, "noise", "LIST", "parted by commas: breath, gut, handling, hum, voice, wind, dropout, knocks; or none"},
    {OPT_HUM_HZ, "hum-hz", "N", "50 or 60 Hz (default: 50)"},
    {OPT_DROPOUT, "dropout", NULL, "the connection is lost for a while"},
    {OPT_KNOCKS, "knocks", "N", "5 to 300 a minute: regular knocks that are not beats"},
    {OPT_PUT_ON, "put-on", NULL, "the stethoscope is put on during the first seconds"},
    {0, "", NULL, "Recorder"},
    {OPT_SECONDS, "seconds", "N", "0.1 to 604800 s (default: 30)"},
    {OPT_RATE_HZ, "rate-hz", "N", "1600 to 96000 Hz (default: 4000)"},
    {OPT_CHANNELS, "channels", "N", "1, or 2: the second hears the room, not the heart"},
    {OPT_GAIN_DB, "gain-db", "N", "-60 to 60 dB over the usual level"},
    {OPT_CLIP, "clip", "N", "0.001 to 1 of full scale: hard clipping"},
    {OPT_DC, "dc", "N", "-0.5 to 0.5 of full scale: a constant offset"},
    {OPT_AGC, "agc", NULL, "an automatic gain control (levels are set before it)"},
    {OPT_MUFFLED, "muffled", NULL, "a thick coat: what comes from the body is low-passed near 90 Hz"},
    {OPT_RESONANCE, "resonance", "N", "40 to 700 Hz: a marked resonance"},
    {OPT_SEED, "seed", "N", "0 to 18446744073709551615 (default: 1)"},
    {0, "", NULL, "Other"},
    {OPT_QUIET, "quiet", NULL, "say nothing but errors"},
    {OPT_HELP, "help", NULL, "this text"},
    {OPT_VERSION, "version", NULL, "the version"},
};
enum { N_TABLE = sizeof TABLE / sizeof *TABLE };

static void help(void) {
  gn_options_words("Usage: girthline synth [OPTION]... OUT.wav\n"
                   "Make a simulated stethoscope recording with exactly known beats, rhythm, murmur and noise (16-bit PCM WAV).\n\n"
                   "The same arguments give the same bytes. Everything not given is usual for the species or drawn from the seed.\n\n");
  gn_options_help(TABLE, N_TABLE);
  gn_options_words("\nLevels and the signal-to-noise ratio are set on the first 300 s. The recording is simulated: it shows how a sound may look, it "
                   "is no animal's heart and nothing to base a treatment on.\n"
                   "Exit codes: 0 made; 2 wrong usage; 3 a list of intervals could not be read; 4 an output could not be written; 5 anything else; 130 interrupted.\n");
}

/// What the command line asked for.
typedef struct request {
  gn_synth_spec spec;
  gn_synth_files files;
  const char *intervals_path;
  gn_synth_intervals intervals;
  double levels[GN_SYNTH_MURMURS_MOST];
  size_t n_levels;
  double settle_percent;
  bool settling, settle_given, quiet, done;
} request;

// ---- values

static int number(const char *name, const char *text, double *out) {
  char *end;
  const size_t plain = strspn(text, "+-.0123456789eE");
  *out = strtod(text, &end);
  if (*text && !text[plain] && end != text && !*end) return 0;
  if (strchr(text, ',')) return gn_cli_usage("synth", "--%s is \"%s\": write the number with a decimal point, not a comma", name, text);
  return gn_cli_usage("synth", "--%s is \"%s\": it has to be a number", name, text);
}

static int whole(const char *name, const char *text, int *out) {
  double x;
  if (number(name, text, &x)) return GN_EXIT_USAGE;
  if (x < -1e9 || x > 1e9 || x != (double)(int)x) return gn_cli_usage("synth", "--%s is \"%s\": it has to be a whole number", name, text);
  *out = (int)x;
  return 0;
}

static int seed(const char *text, uint64_t *out) {
  char *end;
  errno = 0;
  *out = strtoull(text, &end, 10);
  if (*text && !text[strspn(text, "0123456789")] && !errno) return 0;
  return gn_cli_usage("synth", "--seed is \"%s\": it has to be a whole number from 0 to 18446744073709551615", text);
}

static int add_murmurs(request *q, const char *text) {
  for (;;) {
    const size_t n = strcspn(text, ";");
    char one[120];
    if (n >= sizeof one) return gn_cli_usage("synth", "--murmur \"%s\" is too long", text);
    memcpy(one, text, n);
    one[n] = '\0';
    if (q->spec.n_murmurs == GN_SYNTH_MURMURS_MOST) return gn_cli_usage("synth", "--murmur: no more than %d murmurs", GN_SYNTH_MURMURS_MOST);
    if (!gn_synth_murmur_parse(one, &q->spec.murmurs[q->spec.n_murmurs++]))
      return gn_cli_usage("synth", "--murmur \"%s\": write PHASE TIMING SHAPE, as \"systole holo plateau\", then musical or a pitch as 200hz", one);
    if (!text[n]) return 0;
    text += n + 1;
  }
}

static int add_level(request *q, const char *text) {
  if (q->n_levels == GN_SYNTH_MURMURS_MOST) return gn_cli_usage("synth", "--level-db: no more than %d murmurs", GN_SYNTH_MURMURS_MOST);
  return number("level-db", text, &q->levels[q->n_levels++]);
}

static int add_noise(request *q, const char *text) {
  unsigned bits;
  if (!gn_synth_noise_parse(text, &bits))
    return gn_cli_usage("synth", "--noise \"%s\": a list of breath,gut,handling,hum,voice,wind,dropout,knocks, or none", text);
  q->spec.noise |= bits;
  return 0;
}

static int set_word(request *q, int code, const char *v) {
  switch (code) {
  case OPT_SPECIES:
    if (girthline_species_parse(v, &q->spec.species)) return 0;
    return gn_cli_usage("synth", "--species \"%s\" is not known: horse, foal, donkey, dog, cat, cattle, calf, sheep, goat or human", v);
  case OPT_RHYTHM:
    if (gn_synth_rhythm_parse(v, &q->spec.rhythm, &q->settling)) return 0;
    return gn_cli_usage("synth", "--rhythm \"%s\" is not known: regular, cyclic, pauses, early-beats, irregular or settling", v);
  case OPT_MURMUR: return add_murmurs(q, v);
  case OPT_LEVEL_DB: return add_level(q, v);
  case OPT_NOISE: return add_noise(q, v);
  case OPT_SEED: return seed(v, &q->spec.seed);
  case OPT_INTERVALS: q->intervals_path = v; return 0;
  case OPT_TRUTH: q->files.truth = v; return 0;
  case OPT_FACTS: q->files.facts = v; return 0;
  default: return -1;
  }
}

static int set_flag(request *q, int code) {
  switch (code) {
  case OPT_S3: q->spec.s3 = true; return 0;
  case OPT_S4: q->spec.s4 = true; return 0;
  case OPT_CLICK: q->spec.click = true; return 0;
  case OPT_DROPOUT: q->spec.noise |= GN_SYNTH_DROPOUT; return 0;
  case OPT_PUT_ON: q->spec.put_on = true; return 0;
  case OPT_AGC: q->spec.agc = true; return 0;
  case OPT_MUFFLED: q->spec.muffled = true; return 0;
  case OPT_FORCE: q->files.force = true; return 0;
  case OPT_QUIET: q->quiet = true; return 0;
  default: return -1;
  }
}

static double *number_place(request *q, int code) {
  switch (code) {
  case OPT_BPM: return &q->spec.bpm;
  case OPT_SETTLE: q->settle_given = true; return &q->settle_percent;
  case OPT_CYCLE_DEPTH: return &q->spec.cycle_depth_percent;
  case OPT_SPLIT_S1: return &q->spec.split_s1_ms;
  case OPT_SPLIT_S2: return &q->spec.split_s2_ms;
  case OPT_SNR_DB: return &q->spec.snr_db;
  case OPT_HUM_HZ: return &q->spec.hum_hz;
  case OPT_KNOCKS: q->spec.noise |= GN_SYNTH_KNOCKS; return &q->spec.knocks_per_min;
  case OPT_BREATHS: return &q->spec.breaths_per_min;
  case OPT_SECONDS: return &q->spec.seconds;
  case OPT_GAIN_DB: return &q->spec.gain_db;
  case OPT_CLIP: return &q->spec.clip;
  case OPT_DC: return &q->spec.dc;
  case OPT_RESONANCE: return &q->spec.resonance_hz;
  default: return NULL;
  }
}

// A value given by hand is never "drawn": what stands for that inside is refused here.
static int set_number(request *q, int code, const char *name, const char *v) {
  double *place = number_place(q, code);
  if (!place || number(name, v, place)) return GN_EXIT_USAGE;
  const bool drawn_at_zero = code == OPT_BPM || code == OPT_CYCLE_DEPTH || code == OPT_BREATHS || code == OPT_RESONANCE;
  if (drawn_at_zero && *place == 0) return gn_cli_usage("synth", "--%s is 0: it has to be above zero", name);
  if ((code == OPT_SPLIT_S1 || code == OPT_SPLIT_S2) && *place < 0)
    return gn_cli_usage("synth", "--%s is \"%s\": a delay in ms is not negative", name, v);
  return 0;
}

static int set_option(request *q, int code, const char *name, const char *v) {
  const int flag = set_flag(q, code);
  if (flag >= 0) return flag;
  switch (code) {
  case OPT_PAUSE_BEATS: return whole(name, v, &q->spec.pause_beats);
  case OPT_RATE_HZ: return whole(name, v, &q->spec.rate_hz);
  case OPT_CHANNELS: return whole(name, v, &q->spec.channels);
  default: break;
  }
  const int word = set_word(q, code, v);
  return word >= 0 ? word : set_number(q, code, name, v);
}

static int take(void *user, int id, const char *value) {
  request *q = user;
  if (id == OPT_HELP) help();
  if (id == OPT_VERSION) printf("girthline %s\n", girthline_version());
  q->done = id == OPT_HELP || id == OPT_VERSION;
  if (q->done) return 0;
  if (id == GN_OPTION_FILE) {
    if (q->files.wav) return gn_cli_usage("synth", "one WAV file at a time: %s is too many", value);
    q->files.wav = value;
    return 0;
  }
  for (size_t i = 0; i < N_TABLE; i++)
    if (TABLE[i].id == id) return set_option(q, id, TABLE[i].name, value);
  return GN_EXIT_USAGE;
}

// An error's sentence without its full stop: where to read on comes behind it.
static const char *plain(girthline_error *error) {
  const size_t n = strlen(error->text);
  if (n && error->text[n - 1] == '.') error->text[n - 1] = '\0';
  return error->text;
}

// What only the whole line can tell.
static int settle_request(request *q) {
  if (!q->files.wav || !*q->files.wav) return gn_cli_usage("synth", "name the WAV file to write");
  if (!strcmp(q->files.wav, "-")) return gn_cli_usage("synth", "the recording is written to a named file, not to standard output (-)");
  if (gn_output_says_other_sound(q->files.wav)) return gn_cli_usage("synth", "WAV is written: let the name %s end in .wav", q->files.wav);
  const char *names[] = {q->files.wav, q->files.truth, q->files.facts};
  for (int a = 0; a < 3; a++)
    for (int b = 0; b < a; b++)
      if (names[a] && names[b] && gn_output_is_same(names[a], names[b])) return gn_cli_usage("synth", "%s is named for two outputs", names[a]);
  q->spec.settle_percent = q->settle_given ? q->settle_percent : q->settling ? SETTLING_PERCENT : 0;
  if (q->n_levels && !q->spec.n_murmurs) return gn_cli_usage("synth", "--level-db needs a --murmur");
  if (q->n_levels > 1 && q->n_levels != q->spec.n_murmurs)
    return gn_cli_usage("synth", "--level-db was given %zu times for %zu murmurs; give it once, or once for each", q->n_levels, q->spec.n_murmurs);
  for (size_t i = 0; i < q->spec.n_murmurs; i++)
    q->spec.murmurs[i].level_db = q->n_levels == 0 ? -10 : q->levels[q->n_levels == 1 ? 0 : i];
  girthline_error error = {0};
  if (gn_synth_spec_check(&q->spec, &error)) return gn_cli_usage("synth", "--%s", plain(&error));
  int code = 0;
  for (int a = 0; a < 3 && !code; a++) code = names[a] && q->intervals_path ? gn_output_check(names[a], &q->intervals_path, 1, true) : 0;
  return code;
}

// ---- running

static volatile sig_atomic_t stopped;
static void on_signal(int number_of_signal) {
  (void)number_of_signal;
  stopped = 1;
}
static bool asked_to_stop(void) { return stopped; }

static girthline_status write_catching(const request *q, girthline_error *error) {
  struct sigaction catch = {.sa_handler = on_signal}, old_int, old_term;
  sigemptyset(&catch.sa_mask);
  stopped = 0;
  sigaction(SIGINT, &catch, &old_int);
  sigaction(SIGTERM, &catch, &old_term);
  const girthline_status status = gn_synth_write(&q->spec, &q->files, error);
  sigaction(SIGINT, &old_int, NULL);
  sigaction(SIGTERM, &old_term, NULL);
  return status;
}

static girthline_status run(request *q, girthline_error *error) {
  if (q->intervals_path) {
    const girthline_status status = gn_synth_intervals_read(q->intervals_path, &q->intervals, error);
    if (status) return status;
    q->spec.intervals = &q->intervals;
  }
  const girthline_status status = write_catching(q, error);
  gn_synth_intervals_clear(&q->intervals);
  return status;
}

int gn_cli_synth(int argc, char **argv) {
  request q = {.files.stop = asked_to_stop};
  gn_synth_spec_init(&q.spec);
  int code = gn_options_each(argc, argv, TABLE, N_TABLE, take, &q, &q.done);
  if (!code && !q.done) code = settle_request(&q);
  if (code || q.done) return code;
  girthline_error error = {0};
  if (run(&q, &error)) return gn_cli_fail(&error);
  if (!q.quiet) gn_cli_say("%s: %g s of a simulated %s at %d Hz", q.files.wav, q.spec.seconds, girthline_species_name(q.spec.species), q.spec.rate_hz);
  return 0;
}
