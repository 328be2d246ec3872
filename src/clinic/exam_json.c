// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline.exam.v1, key by key in the order of docs/exam.schema.json.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "clinic/examined.h"
#include "report/json.h"
#include "clinic/parts.h"
#include "report/names.h"
#include "report/writer.h"

// Decimal places, as in a recording's report.
enum { TIME_S = 4, BPM = 2, MS = 1, DB = 1, PERCENT = 1, SHARE = 3, MINUTES = 2, AS_GIVEN = 6 };

typedef struct document {
  const gn_examined *x;
  gn_buffer reasons;
} document;

static const char *recording_reason(const gn_examined *x, const char *pointer) {
  size_t i;
  char field[40] = "";
  if (sscanf(pointer, "/recordings/%zu/%39s", &i, field) != 2 || i >= x->exam->n_recordings) return NULL;
  if (!strcmp(field, "report")) return x->recordings[i].reason;
  if (!strcmp(field, "minutes_after_exercise")) return "Not stated; the recording is taken to be made at rest.";
  return "Not stated in the examination file.";
}

static const char *no_standing(const gn_examined *x) {
  const char *young = gn_exam_young(x);
  if (!young) return "What is usual depends on the age, which is not known.";
  return !strcmp(young, "foal") ? "So young an animal is a foal: name that species." : "So young an animal is a calf: name that species.";
}

static const char *reason_of(const gn_examined *x, const char *pointer) {
  const char *own = recording_reason(x, pointer);
  if (own) return own;
  if (!strcmp(pointer, "/animal/age_days")) return "The day of birth and the day of the examination are not both given to the day.";
  if (!strcmp(pointer, "/rate/standing") && isfinite(x->rate.settled_bpm)) return no_standing(x);
  if (!strcmp(pointer, "/pulse_deficit_per_min"))
    return isfinite(x->rate.mean_bpm) ? "No pulse was counted." : "There is no heart rate at rest to hold a pulse against.";
  if (!strncmp(pointer, "/recovery", 9)) return strstr(pointer, "over_resting") && !isfinite(x->rate.settled_bpm) ? "There is no resting rate." : "No rate was determined in that recording.";
  if (!strncmp(pointer, "/murmurs", 8)) return strstr(pointer, "level_db") ? "The level was not determined in that recording." : "Not stated in the examination file.";
  if (!strcmp(pointer, "/rhythm/rmssd_ms") && x->n_pooled) return "Not determined in each of the recordings it would come from.";
  if ((!strcmp(pointer, "/rhythm/pattern") || !strcmp(pointer, "/rhythm/confidence")) && x->rhythm.explanation[0]) return x->rhythm.explanation;
  return "No recording at rest showed enough to determine it.";
}

static void hear(void *user, const char *pointer, bool is_null) {
  document *d = user;
  const bool unnamed_pattern = !strcmp(pointer, "/rhythm/pattern") && d->x->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED;
  if (!is_null && !unnamed_pattern) return;
  gn_buffer_puts(&d->reasons, d->reasons.n ? ",\n    " : "\n    ");
  gn_writer_quote(&d->reasons, pointer);
  gn_buffer_puts(&d->reasons, ": ");
  gn_writer_quote(&d->reasons, reason_of(d->x, pointer));
}

static void write_values(gn_writer *w, int section, const gn_exam_value *values) {
  const gn_exam_section *s = &gn_exam_sections[section];
  for (size_t k = 0; k < s->n_keys; k++) {
    if (!values[k].text) continue; // as given: what was not given is not there
    if (s->keys[k].kind == GN_KIND_NUMBER) gn_writer_number(w, s->keys[k].name, values[k].number, AS_GIVEN);
    else gn_writer_text(w, s->keys[k].name, values[k].text);
  }
}

static void write_part(gn_writer *w, const gn_exam *e, int section) {
  gn_writer_open(w, gn_exam_sections[section].name, '{', false);
  write_values(w, section, e->parts[section]);
  gn_writer_close(w);
}

static void write_place(gn_writer *w, girthline_side side, girthline_area area) {
  gn_writer_text(w, "side", girthline_side_name(side));
  gn_writer_text(w, "area", girthline_area_name(area));
}

static double minutes(double m) { return m < 0 ? (double)NAN : m; }

static void write_recordings(gn_writer *w, const gn_examined *x) {
  gn_writer_open(w, "recordings", '[', false);
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    const gn_exam_recording *rec = &x->exam->recordings[i];
    girthline_report_input input;
    gn_writer_open(w, NULL, '{', false);
    gn_writer_text(w, "name", rec->name);
    gn_writer_text(w, "file", rec->values[GN_REC_FILE].text);
    write_place(w, rec->side, rec->area);
    gn_writer_number(w, "minutes_after_exercise", minutes(rec->minutes_after_exercise), MINUTES);
    if (rec->values[GN_REC_NOTES].text) gn_writer_text(w, "notes", rec->values[GN_REC_NOTES].text);
    if (gn_examined_input(x, i, &input)) gn_json_report(w, "report", &input);
    else gn_writer_null(w, "report");
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_pooled_from(gn_writer *w, const gn_examined *x) {
  gn_writer_open(w, "pooled_from", '[', true);
  for (size_t i = 0; i < x->exam->n_recordings; i++)
    if (x->pooled[i]) gn_writer_text(w, NULL, x->exam->recordings[i].name);
  gn_writer_close(w);
}

static void write_rate(gn_writer *w, const gn_examined *x) {
  const gn_pooled_rate *r = &x->rate;
  gn_writer_open(w, "rate", '{', false);
  gn_writer_number(w, "bpm", r->bpm, BPM);
  gn_writer_number(w, "mean_bpm", r->mean_bpm, BPM);
  gn_writer_number(w, "settled_bpm", r->settled_bpm, BPM);
  gn_writer_number(w, "min_bpm", r->min_bpm, BPM);
  gn_writer_number(w, "max_bpm", r->max_bpm, BPM);
  gn_writer_pair(w, "usual_range_bpm", r->usual_range_bpm, BPM);
  gn_writer_text(w, "standing", gn_name_standing(r->standing));
  write_pooled_from(w, x);
  gn_writer_text(w, "pooled", "bpm: 60 over the median of all used intervals of the resting recordings; mean_bpm: 60 over their mean; settled_bpm: the median of the "
                              "recordings' settled rates; min_bpm and max_bpm: the lowest and highest of theirs");
  gn_writer_close(w);
}

static void write_rhythm(gn_writer *w, const gn_examined *x) {
  const gn_pooled_rhythm *y = &x->rhythm;
  gn_writer_open(w, "rhythm", '{', false);
  gn_writer_text(w, "pattern", gn_name_pattern(y->pattern));
  gn_writer_text(w, "explanation", y->explanation);
  gn_writer_number(w, "confidence", y->confidence, SHARE);
  gn_writer_whole(w, "used_count", (long long)y->used_count);
  gn_writer_number(w, "mean_interval_s", y->mean_interval_s, TIME_S);
  gn_writer_number(w, "sdnn_ms", y->sdnn_ms, MS);
  gn_writer_number(w, "rmssd_ms", y->rmssd_ms, MS);
  gn_writer_number(w, "interval_cv_percent", y->interval_cv_percent, PERCENT + 1);
  gn_writer_number(w, "longest_interval_s", y->longest_interval_s, TIME_S);
  gn_writer_whole(w, "n_pauses", (long long)y->n_pauses);
  gn_writer_whole(w, "n_early", (long long)y->n_early);
  write_pooled_from(w, x);
  gn_writer_text(w, "pooled", "pattern: the one that asks for most among the resting recordings; spreads are within recordings, none goes from one to the next; "
                              "pauses and early beats are added up");
  gn_writer_close(w);
}

static void write_murmur(gn_writer *w, const gn_examined *x, const gn_exam_murmur *m) {
  static const char *const LEANINGS[] = {"undetermined", "fits-flow-pattern", "asks-for-echo"};
  const gn_heard_at first = m->heard[0];
  const girthline_murmur_phase *p = &x->recordings[first.recording].result->murmur.phases[first.phase];
  const gn_exam_recording *rec = &x->exam->recordings[first.recording];
  gn_writer_open(w, NULL, '{', false);
  gn_writer_text(w, "phase", gn_name_phase(m->phase));
  gn_writer_text(w, "timing", gn_name_timing(p->timing));
  gn_writer_text(w, "shape", gn_name_shape(p->shape));
  gn_writer_open(w, "loudest", '{', true);
  write_place(w, rec->side, rec->area);
  gn_writer_text(w, "recording", rec->name);
  gn_writer_close(w);
  gn_writer_open(w, "heard_at", '[', false);
  for (size_t k = 0; k < m->n_heard; k++) {
    const gn_heard_at at = m->heard[k];
    const gn_exam_recording *there = &x->exam->recordings[at.recording];
    gn_writer_open(w, NULL, '{', true);
    write_place(w, there->side, there->area);
    gn_writer_number(w, "level_db", x->recordings[at.recording].result->murmur.phases[at.phase].level_db, DB);
    gn_writer_text(w, "recording", there->name);
    gn_writer_close(w);
  }
  gn_writer_close(w);
  gn_writer_bool(w, "after_exercise", m->after_exercise);
  gn_writer_text(w, "leaning", LEANINGS[m->leaning]);
  gn_writer_text(w, "reasons", m->reasons);
  gn_writer_close(w);
}

static void write_murmurs(gn_writer *w, const gn_examined *x) {
  gn_writer_open(w, "murmurs", '[', false);
  for (size_t i = 0; i < x->n_murmurs; i++) write_murmur(w, x, &x->murmurs[i]);
  gn_writer_close(w);
  gn_writer_open(w, "not_recorded", '[', false);
  for (size_t i = 0; i < x->n_not_recorded; i++) {
    gn_writer_open(w, NULL, '{', false);
    write_place(w, x->not_recorded[i].side, x->not_recorded[i].area);
    gn_writer_text(w, "consequence", x->not_recorded[i].consequence);
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_recovery(gn_writer *w, const gn_examined *x) {
  gn_writer_open(w, "recovery", '[', false);
  for (size_t i = 0; i < x->n_recovery; i++) {
    gn_writer_open(w, NULL, '{', true);
    gn_writer_number(w, "minutes_after_exercise", x->recovery[i].minutes_after_exercise, MINUTES);
    gn_writer_number(w, "bpm", x->recovery[i].bpm, BPM);
    gn_writer_number(w, "over_resting_percent", x->recovery[i].over_resting_percent, PERCENT);
    gn_writer_text(w, "recording", x->exam->recordings[x->recovery[i].recording].name);
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_findings(gn_writer *w, const gn_examined *x) {
  gn_writer_open(w, "findings", '[', false);
  for (size_t i = 0; i < x->n_findings; i++) {
    const gn_exam_finding *f = &x->findings[i];
    gn_writer_open(w, NULL, '{', false);
    gn_writer_text(w, "kind", f->kind);
    gn_writer_text(w, "text", f->text);
    gn_writer_text(w, "evidence", f->evidence);
    gn_writer_open(w, "evidence_keys", '[', true);
    for (size_t k = 0; k < f->n_keys; k++) gn_writer_text(w, NULL, f->keys[k]);
    gn_writer_close(w);
    gn_writer_text(w, "advice", f->advice);
    gn_writer_text(w, "urgency", gn_name_urgency(f->urgency));
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_animal(gn_writer *w, const gn_examined *x) {
  gn_writer_open(w, "animal", '{', false);
  write_values(w, GN_SECTION_ANIMAL, x->exam->parts[GN_SECTION_ANIMAL]);
  gn_writer_number(w, "age_days", x->age_days < 0 ? (double)NAN : x->age_days, 1);
  gn_writer_close(w);
  gn_writer_text(w, "species", girthline_species_name(x->species));
  gn_writer_bool(w, "species_assumed", x->species_assumed);
}

static void write_undetermined(gn_writer *w, document *d) {
  if (d->reasons.refused) w->out.refused = true;
  w->listen = NULL;
  gn_writer_open(w, "undetermined", '{', !d->reasons.n);
  if (d->reasons.n) gn_buffer_add(&w->out, d->reasons.text, d->reasons.n);
  w->level[w->depth - 1].n_items = d->reasons.n;
  gn_writer_close(w);
}

char *gn_exam_json(const gn_examined *x, girthline_error *error) {
  document d = {.x = x};
  gn_writer w = {.listen = hear, .user = &d};
  girthline_settings settings = girthline_settings_default();
  settings.species = x->species;
  settings.species_assumed = x->species_assumed;
  settings.age_days = x->age_days;
  settings.limits = x->limits;
  gn_writer_open(&w, NULL, '{', false);
  gn_writer_text(&w, "schema", "girthline.exam.v1");
  gn_json_tool(&w, &settings);
  write_animal(&w, x);
  for (int s = GN_SECTION_EXAMINATION; s <= GN_SECTION_ELSEWHERE; s++) write_part(&w, x->exam, s);
  write_recordings(&w, x);
  write_rate(&w, x);
  write_rhythm(&w, x);
  gn_writer_number(&w, "pulse_deficit_per_min", x->pulse_deficit_per_min, BPM);
  write_murmurs(&w, x);
  write_recovery(&w, x);
  write_findings(&w, x);
  write_undetermined(&w, &d);
  gn_writer_text(&w, "caution", girthline_caution(x->species));
  gn_writer_close(&w);
  gn_buffer_puts(&w.out, "\n");
  gn_buffer_clear(&d.reasons);
  char *text = gn_buffer_take(&w.out);
  if (!text) gn_error_memory(error, "exam");
  return text;
}
