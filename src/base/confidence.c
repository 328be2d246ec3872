// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/confidence.h"

#include <math.h>

double gn_confidence(const girthline_result *result, bool of_names) {
  double sum = 0;
  for (size_t i = 0; i < result->n_beats; i++) sum += (double)(of_names ? result->beats[i].name_confidence : result->beats[i].confidence);
  return result->n_beats && !result->beats_given ? sum / (double)result->n_beats : (double)NAN;
}

bool gn_confidence_names_doubted(const girthline_result *result) { return gn_confidence(result, true) < result->limits.findings.names_confidence; }
