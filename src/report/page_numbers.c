// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// How far to trust it, every number with what it means, and the method.
#include "report/page.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/confidence.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "report/text_parts.h"

#define MOST_LISTED_BEATS 4000 ///< more are left to the JSON report

static const char SOUND_NOT_ECG[] = "Intervals of heart sounds are not those of an ECG.";
static const char NO_RANGE[] = ""; ///< nothing published to hold it against

// The roles are a table's own; written out because a telephone's layout takes them away in some browsers.
static void open_group(gn_page *page) {
  if (!page->group) return;
  gn_html_format(&page->html,
                 "%s<tbody role=\"rowgroup\">\n<tr class=\"group\" role=\"row\"><th scope=\"rowgroup\" colspan=\"3\" role=\"rowheader\">%s</th></tr>\n",
                 page->n_groups++ ? "</tbody>\n" : "", page->group);
  page->group = NULL;
}

void gn_page_row_start(gn_page *page, const char *name, const char *meaning) {
  gn_html *h = &page->html;
  open_group(page);
  gn_html_raw(h, "<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">");
  gn_html_prose(h, name);
  gn_html_raw(h, " <span class=\"meaning\">");
  gn_html_prose(h, meaning);
  gn_html_raw(h, "</span></th><td role=\"cell\">");
}

// Where a recording cannot be used all that is not determined stands together, folded.
static bool folded(const gn_page *page, const gn_page_row *row) {
  return page->result->quality.grade == GIRTHLINE_UNUSABLE && !isfinite(gn_page_row_value(row, page->result));
}

static void usual(gn_page *page, const gn_page_row *row) {
  const girthline_result *r = page->result;
  gn_html *h = &page->html;
  if (row->kind == GN_ROW_BY_SPECIES && isfinite(r->rate.usual_range_bpm[0]) && isfinite(r->rate.usual_range_bpm[1])) {
    gn_page_number(page, (gn_page_value){"/rate/usual_range_bpm/0", r->rate.usual_range_bpm[0], 0, ""});
    gn_html_raw(h, " to ");
    gn_page_number(page, (gn_page_value){"/rate/usual_range_bpm/1", r->rate.usual_range_bpm[1], 0, ""});
    gn_html_format(h, " for %s at rest. ", gn_page_animal(r->settings.species));
  }
  gn_html_prose(h, gn_page_row_source(row, r));
}

static void rows(gn_page *page, gn_page_row_group which) {
  gn_html *h = &page->html;
  size_t n;
  const gn_page_row *numbers = gn_page_rows(which, &n);
  for (size_t i = 0; i < n; i++) {
    const double value = gn_page_row_value(&numbers[i], page->result);
    if (folded(page, &numbers[i])) continue;
    gn_page_row_start(page, numbers[i].name, numbers[i].meaning);
    if (numbers[i].kind == GN_ROW_NONE_AT_0 && value == 0)
      gn_html_format(h, "<data data-key=\"%s\" value=\"0\">none</data>", numbers[i].key);
    else if (strcmp(numbers[i].unit, GN_PERCENT))
      gn_page_number(page, (gn_page_value){numbers[i].key, value, numbers[i].decimals, numbers[i].unit});
    else
      gn_page_percent(page, numbers[i].key, value);
    gn_html_raw(h, "</td><td class=\"usual\" role=\"cell\">");
    if (isfinite(value))
      usual(page, &numbers[i]);
    else
      gn_page_reason(page, numbers[i].key);
    gn_html_raw(h, "</td></tr>\n");
  }
}

static void counted_row(gn_page *page) {
  const girthline_rate *r = &page->result->rate;
  gn_html *h = &page->html;
  if (!r->n_counted && page->result->quality.grade == GIRTHLINE_UNUSABLE) return;
  gn_page_row_start(page, "Counted", "Whole beats over consecutive 15 s, times four: the way it is done by ear.");
  if (!r->n_counted) gn_html_raw(h, "none");
  for (size_t i = 0; i < r->n_counted && i < 8; i++)
    gn_html_format(h,
                   "%s%d\xC2\xA0\xC3\x97\xC2\xA0"
                   "4",
                   i ? ", " : "", r->counted[i].beats);
  if (r->n_counted > 8) gn_html_format(h, " and %zu more", r->n_counted - 8);
  gn_html_raw(h, "</td><td class=\"usual\" role=\"cell\">One beat more or less changes such a count by 4 a minute.</td></tr>\n");
}

static void murmur_level(gn_page *page, const girthline_murmur_phase *m, size_t i) {
  char key[80];
  gn_html *h = &page->html;
  snprintf(key, sizeof key, "/murmur/phases/%zu/level_db", i);
  gn_page_number(page, (gn_page_value){key, m->level_db, 0, "dB"});
  gn_html_raw(h, " (");
  snprintf(key, sizeof key, "/murmur/phases/%zu/level_db_interval/0", i);
  gn_page_number(page, (gn_page_value){key, m->level_db_interval[0], 0, ""});
  gn_html_raw(h, " to ");
  snprintf(key, sizeof key, "/murmur/phases/%zu/level_db_interval/1", i);
  gn_page_number(page, (gn_page_value){key, m->level_db_interval[1], 0, ""});
  gn_html_raw(h, ")</td><td class=\"usual\" role=\"cell\">A level is not a grade: a thrill cannot be heard, and grades rest on it.</td></tr>\n");
}

static void murmur_pitch(gn_page *page, const girthline_murmur_phase *m, size_t i) {
  char key[80];
  gn_html *h = &page->html;
  snprintf(key, sizeof key, "/murmur/phases/%zu/peak_hz", i);
  gn_page_number(page, (gn_page_value){key, m->peak_hz, 0, "Hz"});
  gn_html_raw(h, " (");
  snprintf(key, sizeof key, "/murmur/phases/%zu/band_hz/0", i);
  gn_page_number(page, (gn_page_value){key, m->band_hz[0], 0, ""});
  gn_html_raw(h, " to ");
  snprintf(key, sizeof key, "/murmur/phases/%zu/band_hz/1", i);
  gn_page_number(page, (gn_page_value){key, m->band_hz[1], 0, "Hz"});
  gn_html_format(h, ")%s</td><td class=\"usual\" role=\"cell\">%s</td></tr>\n", m->musical == GIRTHLINE_YES ? ", musical" : "", NO_RANGE);
}

static void murmur_rows(gn_page *page) {
  const girthline_murmur *m = &page->result->murmur;
  gn_html *h = &page->html;
  char key[80];
  for (size_t i = 0; i < m->n_phases && i < 4; i++) {
    const girthline_murmur_phase *p = &m->phases[i];
    char name[80];
    snprintf(name, sizeof name, "Murmur %s %s", gn_page_timing(p->timing), gn_page_phase(p->phase));
    gn_page_row_start(page, name, "Its level against S1, 25 to 700 Hz, with the 95 % interval over the beats.");
    murmur_level(page, p, i);
    gn_page_row_start(page, "Its pitch", "The strongest frequency of what it adds, and the band that holds it.");
    murmur_pitch(page, p, i);
    gn_page_row_start(page, "Its beats", "The share of clean beats that show it.");
    snprintf(key, sizeof key, "/murmur/phases/%zu/beats_fraction", i);
    gn_page_percent(page, key, p->beats_fraction);
    gn_html_format(h, "</td><td class=\"usual\" role=\"cell\">%s</td></tr>\n", NO_RANGE);
    gn_page_row_start(page, "Confidence in it", "The share of such murmurs that are there.");
    snprintf(key, sizeof key, "/murmur/phases/%zu/confidence", i);
    gn_page_percent(page, key, p->confidence);
    gn_html_format(h, "</td><td class=\"usual\" role=\"cell\">%s</td></tr>\n", NO_RANGE);
  }
  rows(page, GN_ROWS_LIMITS);
}

static void extra_rows(gn_page *page) {
  const girthline_result *r = page->result;
  gn_html *h = &page->html;
  char key[80];
  girthline_profile store;
  const girthline_profile *profile = girthline_profile_of(r->settings.species, r->settings.age_days, &store);
  if (!r->n_extras && r->n_beats) {
    gn_page_row_start(page, "Further sounds", "Third and fourth sounds, splits, clicks.");
    gn_html_format(h, "none found</td><td class=\"usual\" role=\"cell\">%s</td></tr>\n", NO_RANGE);
  }
  for (size_t i = 0; i < r->n_extras; i++) {
    const girthline_extra *x = &r->extras[i];
    const bool gallop = x->kind == GIRTHLINE_EXTRA_S3 || x->kind == GIRTHLINE_EXTRA_S4;
    gn_page_row_start(page, gn_page_extra(x->kind), "The share of usable beats that have it, and its distance.");
    snprintf(key, sizeof key, "/extra_sounds/%zu/beats_fraction", i);
    gn_page_percent(page, key, x->beats_fraction);
    gn_html_raw(h, ", ");
    snprintf(key, sizeof key, "/extra_sounds/%zu/delay_s", i);
    gn_page_number(page, (gn_page_value){key, x->delay_s, 2, "s"});
    gn_html_format(h, "</td><td class=\"usual\" role=\"cell\">%s</td></tr>\n",
                   !gallop || !profile     ? NO_RANGE
                   : profile->s3_s4_normal ? "Heard in healthy animals of this kind."
                                           : "Not usual in this kind of animal.");
  }
}

static void intervals_row(gn_page *page) {
  const girthline_rhythm *y = &page->result->rhythm;
  if (!y->n_intervals && page->result->quality.grade == GIRTHLINE_UNUSABLE) return;
  gn_page_row_start(page, "Intervals counted", "From first sound to first sound; none bridges a gap.");
  gn_html_format(&page->html, "%zu of %zu</td><td class=\"usual\" role=\"cell\">%s</td></tr>\n", y->used_count, y->n_intervals, NO_RANGE);
}

static void folded_rows(gn_page *page) {
  gn_html *h = &page->html;
  size_t n_folded = 0;
  for (int which = 0; which < GN_N_ROWS; which++) {
    size_t n;
    const gn_page_row *row = gn_page_rows((gn_page_row_group)which, &n);
    for (size_t i = 0; i < n; i++) {
      if (!folded(page, &row[i])) continue;
      if (!n_folded++) gn_html_raw(h, "<details class=\"folded\"><summary>What else is measured in a usable recording, and why it is not determined here</summary>\n<ul>\n");
      gn_html_format(h, "<li>%s: ", row[i].name);
      gn_page_reason(page, row[i].key);
      gn_html_raw(h, "</li>\n");
    }
  }
  if (n_folded) gn_html_raw(h, "</ul>\n</details>\n");
}

void gn_page_numbers(gn_page *page) {
  gn_html *h = &page->html;
  page->n_groups = 0;
  gn_html_format(h, "<section class=\"numbers\">\n<h3>The numbers</h3>\n<table role=\"table\">\n<caption>What was measured. %s</caption>\n", SOUND_NOT_ECG);
  gn_html_raw(h, "<thead role=\"rowgroup\"><tr role=\"row\"><th scope=\"col\" role=\"columnheader\">What</th><th scope=\"col\" "
                 "role=\"columnheader\">Here</th><th scope=\"col\" role=\"columnheader\">Usual, or why it is not known</th></tr></thead>\n");
  page->group = "Rate";
  rows(page, GN_ROWS_RATE);
  counted_row(page);
  page->group = "Rhythm";
  intervals_row(page);
  rows(page, GN_ROWS_RHYTHM);
  page->group = "Between the beats";
  murmur_rows(page);
  extra_rows(page);
  page->group = "Events";
  gn_page_event_rows(page);
  page->group = "Recording";
  rows(page, GN_ROWS_QUALITY);
  gn_html_format(h, "%s</table>\n", page->n_groups ? "</tbody>\n" : "");
  folded_rows(page);
  gn_html_raw(h, "</section>\n");
}

static void share(gn_html *h, double of_one) {
  double percent;
  gn_html_raw(h, gn_numbers_percent(of_one, &percent));
  gn_html_number(h, percent, 0);
  gn_html_raw(h, "\xC2\xA0%");
}

static void problems(gn_page *page) {
  gn_buffer words = {0};
  gn_text_problems(&words, &page->result->quality);
  if (!words.n && !words.refused) return;
  char *text = gn_buffer_take(&words);
  gn_html_raw(&page->html, " ");
  if (text) gn_html_prose(&page->html, text);
  else page->html.failed = true;
  gn_free(text);
}

static void trust_shares(gn_page *page) {
  const girthline_result *r = page->result;
  gn_html *h = &page->html;
  gn_html_raw(h, "<p>");
  gn_page_number(page, (gn_page_value){"/quality/usable_s", r->quality.usable_s, r->quality.usable_s < 600 ? 1 : 0, "s"});
  gn_html_raw(h, " of ");
  if (gn_text_is_part(r)) gn_html_raw(h, "the part analysed");
  else gn_page_duration(page, "/recording/duration_s", r->recording.duration_s);
  gn_html_raw(h, r->quality.grade == GIRTHLINE_UNUSABLE ? " are not spoilt" : " could be used");
  gn_html_raw(h, ".");
  problems(page);
  if (r->n_beats) {
    gn_html_format(h, " %zu beat%s %s", r->n_beats, r->n_beats == 1 ? " was" : "s were", r->beats_given ? "given by hand." : "found; ");
    if (!r->beats_given) {
      share(h, gn_confidence(r, false));
      gn_html_raw(h, " of such beats are right, and first and second sound are told apart with ");
      share(h, gn_confidence(r, true));
      gn_html_raw(h, " confidence.");
    }
  } else {
    gn_html_raw(h, " No beat was found that could be relied on.");
  }
  gn_html_raw(h, "</p>\n");
}

void gn_page_trust(gn_page *page) {
  const girthline_quality *q = &page->result->quality;
  gn_html *h = &page->html;
  gn_html_format(h, "<section class=\"trust\">\n<h3>How far to trust it</h3>\n<p><span class=\"said\">%s recording.</span> ", gn_page_grade(q->grade));
  gn_html_prose(h, q->grade_reason);
  gn_html_raw(h, "</p>\n");
  if (!page->result->quality.silent) trust_shares(page); // of silence the grade says all
  if (page->result->recording.repaired) gn_html_raw(h, "<p>" GN_TEXT_REPAIRED "</p>\n");
  gn_html_raw(h, "</section>\n");
}

static void beats_link(gn_page *page) {
  const girthline_result *r = page->result;
  gn_html *h = &page->html;
  gn_html csv = {0};
  if (!r->n_beats) return;
  if (r->n_beats > MOST_LISTED_BEATS) {
    gn_html_format(h, "<p>The %zu beats are too many for a page: the JSON report lists them.</p>\n", r->n_beats);
    return;
  }
  gn_html_raw(&csv, "time_s,sound\n");
  for (size_t i = 0; i < r->n_beats; i++)
    for (int sound = 1; sound <= 2; sound++) {
      const double time_s = sound == 1 ? r->beats[i].s1_onset_s : r->beats[i].s2_onset_s;
      if (!isfinite(time_s)) continue;
      gn_html_number(&csv, time_s, 4);
      gn_html_format(&csv, ",S%d\n", sound);
    }
  if (csv.failed) h->failed = true;
  gn_html_raw(h, "<p><a download=\"beats.csv\" href=\"data:text/csv;base64,");
  if (csv.text) gn_html_base64(h, csv.text, csv.n);
  gn_html_raw(h, "\">The beats as a table (CSV)</a>, to correct by hand and give back with <code>--beats</code>.</p>\n");
  gn_html_clear(&csv);
}

static void missing_list(gn_page *page) {
  const girthline_result *r = page->result;
  gn_html *h = &page->html;
  if (!r->n_undetermined) return;
  gn_html_raw(h, "<details><summary>What was not determined, and why</summary>\n<ul>\n");
  for (size_t i = 0; i < r->n_undetermined; i++) {
    gn_html_raw(h, "<li><code>");
    gn_html_text(h, r->undetermined[i].pointer);
    gn_html_raw(h, "</code> ");
    gn_html_prose(h, r->undetermined[i].reason);
    gn_html_raw(h, "</li>\n");
  }
  gn_html_raw(h, "</ul>\n</details>\n");
}

static void recording_facts(gn_page *page) {
  const girthline_recording *r = &page->result->recording;
  char hash[48] = "";
  gn_html *h = &page->html;
  gn_html_raw(h, "<dl class=\"facts\">\n<div><dt>File</dt><dd>");
  gn_html_text(h, page->input->name ? page->input->name : gn_page_heading(page->input));
  gn_html_raw(h, "</dd></div>\n<div><dt>Content</dt><dd><code>");
  gn_html_text(h, page->input->content_hash ? page->input->content_hash : "not hashed");
  gn_html_raw(h, "</code></dd></div>\n<div><dt>Form</dt><dd>");
  gn_html_text(h, r->encoding);
  gn_html_raw(h, ", ");
  gn_page_number(page, (gn_page_value){"/recording/sample_rate_hz", r->sample_rate_hz, 0, "Hz"});
  gn_html_format(h, ", channel %d of %d</dd></div>\n<div><dt>Part analysed</dt><dd>", r->channel_used, r->channels);
  gn_page_part(page);
  girthline_settings_hash(&page->result->settings, hash);
  gn_html_raw(h, "</dd></div>\n<div><dt>Settings</dt><dd><code>");
  gn_html_text(h, hash);
  gn_html_raw(h, "</code></dd></div>\n<div><dt>Program</dt><dd>girthline " GIRTHLINE_VERSION "</dd></div>\n</dl>\n");
}

void gn_page_method(gn_page *page) {
  gn_html *h = &page->html;
  gn_html_raw(h, "<section class=\"method\">\n<h3>How it was measured</h3>\n<p>One channel was taken, never a mix. Spoilt spans were marked before anything "
                 "was measured. ");
  gn_html_raw(h, page->result->beats_given ? "The sounds were given by hand. "
                                           : "The first and second sounds were found by their loudness, their length and the time between them, with what is "
                                             "known of the species. ");
  gn_html_raw(h, "Rate and rhythm are read from the times between first sounds; what lies between the beats from the beats laid over one another, against the "
                 "recording's own quiet.</p>\n");
  recording_facts(page);
  missing_list(page);
  beats_link(page);
  gn_html_raw(h, "</section>\n");
}
