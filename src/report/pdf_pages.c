// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/pdf_pages.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/numbers.h"
#include "report/events.h"
#include "report/page.h"
#include "report/reasons.h"
#include "report/text_parts.h"

#define FULL (GN_SHEET_WIDTH - 2 * GN_SHEET_MARGIN)
#define UNIT 0.6         ///< points to a picture's unit: its letters are 7.2 points high
#define LABEL_WIDTH 92.0 ///< of the answer's and the findings' first column
#define MOST_EVENTS 8 ///< of a kind; the page lists more
#define COLUMN_GAP 10.0
#define NO_ECG "Intervals of heart sounds are not those of an ECG."

// The first letter large; what stands up to the first stop is the answer, the rest is why.
static void answer_line(gn_sheet *sheet, const char *label, gn_buffer *words) {
  const gn_sheet_box left = {GN_SHEET_MARGIN, sheet->y + 2 * sheet->scale, LABEL_WIDTH};
  gn_sheet_box right = {GN_SHEET_MARGIN + LABEL_WIDTH, sheet->y, FULL - LABEL_WIDTH};
  if (words->refused || !words->text) {
    gn_sheet_words(sheet, GN_SHEET_BODY, GN_INK, words);
    return;
  }
  char *text = words->text, *why = text + strcspn(text, ",;:");
  if (*text >= 'a' && *text <= 'z') *text = (char)(*text - 'a' + 'A');
  if (*why) *why++ = 0;
  why += strspn(why, " ");
  gn_sheet_text(sheet, GN_SHEET_BODY, GN_WAVE, left, label);
  right.y += gn_sheet_text(sheet, GN_SHEET_SAID, GN_INK, right, text);
  if (*why >= 'a' && *why <= 'z') *why = (char)(*why - 'a' + 'A');
  if (*why) right.y += gn_sheet_text(sheet, GN_SHEET_BODY, GN_INK, right, why);
  sheet->y = right.y;
  gn_sheet_gap(sheet, 3);
  gn_buffer_clear(words);
}

static void particulars(gn_sheet *sheet, const gn_pdf_recording *rec) {
  const girthline_result *r = rec->result;
  const girthline_settings *s = &r->settings;
  const char *species = girthline_species_name(s->species), *side = girthline_side_name(s->side), *area = girthline_area_name(s->area);
  gn_buffer b = {0};
  gn_buffer_printf(&b, "%s%s", species ? species : "species unknown", s->species_assumed ? " (assumed: none was named)" : "");
  if (side) gn_buffer_printf(&b, ", %s side", side);
  if (area) gn_buffer_printf(&b, ", %s area", area);
  if (s->minutes_after_exercise >= 0) {
    char minutes[40];
    gn_buffer_printf(&b, ", %s after exercise", gn_numbers_minutes(s->minutes_after_exercise, minutes));
  }
  if (isfinite(r->recording.duration_s)) gn_buffer_puts(&b, "; ");
  gn_text_length(&b, r);
  if (*r->recording.recorded_at) gn_buffer_printf(&b, "; recorded %s", r->recording.recorded_at);
  if (rec->title && rec->input->name) gn_buffer_printf(&b, "; file %s", rec->input->name);
  gn_sheet_words(sheet, GN_SHEET_BODY, GN_INK, &b);
}

static void answer(gn_sheet *sheet, const girthline_result *r) {
  gn_buffer b = {0};
  gn_sheet_heading(sheet, "The answer");
  gn_text_rate(&b, r);
  answer_line(sheet, "Rate", &b);
  gn_text_rhythm(&b, r);
  if (r->rhythm.pattern != GIRTHLINE_PATTERN_UNDETERMINED && *r->rhythm.explanation)
    gn_buffer_printf(&b, "%s%s", b.text && strpbrk(b.text, ",;:") ? ". " : ": ", r->rhythm.explanation);
  answer_line(sheet, "Rhythm", &b);
  gn_text_murmur(&b, r);
  for (size_t i = 0; i < r->murmur.n_phases && i < 4; i++) {
    gn_buffer_puts(&b, i ? " " : ". ");
    gn_text_murmur_phase(&b, &r->murmur.phases[i]);
  }
  answer_line(sheet, "Between the beats", &b);
}

// An only page leaves the advice of what is routine to the pages before it.
static void findings(gn_sheet *sheet, const gn_pdf_recording *rec) {
  const girthline_result *r = rec->result;
  if (!r->n_findings) return;
  gn_sheet_heading(sheet, "What this asks for");
  for (size_t i = 0; i < r->n_findings; i++) {
    const girthline_finding *f = &r->findings[i];
    gn_sheet_box left = {GN_SHEET_MARGIN, sheet->y, LABEL_WIDTH - COLUMN_GAP}, right = {GN_SHEET_MARGIN + LABEL_WIDTH, sheet->y, FULL - LABEL_WIDTH};
    gn_sheet_text(sheet, f->urgency > GIRTHLINE_ROUTINE ? GN_SHEET_STRONG : GN_SHEET_BODY, GN_INK, left, gn_page_urgency(f->urgency));
    right.y += gn_sheet_text(sheet, GN_SHEET_STRONG, GN_INK, right, f->text);
    if (!rec->title || f->urgency > GIRTHLINE_ROUTINE) right.y += gn_sheet_text(sheet, GN_SHEET_BODY, GN_INK, right, gn_text_advice(r, i));
    sheet->y = right.y;
    gn_sheet_gap(sheet, 3);
  }
}

static void trust(gn_sheet *sheet, const girthline_result *r) {
  gn_buffer b = {0};
  gn_sheet_heading(sheet, "How far to trust it");
  gn_text_quality(&b, r);
  gn_buffer_puts(&b, " ");
  gn_text_problems(&b, &r->quality);
  gn_buffer_puts(&b, " ");
  gn_text_beats(&b, r);
  if (r->beats_given) gn_buffer_puts(&b, " The heart sounds were given by hand, not read from the recording.");
  if (r->recording.repaired) gn_buffer_puts(&b, " " GN_TEXT_REPAIRED);
  gn_sheet_words(sheet, GN_SHEET_BODY, GN_INK, &b);
}

static void picture(gn_sheet *sheet, const gn_pdf_recording *rec, gn_figure_kind kind, const char *caption) {
  if (!gn_figure_has(kind, &rec->source)) return;
  gn_sheet_gap(sheet, 5);
  sheet->y += gn_sheet_figure(sheet, kind, &rec->source, (gn_sheet_box){GN_SHEET_MARGIN, sheet->y, FULL}, UNIT);
  gn_sheet_line(sheet, GN_SHEET_SMALL, GN_WAVE, caption);
}

static void sound(gn_sheet *sheet, const gn_pdf_recording *rec) {
  gn_sheet_heading(sheet, "To see");
  picture(sheet, rec, GN_FIGURE_SOUND, "The recording with its beats; hatched spans were not counted.");
  char caption[160];
  snprintf(caption, sizeof caption, "The longest clean run of whole beats. %s", gn_text_bars(rec->source.result));
  picture(sheet, rec, GN_FIGURE_DETAIL, caption);
}

// What either first page begins with; caution: where the whole of it stands.
static void opening(gn_sheet *sheet, const gn_pdf_recording *rec, const char *title, const char *caution) {
  gn_sheet_title(sheet, title);
  particulars(sheet, rec);
  gn_sheet_line(sheet, GN_SHEET_BODY, GN_WAVE, caution);
  answer(sheet, rec->result);
  trust(sheet, rec->result);
  findings(sheet, rec);
  sound(sheet, rec);
}

void gn_pdf_first_page(gn_sheet *sheet, const gn_pdf_recording *rec) {
  opening(sheet, rec, gn_page_heading(rec->input), "A screening aid, not a diagnosis: a licensed veterinarian decides. The caution on the next page belongs to it.");
  picture(sheet, rec, GN_FIGURE_SPECTRUM,
          "The same stretch by time and frequency, from the quiet level to 40 dB above it. A murmur is a smear that comes again with each beat.");
}

// Two pictures beside each other; either may be missing.
static void beside(gn_sheet *sheet, const gn_pdf_recording *rec, const gn_figure_kind kinds[2], double share) {
  double height = 0, x = GN_SHEET_MARGIN;
  for (int i = 0; i < 2; i++) {
    if (!gn_figure_has(kinds[i], &rec->source)) continue;
    const double width = (FULL - COLUMN_GAP) * (i ? 1 - share : share);
    height = fmax(height, gn_sheet_figure(sheet, kinds[i], &rec->source, (gn_sheet_box){x, sheet->y, width}, UNIT));
    x += width + COLUMN_GAP;
  }
  sheet->y += height;
}

static void pictures_of_beats(gn_sheet *sheet, const gn_pdf_recording *rec) {
  bool any = false;
  for (int kind = GN_FIGURE_CYCLE; kind <= GN_FIGURE_RATE; kind++) any = any || gn_figure_has((gn_figure_kind)kind, &rec->source);
  if (!any) return;
  gn_sheet_heading(sheet, "The beats");
  beside(sheet, rec, (const gn_figure_kind[]){GN_FIGURE_CYCLE, GN_FIGURE_NEXT}, 0.68);
  if (gn_figure_has(GN_FIGURE_CYCLE, &rec->source))
    gn_sheet_line(sheet, GN_SHEET_SMALL, GN_WAVE,
                  "The average beat by frequency: half of the beats lie above the line, the middle half in the area; what repeats between the beats raises it. "
                  "Beside it each interval and the next: a steady heart gives one small cloud.");
  gn_sheet_gap(sheet, 4);
  beside(sheet, rec, (const gn_figure_kind[]){GN_FIGURE_INTERVALS, GN_FIGURE_RATE}, 0.5);
  if (gn_figure_has(GN_FIGURE_INTERVALS, &rec->source))
    gn_sheet_line(sheet, GN_SHEET_SMALL, GN_WAVE,
                  "From each first sound to the next; and the rate: bars are beats counted over 15 s, times four, dots each interval that lies within these rates.");
}

// The average beat, and beside it what there is of the intervals, one below the other.
static void beats_in_columns(gn_sheet *sheet, const gn_pdf_recording *rec) {
  static const gn_figure_kind RIGHT[] = {GN_FIGURE_INTERVALS, GN_FIGURE_RATE};
  const double width = 0.58 * FULL, top = sheet->y;
  double left = top, right = top;
  if (gn_figure_has(GN_FIGURE_CYCLE, &rec->source)) left += gn_sheet_figure(sheet, GN_FIGURE_CYCLE, &rec->source, (gn_sheet_box){GN_SHEET_MARGIN, top, width}, UNIT);
  const gn_sheet_box beside_it = {left > top ? GN_SHEET_MARGIN + width + COLUMN_GAP : GN_SHEET_MARGIN, top, left > top ? FULL - width - COLUMN_GAP : FULL};
  for (size_t i = 0; i < 2; i++)
    if (gn_figure_has(RIGHT[i], &rec->source)) right += gn_sheet_figure(sheet, RIGHT[i], &rec->source, (gn_sheet_box){beside_it.x, right, beside_it.width}, UNIT);
  sheet->y = fmax(left, right);
  if (left > top)
    gn_sheet_line(sheet, GN_SHEET_SMALL, GN_WAVE,
                  "The average beat by frequency: half of the beats lie above the line, the middle half in the area; what repeats between the beats raises it. "
                  "Beside it each interval from first sound to first sound, and the rate: bars are beats counted over 15 s, times four.");
}

static void put_value(gn_buffer *b, const gn_page_row *row, const girthline_result *r) {
  int decimals;
  double value = gn_page_row_value(row, r);
  if (!isfinite(value)) {
    gn_buffer_puts(b, "not determined");
    return;
  }
  value = gn_page_json(row->key, value, &decimals);
  if (row->kind == GN_ROW_NONE_AT_0 && value == 0) {
    gn_buffer_puts(b, "none");
    return;
  }
  if (!strcmp(row->unit, GN_PERCENT)) {
    double percent;
    const char *over = gn_numbers_percent(value, &percent);
    gn_buffer_printf(b, "%s%.0f\xC2\xA0%%", over, percent);
    return;
  }
  gn_buffer_signed(b, value, row->decimals);
  if (*row->unit) gn_buffer_printf(b, "\xC2\xA0%s", row->unit);
}

static void put_usual(gn_buffer *b, const gn_page_row *row, const girthline_result *r) {
  char store[256];
  if (!isfinite(gn_page_row_value(row, r))) {
    gn_buffer_puts(b, gn_reason_of(r, row->key, store, sizeof store));
    return;
  }
  if (row->kind == GN_ROW_BY_SPECIES && isfinite(r->rate.usual_range_bpm[0]) && isfinite(r->rate.usual_range_bpm[1])) {
    gn_buffer_fixed(b, r->rate.usual_range_bpm[0], 0);
    gn_buffer_puts(b, " to ");
    gn_buffer_fixed(b, r->rate.usual_range_bpm[1], 0);
    gn_buffer_printf(b, " for %s at rest. ", gn_page_animal(r->settings.species));
  }
  gn_buffer_puts(b, gn_page_row_source(row, r));
}

// One row: what it is with its meaning, the number, what is usual or why it is missing.
static void row(gn_sheet *sheet, gn_buffer *what, gn_buffer *here, gn_buffer *usual) {
  const double x[] = {GN_SHEET_MARGIN, GN_SHEET_MARGIN + 0.46 * FULL, GN_SHEET_MARGIN + 0.60 * FULL};
  const double width[] = {0.46 * FULL - COLUMN_GAP, 0.14 * FULL - COLUMN_GAP, 0.40 * FULL};
  const char *const text[] = {what->text, here->text, usual->text};
  double height = 0;
  for (int i = 0; i < 3; i++) height = fmax(height, gn_sheet_text(sheet, GN_SHEET_SMALL, i == 2 ? GN_WAVE : GN_INK, (gn_sheet_box){x[i], sheet->y, width[i]}, text[i]));
  if ((what->refused || here->refused || usual->refused) && !sheet->status) sheet->status = GIRTHLINE_NO_MEMORY;
  sheet->y += height;
  gn_sheet_gap(sheet, 1.2);
  gn_buffer_clear(what);
  gn_buffer_clear(here);
  gn_buffer_clear(usual);
}

// missing: takes the names of what is not determined; NULL: these are rows as well.
static void rows(gn_sheet *sheet, const girthline_result *r, gn_page_row_group group, gn_buffer *missing) {
  size_t n;
  const gn_page_row *all = gn_page_rows(group, &n);
  for (size_t i = 0; i < n; i++) {
    gn_buffer what = {0}, here = {0}, usual = {0};
    if (missing && !isfinite(gn_page_row_value(&all[i], r))) {
      gn_buffer_printf(missing, "%s%s", missing->n ? ", " : "Not determined, as the recording cannot be used: ", all[i].name);
      continue;
    }
    gn_buffer_printf(&what, "%s: %s", all[i].name, all[i].meaning);
    put_value(&here, &all[i], r);
    put_usual(&usual, &all[i], r);
    row(sheet, &what, &here, &usual);
  }
}

static void events(gn_sheet *sheet, const girthline_result *r) {
  for (int list = 0; list < GN_N_EVENTS; list++) {
    gn_buffer what = {0}, here = {0}, when = {0};
    const size_t n = gn_events_count(r, (gn_event_list)list);
    if (!n && !r->n_beats && list != GN_EVENTS_SPOILT) continue; // where nothing was heard nothing is said to be missing
    gn_buffer_printf(&what, "%s: %s", gn_events_name((gn_event_list)list), gn_events_meaning((gn_event_list)list));
    if (n) gn_buffer_printf(&here, "%zu", n);
    else gn_buffer_puts(&here, "none");
    gn_events_words(&when, r, (gn_event_list)list, MOST_EVENTS);
    row(sheet, &what, &here, &when);
  }
}

static void numbers(gn_sheet *sheet, const girthline_result *r) {
  gn_sheet_heading(sheet, "The numbers");
  gn_buffer b = {0};
  for (int group = 0; group < GN_N_ROWS; group++) rows(sheet, r, (gn_page_row_group)group, r->quality.grade == GIRTHLINE_UNUSABLE ? &b : NULL);
  events(sheet, r);
  if (b.n) gn_buffer_puts(&b, ".");
  gn_sheet_words(sheet, GN_SHEET_SMALL, GN_INK, &b);
  for (size_t i = 0; i < r->n_extras; i++) {
    gn_text_extra(&b, &r->extras[i]);
    gn_buffer_puts(&b, " ");
  }
  if (r->n_extras) gn_sheet_words(sheet, GN_SHEET_SMALL, GN_INK, &b);
  gn_sheet_line(sheet, GN_SHEET_SMALL, GN_WAVE, NO_ECG);
}

static void method(gn_sheet *sheet, const gn_pdf_recording *rec) {
  const girthline_recording *r = &rec->result->recording;
  char hash[48] = "";
  gn_buffer b = {0};
  girthline_settings_hash(&rec->result->settings, hash);
  gn_buffer_printf(&b, "One channel was taken (%d of %d) of %s, ", r->channel_used, r->channels, *r->encoding ? r->encoding : "the file");
  if (isfinite(r->sample_rate_hz)) gn_buffer_fixed(&b, r->sample_rate_hz, 0);
  gn_buffer_printf(&b, " Hz. Content %s; settings %s; girthline %s.", rec->input->content_hash ? rec->input->content_hash : "not hashed", hash, GIRTHLINE_VERSION);
  gn_sheet_words(sheet, GN_SHEET_SMALL, GN_WAVE, &b);
}

// "Rate 38 a minute; Mean rate 38 a minute; ...": what is not determined is left to the page and the JSON report, with its reason.
static void numbers_in_a_row(gn_sheet *sheet, const girthline_result *r) {
  gn_buffer b = {0};
  gn_sheet_heading(sheet, "The numbers");
  for (int group = 0; group < GN_N_ROWS; group++) {
    size_t n;
    const gn_page_row *all = gn_page_rows((gn_page_row_group)group, &n);
    for (size_t i = 0; i < n; i++) {
      if (!isfinite(gn_page_row_value(&all[i], r))) continue;
      gn_buffer_printf(&b, "%s%s ", b.n ? "; " : "", all[i].name);
      put_value(&b, &all[i], r);
    }
  }
  for (int list = 0; list < GN_N_EVENTS; list++) {
    if (!gn_events_count(r, (gn_event_list)list)) continue;
    gn_buffer_printf(&b, "; %s ", gn_events_name((gn_event_list)list));
    gn_events_words(&b, r, (gn_event_list)list, MOST_EVENTS);
  }
  gn_buffer_puts(&b, ". ");
  for (size_t i = 0; i < r->n_extras; i++) {
    gn_text_extra(&b, &r->extras[i]);
    gn_buffer_puts(&b, " ");
  }
  gn_buffer_puts(&b, NO_ECG);
  gn_sheet_words(sheet, GN_SHEET_SMALL, GN_INK, &b);
}

void gn_pdf_only_page(gn_sheet *sheet, const gn_pdf_recording *rec) {
  opening(sheet, rec, rec->title, "A screening aid, not a diagnosis: a licensed veterinarian decides. The caution before the recordings belongs to it.");
  gn_sheet_gap(sheet, 5);
  beats_in_columns(sheet, rec);
  numbers_in_a_row(sheet, rec->result);
  method(sheet, rec);
}

void gn_pdf_second_page(gn_sheet *sheet, const gn_pdf_recording *rec) {
  pictures_of_beats(sheet, rec);
  numbers(sheet, rec->result);
  method(sheet, rec);
  gn_sheet_heading(sheet, "Caution");
  gn_sheet_line(sheet, GN_SHEET_BODY, GN_INK, girthline_caution(rec->result->settings.species));
}
