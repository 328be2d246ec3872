// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/say.h"
#include "cli/synth.h"

int gn_cli_synth(int argc, char **argv) {
  (void)argc;
  (void)argv;
  gn_cli_say("synth is not built yet in this version");
  return GN_EXIT_OTHER;
}
