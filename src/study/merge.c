// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/error.h"
#include "study/batch.h"

girthline_status gn_batch_merge(const gn_batch *batch, gn_batch_outcome *outcome, girthline_error *error) {
  *outcome = (gn_batch_outcome){0};
  return gn_error_set(error, GIRTHLINE_INTERNAL, "batch", "%s: joining shards is not built yet", batch->out);
}
