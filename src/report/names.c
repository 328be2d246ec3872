// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/names.h"

#include <stddef.h>

#define NAME_OF(i, ...)                                                                                                 \
  static const char *const NAMES[] = {__VA_ARGS__};                                                                     \
  const int at = (int)(i);                                                                                              \
  return at >= 0 && (size_t)at < sizeof NAMES / sizeof *NAMES ? NAMES[at] : NULL

const char *gn_name_grade(girthline_grade grade) { NAME_OF(grade, "good", "fair", "poor", "unusable"); }

const char *gn_name_problem(girthline_problem_kind kind) {
  NAME_OF(kind, "handling", "dropout", "clipping", "breathing", "noise", "no-heart-sound");
}

const char *gn_name_extra(girthline_extra_kind kind) { NAME_OF(kind, "S3", "S4", "split-S1", "split-S2", "click"); }

const char *gn_name_standing(girthline_standing standing) { NAME_OF(standing, "below", "within", "above"); }

const char *gn_name_pattern(girthline_pattern pattern) {
  NAME_OF(pattern + 1, "undetermined", "regular", "cyclic", "pauses", "early-beats", "irregular");
}

const char *gn_name_phase(girthline_phase phase) { NAME_OF(phase, "systole", "diastole", "continuous"); }

const char *gn_name_timing(girthline_timing timing) { NAME_OF(timing, "early", "mid", "late", "holo"); }

const char *gn_name_shape(girthline_shape shape) { NAME_OF(shape, "plateau", "crescendo", "decrescendo", "crescendo-decrescendo"); }

const char *gn_name_loudness(girthline_loudness loudness) { NAME_OF(loudness, "softer", "as-loud", "louder"); }

const char *gn_name_urgency(girthline_urgency urgency) { NAME_OF(urgency, "routine", "soon", "before-work", "now"); }
