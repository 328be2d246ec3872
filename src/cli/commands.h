// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One function a command. argv[0] is the command's name; the value is the exit code.
#ifndef GN_CLI_COMMANDS_H
#define GN_CLI_COMMANDS_H

int gn_cli_report(int argc, char **argv);
int gn_cli_exam(int argc, char **argv);
int gn_cli_visits(int argc, char **argv);
int gn_cli_batch(int argc, char **argv);
int gn_cli_score(int argc, char **argv);

#endif
