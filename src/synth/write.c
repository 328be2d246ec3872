// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "synth/write.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <girthline/version.h>
#include <sndfile.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/statistics.h"

static const char SIGNATURE[] = "girthline synth";
static const char FACTS_START[] = "{\n \"made_by\": \"girthline synth\",";
static const double LARGEST_WAV_BYTES = 4294960000.0; // a RIFF length has 32 bits
enum { CHUNK_N = 16384, N_FILES = 3 };

/// An output: its place, and what is being written beside it.
typedef struct out_file {
  const char *path;
  char *beside;
  FILE *text;
  bool made;
} out_file;

typedef struct job {
  const gn_synth_spec *spec;
  const gn_synth_files *files;
  girthline_error *error;
  out_file out[N_FILES]; // wav, truth, facts
  SNDFILE *wav;
} job;
enum { WAV, TRUTH, FACTS };

static girthline_status cannot(job *j, const char *path, const char *why) {
  static const char SYSTEM[] = "System error : "; // libsndfile's words ahead of the system's own, with a full stop behind them
  if (!strncmp(why, SYSTEM, sizeof SYSTEM - 1)) why += sizeof SYSTEM - 1;
  const size_t n = strlen(why);
  return gn_error_set(j->error, GIRTHLINE_CANNOT_WRITE, "synth", "%s cannot be written: %.*s; name another place", path, (int)(n && why[n - 1] == '.' ? n - 1 : n), why);
}

// ---- may it be replaced?

static bool wav_is_ours(const char *path) {
  SF_INFO info = {0};
  SNDFILE *f = sf_open(path, SFM_READ, &info);
  if (!f) return false;
  const char *software = sf_get_string(f, SF_STR_SOFTWARE);
  const bool ours = software && !strncmp(software, SIGNATURE, strlen(SIGNATURE));
  sf_close(f);
  return ours;
}

static bool facts_are_ours(const char *path) {
  char head[sizeof FACTS_START] = "";
  FILE *f = fopen(path, "rb");
  if (!f) return false;
  const size_t n = fread(head, 1, sizeof FACTS_START - 1, f);
  fclose(f);
  return n == sizeof FACTS_START - 1 && !memcmp(head, FACTS_START, n);
}

static bool same_bytes(const char *a, const char *b) {
  FILE *x = fopen(a, "rb"), *y = fopen(b, "rb");
  int p = 0, q = x && y ? 0 : 1;
  while (p == q && p != EOF) {
    p = getc(x);
    q = getc(y);
  }
  if (x) fclose(x);
  if (y) fclose(y);
  return p == q;
}

static girthline_status refuse(job *j, const char *path) {
  return gn_error_set(j->error, GIRTHLINE_CANNOT_WRITE, "synth",
                      "%s is there already and was not written by girthline synth; name another file, or replace it with --force.", path);
}

// Before any work; a truth file can only be judged once the new one is there.
static girthline_status may_replace(job *j, int which) {
  const char *path = j->out[which].path;
  struct stat st;
  if (!path || stat(path, &st)) return GIRTHLINE_OK;
  if (!S_ISREG(st.st_mode)) return cannot(j, path, "it is there and is not a regular file");
  if (j->files->force || which == TRUTH) return GIRTHLINE_OK;
  return (which == WAV ? wav_is_ours(path) : facts_are_ours(path)) ? GIRTHLINE_OK : refuse(j, path);
}

// ---- opening

static girthline_status open_beside(job *j, int which) {
  out_file *o = &j->out[which];
  if (!o->path) return GIRTHLINE_OK;
  girthline_status status = may_replace(j, which);
  if (status) return status;
  o->beside = gn_strprintf("%s.XXXXXX", o->path);
  if (!o->beside) return gn_error_memory(j->error, "synth");
  const int fd = mkstemp(o->beside);
  if (fd < 0) return cannot(j, o->path, strerror(errno));
  o->made = true;
  const mode_t mask = umask(0);
  umask(mask);
  if (fchmod(fd, 0666 & ~mask)) { /* a file system without modes: the file stays as it is */ }
  if (which != WAV) {
    o->text = fdopen(fd, "wb");
    if (!o->text) close(fd);
    return o->text ? GIRTHLINE_OK : cannot(j, o->path, strerror(errno));
  }
  SF_INFO info = {.samplerate = j->spec->rate_hz, .channels = j->spec->channels, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
  j->wav = sf_open_fd(fd, SFM_WRITE, &info, SF_TRUE);
  if (!j->wav) return cannot(j, o->path, sf_strerror(NULL));
  char software[80];
  snprintf(software, sizeof software, "%s %s, simulated", SIGNATURE, girthline_version());
  sf_set_string(j->wav, SF_STR_SOFTWARE, software);
  return GIRTHLINE_OK;
}

// ---- filling

static void write_sounds(job *j, gn_synth *synth) {
  gn_synth_sound sound;
  while (gn_synth_next_sound(synth, &sound))
    if (j->out[TRUTH].text) fprintf(j->out[TRUTH].text, "%.5f,S%d\n", sound.onset_s, sound.number);
}

static girthline_status write_samples(job *j, gn_synth *synth, float *frames, short *pcm) {
  girthline_error fault = {0};
  const size_t wide = (size_t)j->spec->channels;
  size_t n;
  while ((n = gn_synth_read(synth, frames, CHUNK_N, &fault)) > 0) {
    for (size_t i = 0; i < n * wide; i++) pcm[i] = (short)floor((double)frames[i] * 32767 + 0.5);
    if (sf_writef_short(j->wav, pcm, (sf_count_t)n) != (sf_count_t)n) return cannot(j, j->out[WAV].path, sf_strerror(j->wav));
    write_sounds(j, synth);
    if (j->files->stop && j->files->stop())
      return gn_error_set(j->error, GIRTHLINE_INTERRUPTED, "synth", "Stopped; nothing was written.");
  }
  return fault.status ? gn_error_set(j->error, fault.status, "synth", "%s", fault.text) : GIRTHLINE_OK;
}

static void write_murmur(FILE *f, const gn_synth_murmur *m) {
  fprintf(f, "{\"phase\": \"%s\", \"timing\": \"%s\", \"shape\": \"%s\", \"musical\": %s, \"pitch_hz\": %.6g, \"level_db\": %.6g}",
          gn_synth_phase_name(m->phase), gn_synth_timing_name(m->timing), gn_synth_shape_name(m->shape),
          m->musical ? "true" : "false", m->pitch_hz, m->level_db);
}

static void write_murmurs(FILE *f, const gn_synth_spec *spec, const gn_synth_facts *facts) {
  fputs(" \"murmur\": ", f);
  if (spec->n_murmurs) write_murmur(f, &facts->murmurs[0]);
  else fputs("null", f);
  fputs(",\n \"murmurs\": [", f);
  for (size_t i = 0; i < spec->n_murmurs; i++) {
    if (i) fputs(", ", f);
    write_murmur(f, &facts->murmurs[i]);
  }
  fputs("],\n", f);
}

static void write_spans(FILE *f, const char *key, const gn_synth_span *spans, size_t n) {
  fprintf(f, " \"%s\": [", key);
  for (size_t i = 0; i < n; i++) fprintf(f, "%s[%.5f, %.5f]", i ? ", " : "", spans[i].start_s, spans[i].end_s);
  fputs("],\n", f);
}

static void write_noise(FILE *f, const gn_synth_spec *spec) {
  fputs(" \"noise\": [", f);
  const char *comma = "";
  for (unsigned bit = 1; bit <= GN_SYNTH_KNOCKS; bit <<= 1) {
    if (!(spec->noise & bit)) continue;
    fprintf(f, "%s\"%s\"", comma, gn_synth_noise_name(bit));
    comma = ", ";
  }
  fputs("],\n", f);
  if (spec->noise & GN_SYNTH_HUM) fprintf(f, " \"hum_hz\": %g,\n", spec->hum_hz);
  else fputs(" \"hum_hz\": null,\n", f);
}

static int write_rates(FILE *f, const gn_synth_facts *facts) {
  double *copy = gn_new(facts->n_intervals, sizeof *copy);
  if (!copy) return -1;
  if (facts->n_intervals) {
    memcpy(copy, facts->intervals_s, facts->n_intervals * sizeof *copy);
    fprintf(f, " \"median_bpm\": %.3f,\n \"mean_bpm\": %.3f,\n", 60 / gn_median(copy, facts->n_intervals),
            60 / gn_mean(facts->intervals_s, facts->n_intervals));
  } else {
    fputs(" \"median_bpm\": null,\n \"mean_bpm\": null,\n", f);
  }
  gn_free(copy);
  return 0;
}

// What is in the recording: one that ends before the first pause or early beat is regular, whatever was asked for.
static const char *rhythm_name(const gn_synth_spec *spec, const gn_synth_facts *facts) {
  if (spec->intervals) return "given";
  const bool none = (spec->rhythm == GN_SYNTH_PAUSES && !facts->n_pauses) || (spec->rhythm == GN_SYNTH_EARLY_BEATS && !facts->n_early);
  return gn_synth_rhythm_name(none ? GN_SYNTH_REGULAR : spec->rhythm);
}

static int write_facts(FILE *f, const gn_synth_spec *spec, const gn_synth_facts *facts) {
  fprintf(f, "%s\n \"species\": \"%s\",\n \"snr_db\": %.6g,\n \"duration_s\": %.6g,\n \"rhythm\": \"%s\",\n \"settling\": %s,\n",
          FACTS_START, girthline_species_name(spec->species), spec->snr_db, spec->seconds, rhythm_name(spec, facts),
          spec->settle_percent > 0 ? "true" : "false");
  if (write_rates(f, facts)) return -1;
  write_murmurs(f, spec, facts);
  write_noise(f, spec);
  write_spans(f, "bad_spans", facts->bad, facts->n_bad);
  write_spans(f, "pauses", facts->pauses, facts->n_pauses);
  fputs(" \"early\": [", f);
  for (size_t i = 0; i < facts->n_early; i++) fprintf(f, "%s%.5f", i ? ", " : "", facts->early_s[i]);
  fprintf(f, "],\n \"s3\": %s,\n \"s4\": %s,\n \"click\": %s,\n", spec->s3 ? "true" : "false", spec->s4 ? "true" : "false",
          spec->click ? "true" : "false");
  fprintf(f, " \"breaths_per_min\": %.3f,\n \"s1_length_s\": %.4f,\n \"s2_length_s\": %.4f,\n \"seed\": %llu\n}\n",
          facts->breaths_per_min, facts->s1_length_s, facts->s2_length_s, (unsigned long long)spec->seed);
  return 0;
}

// ---- closing

static girthline_status close_file(job *j, int which) {
  out_file *o = &j->out[which];
  int failed = 0;
  if (which == WAV && j->wav) {
    failed = sf_close(j->wav);
    j->wav = NULL;
  }
  if (o->text) {
    failed = ferror(o->text) | fclose(o->text);
    o->text = NULL;
  }
  return failed ? cannot(j, o->path, "the disk may be full") : GIRTHLINE_OK;
}

static girthline_status put_in_place(job *j, int which) {
  out_file *o = &j->out[which];
  if (!o->path) return GIRTHLINE_OK;
  if (rename(o->beside, o->path)) return cannot(j, o->path, strerror(errno));
  o->made = false;
  return GIRTHLINE_OK;
}

static girthline_status make(job *j, gn_synth *synth) {
  float *frames = gn_new((size_t)CHUNK_N * (size_t)j->spec->channels, sizeof *frames);
  short *pcm = gn_new((size_t)CHUNK_N * (size_t)j->spec->channels, sizeof *pcm);
  girthline_status status = frames && pcm ? GIRTHLINE_OK : gn_error_memory(j->error, "synth");
  if (!status && j->out[TRUTH].text) fputs("time_s,sound\n", j->out[TRUTH].text);
  if (!status) status = write_samples(j, synth, frames, pcm);
  gn_synth_facts facts;
  gn_synth_facts_get(synth, &facts);
  if (!status && j->out[FACTS].text && write_facts(j->out[FACTS].text, j->spec, &facts)) status = gn_error_memory(j->error, "synth");
  gn_free(frames);
  gn_free(pcm);
  return status;
}

static girthline_status finish_files(job *j, girthline_status status) {
  for (int k = 0; k < N_FILES; k++) {
    const girthline_status closed = close_file(j, k);
    if (!status) status = closed;
  }
  const out_file *truth = &j->out[TRUTH];
  if (!status && truth->path && !j->files->force && !access(truth->path, F_OK) && !same_bytes(truth->path, truth->beside))
    status = gn_error_set(j->error, GIRTHLINE_CANNOT_WRITE, "synth",
                          "%s is there already and is different; name another file, or replace it with --force.", truth->path);
  for (int k = 0; k < N_FILES && !status; k++) status = put_in_place(j, k);
  for (int k = 0; k < N_FILES; k++) {
    if (j->out[k].made) unlink(j->out[k].beside);
    gn_free(j->out[k].beside);
  }
  return status;
}

girthline_status gn_synth_write(const gn_synth_spec *spec, const gn_synth_files *files, girthline_error *error) {
  if (gn_synth_spec_check(spec, error)) return GIRTHLINE_BAD_ARGUMENT;
  if (spec->seconds * spec->rate_hz * spec->channels * 2 > LARGEST_WAV_BYTES)
    return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "synth",
                        "seconds times rate-hz would pass the 4 GB that a WAV file holds; ask for less of either.");
  job j = {.spec = spec, .files = files, .error = error};
  j.out[WAV].path = files->wav;
  j.out[TRUTH].path = files->truth;
  j.out[FACTS].path = files->facts;
  girthline_status status = GIRTHLINE_OK;
  for (int k = 0; k < N_FILES && !status; k++) status = open_beside(&j, k);
  girthline_error fault = {0};
  gn_synth *synth = status ? NULL : gn_synth_new(spec, &fault);
  if (!status && !synth) status = gn_error_set(error, fault.status, "synth", "%s", fault.text);
  if (!status) status = make(&j, synth);
  gn_synth_free(synth);
  return finish_files(&j, status);
}
