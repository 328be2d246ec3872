// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What happened when: pauses, early beats and spoilt spans, for the page and the document.
#ifndef GN_REPORT_EVENTS_H
#define GN_REPORT_EVENTS_H

#include <stdbool.h>

#include <girthline/result.h>

#include "report/buffer.h"

#define GN_MOST_SHOWN_EVENTS 6 ///< pictures of events on a page

typedef struct gn_event {
  bool is_pause;         ///< else an early beat
  size_t index;          ///< into rhythm.pauses or rhythm.early
  double at_s, ratio;    ///< where a pause starts or the early beat; interval against the usual one
  girthline_span around; ///< with a beat before and after it
} gn_event;

/// The events furthest from the usual interval, in order of time; one that lies within another's surroundings is left to it.
size_t gn_events_most(const girthline_result *result, gn_event events[GN_MOST_SHOWN_EVENTS]);

typedef enum { GN_EVENTS_PAUSES = 0, GN_EVENTS_EARLY, GN_EVENTS_SPOILT, GN_N_EVENTS } gn_event_list;

size_t gn_events_count(const girthline_result *result, gn_event_list list);
const char *gn_events_name(gn_event_list list);    ///< "Pauses", ...
const char *gn_events_meaning(gn_event_list list); ///< one sentence

/// "6.2 to 9.7 s (2.0 times the usual), ..., and 3 more": at most `most` of them.
void gn_events_words(gn_buffer *out, const girthline_result *result, gn_event_list list, size_t most);

#endif
