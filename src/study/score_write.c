// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline.score.v1, and the summary for a terminal.
#include "study/score.h"

#include <math.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "report/writer.h"

#define STAGE "score"
enum { SHARE = 4, TIME_S = 5, BPM = 2, PERCENT = 3 };

const char *gn_score_kind_name(int kind) {
  static const char *const NAMES[GN_N_SCORES] = {"S1", "S2", "S3", "S4", "all"};
  return NAMES[kind];
}

static bool is_scored(const gn_score_request *q, int kind) { return q->extra || (kind != GN_SCORE_S3 && kind != GN_SCORE_S4); }

static void write_estimate(gn_writer *w, const char *key, const char *interval_key, gn_score_estimate e, int decimals) {
  gn_writer_number(w, key, e.value, decimals);
  gn_writer_pair(w, interval_key, e.interval, decimals);
}

static void write_measures(gn_writer *w, const char *key, const gn_score_measures *m) {
  gn_writer_open(w, key, '{', false);
  gn_writer_whole(w, "reference_count", (long long)m->n_reference);
  gn_writer_whole(w, "detected_count", (long long)m->n_detected);
  gn_writer_whole(w, "matched_count", (long long)m->n_matched);
  write_estimate(w, "sensitivity", "sensitivity_interval", m->sensitivity, SHARE);
  write_estimate(w, "ppv", "ppv_interval", m->ppv, SHARE);
  write_estimate(w, "f1", "f1_interval", m->f1, SHARE);
  gn_writer_number(w, "timing_error_median_s", m->timing_median_s, TIME_S);
  gn_writer_number(w, "timing_error_sd_s", m->timing_sd_s, TIME_S);
  write_estimate(w, "timing_error_mean_s", "timing_error_mean_s_interval", m->timing_mean_s, TIME_S);
  gn_writer_close(w);
}

static girthline_status write_recording(gn_writer *w, const gn_score_result *r, size_t i, girthline_error *error) {
  const gn_score_recording *rec = &r->set->items[i];
  girthline_status status = GIRTHLINE_OK;
  gn_writer_open(w, NULL, '{', false);
  gn_writer_text(w, "file", rec->report->file);
  gn_writer_text(w, "version", rec->report->version);
  gn_writer_text(w, "settings_hash", rec->report->settings_hash);
  gn_writer_bool(w, "scored", !rec->reason);
  if (rec->reason) gn_writer_text(w, "reason", rec->reason);
  for (int k = 0; k < GN_N_SCORES && !rec->reason && !status; k++) {
    gn_score_measures m;
    if (!is_scored(r->request, k)) continue;
    status = gn_score_measure(rec, k, i + 1, r->request, &m, error);
    if (!status) write_measures(w, gn_score_kind_name(k), &m);
  }
  if (!rec->reason) {
    gn_writer_number(w, "rate_bpm", rec->bpm, BPM);
    gn_writer_number(w, "reference_rate_bpm", rec->reference_bpm, BPM);
    gn_writer_number(w, "rate_error_bpm", rec->bpm - rec->reference_bpm, BPM);
    gn_writer_number(w, "rate_error_percent", 100 * (rec->bpm - rec->reference_bpm) / rec->reference_bpm, PERCENT);
  }
  gn_writer_close(w);
  return status;
}

static void write_pooled(gn_writer *w, const gn_score_result *r) {
  const gn_score_pooled *p = r->pooled;
  gn_writer_open(w, "pooled", '{', false);
  gn_writer_whole(w, "recordings", (long long)r->set->n_scored);
  for (int k = 0; k < GN_N_SCORES; k++)
    if (is_scored(r->request, k)) write_measures(w, gn_score_kind_name(k), &p->kind[k]);
  gn_writer_whole(w, "rates_count", (long long)p->n_rates);
  gn_writer_number(w, "rate_error_median_percent", p->rate_error_median_percent, PERCENT);
  write_estimate(w, "rate_error_mean_percent", "rate_error_mean_percent_interval", p->rate_error_mean_percent, PERCENT);
  gn_writer_number(w, "rate_within_5_percent_fraction", p->rate_within_5_percent, SHARE);
  gn_writer_close(w);
}

static void write_comparison(gn_writer *w, const gn_score_comparison *c) {
  gn_writer_open(w, "comparison", '{', false);
  gn_writer_whole(w, "recordings", (long long)c->n_recordings);
  write_estimate(w, "sensitivity_difference", "sensitivity_difference_interval", c->sensitivity, SHARE);
  write_estimate(w, "ppv_difference", "ppv_difference_interval", c->ppv, SHARE);
  write_estimate(w, "f1_difference", "f1_difference_interval", c->f1, SHARE);
  gn_writer_whole(w, "better_count", (long long)c->n_better);
  gn_writer_whole(w, "worse_count", (long long)c->n_worse);
  gn_writer_whole(w, "equal_count", (long long)c->n_equal);
  gn_writer_probability(w, "sign_test_p", c->sign_test_p);
  gn_writer_close(w);
}

// Every null has its reason, under its JSON pointer.
static void hear(void *user, const char *pointer, bool is_null) {
  gn_buffer *reasons = user;
  if (!is_null) return;
  const size_t n = strlen(pointer);
  const char *why = n > 9 && !strcmp(pointer + n - 9, "_interval") ? "there is too little to draw again from: an interval needs several recordings or sounds"
                    : strstr(pointer, "rate")                      ? "the report or the reference has no rate"
                    : strstr(pointer, "timing")                    ? "too few sounds are matched"
                                                                   : "there is no sound to count";
  gn_buffer_puts(reasons, reasons->n ? ",\n    " : "\n    ");
  gn_writer_quote(reasons, pointer);
  gn_buffer_puts(reasons, ": ");
  gn_writer_quote(reasons, why);
}

static void write_undetermined(gn_writer *w, gn_buffer *reasons) {
  w->listen = NULL;
  gn_writer_open(w, "undetermined", '{', !reasons->n);
  if (reasons->n) gn_buffer_add(&w->out, reasons->text, reasons->n);
  w->level[w->depth - 1].n_items = reasons->n;
  gn_writer_close(w);
  if (reasons->refused) w->out.refused = true;
  gn_buffer_clear(reasons);
}

char *gn_score_json(const gn_score_result *r, girthline_error *error) {
  gn_writer w = {0};
  gn_buffer reasons = {0};
  girthline_status status = GIRTHLINE_OK;
  gn_writer_open(&w, NULL, '{', false);
  w.listen = hear;
  w.user = &reasons;
  gn_writer_text(&w, "schema", "girthline.score.v1");
  gn_writer_open(&w, "tool", '{', false);
  gn_writer_text(&w, "name", "girthline");
  gn_writer_text(&w, "version", girthline_version());
  gn_writer_close(&w);
  gn_writer_number(&w, "tolerance_s", r->request->tolerance_s, TIME_S);
  gn_writer_whole(&w, "seed", (long long)r->request->seed);
  gn_writer_whole(&w, "resamples_count", (long long)r->request->n_resamples);
  gn_writer_text(&w, "matching", "one to one within the tolerance, nearest pair first");
  write_pooled(&w, r);
  if (r->comparison) write_comparison(&w, r->comparison);
  gn_writer_open(&w, "recordings", '[', false);
  for (size_t i = 0; i < r->set->n && !status; i++) status = write_recording(&w, r, i, error);
  gn_writer_close(&w);
  write_undetermined(&w, &reasons);
  gn_writer_close(&w);
  gn_buffer_puts(&w.out, "\n");
  char *text = gn_buffer_take(&w.out);
  if (!text) gn_error_memory(error, STAGE);
  if (!status) return text;
  gn_buffer_clear(&(gn_buffer){.text = text});
  return NULL;
}

// "36.2 % (30.1 to 40.0)", with the interval where there is one.
static void say(gn_buffer *b, const char *label, gn_score_estimate e, double scale, int decimals, const char *unit) {
  gn_buffer_printf(b, "%s ", label);
  if (!isfinite(e.value)) {
    gn_buffer_puts(b, "not determined");
    return;
  }
  gn_buffer_signed(b, e.value * scale, decimals);
  gn_buffer_puts(b, unit);
  if (!isfinite(e.interval[0])) return;
  gn_buffer_puts(b, " (");
  gn_buffer_signed(b, e.interval[0] * scale, decimals);
  gn_buffer_puts(b, " to ");
  gn_buffer_signed(b, e.interval[1] * scale, decimals);
  gn_buffer_puts(b, ")");
}

static gn_score_estimate alone(double value) { return (gn_score_estimate){value, {(double)NAN, (double)NAN}}; }

static void say_kind(gn_buffer *b, int kind, const gn_score_measures *m) {
  gn_buffer_printf(b, "%-4s%zu in the reference, %zu detected, %zu matched\n", gn_score_kind_name(kind), m->n_reference, m->n_detected, m->n_matched);
  if (!m->n_reference && !m->n_detected) return;
  say(b, "    sensitivity", m->sensitivity, 100, 1, " %");
  say(b, ", PPV", m->ppv, 100, 1, " %");
  say(b, ", F1", m->f1, 100, 1, " %");
  gn_buffer_puts(b, "\n");
  if (!m->n_matched) return;
  say(b, "    timing error: mean", m->timing_mean_s, 1000, 1, " ms");
  say(b, ", median", alone(m->timing_median_s), 1000, 1, " ms");
  say(b, ", SD", alone(m->timing_sd_s), 1000, 1, " ms");
  gn_buffer_puts(b, "\n");
}

#define LEAST_P 0.00005 // rounds to 0 in the words

static void say_comparison(gn_buffer *b, const gn_score_comparison *c) {
  gn_buffer_printf(b, "\nAgainst the other run, over %zu recording%s (this one minus the other)\n", c->n_recordings, c->n_recordings == 1 ? "" : "s");
  say(b, "    percentage points: sensitivity", c->sensitivity, 100, 2, "");
  say(b, ", PPV", c->ppv, 100, 2, "");
  say(b, ", F1", c->f1, 100, 2, "");
  gn_buffer_printf(b, "\n    better in %zu, worse in %zu, equal in %zu recordings; sign test p ", c->n_better, c->n_worse, c->n_equal);
  if (c->sign_test_p < LEAST_P) gn_buffer_puts(b, "under 0.0001");
  else gn_buffer_puts(b, "= "), gn_buffer_fixed(b, c->sign_test_p, 4);
  gn_buffer_puts(b, "\n");
}

static void say_rate(gn_buffer *b, const gn_score_pooled *p) {
  gn_buffer_printf(b, "Rate, in %zu recording%s", p->n_rates, p->n_rates == 1 ? "" : "s");
  if (p->n_rates) {
    say(b, ": mean error", p->rate_error_mean_percent, 1, 2, " %");
    say(b, ", median", alone(p->rate_error_median_percent), 1, 2, " %");
    say(b, "; within 5 %:", alone(p->rate_within_5_percent), 100, 1, " %");
  }
  gn_buffer_puts(b, "\n");
}

char *gn_score_text(const gn_score_result *r, girthline_error *error) {
  gn_buffer b = {0};
  const gn_score_pooled *p = r->pooled;
  gn_buffer_printf(&b, "%zu of %zu recordings scored, within ", r->set->n_scored, r->set->n);
  gn_buffer_number(&b, r->request->tolerance_s * 1000, 1);
  gn_buffer_puts(&b, " ms, one to one, nearest first\n");
  for (int k = 0; k < GN_N_SCORES; k++)
    if (is_scored(r->request, k)) say_kind(&b, k, &p->kind[k]);
  say_rate(&b, p);
  if (r->comparison) say_comparison(&b, r->comparison);
  gn_buffer_puts(&b, "\n");
  if (r->set->n_scored > 1)
    gn_buffer_printf(&b, "In brackets: 95 %% bootstrap intervals over recordings (seed %llu, %zu resamples). ", (unsigned long long)r->request->seed, r->request->n_resamples);
  gn_buffer_puts(&b, "--json has each recording.\n");
  char *text = gn_buffer_take(&b);
  if (!text) gn_error_memory(error, STAGE);
  return text;
}
