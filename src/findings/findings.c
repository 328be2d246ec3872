// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/findings.h"

#include "findings/parts.h"

// Most urgent first; equals keep their order (an insertion sort is stable, and there are a dozen at most).
static void put_urgent_first(girthline_result *r) {
  for (size_t i = 1; i < r->n_findings; i++) {
    const girthline_finding f = r->findings[i];
    size_t k = i;
    for (; k > 0 && r->findings[k - 1].urgency < f.urgency; k--) r->findings[k] = r->findings[k - 1];
    r->findings[k] = f;
  }
}

girthline_status gn_findings_run(girthline_result *result) {
  if (gn_findings_recording(result) || gn_findings_rate(result) || gn_findings_rhythm(result) || gn_findings_sounds(result) ||
      gn_findings_murmur(result))
    return GIRTHLINE_NO_MEMORY;
  put_urgent_first(result);
  return GIRTHLINE_OK;
}
