// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/findings.h"

girthline_status gn_findings_run(girthline_result *result) {
  (void)result;
  return GIRTHLINE_OK;
}
