// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/hashed.h"

#include "pipeline.h"
#include "report/hash.h"

typedef struct reading {
  const char *path;
  const girthline_settings *settings;
  girthline_result **out;
} reading;

static girthline_status analyse(void *user, const gn_file_taker *taker, girthline_error *error) {
  const reading *r = user;
  return gn_analyse_file_seen(r->path, r->settings, taker, r->out, error);
}

girthline_status gn_analyse_hashed(const char *path, const girthline_settings *settings, girthline_result **out, char hash[48], girthline_error *error) {
  reading r = {path, settings, out};
  return gn_content_hash_of(analyse, &r, hash, error);
}
