// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Holds the place of marked_decode.c until the audio stage is there.
#include "base/error.h"
#include "report/marked.h"

girthline_status gn_marked_decode(const girthline_report_input *input, gn_stretch stretch, const gn_buffer *marks, gn_sink sink, girthline_error *error) {
  (void)stretch;
  (void)marks;
  (void)sink;
  return gn_error_set(error, GIRTHLINE_INTERNAL, "report", "%s is not an uncompressed WAV, and marking other forms is not built yet: convert it to WAV", input->name);
}
