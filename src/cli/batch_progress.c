// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "cli/batch_progress.h"

#include <stdio.h>
#include <time.h>

#include "cli/interrupt.h"
#include "cli/say.h"
#include "cli/terminal.h"

#define INTERVAL_S 60.0       // between lines that are not written over: a log of a night stays readable; a choice
#define SETTLED_S 2.0         // before this an estimate is a guess
#define MINUTES_FROM_S 90.0   // left: longer is said in minutes
#define HOURS_FROM_S 5400.0   // and in hours
#define CLEAR_LINE "\r\033[K"

static double now(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

gn_telling gn_telling_start(const char *out, bool quiet, bool fresh) {
  const double now_s = now();
  return (gn_telling){.out = out, .quiet = quiet, .fresh = fresh, .redraws = gn_terminal_redraws(), .started_s = now_s, .last_s = now_s};
}

// From what is new: rows that were kept took no time.
static void put_left(const gn_batch_progress *p, double passed_s, char *text, size_t room) {
  const size_t n_new = p->n_done - p->n_kept, n_left = p->n_all - p->n_done;
  *text = 0;
  if (!n_new || !n_left || passed_s < SETTLED_S) return;
  const double left_s = passed_s * (double)n_left / (double)n_new;
  if (left_s < MINUTES_FROM_S) snprintf(text, room, ", about %.0f s left", left_s);
  else if (left_s < HOURS_FROM_S) snprintf(text, room, ", about %.0f min left", left_s / 60);
  else snprintf(text, room, ", about %.1f h left", left_s / 3600);
}

bool gn_telling_line(gn_telling *t, double now_s, const gn_batch_progress *p, char *line, size_t room) {
  char left[60];
  if (t->quiet || (!t->redraws && now_s - t->last_s < INTERVAL_S)) return false;
  t->last_s = now_s;
  put_left(p, now_s - t->started_s, left, sizeof left);
  snprintf(line, room, "%zu of %zu done, %zu failed%s", p->n_done, p->n_all, p->n_failed, left);
  return true;
}

void gn_telling_interrupted(const gn_telling *t, const gn_batch_progress *p, char *line, size_t room) {
  snprintf(line, room, "interrupted: %zu of %zu recordings are done and kept in %s; the same command%s goes on from there", p->n_done, p->n_all, t->out,
           t->fresh ? " without --fresh" : "");
}

static void end_in_order(const gn_telling *t, const gn_batch_progress *p) {
  char line[5000]; // a path may be long
  if (!t->quiet) {
    gn_telling_end(t);
    gn_telling_interrupted(t, p, line, sizeof line);
    gn_cli_say("%s", line);
  }
  gn_interrupt_end(gn_interrupt_noted());
}

void gn_telling_progress(void *user, const gn_batch_progress *p) {
  gn_telling *t = user;
  char line[160];
  const bool all = p->n_done == p->n_all;
  if (all) { // the tables are written now; nothing is lost with them
    if (!t->quiet) gn_interrupt_say("girthline: interrupted: all recordings are done and kept; the same command writes the tables\n");
    gn_interrupt_defer(false);
  }
  if (gn_interrupt_noted()) end_in_order(t, p);
  if (!gn_telling_line(t, now(), p, line, sizeof line)) return;
  if (t->redraws) fprintf(stderr, "\r%.*s\033[K", gn_terminal_width() - 1, line); // a line that wraps is not written over
  else gn_cli_say("%s", line);
  if (t->redraws && all) fputs(CLEAR_LINE, stderr);
}

void gn_telling_end(const gn_telling *t) {
  gn_interrupt_defer(false);
  gn_interrupt_say(NULL);
  if (t->redraws && !t->quiet) fputs(CLEAR_LINE, stderr);
}
