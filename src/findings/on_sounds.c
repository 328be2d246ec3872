// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/numbers.h"

// Urgency: S3 and S4 are normal in horses (Patteson, Equine Cardiology 3.4.1: two, three or four sounds are heard in normal
// horses) and not in dogs and cats, where they ask for echocardiography soon. Splits and clicks alone are routine.

static const char *const NAMES[] = {"S3", "S4", "split-S1", "split-S2", "click"};
static const char *const KINDS[] = {"extra-S3", "extra-S4", "split-S1", "split-S2", "click"};

static void filling_sound(const girthline_result *r, gn_note *n, const char *name) {
  n->urgency = GIRTHLINE_SOON;
  gn_say(n->text, "In %s an %s is not expected at rest; it is commonly seen with a stiff or stretched heart muscle.", gn_findings_plural(r->settings.species), name);
  gn_say(n->evidence, "Normal in horses, not in dogs and cats (textbooks).");
  gn_say(n->advice, "Echocardiography settles it; an ECG shows whether an early beat made it.");
}

static void other_sound(gn_note *n, girthline_extra_kind kind) {
  if (kind == GIRTHLINE_CLICK) {
    gn_say(n->text, "A click between the sounds is commonly seen with a valve leaf that bends back.");
    gn_say(n->advice, "Listen for a late systolic murmur after it; echocardiography shows the valve.");
    return;
  }
  gn_say(n->text, "A split sound may be normal, or come from a late beat of one chamber.");
  gn_say(n->advice, "Where it is wide and stays through the breath, an ECG and echocardiography settle it.");
}

// What healthy animals of this kind have: no finding of its own each.
static bool is_normal(const girthline_result *r, girthline_extra_kind kind) {
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(r->settings.species, r->settings.age_days, &store);
  switch (kind) {
  case GIRTHLINE_EXTRA_S3:
  case GIRTHLINE_EXTRA_S4: return p && p->s3_s4_normal;
  case GIRTHLINE_SPLIT_S1:
  case GIRTHLINE_SPLIT_S2: return gn_findings_equine(r->settings.species);
  case GIRTHLINE_CLICK: break;
  }
  return false;
}

static const char *where(girthline_extra_kind kind) {
  switch (kind) {
  case GIRTHLINE_EXTRA_S3: return "after S2";
  case GIRTHLINE_EXTRA_S4: return "before S1";
  case GIRTHLINE_CLICK: return "after S1";
  case GIRTHLINE_SPLIT_S1:
  case GIRTHLINE_SPLIT_S2: break;
  }
  return "between its two parts";
}

static int one(girthline_result *r, const girthline_extra *x) {
  if ((unsigned)x->kind > GIRTHLINE_CLICK) return 0;
  gn_note n = gn_findings_note(KINDS[x->kind], GIRTHLINE_ROUTINE);
  switch (x->kind) {
  case GIRTHLINE_EXTRA_S3:
  case GIRTHLINE_EXTRA_S4:
    gn_say(n.text, "An %s is heard.", NAMES[x->kind]);
    filling_sound(r, &n, NAMES[x->kind]);
    break;
  case GIRTHLINE_SPLIT_S1:
  case GIRTHLINE_SPLIT_S2:
    gn_say(n.text, "%s is heard in two parts.", x->kind == GIRTHLINE_SPLIT_S1 ? "S1" : "S2");
    other_sound(&n, x->kind);
    break;
  case GIRTHLINE_CLICK:
    gn_say(n.text, "A click is heard in systole.");
    other_sound(&n, x->kind);
    break;
  }
  gn_say(n.evidence, "In %.0f %% of the usable beats.", gn_whole(100 * x->beats_fraction, 1));
  if (!isnan(x->delay_s)) gn_say(n.evidence, "Median %.0f ms %s.", gn_whole(1000 * x->delay_s, 1), where(x->kind));
  if (!isnan(x->level_db)) gn_say(n.evidence, "Level %.0f dB against S1.", gn_whole(x->level_db, 1));
  if (gn_findings_poor(r)) gn_findings_soften(r, &n, x->kind == GIRTHLINE_CLICK ? "A click seems to be there" : "A further sound seems to be there");
  gn_findings_key(&n, "/extra_sounds");
  return gn_findings_add(r, &n);
}

// All that is normal, in one short finding.
static int usual_sounds(girthline_result *r) {
  static const char *const HEARD[] = {"an S3", "an S4", "a split S1", "a split S2", "a click"};
  gn_note n = gn_findings_note(NULL, GIRTHLINE_ROUTINE);
  char list[80] = "";
  size_t at = 0;
  for (size_t i = 0; i < r->n_extras; i++) {
    const girthline_extra *x = &r->extras[i];
    if ((unsigned)x->kind > GIRTHLINE_CLICK || !is_normal(r, x->kind)) continue;
    if (at < sizeof list) at += (size_t)snprintf(list + at, sizeof list - at, "%s%s", n.kind ? " and " : "", HEARD[x->kind]);
    if (!n.kind) n.kind = KINDS[x->kind];
    gn_say(n.evidence, "%c%s in %.0f %% of the usable beats.", HEARD[x->kind][0] - 'a' + 'A', HEARD[x->kind] + 1, gn_whole(100 * x->beats_fraction, 1));
  }
  if (!n.kind) return 0;
  gn_say(n.text, "%c%s %s heard, as in many healthy %s.", list[0] - 'a' + 'A', list + 1, strstr(list, " and ") ? "are" : "is", gn_findings_plural(r->settings.species));
  if (gn_findings_equine(r->settings.species))
    gn_say(n.evidence, "Two, three or four sounds are heard in normal horses, and S2 is often split (Patteson, Equine Cardiology 3.4.1, 3.4.3).");
  gn_findings_key(&n, "/extra_sounds");
  gn_say(n.advice, "Nothing follows from this alone.");
  return gn_findings_add(r, &n);
}

int gn_findings_sounds(girthline_result *r) {
  for (size_t i = 0; i < r->n_extras; i++)
    if (!is_normal(r, r->extras[i].kind) && one(r, &r->extras[i])) return -1;
  return usual_sounds(r);
}
