// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Each pause and early beat: when, and the sound around it. What a long recording's overview has no room for.
#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "report/events.h"
#include "report/page.h"

#define MOST_LISTED 24

static void event_svg(gn_page *page, const gn_figure_source *source, const gn_event *e, size_t number, bool narrow) {
  char prefix[40], id[40];
  const double width = narrow ? GN_PAGE_NARROW : GN_PAGE_WIDE;
  gn_html inside = {0};
  gn_figure_area area = {0};
  snprintf(prefix, sizeof prefix, "z%zu-%zu%c", page->index, number, narrow ? 'n' : 'w');
  snprintf(id, sizeof id, "event-%zu", number);
  if (!page->status) page->status = gn_figure_part_svg(source, e->around, width, prefix, &inside, &area, page->error);
  gn_page_svg(page, &(gn_page_picture){narrow ? "narrow" : "wide", id, width, gn_figure_height(GN_FIGURE_DETAIL, width)}, &inside, &area);
  gn_html_clear(&inside);
}

static void event_figure(gn_page *page, const gn_event *e, size_t number) {
  gn_html *h = &page->html;
  gn_sound sound = {0};
  char key[80];
  if (!page->status) page->status = gn_sound_read(page->input, e->around.start_s, e->around.end_s, &sound, page->error);
  const gn_figure_source source = {page->result, &sound, page->scale};
  gn_html_format(h, "<figure class=\"event\">\n<h4 id=\"r%zu-event-%zu\">%s at ", page->index, number, e->is_pause ? "The pause" : "The early beat");
  gn_html_number(h, e->at_s, 1);
  gn_html_raw(h, "\xC2\xA0s</h4>\n");
  event_svg(page, &source, e, number, false);
  event_svg(page, &source, e, number, true);
  gn_sound_clear(&sound);
  gn_html_raw(h, "<figcaption>");
  gn_html_raw(h, e->is_pause ? "An interval of " : "After an interval of ");
  snprintf(key, sizeof key, e->is_pause ? "/rhythm/pauses/%zu/ratio" : "/rhythm/early/%zu/ratio", e->index);
  gn_page_number(page, (gn_page_value){key, e->ratio, 1, ""});
  gn_html_raw(h, " times the usual one, with a beat before and after it.</figcaption>\n</figure>\n");
}

void gn_page_events(gn_page *page) {
  gn_event events[GN_MOST_SHOWN_EVENTS];
  const size_t n = gn_events_most(page->result, events), all = page->result->rhythm.n_pauses + page->result->rhythm.n_early;
  if (!n || (!page->input->path && !page->input->data)) return;
  if (all > n) gn_html_format(&page->html, "<p class=\"why\">Of %zu pauses and early beats the %zu furthest from the usual interval; the others stand under the numbers.</p>\n", all, n);
  for (size_t i = 0; i < n && !page->status; i++) event_figure(page, &events[i], i + 1);
}

void gn_page_event_rows(gn_page *page) {
  gn_html *h = &page->html;
  for (int list = 0; list < GN_N_EVENTS; list++) {
    gn_buffer words = {0};
    const size_t n = gn_events_count(page->result, (gn_event_list)list);
    if (!n && !page->result->n_beats && list != GN_EVENTS_SPOILT) continue; // where nothing was heard nothing is said to be missing
    gn_page_row_start(page, gn_events_name((gn_event_list)list), gn_events_meaning((gn_event_list)list));
    if (n) gn_html_format(h, "%zu", n);
    else gn_html_raw(h, "none");
    gn_html_raw(h, "</td><td class=\"usual\" role=\"cell\">");
    gn_events_words(&words, page->result, (gn_event_list)list, MOST_LISTED);
    if (words.refused) h->failed = true;
    gn_html_prose(h, words.text);
    gn_buffer_clear(&words);
    gn_html_raw(h, "</td></tr>\n");
  }
}
