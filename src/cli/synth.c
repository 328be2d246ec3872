// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/synth.h"

#include <errno.h>
#include <getopt.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "synth/write.h"

static const double SETTLING_PERCENT = 38; // how much faster a `settling` recording starts when --settle is not given

enum { EXIT_USAGE = 2, EXIT_INPUT = 3, EXIT_OUTPUT = 4, EXIT_OTHER = 5, EXIT_INTERRUPTED = 130 };

enum option_code {
  OPT_TRUTH = 256, OPT_FACTS, OPT_SPECIES, OPT_BPM, OPT_RHYTHM, OPT_INTERVALS, OPT_SETTLE, OPT_CYCLE_DEPTH, OPT_PAUSE_BEATS, OPT_MURMUR,
  OPT_LEVEL_DB, OPT_S3, OPT_S4, OPT_SPLIT_S1, OPT_SPLIT_S2, OPT_CLICK, OPT_SNR_DB, OPT_NOISE, OPT_HUM_HZ, OPT_DROPOUT,
  OPT_KNOCKS, OPT_BREATHS, OPT_PUT_ON, OPT_SECONDS, OPT_RATE_HZ, OPT_CHANNELS, OPT_SEED, OPT_GAIN_DB, OPT_CLIP, OPT_DC,
  OPT_AGC, OPT_MUFFLED, OPT_RESONANCE, OPT_FORCE, OPT_QUIET, OPT_HELP
};

static const struct option OPTIONS[] = {
    {"truth", 1, NULL, OPT_TRUTH}, {"facts", 1, NULL, OPT_FACTS}, {"species", 1, NULL, OPT_SPECIES}, {"bpm", 1, NULL, OPT_BPM},
    {"rhythm", 1, NULL, OPT_RHYTHM}, {"intervals", 1, NULL, OPT_INTERVALS}, {"settle", 1, NULL, OPT_SETTLE},
    {"cycle-depth", 1, NULL, OPT_CYCLE_DEPTH}, {"pause-beats", 1, NULL, OPT_PAUSE_BEATS}, {"murmur", 1, NULL, OPT_MURMUR}, {"level-db", 1, NULL, OPT_LEVEL_DB},
    {"s3", 0, NULL, OPT_S3}, {"s4", 0, NULL, OPT_S4}, {"split-s1-ms", 1, NULL, OPT_SPLIT_S1}, {"split-s2-ms", 1, NULL, OPT_SPLIT_S2},
    {"click", 0, NULL, OPT_CLICK}, {"snr-db", 1, NULL, OPT_SNR_DB}, {"noise", 1, NULL, OPT_NOISE}, {"hum-hz", 1, NULL, OPT_HUM_HZ},
    {"dropout", 0, NULL, OPT_DROPOUT}, {"knocks", 1, NULL, OPT_KNOCKS}, {"breaths-per-min", 1, NULL, OPT_BREATHS},
    {"put-on", 0, NULL, OPT_PUT_ON}, {"seconds", 1, NULL, OPT_SECONDS}, {"rate-hz", 1, NULL, OPT_RATE_HZ},
    {"channels", 1, NULL, OPT_CHANNELS}, {"seed", 1, NULL, OPT_SEED}, {"gain-db", 1, NULL, OPT_GAIN_DB}, {"clip", 1, NULL, OPT_CLIP},
    {"dc", 1, NULL, OPT_DC}, {"agc", 0, NULL, OPT_AGC}, {"muffled", 0, NULL, OPT_MUFFLED}, {"resonance", 1, NULL, OPT_RESONANCE},
    {"force", 0, NULL, OPT_FORCE}, {"quiet", 0, NULL, OPT_QUIET}, {"help", 0, NULL, OPT_HELP}, {NULL, 0, NULL, 0}};

static const char HELP[] =
    "Usage: girthline synth OUT.wav [options]\n"
    "Make a simulated stethoscope recording with exactly known beats, rhythm, murmur and noise (16-bit PCM WAV).\n"
    "The same arguments give the same bytes. Everything not given is usual for the species or drawn from the seed.\n"
    "\n"
    "Files\n"
    "  --truth OUT.csv         every heart sound: time_s,sound (S1 to S4); the moment it leaves the background\n"
    "  --facts OUT.json        rhythm, murmur, noise, rates, pauses, early beats, spans in which the heart is hidden\n"
    "  --force                 replace files that girthline synth did not write\n"
    "Animal and rhythm\n"
    "  --species NAME          horse, foal, donkey, dog, cat, cattle, calf, sheep, goat, human (default horse)\n"
    "  --bpm N                 10 to 320 beats a minute, once settled\n"
    "  --rhythm PATTERN        regular, cyclic, pauses, early-beats, irregular; settling: regular, faster at the start\n"
    "  --intervals FILE.csv    use these intervals between beats in turn (interval_s, 0.15 to 20 s, and early, 0 or 1)\n"
    "  --settle PERCENT        0 to 150: start this much faster, whatever the rhythm (settling: 38)\n"
    "  --cycle-depth PERCENT   1 to 40: how far a cyclic rhythm speeds and slows (default: between 8 and 12)\n"
    "  --pause-beats N         1 to 4 beats dropped per pause (default 1)\n"
    "  --breaths-per-min N     2 to 120\n"
    "Sounds\n"
    "  --murmur \"PHASE TIMING SHAPE [musical] [NNNhz]\"\n"
    "                          systole, diastole, continuous; early, mid, late, holo; plateau, crescendo, decrescendo,\n"
    "                          crescendo-decrescendo; up to three, by repeating the option or with ';' between them\n"
    "  --level-db N            -60 to 40 dB: RMS over the murmur's span against RMS over S1, both 25 to 700 Hz, median\n"
    "                          over beats (default -10); once for all, or once per murmur in their order\n"
    "  --s3  --s4              add third, fourth sounds (a fourth sound alone in a pause)\n"
    "  --split-s1-ms N         0 to 80 ms between the two parts of S1\n"
    "  --split-s2-ms N         0 to 100 ms between the two parts of S2, wider in inspiration\n"
    "  --click                 a click in systole\n"
    "Noise\n"
    "  --snr-db N              -20 to 80 dB: RMS over S1 and S2 against RMS of the noise between the sounds, 25 to\n"
    "                          700 Hz, handling and knocks left out (default 24)\n"
    "  --noise LIST            of breath,gut,handling,hum,voice,wind,dropout,knocks; or none\n"
    "  --hum-hz N              50 or 60 Hz (default 50)\n"
    "  --dropout               the connection is lost for a while\n"
    "  --knocks N              5 to 300 a minute: regular knocks that are not beats\n"
    "  --put-on                the stethoscope is put on during the first seconds\n"
    "Recorder\n"
    "  --seconds N             0.1 to 604800 s (default 30)\n"
    "  --rate-hz N             1600 to 96000 Hz (default 4000)\n"
    "  --channels N            1, or 2: the second hears the room, not the heart\n"
    "  --gain-db N             -60 to 60 dB over the usual level\n"
    "  --clip N                0.001 to 1 of full scale: hard clipping\n"
    "  --dc N                  -0.5 to 0.5 of full scale: a constant offset\n"
    "  --agc                   an automatic gain control (levels are set before it)\n"
    "  --muffled               a thick coat: what comes from the body is low-passed near 90 Hz\n"
    "  --resonance N           40 to 700 Hz: a marked resonance\n"
    "  --seed N                0 to 18446744073709551615 (default 1)\n"
    "Other\n"
    "  --quiet                 say nothing but errors\n"
    "  --help                  this text\n"
    "\n"
    "Levels and the signal-to-noise ratio are set on the first 300 s. The recording is simulated: it shows how a sound\n"
    "may look, it is no animal's heart and nothing to base a treatment on.\n"
    "Exit codes: 0 made; 2 wrong usage; 3 a list of intervals could not be read; 4 an output could not be written; 5 anything else; 130 interrupted.\n";

/// What the command line asked for.
typedef struct request {
  gn_synth_spec spec;
  gn_synth_files files;
  const char *intervals_path;
  gn_synth_intervals intervals;
  double levels[GN_SYNTH_MURMURS_MOST];
  size_t n_levels;
  double settle_percent;
  bool settling, settle_given, quiet, help;
} request;

static int complain(const char *format, ...) __attribute__((format(printf, 1, 2)));
static int complain(const char *format, ...) {
  va_list args;
  va_start(args, format);
  fputs("girthline: ", stderr); // as every command begins; the sentences name their option
  vfprintf(stderr, format, args);
  fputc('\n', stderr);
  va_end(args);
  return EXIT_USAGE;
}

// ---- names

// Letters to change, insert or leave out to come from one word to the other (Levenshtein); words under 64 letters.
static size_t distance(const char *a, size_t a_n, const char *b) {
  size_t row[64];
  const size_t b_n = strlen(b);
  if (b_n > 62 || a_n > 62) return 99;
  for (size_t j = 0; j <= b_n; j++) row[j] = j;
  for (size_t i = 1; i <= a_n; i++) {
    size_t corner = row[0];
    row[0] = i;
    for (size_t j = 1; j <= b_n; j++) {
      const size_t up = row[j], change = corner + (a[i - 1] != b[j - 1]);
      row[j] = up + 1 < row[j - 1] + 1 ? up + 1 : row[j - 1] + 1;
      if (change < row[j]) row[j] = change;
      corner = up;
    }
  }
  return row[b_n];
}

static const struct option *exact(const char *name, size_t n) {
  for (const struct option *o = OPTIONS; o->name; o++)
    if (strlen(o->name) == n && !strncmp(o->name, name, n)) return o;
  return NULL;
}

static int unknown_option(const char *arg, size_t n) {
  const struct option *nearest = OPTIONS;
  for (const struct option *o = OPTIONS; o->name; o++)
    if (distance(arg, n, o->name) < distance(arg, n, nearest->name)) nearest = o;
  return complain("--%.*s is not an option; the nearest is --%s (see girthline synth --help).", (int)n, arg, nearest->name);
}

// getopt_long takes abbreviations: every name is checked before it runs.
static int check_names(int argc, char **argv) {
  for (int i = 1; i < argc; i++) {
    const char *arg = argv[i];
    if (arg[0] != '-' || arg[1] == '\0') continue;
    if (!strcmp(arg, "--")) return 0;
    if (arg[1] != '-') return complain("%s is not an option; options are written out, as --help.", arg);
    const size_t n = strcspn(arg + 2, "=");
    const struct option *o = exact(arg + 2, n);
    if (!o) return unknown_option(arg + 2, n);
    if (o->has_arg && !arg[2 + n] && ++i >= argc) return complain("--%s needs a value.", o->name);
    if (!o->has_arg && arg[2 + n]) return complain("--%s takes no value.", o->name);
  }
  return 0;
}

// ---- values

static int number(const char *name, const char *text, double *out) {
  char *end;
  const size_t plain = strspn(text, "+-.0123456789eE");
  *out = strtod(text, &end);
  if (*text && !text[plain] && end != text && !*end) return 0;
  if (strchr(text, ',')) return complain("--%s is \"%s\": write the number with a decimal point, not a comma.", name, text);
  return complain("--%s is \"%s\": it has to be a number.", name, text);
}

static int whole(const char *name, const char *text, int *out) {
  double x;
  if (number(name, text, &x)) return EXIT_USAGE;
  if (x < -1e9 || x > 1e9 || x != (double)(int)x) return complain("--%s is \"%s\": it has to be a whole number.", name, text);
  *out = (int)x;
  return 0;
}

static int seed(const char *text, uint64_t *out) {
  char *end;
  errno = 0;
  *out = strtoull(text, &end, 10);
  if (*text && !text[strspn(text, "0123456789")] && !errno) return 0;
  return complain("--seed is \"%s\": it has to be a whole number from 0 to 18446744073709551615.", text);
}

static int add_murmurs(request *q, const char *text) {
  for (;;) {
    const size_t n = strcspn(text, ";");
    char one[120];
    if (n >= sizeof one) return complain("--murmur \"%s\" is too long.", text);
    memcpy(one, text, n);
    one[n] = '\0';
    if (q->spec.n_murmurs == GN_SYNTH_MURMURS_MOST) return complain("--murmur: no more than %d murmurs.", GN_SYNTH_MURMURS_MOST);
    if (!gn_synth_murmur_parse(one, &q->spec.murmurs[q->spec.n_murmurs++]))
      return complain("--murmur \"%s\": write PHASE TIMING SHAPE, as \"systole holo plateau\", then musical or a pitch as 200hz.", one);
    if (!text[n]) return 0;
    text += n + 1;
  }
}

static int add_level(request *q, const char *text) {
  if (q->n_levels == GN_SYNTH_MURMURS_MOST) return complain("--level-db: no more than %d murmurs.", GN_SYNTH_MURMURS_MOST);
  return number("level-db", text, &q->levels[q->n_levels++]);
}

static int add_noise(request *q, const char *text) {
  unsigned bits;
  if (!gn_synth_noise_parse(text, &bits))
    return complain("--noise \"%s\": a list of breath,gut,handling,hum,voice,wind,dropout,knocks, or none.", text);
  q->spec.noise |= bits;
  return 0;
}

static int set_word(request *q, int code, const char *v) {
  switch (code) {
  case OPT_SPECIES:
    if (girthline_species_parse(v, &q->spec.species)) return 0;
    return complain("--species \"%s\" is not known: horse, foal, donkey, dog, cat, cattle, calf, sheep, goat or human.", v);
  case OPT_RHYTHM:
    if (gn_synth_rhythm_parse(v, &q->spec.rhythm, &q->settling)) return 0;
    return complain("--rhythm \"%s\" is not known: regular, cyclic, pauses, early-beats, irregular or settling.", v);
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
  case OPT_HELP: q->help = true; return 0;
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
  if (number(name, v, place)) return EXIT_USAGE;
  const bool drawn_at_zero = code == OPT_BPM || code == OPT_CYCLE_DEPTH || code == OPT_BREATHS || code == OPT_RESONANCE;
  if (drawn_at_zero && *place == 0) return complain("--%s is 0: it has to be above zero.", name);
  if ((code == OPT_SPLIT_S1 || code == OPT_SPLIT_S2) && *place < 0)
    return complain("--%s is \"%s\": a delay in ms is not negative.", name, v);
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

static int read_options(request *q, int argc, char **argv) {
  if (check_names(argc, argv)) return EXIT_USAGE;
  int code, at = 0;
  optind = 0; // glibc: start over
  opterr = 0;
  while ((code = getopt_long(argc, argv, "", OPTIONS, &at)) != -1) {
    if (code == '?') return complain("%s is not understood (see girthline synth --help).", argv[optind - 1]);
    if (set_option(q, code, OPTIONS[at].name, optarg)) return EXIT_USAGE;
  }
  return 0;
}

// What only the whole line can tell.
static int settle_request(request *q, int argc, char **argv) {
  if (optind >= argc) return complain("name the WAV file to write: girthline synth OUT.wav (see --help).");
  if (optind + 1 < argc) return complain("one WAV file at a time; \"%s\" is too many.", argv[optind + 1]);
  q->files.wav = argv[optind];
  if (!strcmp(q->files.wav, "-")) return complain("the recording is written to a named file, not to standard output.");
  const char *names[] = {q->files.wav, q->files.truth, q->files.facts};
  for (int a = 0; a < 3; a++)
    for (int b = 0; b < a; b++)
      if (names[a] && names[b] && !strcmp(names[a], names[b])) return complain("%s is named for two outputs.", names[a]);
  q->spec.settle_percent = q->settle_given ? q->settle_percent : q->settling ? SETTLING_PERCENT : 0;
  if (q->n_levels && !q->spec.n_murmurs) return complain("--level-db needs a --murmur.");
  if (q->n_levels > 1 && q->n_levels != q->spec.n_murmurs)
    return complain("--level-db was given %zu times for %zu murmurs; give it once, or once for each.", q->n_levels, q->spec.n_murmurs);
  for (size_t i = 0; i < q->spec.n_murmurs; i++)
    q->spec.murmurs[i].level_db = q->n_levels == 0 ? -10 : q->levels[q->n_levels == 1 ? 0 : i];
  girthline_error error = {0};
  return gn_synth_spec_check(&q->spec, &error) ? complain("--%s", error.text) : 0;
}

// ---- running

static volatile sig_atomic_t stopped;
static void on_signal(int number_of_signal) {
  (void)number_of_signal;
  stopped = 1;
}
static bool asked_to_stop(void) { return stopped; }

static int exit_code(girthline_status status) {
  switch (status) {
  case GIRTHLINE_OK: return 0;
  case GIRTHLINE_BAD_ARGUMENT:
  case GIRTHLINE_BAD_HAND_FILE: return EXIT_USAGE;
  case GIRTHLINE_CANNOT_WRITE: return EXIT_OUTPUT;
  case GIRTHLINE_INTERRUPTED: return EXIT_INTERRUPTED;
  case GIRTHLINE_CANNOT_READ: return EXIT_INPUT;
  case GIRTHLINE_NOT_AUDIO:
  case GIRTHLINE_LIMIT:
  case GIRTHLINE_NO_MEMORY:
  case GIRTHLINE_INTERNAL:
  case GIRTHLINE_REFUSED: break;
  }
  return EXIT_OTHER;
}

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
  int code = read_options(&q, argc, argv);
  if (code) return code;
  if (q.help) {
    fputs(HELP, stdout);
    return fflush(stdout) ? EXIT_OUTPUT : 0;
  }
  code = settle_request(&q, argc, argv);
  if (code) return code;
  girthline_error error = {0};
  const girthline_status status = run(&q, &error);
  if (status) complain("%s", error.text);
  else if (!q.quiet)
    fprintf(stderr, "%s: %g s of a simulated %s at %d Hz.\n", q.files.wav, q.spec.seconds,
            girthline_species_name(q.spec.species), q.spec.rate_hz);
  return exit_code(status);
}
