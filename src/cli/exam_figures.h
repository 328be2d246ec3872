// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// girthline exam --figures: the pictures of every recording, on one scale, and the recovery curve, as files.
#ifndef GN_CLI_EXAM_FIGURES_H
#define GN_CLI_EXAM_FIGURES_H

#include <stdbool.h>
#include <stddef.h>

#include "clinic/examined.h"

typedef struct gn_exam_figures {
  const char *folder, *file; ///< where to; the examination's file, whose name they begin with
  const char *const *inputs; ///< what must not be overwritten
  size_t n_inputs;
  bool force, quiet;
} gn_exam_figures;

/// Whether every file may be written, before anything is analysed: 0, or the exit code, said.
int gn_cli_exam_figures_check(const gn_exam_figures *figures, const gn_exam *exam);

/// What a recording has nothing to show for is left out.
int gn_cli_exam_figures_write(const gn_exam_figures *figures, const gn_examined *examined);

#endif
