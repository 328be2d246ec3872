// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline.report.v1 and girthline.reports.v1, key by key in the order of docs/report.schema.json.
#include <girthline/report.h>

#include <math.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "report/json.h"
#include "report/names.h"
#include "report/reasons.h"
#include "report/utf8.h"
#include "report/writer.h"

// Decimal places: what the measure's own uncertainty allows. An onset is good to a few ms, a rate to a few hundredths.
enum { TIME_S = 4, BPM = 2, MS = 1, DB = 1, HZ = 1, SHARE = 3, PERCENT = 1, RATIO = 2, ENTROPY = 3, PER_MIN = 1 };

typedef struct document {
  const girthline_result *result;
  gn_buffer reasons;     // members of "undetermined", written as the nulls come by
  size_t indent;         // columns before each of them
  unsigned char *settled; // per entry of result->undetermined: already said, or its value was determined after all
} document;

static void add_reason(document *d, const char *pointer, const char *reason) {
  gn_buffer_puts(&d->reasons, d->reasons.n ? ",\n" : "\n");
  for (size_t i = 0; i < d->indent; i++) gn_buffer_puts(&d->reasons, " ");
  gn_writer_quote(&d->reasons, pointer);
  gn_buffer_puts(&d->reasons, ": ");
  gn_writer_quote(&d->reasons, reason);
}

static void hear(void *user, const char *pointer, bool is_null) {
  document *d = user;
  if (!strcmp(pointer, "/rhythm/pattern")) return; // says "undetermined" in a word of its own; its reason is kept
  const int entry = gn_reason_entry(d->result, pointer);
  if (entry >= 0) d->settled[entry] = 1;
  if (!is_null) return;
  for (size_t i = 0; i < d->result->n_undetermined; i++) // a null has no parts
    if (gn_reason_inside(d->result->undetermined[i].pointer, pointer)) d->settled[i] = 1;
  char store[256];
  add_reason(d, pointer, gn_reason_of(d->result, pointer, store, sizeof store));
}

static const char *filled(const char *text) { return text && text[0] ? text : NULL; }

// A name that is not UTF-8 cannot stand in JSON; this form gives its bytes back: "%" and two hexadecimal digits for each
// byte outside the unreserved ones of RFC 3986 and "/".
static char *percent_form(const char *name) {
  gn_buffer b = {0};
  for (const char *c = name; *c; c++) {
    const bool plain = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') || (*c >= '0' && *c <= '9') || strchr("-._~/", *c);
    gn_buffer_printf(&b, plain ? "%c" : "%%%02X", (unsigned char)*c);
  }
  return gn_buffer_take(&b);
}

void gn_json_tool(gn_writer *w, const girthline_settings *settings) {
  char hash[48];
  girthline_settings_hash(settings, hash);
  gn_writer_open(w, "tool", '{', false);
  gn_writer_text(w, "name", "girthline");
  gn_writer_text(w, "version", girthline_version());
  gn_writer_text(w, "settings_hash", hash);
  gn_writer_close(w);
}

static void write_file_name(gn_writer *w, const char *name) {
  gn_writer_text(w, "file", name);
  if (gn_utf8_valid(name)) return;
  char *form = percent_form(name);
  if (!form) w->out.refused = true;
  else gn_writer_text(w, "file_percent", form);
  gn_free(form);
}

static void write_recording(gn_writer *w, const girthline_report_input *input) {
  const girthline_recording *c = &input->result->recording;
  const girthline_settings *s = &input->result->settings;
  gn_writer_open(w, "recording", '{', false);
  write_file_name(w, input->name ? input->name : "");
  gn_writer_text(w, "content_hash", filled(input->content_hash));
  gn_writer_number(w, "duration_s", c->duration_s, TIME_S);
  gn_writer_number(w, "sample_rate_hz", c->sample_rate_hz, HZ);
  gn_writer_whole(w, "channels", c->channels);
  if (c->channel_used > 0) gn_writer_whole(w, "channel_used", c->channel_used);
  else gn_writer_null(w, "channel_used");
  gn_writer_text(w, "encoding", filled(c->encoding));
  gn_writer_bool(w, "repaired", c->repaired);
  gn_writer_text(w, "recorded_at", filled(c->recorded_at));
  gn_writer_text(w, "side", girthline_side_name(s->side));
  gn_writer_text(w, "area", girthline_area_name(s->area));
  gn_writer_number(w, "minutes_after_exercise", s->minutes_after_exercise < 0 ? (double)NAN : s->minutes_after_exercise, RATIO);
  gn_writer_number(w, "from_s", c->from_s, TIME_S);
  gn_writer_number(w, "to_s", c->to_s, TIME_S);
  gn_writer_close(w);
}

static void write_animal(gn_writer *w, const girthline_result *r) {
  const char *species = girthline_species_name(r->settings.species);
  gn_writer_text(w, "species", species ? species : "unknown");
  gn_writer_bool(w, "species_assumed", r->settings.species_assumed);
  gn_writer_number(w, "age_days", r->settings.age_days < 0 ? (double)NAN : r->settings.age_days, RATIO);
  gn_writer_text(w, "beats_source", r->beats_given ? "given" : "decoded");
}

static void write_quality(gn_writer *w, const girthline_quality *q) {
  gn_writer_open(w, "quality", '{', false);
  gn_writer_text(w, "grade", gn_name_grade(q->grade));
  gn_writer_text(w, "grade_reason", filled(q->grade_reason));
  gn_writer_number(w, "usable_s", q->usable_s, TIME_S);
  gn_writer_number(w, "heart_to_noise_db", q->heart_to_noise_db, DB);
  gn_writer_number(w, "clipped_fraction", q->clipped_fraction, SHARE + 2);
  gn_writer_number(w, "hum_hz", q->hum_hz, HZ);
  gn_writer_number(w, "breaths_per_min", q->breaths_per_min, PER_MIN);
  gn_writer_open(w, "problems", '[', false);
  for (size_t i = 0; i < q->n_problems; i++) {
    gn_writer_open(w, NULL, '{', true);
    gn_writer_number(w, "start_s", q->problems[i].span.start_s, TIME_S);
    gn_writer_number(w, "end_s", q->problems[i].span.end_s, TIME_S);
    gn_writer_text(w, "kind", gn_name_problem(q->problems[i].kind));
    gn_writer_close(w);
  }
  gn_writer_close(w);
  gn_writer_span(w, "best_span", q->best_span, TIME_S);
  gn_writer_close(w);
}

static void write_sound(gn_writer *w, const char *key, double onset_s, const float *after_s) {
  if (!isfinite(onset_s)) {
    gn_writer_null(w, key);
    return;
  }
  gn_writer_open(w, key, '{', true);
  gn_writer_number(w, "onset_s", onset_s, TIME_S);
  gn_writer_number(w, "peak_s", onset_s + (double)after_s[0], TIME_S);
  gn_writer_number(w, "offset_s", onset_s + (double)after_s[1], TIME_S);
  gn_writer_close(w);
}

static void write_beats(gn_writer *w, const girthline_result *r) {
  gn_writer_open(w, "beats", '[', false);
  for (size_t i = 0; i < r->n_beats; i++) {
    const girthline_beat *b = &r->beats[i];
    gn_writer_open(w, NULL, '{', true);
    write_sound(w, "s1", b->s1_onset_s, (float[]){b->s1_peak_s, b->s1_offset_s});
    write_sound(w, "s2", b->s2_onset_s, (float[]){b->s2_peak_s, b->s2_offset_s});
    gn_writer_number(w, "confidence", (double)b->confidence, SHARE);
    gn_writer_number(w, "name_confidence", (double)b->name_confidence, SHARE);
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_extras(gn_writer *w, const girthline_result *r) {
  gn_writer_open(w, "extra_sounds", '[', false);
  for (size_t i = 0; i < r->n_extras; i++) {
    const girthline_extra *e = &r->extras[i];
    gn_writer_open(w, NULL, '{', false);
    gn_writer_text(w, "kind", gn_name_extra(e->kind));
    gn_writer_number(w, "beats_fraction", e->beats_fraction, SHARE);
    gn_writer_number(w, "delay_s", e->delay_s, TIME_S);
    gn_writer_number(w, "level_db", e->level_db, DB);
    gn_writer_number(w, "confidence", e->confidence, SHARE);
    gn_writer_open(w, "onsets_s", '[', true);
    for (size_t k = 0; k < e->n_onsets; k++) gn_writer_number(w, NULL, e->onsets_s[k], TIME_S);
    gn_writer_close(w);
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_rate(gn_writer *w, const girthline_rate *rate) {
  gn_writer_open(w, "rate", '{', false);
  gn_writer_number(w, "bpm", rate->bpm, BPM);
  gn_writer_number(w, "mean_bpm", rate->mean_bpm, BPM);
  gn_writer_number(w, "settled_bpm", rate->settled_bpm, BPM);
  gn_writer_number(w, "settled_from_s", rate->settled_from_s, TIME_S);
  gn_writer_number(w, "min_bpm", rate->min_bpm, BPM);
  gn_writer_number(w, "max_bpm", rate->max_bpm, BPM);
  gn_writer_open(w, "counted", '[', false);
  for (size_t i = 0; i < rate->n_counted; i++) {
    const girthline_counted *c = &rate->counted[i];
    gn_writer_open(w, NULL, '{', true);
    gn_writer_number(w, "start_s", c->span.start_s, TIME_S);
    gn_writer_number(w, "end_s", c->span.end_s, TIME_S);
    gn_writer_whole(w, "beats", c->beats);
    gn_writer_number(w, "bpm", c->bpm, BPM);
    gn_writer_close(w);
  }
  gn_writer_close(w);
  gn_writer_pair(w, "usual_range_bpm", rate->usual_range_bpm, BPM);
  gn_writer_text(w, "standing", gn_name_standing(rate->standing));
  gn_writer_close(w);
}

static void write_intervals(gn_writer *w, const girthline_rhythm *y) {
  gn_writer_open(w, "intervals", '[', false);
  for (size_t i = 0; i < y->n_intervals; i++) {
    gn_writer_open(w, NULL, '{', true);
    gn_writer_number(w, "start_s", y->intervals[i].span.start_s, TIME_S);
    gn_writer_number(w, "end_s", y->intervals[i].span.end_s, TIME_S);
    gn_writer_bool(w, "used", y->intervals[i].used);
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_measures(gn_writer *w, const girthline_rhythm *y) {
  gn_writer_whole(w, "used_count", (long long)y->used_count);
  gn_writer_number(w, "mean_interval_s", y->mean_interval_s, TIME_S);
  gn_writer_number(w, "sdnn_ms", y->sdnn_ms, MS);
  gn_writer_number(w, "rmssd_ms", y->rmssd_ms, MS);
  gn_writer_number(w, "interval_cv_percent", y->interval_cv_percent, PERCENT + 1);
  gn_writer_number(w, "pnn50_percent", y->pnn50_percent, PERCENT);
  gn_writer_number(w, "sd1_ms", y->sd1_ms, MS);
  gn_writer_number(w, "sd2_ms", y->sd2_ms, MS);
  gn_writer_number(w, "sample_entropy", y->sample_entropy, ENTROPY);
  gn_writer_number(w, "onset_jitter_ms", y->onset_jitter_ms, MS);
  gn_writer_number(w, "longest_interval_s", y->longest_interval_s, TIME_S);
}

static void write_pauses(gn_writer *w, const girthline_rhythm *y) {
  gn_writer_open(w, "pauses", '[', false);
  for (size_t i = 0; i < y->n_pauses; i++) {
    const girthline_pause *p = &y->pauses[i];
    gn_writer_open(w, NULL, '{', true);
    gn_writer_number(w, "start_s", p->span.start_s, TIME_S);
    gn_writer_number(w, "end_s", p->span.end_s, TIME_S);
    gn_writer_number(w, "ratio", p->ratio, RATIO);
    gn_writer_open(w, "atrial_onset_s", '[', true);
    for (size_t k = 0; k < p->n_atrial && k < GIRTHLINE_MAX_ATRIAL; k++) gn_writer_number(w, NULL, p->atrial_onset_s[k], TIME_S);
    gn_writer_close(w);
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

static void write_rhythm(gn_writer *w, const girthline_rhythm *y) {
  gn_writer_open(w, "rhythm", '{', false);
  gn_writer_text(w, "pattern", gn_name_pattern(y->pattern));
  gn_writer_text(w, "explanation", filled(y->explanation));
  gn_writer_number(w, "confidence", y->confidence, SHARE);
  write_intervals(w, y);
  write_measures(w, y);
  write_pauses(w, y);
  gn_writer_open(w, "early", '[', false);
  for (size_t i = 0; i < y->n_early; i++) {
    gn_writer_open(w, NULL, '{', true);
    gn_writer_number(w, "onset_s", y->early[i].onset_s, TIME_S);
    gn_writer_number(w, "ratio", y->early[i].ratio, RATIO);
    gn_writer_close(w);
  }
  gn_writer_close(w);
  gn_writer_close(w);
}

static void write_murmur_phase(gn_writer *w, const girthline_murmur_phase *p) {
  gn_writer_open(w, NULL, '{', false);
  gn_writer_text(w, "phase", gn_name_phase(p->phase));
  gn_writer_text(w, "timing", gn_name_timing(p->timing));
  gn_writer_text(w, "shape", gn_name_shape(p->shape));
  gn_writer_number(w, "level_db", p->level_db, DB);
  gn_writer_pair(w, "level_db_interval", p->level_db_interval, DB);
  gn_writer_text(w, "loudness", gn_name_loudness(p->loudness));
  gn_writer_number(w, "peak_hz", p->peak_hz, HZ);
  gn_writer_pair(w, "band_hz", p->band_hz, HZ);
  gn_writer_tristate(w, "musical", p->musical);
  gn_writer_number(w, "beats_fraction", p->beats_fraction, SHARE);
  gn_writer_tristate(w, "ends_before_s2", p->ends_before_s2);
  gn_writer_number(w, "start_fraction", p->start_fraction, SHARE);
  gn_writer_number(w, "end_fraction", p->end_fraction, SHARE);
  gn_writer_number(w, "confidence", p->confidence, SHARE);
  gn_writer_close(w);
}

static void write_murmur(gn_writer *w, const girthline_murmur *m) {
  gn_writer_open(w, "murmur", '{', false);
  gn_writer_tristate(w, "present", m->present);
  gn_writer_open(w, "detection_limit_db", '{', true);
  gn_writer_number(w, "systole", m->detection_limit_db[0], DB);
  gn_writer_number(w, "diastole", m->detection_limit_db[1], DB);
  gn_writer_close(w);
  gn_writer_open(w, "phases", '[', false);
  for (size_t i = 0; i < m->n_phases; i++) write_murmur_phase(w, &m->phases[i]);
  gn_writer_close(w);
  gn_writer_close(w);
}

static void write_findings(gn_writer *w, const girthline_result *r) {
  gn_writer_open(w, "findings", '[', false);
  for (size_t i = 0; i < r->n_findings; i++) {
    const girthline_finding *f = &r->findings[i];
    gn_writer_open(w, NULL, '{', false);
    gn_writer_text(w, "kind", f->kind);
    gn_writer_text(w, "text", f->text);
    gn_writer_text(w, "evidence", f->evidence);
    gn_writer_open(w, "evidence_keys", '[', true);
    for (size_t k = 0; k < f->n_evidence_keys && k < GIRTHLINE_MAX_EVIDENCE; k++) gn_writer_text(w, NULL, f->evidence_keys[k]);
    gn_writer_close(w);
    gn_writer_text(w, "advice", f->advice);
    gn_writer_text(w, "urgency", gn_name_urgency(f->urgency));
    gn_writer_close(w);
  }
  gn_writer_close(w);
}

// Reasons a stage gave for something that is no null here (an empty list, a whole part) are kept as well.
static void write_undetermined(gn_writer *w, document *d) {
  for (size_t i = 0; i < d->result->n_undetermined; i++)
    if (!d->settled[i]) add_reason(d, d->result->undetermined[i].pointer, d->result->undetermined[i].reason);
  if (d->reasons.refused) w->out.refused = true;
  gn_writer_open(w, "undetermined", '{', !d->reasons.n);
  if (d->reasons.n) gn_buffer_add(&w->out, d->reasons.text, d->reasons.n);
  w->level[w->depth - 1].n_items = d->reasons.n;
  gn_writer_close(w);
}

void gn_json_report(gn_writer *w, const char *key, const girthline_report_input *input) {
  const girthline_result *r = input->result;
  document d = {.result = r, .settled = gn_new(r->n_undetermined, 1)};
  if (!d.settled) {
    w->out.refused = true;
    return;
  }
  const gn_writer outer = *w; // who listens to what stands around the report
  gn_writer_open(w, key, '{', false);
  gn_writer_restart_path(w);
  d.indent = 2 * (w->depth + 1);
  w->listen = hear;
  w->user = &d;
  gn_writer_text(w, "schema", "girthline.report.v1");
  gn_json_tool(w, &r->settings);
  write_recording(w, input);
  write_animal(w, r);
  write_quality(w, &r->quality);
  write_beats(w, r);
  write_extras(w, r);
  write_rate(w, &r->rate);
  write_rhythm(w, &r->rhythm);
  write_murmur(w, &r->murmur);
  write_findings(w, r);
  write_undetermined(w, &d);
  w->listen = NULL;
  gn_writer_text(w, "caution", girthline_caution(r->settings.species));
  gn_writer_close(w);
  w->listen = outer.listen;
  w->user = outer.user;
  w->path_base = outer.path_base;
  gn_buffer_clear(&d.reasons);
  gn_free(d.settled);
}

static char *finish(gn_writer *w, girthline_error *error) {
  gn_buffer_puts(&w->out, "\n");
  char *text = gn_buffer_take(&w->out);
  if (!text) gn_error_memory(error, "report");
  return text;
}

static void write_list(gn_writer *w, const girthline_report_input *inputs, size_t n) {
  gn_writer_open(w, NULL, '{', false);
  gn_writer_text(w, "schema", "girthline.reports.v1");
  gn_writer_open(w, "reports", '[', false);
  for (size_t i = 0; i < n; i++) gn_json_report(w, NULL, &inputs[i]);
  gn_writer_close(w);
  gn_writer_close(w);
}

girthline_status gn_json_write(const girthline_report_input *inputs, size_t n, bool list, gn_sink sink, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_writer w = {.sink = sink};
  if (list || n != 1) write_list(&w, inputs, n);
  else gn_json_report(&w, NULL, &inputs[0]);
  gn_buffer_puts(&w.out, "\n");
  gn_writer_flush(&w);
  const bool refused = w.out.refused;
  gn_buffer_clear(&w.out);
  if (refused) return gn_error_memory(error, "report");
  return w.stopped ? gn_error_set(error, GIRTHLINE_CANNOT_WRITE, "report", "the report could not be written") : GIRTHLINE_OK;
}

char *girthline_reports_json(const girthline_report_input *inputs, size_t n, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  gn_writer w = {0};
  write_list(&w, inputs, n);
  return finish(&w, error);
}

char *girthline_report_json(const girthline_report_input *inputs, size_t n, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  if (n != 1) return girthline_reports_json(inputs, n, error);
  gn_writer w = {0};
  gn_json_report(&w, NULL, &inputs[0]);
  return finish(&w, error);
}
