// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// `girthline synth`.
#ifndef GN_CLI_SYNTH_H
#define GN_CLI_SYNTH_H

int gn_cli_synth(int argc, char **argv); ///< argv[0] is "synth"; the value is the exit code

#endif
