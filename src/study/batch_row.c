// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "study/batch_row.h"

#include <math.h>
#include <string.h>

#include <girthline/girthline.h>
#include <girthline/report.h>

#include "base/memory.h"
#include "report/names.h"
#include "study/csv.h"

// Decimal places as in the JSON report.
enum { TIME_S = 4, BPM = 2, MS = 1, DB = 1, HZ = 1, SHARE = 3, PERCENT = 1, PER_MIN = 1, ENTROPY = 3 };

const char GN_BATCH_ROW_HEADER[] =
    "number,file,status,reason,animal,species,species_assumed,side,area,duration_s,sample_rate_hz,channels,channel_used,encoding,recorded_at,"
    "grade,usable_s,heart_to_noise_db,clipped_fraction,hum_hz,breaths_per_min,beats_count,rate_bpm,mean_rate_bpm,settled_rate_bpm,"
    "min_rate_bpm,max_rate_bpm,standing,pattern,pattern_confidence,intervals_used_count,mean_interval_s,sdnn_ms,rmssd_ms,"
    "interval_cv_percent,pnn50_percent,sd1_ms,sd2_ms,sample_entropy,onset_jitter_ms,longest_interval_s,pauses_count,early_count,"
    "murmur_present,murmur_phase,murmur_timing,murmur_shape,murmur_level_db,murmur_peak_hz,murmur_beats_fraction,limit_systole_db,"
    "limit_diastole_db,extra_sounds,findings,page,content_hash,version,settings_hash\n";

const char GN_BATCH_BEATS_HEADER[] =
    "number,file,beat,s1_onset_s,s1_peak_s,s1_offset_s,s2_onset_s,s2_peak_s,s2_offset_s,confidence,name_confidence,content_hash,version,"
    "settings_hash\n";

const char *gn_batch_row_status(girthline_status status, girthline_grade grade) {
  return status ? "failed" : grade == GIRTHLINE_UNUSABLE ? "unusable" : "analysed";
}

void gn_batch_row_clear(gn_batch_row *row) {
  for (int i = 0; i < GN_N_PARTS; i++) gn_buffer_clear(&row->part[i]);
}

static void put_text(gn_buffer *b, const char *text) { gn_csv_text(b, text, false); }

static void put_recording(gn_buffer *b, const girthline_recording *c) {
  gn_csv_number(b, c->duration_s, TIME_S);
  gn_csv_number(b, c->sample_rate_hz, HZ);
  gn_csv_whole(b, c->channels);
  gn_csv_whole(b, c->channel_used);
  put_text(b, c->encoding);
  put_text(b, c->recorded_at);
}

static void put_quality(gn_buffer *b, const girthline_quality *q) {
  put_text(b, gn_name_grade(q->grade));
  gn_csv_number(b, q->usable_s, TIME_S);
  gn_csv_number(b, q->heart_to_noise_db, DB);
  gn_csv_number(b, q->clipped_fraction, SHARE + 2);
  gn_csv_number(b, q->hum_hz, HZ);
  gn_csv_number(b, q->breaths_per_min, PER_MIN);
}

static void put_rate(gn_buffer *b, const girthline_rate *r) {
  const double rates[] = {r->bpm, r->mean_bpm, r->settled_bpm, r->min_bpm, r->max_bpm};
  for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) gn_csv_number(b, rates[i], BPM);
  put_text(b, gn_name_standing(r->standing));
}

static void put_rhythm(gn_buffer *b, const girthline_rhythm *y) {
  put_text(b, gn_name_pattern(y->pattern));
  gn_csv_number(b, y->confidence, SHARE);
  gn_csv_whole(b, (long long)y->used_count);
  gn_csv_number(b, y->mean_interval_s, TIME_S);
  gn_csv_number(b, y->sdnn_ms, MS);
  gn_csv_number(b, y->rmssd_ms, MS);
  gn_csv_number(b, y->interval_cv_percent, PERCENT + 1);
  gn_csv_number(b, y->pnn50_percent, PERCENT);
  gn_csv_number(b, y->sd1_ms, MS);
  gn_csv_number(b, y->sd2_ms, MS);
  gn_csv_number(b, y->sample_entropy, ENTROPY);
  gn_csv_number(b, y->onset_jitter_ms, MS);
  gn_csv_number(b, y->longest_interval_s, TIME_S);
  gn_csv_whole(b, (long long)y->n_pauses);
  gn_csv_whole(b, (long long)y->n_early);
}

static void put_murmur(gn_buffer *b, const girthline_murmur *m) {
  const girthline_murmur_phase *p = m->n_phases ? &m->phases[0] : NULL; // the loudest
  put_text(b, m->present == GIRTHLINE_UNKNOWN ? NULL : m->present ? "true" : "false");
  put_text(b, p ? gn_name_phase(p->phase) : NULL);
  put_text(b, p ? gn_name_timing(p->timing) : NULL);
  put_text(b, p ? gn_name_shape(p->shape) : NULL);
  gn_csv_number(b, p ? p->level_db : (double)NAN, DB);
  gn_csv_number(b, p ? p->peak_hz : (double)NAN, HZ);
  gn_csv_number(b, p ? p->beats_fraction : (double)NAN, SHARE);
  gn_csv_number(b, m->detection_limit_db[0], DB);
  gn_csv_number(b, m->detection_limit_db[1], DB);
}

// Short fixed words of the report, parted by a space.
static void put_words(gn_buffer *b, const girthline_result *r) {
  gn_buffer_puts(b, ",");
  for (size_t i = 0; i < r->n_extras; i++) gn_buffer_printf(b, "%s%s", i ? " " : "", gn_name_extra(r->extras[i].kind));
  gn_buffer_puts(b, ",");
  for (size_t i = 0; i < r->n_findings; i++) gn_buffer_printf(b, "%s%s", i ? " " : "", r->findings[i].kind);
}

static size_t count_columns(const char *header) {
  size_t n = 1;
  for (const char *c = header; *c; c++) n += *c == ',';
  return n;
}

static void put_made_by(gn_buffer *b, const gn_batch_row *row, const gn_batch_item *item) {
  char hash[48];
  girthline_settings_hash(&item->settings, hash);
  put_text(b, row->content_hash);
  put_text(b, girthline_version());
  put_text(b, hash);
  gn_buffer_puts(b, "\n");
}

static void fill_line(gn_batch_row *row, const gn_batch_item *item, const girthline_result *r) {
  enum { BEFORE = 9, AFTER = 4 }; // columns an input has without an analysis
  gn_buffer *b = &row->part[GN_PART_ROW];
  const girthline_settings *s = &item->settings;
  put_text(b, item->file);
  put_text(b, gn_batch_row_status(row->status, row->grade));
  put_text(b, row->reason);
  put_text(b, item->animal);
  put_text(b, girthline_species_name(s->species));
  put_text(b, s->species_assumed ? "true" : "false");
  put_text(b, girthline_side_name(s->side));
  put_text(b, girthline_area_name(s->area));
  if (r) {
    put_recording(b, &r->recording);
    put_quality(b, &r->quality);
    gn_csv_whole(b, (long long)r->n_beats);
    put_rate(b, &r->rate);
    put_rhythm(b, &r->rhythm);
    put_murmur(b, &r->murmur);
    put_words(b, r);
  } else {
    for (size_t i = count_columns(GN_BATCH_ROW_HEADER) - BEFORE - AFTER; i; i--) gn_buffer_puts(b, ",");
  }
  put_text(b, row->page);
  put_made_by(b, row, item);
}

static void put_sound(gn_buffer *b, double onset_s, float peak_s, float offset_s) {
  gn_csv_number(b, onset_s, TIME_S);
  gn_csv_number(b, onset_s + (double)peak_s, TIME_S);
  gn_csv_number(b, onset_s + (double)offset_s, TIME_S);
}

static void fill_beats(gn_batch_row *row, const gn_batch_item *item, const girthline_result *r) {
  gn_buffer *b = &row->part[GN_PART_BEATS];
  for (size_t i = 0; i < r->n_beats; i++) {
    const girthline_beat *beat = &r->beats[i];
    put_text(b, item->file);
    gn_csv_whole(b, (long long)i + 1);
    put_sound(b, beat->s1_onset_s, beat->s1_peak_s, beat->s1_offset_s);
    put_sound(b, beat->s2_onset_s, beat->s2_peak_s, beat->s2_offset_s);
    gn_csv_number(b, (double)beat->confidence, SHARE);
    gn_csv_number(b, (double)beat->name_confidence, SHARE);
    put_made_by(b, row, item);
  }
}

// The report on one line: a line feed stands only between its members, since within a text it is escaped.
static void fill_report(gn_batch_row *row, const gn_batch_item *item, const girthline_result *r, girthline_error *error) {
  const girthline_report_input input = {.result = r, .name = item->file, .path = item->path, .content_hash = row->content_hash};
  gn_buffer *b = &row->part[GN_PART_REPORT];
  char *text = girthline_report_json(&input, 1, error);
  if (!text) b->refused = true;
  for (const char *at = text; at && *at;) {
    const size_t n = strcspn(at, "\n");
    gn_buffer_add(b, at, n);
    at += n;
    at += strspn(at, "\n ");
  }
  gn_buffer_puts(b, "\n");
  girthline_text_free(text);
}

void gn_batch_row_fill(gn_batch_row *row, const gn_batch_item *item, const girthline_result *result, girthline_error *error) {
  fill_line(row, item, result);
  if (result) fill_beats(row, item, result);
  if (result) fill_report(row, item, result, error);
  gn_batch_index_row(&row->part[GN_PART_INDEX], row, item, result);
}
