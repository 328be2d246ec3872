// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// girthline visits remove: asked for, and never without a copy that can be added again.
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "base/error.h"
#include "base/memory.h"
#include "cli/output.h"
#include "cli/say.h"
#include "cli/terminal.h"
#include "cli/visits.h"
#include "clinic/visits.h"

#define MOST_COPIES 1000

#define DECLINED (-1)

// The person's word, or the exit code for not going on.
static int ask(const char *text, long long id) {
  char answer[16] = "";
  if (!isatty(STDIN_FILENO)) return gn_cli_usage("visits", "there is no terminal to ask at: remove %lld --yes takes the visit out", id);
  fprintf(stderr, "%s\nTake visit %lld out of the history (a copy is kept)? [y/N] ", text, id);
  if (fgets(answer, sizeof answer, stdin)) answer[strcspn(answer, "\r\n")] = 0;
  if (!strcasecmp(answer, "y") || !strcasecmp(answer, "yes")) return 0;
  gn_cli_say("nothing was removed");
  return DECLINED;
}

// Beside the history: FILE.visit-ID.json, or the next name that is free. NULL: said.
static char *copy_name(const char *db, long long id) {
  for (int k = 1; k < MOST_COPIES; k++) {
    char *name = k == 1 ? gn_strprintf("%s.visit-%lld.json", db, id) : gn_strprintf("%s.visit-%lld-%d.json", db, id, k);
    if (!name) gn_cli_say("memory was refused; nothing was removed");
    if (!name || access(name, F_OK)) return name;
    gn_free(name);
  }
  gn_cli_say("no name is free for the copy of visit %lld; nothing was removed", id);
  return NULL;
}

static girthline_status drop(gn_store *store, long long id, const char *json, girthline_error *error) {
  char *now = NULL;
  girthline_status status = gn_store_begin(store, error);
  if (status) return status;
  status = gn_visits_exam_of(store, id, &now, NULL, error);
  if (!status && strcmp(now, json)) status = gn_error_set(error, GIRTHLINE_REFUSED, "visits", "visit %lld was changed by another program meanwhile; nothing was removed", id);
  gn_free(now);
  if (!status) status = gn_store_drop_visit(store, id, error);
  if (!status) return gn_store_commit(store, error);
  gn_store_undo(store);
  return status;
}

static int take_out(const gn_visits_request *q, gn_store *store, long long id, const char *json) {
  girthline_error error = {0};
  char *copy = copy_name(gn_store_path(store), id);
  if (!copy) return GN_EXIT_OTHER;
  int code = gn_output_write(copy, json, strlen(json)); // on the disk before the visit goes
  if (code) {
    gn_cli_say("nothing was removed");
  } else if (drop(store, id, json, &error)) {
    code = gn_cli_fail(&error);
    unlink(copy);
  } else if (!q->quiet) {
    gn_cli_say("visit %lld was removed; its copy is %s (girthline visits add takes it back)", id, copy);
  }
  gn_free(copy);
  return code;
}

int gn_cli_visits_remove(const gn_visits_request *q) {
  int code;
  long long id;
  char *json = NULL, *text = NULL;
  girthline_error error = {0};
  if (!gn_cli_visits_id(q->words[1], &id)) return GN_EXIT_USAGE;
  gn_store *store = gn_cli_visits_open(q, GN_STORE_WRITE, &code);
  if (!store) return code ? code : GN_EXIT_OTHER;
  if (gn_visits_exam_of(store, id, &json, NULL, &error)) code = gn_cli_fail(&error);
  if (!code && !q->yes) {
    if (gn_visits_show_text(store, id, gn_terminal_width(), &text, &error)) code = gn_cli_fail(&error);
    else code = ask(text, id);
  }
  if (!code) code = take_out(q, store, id, json);
  gn_free(text);
  gn_free(json);
  gn_store_close(store);
  return code == DECLINED ? GN_EXIT_DONE : code;
}
