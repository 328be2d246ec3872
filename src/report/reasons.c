// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/reasons.h"

#include <stdio.h>
#include <string.h>

bool gn_reason_inside(const char *pointer, const char *outer) {
  const size_t n = strlen(outer);
  return n && !strncmp(pointer, outer, n) && pointer[n] == '/';
}

int gn_reason_entry(const girthline_result *r, const char *pointer) {
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (!strcmp(r->undetermined[i].pointer, pointer)) return (int)i;
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (gn_reason_inside(r->undetermined[i].pointer, pointer)) return (int)i;
  return -1;
}

// The entry of the nearest container that has one.
static int entry_around(const girthline_result *r, const char *pointer) {
  int best = -1;
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (gn_reason_inside(pointer, r->undetermined[i].pointer) &&
        (best < 0 || strlen(r->undetermined[i].pointer) > strlen(r->undetermined[best].pointer)))
      best = (int)i;
  return best;
}

static const struct {
  const char *pointer, *reason;
} FIXED[] = {
    {"/recording/content_hash", "The file's bytes were not hashed."},
    {"/recording/recorded_at", "The file's own metadata hold no date."},
    {"/recording/side", "Not stated."},
    {"/recording/area", "Not stated."},
    {"/recording/minutes_after_exercise", "Not stated; the recording is taken to be made at rest."},
    {"/recording/channel_used", "No channel was chosen."},
    {"/recording/encoding", "The file's coding was not recognised."},
    {"/age_days", "Not stated."},
};

static const char *beat_reason(const girthline_result *r, const char *pointer) {
  if (strncmp(pointer, "/beats/", 7)) return NULL;
  const char *field = strrchr(pointer, '/');
  if (!strcmp(field, "/s1") || !strcmp(field, "/s2"))
    return r->beats_given ? "This sound is not among those given by hand." : "This sound could not be told from the background in this beat.";
  return r->beats_given ? "The sounds were given by hand by their onset alone." : "This sound is too unclear in this beat.";
}

const char *gn_reason_of(const girthline_result *r, const char *pointer, char *store, size_t n_store) {
  int entry = gn_reason_entry(r, pointer);
  if (entry < 0) entry = entry_around(r, pointer);
  if (entry >= 0) return r->undetermined[entry].reason;
  for (size_t i = 0; i < sizeof FIXED / sizeof *FIXED; i++)
    if (!strcmp(FIXED[i].pointer, pointer)) return FIXED[i].reason;
  const char *const beat = beat_reason(r, pointer);
  if (beat) return beat;
  if (r->quality.grade == GIRTHLINE_UNUSABLE) {
    const bool told = r->quality.grade_reason[0] != 0;
    snprintf(store, n_store, "The recording was judged unusable.%s%s", told ? " " : "", r->quality.grade_reason);
    return store;
  }
  if (!r->n_beats) return "No heart beats could be read in this recording.";
  return "This recording did not show enough to determine it.";
}
