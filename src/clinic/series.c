// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Recordings after exercise: how the rate came back, and whether the rhythm was even then.
#include <math.h>
#include <stdio.h>

#include "base/numbers.h"
#include "clinic/parts.h"

#define ECG_FIRST "An ECG at rest first; exercise only on a veterinarian's decision."

void gn_exam_series(gn_examined *x) {
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (gn_exam_at_rest(x, i) || !x->recordings[i].result) continue;
    const double minutes = x->exam->recordings[i].minutes_after_exercise;
    const double bpm = gn_exam_usable(x, i) ? x->recordings[i].result->rate.bpm : (double)NAN;
    size_t k = x->n_recovery++;
    for (; k > 0 && x->recovery[k - 1].minutes_after_exercise > minutes; k--) x->recovery[k] = x->recovery[k - 1];
    x->recovery[k] = (gn_recovery_point){i, minutes, bpm, 100 * (bpm / x->rate.settled_bpm - 1)};
  }
}

static void judge(const gn_examined *x, const gn_recovery_point *last, gn_exam_finding *f) {
  if (x->species != GIRTHLINE_HORSE) {
    gn_exam_say(f->text, "No published recovery is held here for this animal.");
    return;
  }
  const double minutes = last->minutes_after_exercise;
  if (last->over_resting_percent <= GN_RECOVERY_BACK_PERCENT) gn_exam_say(f->text, "By then it was back within %.0f %% of the resting rate.", GN_RECOVERY_BACK_PERCENT);
  else if (minutes < GN_RECOVERY_LIGHT_MIN) gn_exam_say(f->text, "That is too early to hold it against published recovery.");
  else if (minutes < GN_RECOVERY_HARD_LEAST_MIN) gn_exam_say(f->text, "That is slower than published for light work; after hard work it is not late yet.");
  else if (minutes <= GN_RECOVERY_HARD_MOST_MIN) gn_exam_say(f->text, "That is slower than published for light work, and at the end of what is published for hard work.");
  else {
    gn_exam_say(f->text, "That is slower than published for light and for hard work.");
    f->urgency = GIRTHLINE_SOON;
  }
  if (minutes >= GN_RECOVERY_HARD_LEAST_MIN && last->over_resting_percent > GN_RECOVERY_BACK_PERCENT) f->urgency = GIRTHLINE_SOON;
  gn_exam_say(f->evidence, "Published for horses: within 15 %% of the resting rate by 15 minutes after light and 30 to 45 minutes after hard work (Patteson, Equine Cardiology "
                           "3.8.3). How hard the work was is not known here.");
}

static void say_rate(const gn_recovery_point *p, gn_exam_finding *f) {
  const double over = gn_whole(p->over_resting_percent, 1);
  char minutes[40], percent[24];
  gn_exam_say(f->text, "%s after exercise the rate was", gn_numbers_minutes(p->minutes_after_exercise, minutes));
  if (!isfinite(p->bpm)) gn_exam_say(f->text, "not determined.");
  else if (!isfinite(over)) gn_exam_say(f->text, "%.0f a minute (no resting rate to hold it against).", gn_whole(p->bpm, 2));
  else if (fabs(over) < 0.5) gn_exam_say(f->text, "%.0f a minute (as at rest).", gn_whole(p->bpm, 2));
  else gn_exam_say(f->text, "%.0f a minute (%s%s %% against rest).", gn_whole(p->bpm, 2), over > 0 ? "+" : "", gn_exam_signed(over, percent));
}

static int recovery(gn_examined *x) {
  gn_exam_finding f = gn_exam_note("recovery", GIRTHLINE_ROUTINE);
  const gn_recovery_point *last = NULL;
  for (size_t k = 0; k < x->n_recovery; k++)
    if (isfinite(x->recovery[k].bpm)) say_rate(last = &x->recovery[k], &f);
  if (last && isfinite(last->over_resting_percent)) {
    gn_exam_say(f.evidence, "The resting rate is %.0f a minute.", gn_whole(x->rate.settled_bpm, 2));
    judge(x, last, &f);
  }
  for (size_t k = 0; k < x->n_recovery; k++) // behind the judgement, which speaks of the last rate there is
    if (!isfinite(x->recovery[k].bpm)) say_rate(&x->recovery[k], &f);
  gn_exam_point(&f, "/recovery");
  gn_exam_point(&f, "/rate/settled_bpm");
  if (f.urgency == GIRTHLINE_SOON) gn_exam_say(f.advice, "A slow recovery asks for a clinical examination and an ECG at rest before further work.");
  else gn_exam_say(f.advice, "Record at the same minutes next time; recovery is compared with the animal's own. Exercise is decided on by a veterinarian.");
  return gn_exam_add(x, &f);
}

typedef struct after {
  size_t n_heard, n_pauses, n_early, n_irregular, n_unknown;
} after;

static after look(const gn_examined *x) {
  after a = {0};
  for (size_t k = 0; k < x->n_recovery; k++) {
    const size_t i = x->recovery[k].recording;
    const girthline_rhythm *y = &x->recordings[i].result->rhythm;
    if (!gn_exam_usable(x, i) || y->pattern == GIRTHLINE_PATTERN_UNDETERMINED) {
      a.n_unknown++;
      continue;
    }
    a.n_heard++;
    a.n_pauses += y->n_pauses;
    a.n_early += y->n_early;
    a.n_irregular += y->pattern == GIRTHLINE_IRREGULAR;
  }
  return a;
}

static int rhythm_after(gn_examined *x) {
  const after a = look(x);
  // A rhythm that is not even after work is not the dropped beat of a resting horse, which light exercise takes away (EquiMed): before work.
  const bool uneven = a.n_irregular || a.n_pauses || a.n_early;
  gn_exam_finding f = gn_exam_note("rhythm-after-exercise", uneven ? GIRTHLINE_BEFORE_WORK : GIRTHLINE_ROUTINE);
  if (!a.n_heard) gn_exam_say(f.text, "The rhythm after exercise was not determined.");
  else {
    if (a.n_pauses) gn_exam_say(f.text, "Pauses heard after exercise: %zu.", a.n_pauses);
    else gn_exam_say(f.text, "After exercise no pauses were heard.");
    gn_exam_say(f.text, "%s", a.n_irregular ? "The rhythm was irregular then." : "The rhythm was not irregular then.");
    if (a.n_early) gn_exam_say(f.text, "Beats that came early: %zu.", a.n_early);
  }
  if (a.n_heard && a.n_unknown) gn_exam_say(f.text, "Recordings after exercise in which it was not determined: %zu.", a.n_unknown);
  if (a.n_heard && !a.n_pauses && x->rhythm.n_pauses) gn_exam_say(f.text, "Pauses at rest: %zu.", x->rhythm.n_pauses);
  gn_exam_say(f.evidence, "Intervals are from heart sounds, not from an ECG.");
  gn_exam_point(&f, "/recovery");
  for (size_t k = 0; k < x->n_recovery && k < 4; k++) gn_exam_point(&f, "/recordings/%zu/report/rhythm", x->recovery[k].recording);
  gn_exam_say(f.advice, "Pauses that vanish with exercise do not exclude disease.");
  if (uneven || x->rhythm.n_pauses || x->rhythm.pattern == GIRTHLINE_IRREGULAR) gn_exam_say(f.advice, ECG_FIRST);
  if (uneven) gn_exam_say(f.advice, "Nobody should ride, work or sedate the animal before a veterinarian has decided.");
  return gn_exam_add(x, &f);
}

int gn_exam_say_series(gn_examined *x) {
  if (!x->n_recovery) return 0;
  return recovery(x) || rhythm_after(x) ? -1 : 0;
}
