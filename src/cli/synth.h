// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// `girthline synth`: a recording with exactly known beats, rhythm, murmur and noise.
#ifndef GN_CLI_SYNTH_H
#define GN_CLI_SYNTH_H

/// argv[0] is the command's name, the rest its arguments. Returns the exit code: 0; 2 wrong usage; 3 an input that cannot be read; 4 an output could
/// not be written; 5 anything else; 130 interrupted.
int gn_cli_synth(int argc, char **argv);

#endif
