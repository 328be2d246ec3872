// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What `girthline report` was asked to do.
#ifndef GN_CLI_REPORT_OPTIONS_H
#define GN_CLI_REPORT_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/settings.h>

enum { GN_OUT_JSON = 0, GN_OUT_HTML, GN_OUT_TEXT, GN_OUT_PDF, GN_OUT_MARKED, GN_OUT_CLIP, GN_N_OUT };

typedef struct gn_report_request {
  girthline_settings settings; ///< given points to sounds, limits to limits
  girthline_limits limits;
  girthline_given_sound *sounds;
  const char *beats_path, *settings_path;
  const char *out_folder;
  const char *out[GN_N_OUT]; ///< named outputs; NULL: not named
  const char *figures_folder;
  bool any_named, to_given;
  bool no_sound, quiet, force, same_axes;
  bool done;             ///< --help or --version was answered; nothing more to do
  const struct girthline_report_input *scale_to; ///< set while writing: axes wide enough for these
  size_t n_scale_to;
  const char **files; ///< the recordings; behind them, up to n_inputs, the files written by hand
  size_t n_files, n_inputs; ///< no output may overwrite an input
} gn_report_request;

/// Parse and check everything that can be told from the command line and the files written by hand. 0 or the exit code
/// (said); call gn_report_request_clear in either case.
int gn_report_request_parse(int argc, char **argv, gn_report_request *request);
void gn_report_request_clear(gn_report_request *request);

/// The option's name for an output ("json").
const char *gn_report_out_name(int out);

#endif
