// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The gain of a recorder with gain control dives at a thump and comes back over seconds.
#ifndef GN_ENVELOPE_RECOVERY_H
#define GN_ENVELOPE_RECOVERY_H

#include "base/features.h"

/// Lift the levels behind each spoilt stretch (dB, not yet over a background) by what the gain lacks there, where they rise as a gain
/// that comes back. 0, or -1 when memory is refused.
int gn_recovery_undo(gn_features *f);

#endif
