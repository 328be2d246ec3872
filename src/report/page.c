// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/numbers.h"
#include "page_assets.h"
#include "report/text_parts.h"

#define PAGE_BYTES 2000000 ///< of a recording's part, about; the memory is not touched before it is written
#define LONG_S 600.0         ///< a longer time is given in minutes as well
#define GENERATOR "girthline"

// <data> with the JSON's number; false, and words in its place, when there is none.
static bool data_start(gn_page *page, const char *key, double *value) {
  gn_html *h = &page->html;
  int decimals;
  if (!isfinite(*value)) {
    gn_html_raw(h, "<span class=\"missing\">not determined</span>");
    return false;
  }
  *value = gn_page_json(key, *value, &decimals);
  gn_html_format(h, "<data data-key=\"%s\" value=\"", key);
  gn_html_number(h, *value, decimals);
  gn_html_raw(h, "\">");
  return true;
}

void gn_page_number(gn_page *page, gn_page_value v) {
  gn_html *h = &page->html;
  if (!data_start(page, v.key, &v.value)) return;
  if (gn_rounded(v.value, v.decimals) < 0) gn_html_raw(h, "<span class=\"sign\">\xE2\x88\x92</span>");
  gn_html_number(h, fabs(v.value), v.decimals);
  gn_html_raw(h, "</data>");
  if (*v.unit) gn_html_format(h, "\xC2\xA0%s", v.unit);
}

void gn_page_duration(gn_page *page, const char *key, double value_s) {
  gn_html *h = &page->html;
  if (!(value_s >= LONG_S)) {
    gn_page_number(page, (gn_page_value){key, value_s, 1, "s"});
    return;
  }
  gn_page_number(page, (gn_page_value){key, value_s, 0, "s"});
  gn_html_raw(h, " (");
  gn_html_number(h, value_s / 60, 0);
  gn_html_raw(h, "\xC2\xA0minutes)");
}

void gn_page_part(gn_page *page) {
  const girthline_recording *r = &page->result->recording;
  gn_page_number(page, (gn_page_value){"/recording/from_s", r->from_s, 1, ""});
  gn_html_raw(&page->html, " to ");
  gn_page_number(page, (gn_page_value){"/recording/to_s", r->to_s, 1, "s"});
}

void gn_page_percent(gn_page *page, const char *key, double fraction) {
  gn_html *h = &page->html;
  if (!data_start(page, key, &fraction)) return;
  // Never a whole that is not one: 99.6 % is "over 99 %".
  const bool nearly = fraction < 1 && fraction > 0.99;
  if (nearly) gn_html_raw(h, "over ");
  gn_html_number(h, nearly ? 99 : fraction * 100, fraction < 0.01 && fraction > 0 ? 2 : 0);
  gn_html_raw(h, "</data>\xC2\xA0%");
}

static void undetermined_line(gn_page *page, const char *pointer) {
  gn_html_raw(&page->html, "<span class=\"said\">Not determined</span> <span class=\"why\">");
  gn_page_reason(page, pointer);
  gn_html_raw(&page->html, "</span>");
}

static void rate_range(gn_page *page) {
  const girthline_rate *r = &page->result->rate;
  gn_html *h = &page->html;
  const bool has_range = isfinite(r->usual_range_bpm[0]) && isfinite(r->usual_range_bpm[1]);
  if (r->standing >= GIRTHLINE_BELOW && r->standing <= GIRTHLINE_ABOVE && has_range) {
    gn_html_format(h, "%s the usual ", gn_page_standing(r->standing, r->settled_bpm, r->usual_range_bpm));
    gn_page_number(page, (gn_page_value){"/rate/usual_range_bpm/0", r->usual_range_bpm[0], 0, ""});
    gn_html_raw(h, " to ");
    gn_page_number(page, (gn_page_value){"/rate/usual_range_bpm/1", r->usual_range_bpm[1], 0, ""});
    gn_html_format(h, " for %s at rest. ", gn_page_animal(page->result->settings.species));
  } else {
    gn_html_raw(h, "Not held against a usual range: ");
    gn_page_reason(page, "/rate/standing");
    gn_html_raw(h, " ");
  }
}

static void rate_line(gn_page *page) {
  const girthline_rate *r = &page->result->rate;
  gn_html *h = &page->html;
  const bool rest = page->result->settings.minutes_after_exercise < 0, settled = rest && isfinite(r->settled_bpm);
  if (!settled && !isfinite(r->bpm)) {
    undetermined_line(page, "/rate/bpm");
    return;
  }
  gn_html_raw(h, "<span class=\"said\">");
  gn_page_number(page, (gn_page_value){settled ? "/rate/settled_bpm" : "/rate/bpm", settled ? r->settled_bpm : r->bpm, 0, ""});
  gn_html_raw(h, " beats a minute</span> <span class=\"why\">");
  rate_range(page);
  if (isfinite(r->settled_bpm) && isfinite(r->settled_from_s) && r->settled_from_s > page->result->recording.from_s + 1) {
    if (!rest) {
      gn_html_raw(h, "It fell to ");
      gn_page_number(page, (gn_page_value){"/rate/settled_bpm", r->settled_bpm, 0, ""});
    }
    gn_html_raw(h, rest ? "Settled from " : " from ");
    gn_page_number(page, (gn_page_value){"/rate/settled_from_s", r->settled_from_s, 0, "s"});
    gn_html_raw(h, " on. ");
  }
  if (isfinite(r->mean_bpm) && isfinite(r->bpm) && fabs(r->mean_bpm - r->bpm) > page->result->limits.findings.mean_differs_share * r->bpm) {
    gn_html_raw(h, "The mean over all beats is ");
    gn_page_number(page, (gn_page_value){"/rate/mean_bpm", r->mean_bpm, 0, ""});
    gn_html_raw(h, page->result->rhythm.n_pauses || page->result->rhythm.n_early ? ": it differs because beats are missing or come early. "
                                                                                 : ": it differs because the intervals are not alike. ");
  }
  gn_html_raw(h, "</span>");
}

static void put_doubt(gn_html *h, const char *why) {
  if (why) gn_html_format(h, " Uncertain: %s.", why);
}

static void rhythm_line(gn_page *page) {
  const girthline_rhythm *y = &page->result->rhythm;
  gn_html *h = &page->html;
  if (y->pattern == GIRTHLINE_PATTERN_UNDETERMINED) {
    undetermined_line(page, "/rhythm/pattern");
    return;
  }
  gn_html_format(h, "<span class=\"said\">%s</span> <span class=\"why\">", gn_page_pattern(y->pattern));
  gn_html_prose(h, y->explanation);
  put_doubt(h, gn_text_rhythm_doubt(page->result));
  gn_html_raw(h, "</span>");
}

static void murmur_found(gn_page *page) {
  const girthline_murmur *m = &page->result->murmur;
  gn_html *h = &page->html;
  gn_html_raw(h, "<span class=\"said\">A murmur");
  for (size_t i = 0; i < m->n_phases && i < 4; i++)
    gn_html_format(h, "%s %s %s", i ? ", and one" : "", gn_page_timing(m->phases[i].timing), gn_page_phase(m->phases[i].phase));
  gn_html_raw(h, "</span> <span class=\"why\">");
  if (m->n_phases) {
    const girthline_murmur_phase *p = &m->phases[0];
    const char *loudness = gn_page_loudness(p->loudness);
    if (m->n_phases > 1) gn_html_format(h, "The first: %s, %s, in ", loudness, gn_page_shape(p->shape));
    else gn_html_format(h, "%c%s, %s, in ", *loudness >= 'a' && *loudness <= 'z' ? *loudness - 'a' + 'A' : *loudness, loudness + 1, gn_page_shape(p->shape));
    gn_page_percent(page, "/murmur/phases/0/beats_fraction", p->beats_fraction);
    gn_html_raw(h, " of the clean beats. ");
    if (gn_text_murmur_end(p)) gn_html_format(h, "It %s. ", gn_text_murmur_end(p));
  }
  put_doubt(h, gn_text_murmur_doubt(page->result));
  gn_html_raw(h, "</span>");
}

static void murmur_line(gn_page *page) {
  const girthline_murmur *m = &page->result->murmur;
  gn_html *h = &page->html;
  if (m->present == GIRTHLINE_YES) {
    murmur_found(page);
  } else if (m->present == GIRTHLINE_NO) {
    gn_html_raw(h, "<span class=\"said\">No murmur found</span> <span class=\"why\">This recording could have shown one as soft as ");
    gn_page_number(page, (gn_page_value){"/murmur/detection_limit_db/systole", m->detection_limit_db[0], 0, "dB"});
    gn_html_raw(h, " in systole and ");
    gn_page_number(page, (gn_page_value){"/murmur/detection_limit_db/diastole", m->detection_limit_db[1], 0, "dB"});
    gn_html_raw(h, " in diastole, against S1; a softer one may be there.</span>");
  } else {
    undetermined_line(page, "/murmur/present");
  }
}

void gn_page_findings(gn_page *page) {
  const girthline_result *r = page->result;
  gn_html *h = &page->html;
  if (!r->n_findings) return;
  gn_html_raw(h, "<section class=\"asks\">\n<h3>What this asks for</h3>\n<ul class=\"findings\">\n");
  for (size_t i = 0; i < r->n_findings; i++) {
    const girthline_finding *f = &r->findings[i];
    gn_html_format(h, "<li class=\"urgency-%d\"><p class=\"finding\"><span class=\"urgency\">%s</span> ", (int)f->urgency, gn_page_urgency(f->urgency));
    gn_html_prose(h, f->text);
    gn_html_raw(h, "</p>");
    if (*gn_text_advice(r, i)) {
      gn_html_raw(h, " <p class=\"advice\">");
      gn_html_prose(h, f->advice);
      gn_html_raw(h, "</p>");
    }
    if (f->evidence && *f->evidence) {
      gn_html_raw(h, "<p class=\"evidence\">");
      gn_html_prose(h, f->evidence);
      gn_html_raw(h, "</p>");
    }
    gn_html_raw(h, "</li>\n");
  }
  gn_html_raw(h, "</ul>\n</section>\n");
}

void gn_page_answer(gn_page *page) {
  gn_html *h = &page->html;
  gn_html_raw(h, "<section class=\"answer\">\n<h3>The answer</h3>\n<dl class=\"lines\">\n<div><dt>Rate</dt><dd>");
  rate_line(page);
  gn_html_raw(h, "</dd></div>\n<div><dt>Rhythm</dt><dd>");
  rhythm_line(page);
  gn_html_raw(h, "</dd></div>\n<div><dt>Between the beats</dt><dd>");
  murmur_line(page);
  gn_html_raw(h, "</dd></div>\n</dl>\n</section>\n");
}

static void particulars(gn_page *page) {
  const girthline_result *r = page->result;
  const girthline_settings *s = &r->settings;
  gn_html *h = &page->html;
  const char *species = girthline_species_name(s->species), *side = girthline_side_name(s->side), *area = girthline_area_name(s->area);
  gn_html_format(h, "<p class=\"particulars\">%s%s", species ? species : "species unknown", s->species_assumed ? " (assumed: none was named)" : "");
  if (side) gn_html_format(h, ", %s side", side);
  if (area) gn_html_format(h, ", %s area", area);
  if (s->minutes_after_exercise >= 0) {
    char minutes[40];
    gn_html_format(h, ", %s after exercise", gn_numbers_minutes(s->minutes_after_exercise, minutes));
  }
  gn_html_raw(h, "; ");
  gn_page_duration(page, "/recording/duration_s", r->recording.duration_s);
  if (gn_text_is_part(r)) {
    gn_html_raw(h, " (analysed: ");
    gn_page_part(page);
    gn_html_raw(h, ")");
  }
  if (*r->recording.recorded_at) {
    gn_html_raw(h, "; recorded ");
    gn_html_text(h, r->recording.recorded_at);
  }
  gn_html_raw(h, "</p>\n");
}

static void caution(gn_page *page) {
  gn_html *h = &page->html;
  gn_html_format(h, "<section class=\"caution\" id=\"caution-%zu\">\n<h3>Caution</h3>\n<p>", page->index);
  gn_html_text(h, girthline_caution(page->result->settings.species));
  gn_html_raw(h, "</p>\n</section>\n");
}

// The sound is read once: the whole of a short recording, or the best stretch of a long one.
static girthline_status read_sound(gn_page *page) {
  const girthline_span span = {isfinite(page->result->recording.from_s) ? page->result->recording.from_s : 0, page->result->recording.to_s};
  const double end_s = span.end_s > span.start_s ? span.end_s : page->result->recording.duration_s;
  const girthline_span best = page->result->quality.best_span;
  girthline_status status = GIRTHLINE_OK;
  if (!page->no_sound && end_s - span.start_s <= GN_SOUND_LONGEST_S) status = gn_sound_read(page->input, span.start_s, end_s, &page->whole, page->error);
  if (!status && best.end_s > best.start_s && best.end_s - best.start_s <= GN_SOUND_LONGEST_S)
    status = gn_sound_read(page->input, best.start_s, best.end_s, &page->stretch, page->error);
  return status;
}

static void article(gn_page *page) {
  gn_html *h = &page->html;
  page->status = read_sound(page);
  if (page->status) return;
  gn_html_reserve(h, PAGE_BYTES);
  gn_html_format(h, "<article id=\"recording-%zu\" aria-labelledby=\"r%zu-name\">\n<header>\n<h2 id=\"r%zu-name\">", page->index, page->index, page->index);
  gn_html_text(h, page->title ? page->title : gn_page_heading(page->input));
  gn_html_raw(h, "</h2>\n");
  particulars(page);
  gn_html_format(
      h, "<p class=\"standing\">A screening aid, not a diagnosis: a licensed veterinarian decides. <a href=\"#caution-%zu\">Caution</a></p>\n</header>\n",
      page->index);
  gn_page_answer(page);
  gn_page_trust(page);
  gn_page_findings(page);
  gn_page_listen(page);
  gn_page_numbers(page);
  gn_page_method(page);
  caution(page);
  gn_html_raw(h, "</article>\n");
}

static void lines(gn_html *h, const char *const *text) {
  for (; *text; text++) gn_html_raw(h, *text);
}

void gn_page_recording(gn_page *page, const girthline_report_input *input) {
  if (page->status || page->html.failed) return;
  page->input = input;
  page->result = input->result;
  page->index++;
  article(page);
  gn_sound_clear(&page->whole);
  gn_sound_clear(&page->stretch);
}

void gn_page_head(gn_html *h, const char *title, const char *heading) {
  gn_html_raw(h, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                 "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; media-src data:; "
                 "style-src '" PAGE_STYLE_HASH "'; script-src '" PAGE_SCRIPT_HASH "'; base-uri 'none'; form-action 'none'\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                 "<meta name=\"generator\" content=\"" GENERATOR "\">\n<meta name=\"color-scheme\" content=\"light dark\">\n"
                 "<meta name=\"referrer\" content=\"no-referrer\">\n<title>");
  gn_html_text(h, title);
  gn_html_raw(h, "</title>\n<style>");
  lines(h, PAGE_STYLE);
  gn_html_raw(h, "</style>\n</head>\n<body>\n<main>\n<h1>");
  gn_html_text(h, heading);
  gn_html_raw(h, "</h1>\n");
}

char *gn_page_finish(gn_page *page) {
  gn_html *h = &page->html;
  gn_html_raw(h, "<footer><p>Made by girthline " GIRTHLINE_VERSION ".</p></footer>\n</main>\n<script>");
  lines(h, PAGE_SCRIPT);
  gn_html_raw(h, "</script>\n</body>\n</html>\n");
  if (!page->status && !h->failed) return gn_html_take(h);
  if (!page->status) gn_error_memory(page->error, "report");
  gn_html_clear(h);
  return NULL;
}
