// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/findings.h"

#include <string.h>

#include "findings/parts.h"

// Among findings of one urgency: what the recording is worth, then what asks for something, then what only describes, then
// what is as usual, then what belongs to the recording.
static int rank(const char *kind) {
  static const struct {
    const char *kind;
    int rank;
  } RANKS[] = {{"human", 0},          {"recording-unusable", 0}, {"recording-poor", 0}, {"settings-changed", 0}, {"cyclic", 2},
               {"rate-settled", 2},   {"rate-mean-differs", 2},  {"rate-within", 3},    {"regular", 3},          {"murmur-none", 3},
               {"extra-S3", 4},       {"extra-S4", 4},           {"split-S1", 4},       {"split-S2", 4},         {"beats-given", 5},
               {"recording-short", 5}, {"species-assumed", 5}};
  for (size_t i = 0; i < sizeof RANKS / sizeof *RANKS; i++)
    if (!strcmp(kind, RANKS[i].kind)) return RANKS[i].rank;
  return 1;
}

static bool before(const girthline_finding *a, const girthline_finding *b) {
  return a->urgency != b->urgency ? a->urgency > b->urgency : rank(a->kind) < rank(b->kind);
}

// Equals keep their order (an insertion sort is stable, and there are a dozen at most).
static void put_urgent_first(girthline_result *r) {
  for (size_t i = 1; i < r->n_findings; i++) {
    const girthline_finding f = r->findings[i];
    size_t k = i;
    for (; k > 0 && before(&f, &r->findings[k - 1]); k--) r->findings[k] = r->findings[k - 1];
    r->findings[k] = f;
  }
}

girthline_status gn_findings_run(girthline_result *result) {
  if (gn_findings_recording(result)) return GIRTHLINE_NO_MEMORY;
  // An unusable recording carries no word on the heart; its own finding says so.
  const bool carries = result->quality.grade != GIRTHLINE_UNUSABLE;
  if (carries && (gn_findings_rate(result) || gn_findings_rhythm(result) || gn_findings_sounds(result) ||
      gn_findings_murmur(result)))
    return GIRTHLINE_NO_MEMORY;
  put_urgent_first(result);
  return GIRTHLINE_OK;
}
