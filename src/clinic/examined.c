// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/examined.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "base/result.h"
#include "clinic/hashed.h"
#include "clinic/parts.h"

#define STAGE "exam"

enum { MOST_NAME = 32 }; // bytes of a recording's name beside its place

gn_exam_finding gn_exam_note(const char *kind, girthline_urgency urgency) {
  gn_exam_finding f;
  memset(&f, 0, sizeof f);
  f.kind = kind;
  f.urgency = urgency;
  return f;
}

void gn_exam_append(char *field, size_t size, const char *format, ...) {
  size_t n = strlen(field);
  const bool after_stop = n > 0 && field[n - 1] == '.';
  if (n > 0 && n + 1 < size) {
    field[n++] = ' ';
    field[n] = '\0';
  }
  va_list args;
  va_start(args, format);
  vsnprintf(field + n, size - n, format, args);
  va_end(args);
  if (after_stop && field[n] >= 'a' && field[n] <= 'z') field[n] = (char)(field[n] - 'a' + 'A');
  // A text from the file that did not fit must not be cut through a character.
  n = strlen(field);
  if (n + 1 < size) return;
  size_t start = n;
  while (start > 0 && ((unsigned char)field[start - 1] & 0xC0) == 0x80) start--;
  if (start > 0 && ((unsigned char)field[start - 1] & 0xC0) == 0xC0) field[start - 1] = '\0';
}

const char *gn_exam_clip(const char *text, char *store, size_t n_store) {
  size_t n = strlen(text);
  const bool cut = n >= n_store;
  if (cut) for (n = n_store - 4; n && ((unsigned char)text[n] & 0xC0) == 0x80;) n--;
  snprintf(store, n_store, "%.*s%s", (int)n, text, cut ? "..." : "");
  for (char *c = store; *c; c++)
    if (*c == '\n') *c = ' ';
  n = strlen(store);
  if (!cut && n && store[n - 1] == '.') store[n - 1] = '\0'; // the sentence around it ends by itself
  return store;
}

void gn_exam_point(gn_exam_finding *f, const char *format, ...) {
  if (f->n_keys >= GN_EXAM_MOST_KEYS) return;
  va_list args;
  va_start(args, format);
  vsnprintf(f->keys[f->n_keys++], sizeof f->keys[0], format, args);
  va_end(args);
}

int gn_exam_add(gn_examined *x, const gn_exam_finding *f) {
  size_t capacity = x->n_findings;
  void *items = x->findings;
  if (gn_grow(&items, &capacity, x->n_findings + 1, sizeof *x->findings)) return -1;
  x->findings = items;
  // Most urgent first; equals keep their order.
  size_t at = x->n_findings++;
  for (; at > 0 && x->findings[at - 1].urgency < f->urgency; at--) x->findings[at] = x->findings[at - 1];
  x->findings[at] = *f;
  if (x->species != GIRTHLINE_HUMAN) return 0;
  x->findings[at].urgency = GIRTHLINE_ROUTINE;
  snprintf(x->findings[at].advice, sizeof x->findings[at].advice, "%s", GN_HUMAN_ADVICE);
  return 0;
}

bool gn_exam_at_rest(const gn_examined *x, size_t i) { return x->exam->recordings[i].minutes_after_exercise < 0; }

bool gn_exam_usable(const gn_examined *x, size_t i) {
  return x->recordings[i].result && x->recordings[i].result->quality.grade != GIRTHLINE_UNUSABLE;
}

// No other recording was made at its place and time.
static bool is_alone(const gn_exam *exam, const gn_exam_recording *rec) {
  for (const gn_exam_recording *other = exam->recordings; other < exam->recordings + exam->n_recordings; other++)
    if (other != rec && other->side == rec->side && other->area == rec->area && other->minutes_after_exercise == rec->minutes_after_exercise) return false;
  return true;
}

const char *gn_exam_place(const gn_examined *x, size_t i, char store[GN_EXAM_PLACE_BYTES]) {
  const gn_exam_recording *rec = &x->exam->recordings[i];
  const char *side = girthline_side_name(rec->side), *area = girthline_area_name(rec->area);
  char after[48] = "", name[MOST_NAME];
  if (!side || !area) return rec->name;
  if (rec->minutes_after_exercise >= 0) snprintf(after, sizeof after, ", %.12g min after exercise", gn_rounded(rec->minutes_after_exercise, 2));
  const bool alone = is_alone(x->exam, rec);
  snprintf(store, GN_EXAM_PLACE_BYTES, "%s %s area%s%s%s%s", side, area, after, alone ? "" : " (", alone ? "" : gn_exam_clip(rec->name, name, sizeof name), alone ? "" : ")");
  return store;
}

const char *gn_exam_signed(double value, char store[24]) {
  snprintf(store, 24, "%s%.0f", gn_whole(value, 1) < 0 ? "\xE2\x88\x92" : "", fabs(gn_whole(value, 1)));
  return store;
}

bool gn_exam_equine(const gn_examined *x) { return x->species == GIRTHLINE_HORSE || x->species == GIRTHLINE_FOAL || x->species == GIRTHLINE_DONKEY; }

bool gn_examined_input(const gn_examined *x, size_t i, girthline_report_input *input) {
  const gn_exam_recording *rec = &x->exam->recordings[i];
  if (!x->recordings[i].result) return false;
  *input = (girthline_report_input){.result = x->recordings[i].result, .name = rec->values[GN_REC_FILE].text, .path = rec->path, .content_hash = x->recordings[i].hash};
  return true;
}

// Only regular files are opened: a pipe would be waited for, a device may do anything.
static girthline_status check_file(const char *path, girthline_error *error) {
  struct stat st;
  if (stat(path, &st)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be read: %s", path, strerror(errno));
  if (S_ISREG(st.st_mode)) return GIRTHLINE_OK;
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is not a regular file", path);
}

static girthline_status analyse_one(const gn_examined *x, size_t i, girthline_error *error) {
  const gn_exam_recording *rec = &x->exam->recordings[i];
  gn_examined_recording *to = &x->recordings[i];
  girthline_settings settings = girthline_settings_default();
  settings.threads = 0; // all there are: one recording is analysed at a time
  settings.species = x->species;
  settings.species_assumed = x->species_assumed;
  settings.age_days = x->age_days;
  settings.limits = x->limits;
  settings.side = rec->side;
  settings.area = rec->area;
  settings.minutes_after_exercise = rec->minutes_after_exercise;
  girthline_status status = check_file(rec->path, error);
  if (status == GIRTHLINE_OK) status = gn_analyse_hashed(rec->path, &settings, &to->result, to->hash, error);
  if (status == GIRTHLINE_OK) return status;
  girthline_result_free(to->result);
  to->result = NULL;
  return status;
}

static bool goes_on(girthline_status s) { return s == GIRTHLINE_OK || s == GIRTHLINE_CANNOT_READ || s == GIRTHLINE_NOT_AUDIO || s == GIRTHLINE_LIMIT; }

static girthline_status analyse_all(gn_examined *x, girthline_error *error) {
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    girthline_error own = {0};
    gn_examined_recording *to = &x->recordings[i];
    to->status = analyse_one(x, i, &own);
    if (!goes_on(to->status)) return gn_error_set(error, to->status, STAGE, "%s", own.text[0] ? own.text : girthline_status_text(to->status));
    snprintf(to->reason, sizeof to->reason, "%s", to->status == GIRTHLINE_OK ? "" : own.text[0] ? own.text : girthline_status_text(to->status));
  }
  return GIRTHLINE_OK;
}

static void settle_animal(gn_examined *x, const gn_exam_settings *settings) {
  const gn_exam *e = x->exam;
  x->species = e->species_given ? e->species : settings && settings->species_given ? settings->species : GIRTHLINE_HORSE;
  x->species_assumed = !e->species_given && !(settings && settings->species_given);
  x->age_days = e->age_days;
  // A foal's or calf's usual rate changes from day to day: the least age a year of birth allows is no age.
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(x->species, -1, &store);
  if (e->age_is_least && p && p->age_matters) x->age_days = -1;
  // Born that year, examined that year: it may be an adult by the word "horse" and a day old by the date.
  if (e->age_is_least && x->age_days < 365) x->age_days = -1;
  if (x->age_days < 0 && settings) x->age_days = settings->age_days;
}

girthline_status gn_exam_analyse(const gn_exam *exam, const gn_exam_settings *settings, gn_examined **out, girthline_error *error) {
  gn_examined *x = gn_new(1, sizeof *x);
  if (!x) return gn_error_memory(error, STAGE);
  x->exam = exam;
  x->recordings = gn_new(exam->n_recordings, sizeof *x->recordings);
  if (settings) x->limits = settings->limits;
  settle_animal(x, settings);
  girthline_status status = x->recordings ? analyse_all(x, error) : gn_error_memory(error, STAGE);
  if (status == GIRTHLINE_OK && gn_exam_pool(x)) status = gn_error_memory(error, STAGE);
  if (status == GIRTHLINE_OK) {
    gn_exam_murmurs(x);
    gn_exam_series(x);
    if (gn_exam_say_rate(x) || gn_exam_say_murmurs(x) || gn_exam_say_signs(x) || gn_exam_say_series(x)) status = gn_error_memory(error, STAGE);
  }
  if (status == GIRTHLINE_OK) *out = x;
  else gn_examined_free(x);
  return status;
}

void gn_examined_free(gn_examined *x) {
  if (!x) return;
  for (size_t i = 0; x->recordings && i < x->exam->n_recordings; i++) girthline_result_free(x->recordings[i].result);
  gn_free(x->recordings);
  gn_free(x->findings);
  gn_free(x);
}
