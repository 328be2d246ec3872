// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>

// Urgency: S3 and S4 are normal in horses (Patteson, Equine Cardiology 3.4.1: two, three or four sounds are heard in normal
// horses) and not in dogs and cats, where they ask for echocardiography soon. Splits and clicks alone are routine.

static const char *const NAMES[] = {"S3", "S4", "split-S1", "split-S2", "click"};
static const char *const KINDS[] = {"extra-S3", "extra-S4", "split-S1", "split-S2", "click"};

static void filling_sound(const girthline_result *r, gn_note *n, const char *name) {
  const girthline_species s = r->settings.species;
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(s, r->settings.age_days, &store);
  if (p && p->s3_s4_normal) {
    gn_say(n->text, "In %s an %s is heard in healthy animals.", gn_findings_plural(s), name);
    if (gn_findings_equine(s)) gn_say(n->evidence, "Two, three or four sounds are heard in normal horses (Patteson, Equine Cardiology 3.4.1).");
    gn_say(n->advice, "Nothing follows from it alone.");
    return;
  }
  n->urgency = GIRTHLINE_SOON;
  gn_say(n->text, "In %s an %s is not expected at rest; it is commonly seen with a stiff or stretched heart muscle.", gn_findings_plural(s), name);
  gn_say(n->evidence, "Normal in horses, not in dogs and cats (textbooks).");
  gn_say(n->advice, "Echocardiography settles it; an ECG shows whether an early beat made it.");
}

static void other_sound(const girthline_result *r, gn_note *n, girthline_extra_kind kind) {
  if (kind == GIRTHLINE_CLICK) {
    gn_say(n->text, "A click between the sounds is commonly seen with a valve leaf that bends back.");
    gn_say(n->advice, "Listen for a late systolic murmur after it; echocardiography shows the valve.");
    return;
  }
  if (gn_findings_equine(r->settings.species)) {
    gn_say(n->text, "A split sound is frequent in normal horses.");
    if (kind == GIRTHLINE_SPLIT_S2) gn_say(n->evidence, "S2 is often split in normal horses, wider on breathing in (Patteson, Equine Cardiology 3.4.3).");
    gn_say(n->advice, "Nothing follows from it alone.");
  } else {
    gn_say(n->text, "A split sound may be normal, or come from a late beat of one chamber.");
    gn_say(n->advice, "Where it is wide and stays through the breath, an ECG and echocardiography settle it.");
  }
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
    other_sound(r, &n, x->kind);
    break;
  case GIRTHLINE_CLICK:
    gn_say(n.text, "A click is heard in systole.");
    other_sound(r, &n, x->kind);
    break;
  }
  gn_say(n.evidence, "In %.0f %% of the usable beats.", 100 * x->beats_fraction);
  if (!isnan(x->delay_s)) gn_say(n.evidence, "Median %.0f ms %s.", 1000 * x->delay_s, where(x->kind));
  if (!isnan(x->level_db)) gn_say(n.evidence, "Level %.0f dB against S1.", x->level_db);
  gn_findings_key(&n, "/extra_sounds");
  return gn_findings_add(r, &n);
}

int gn_findings_sounds(girthline_result *r) {
  for (size_t i = 0; i < r->n_extras; i++)
    if (one(r, &r->extras[i])) return -1;
  return 0;
}
