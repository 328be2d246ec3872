// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The synth command alone, as a program: for benchmarks and tests that need nothing else.
#include "cli/synth.h"

int main(int argc, char **argv) { return gn_cli_synth(argc, argv); }
