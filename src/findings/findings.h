// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// From measurements to words: what was measured, what the pattern is commonly seen with, which examination settles it.
#ifndef GN_FINDINGS_FINDINGS_H
#define GN_FINDINGS_FINDINGS_H

#include <girthline/result.h>
#include <girthline/status.h>

/// Fill result->findings from everything else in result. Fails only when memory is refused.
girthline_status gn_findings_run(girthline_result *result);

#endif
