// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>

#include "base/confidence.h"
#include "base/numbers.h"

static const char *const PHASES[] = {"systole", "diastole", "systole and diastole"};
static const char *const TIMINGS[] = {"early", "mid", "late", "through"};
static const char *const SHAPES[] = {"even", "rising", "falling", "rising and falling"};
static const char *const LOUD[] = {"softer than", "about as loud as", "louder than"};
static const char *const KINDS[] = {"murmur-systole", "murmur-diastole", "murmur-continuous"};
static const char *const KEYS[] = {"/murmur/phases/0", "/murmur/phases/1", "/murmur/phases/2", "/murmur/phases/3"};

static bool rhythm_or_rate_adds(const girthline_result *r) {
  return r->rhythm.pattern == GIRTHLINE_IRREGULAR || r->rhythm.pattern == GIRTHLINE_EARLY_BEATS || r->rate.standing == GIRTHLINE_ABOVE;
}

static void describe(const girthline_result *r, const girthline_murmur_phase *p, gn_note *n) {
  if (p->phase == GIRTHLINE_CONTINUOUS) gn_say(n->text, "A murmur runs through systole and diastole, %s the heart sounds.", LOUD[p->loudness]);
  else if (p->timing == GIRTHLINE_HOLO) gn_say(n->text, "A murmur runs through the whole of %s, %s and %s the heart sounds.", PHASES[p->phase], SHAPES[p->shape], LOUD[p->loudness]);
  else gn_say(n->text, "A murmur lies in %s %s, %s and %s the heart sounds.", TIMINGS[p->timing], PHASES[p->phase], SHAPES[p->shape], LOUD[p->loudness]);
  if (p->musical == GIRTHLINE_YES) gn_say(n->text, "It sounds musical.");
  const char *side = girthline_side_name(r->settings.side), *area = girthline_area_name(r->settings.area);
  if (side && area) gn_say(n->text, "Recorded on the %s, %s area.", side, area);
  if (!isnan(p->level_db)) gn_say(n->evidence, "Level %.0f dB against S1.", gn_whole(p->level_db, 1));
  if (!isnan(p->level_db_interval[0]) && !isnan(p->level_db_interval[1]))
    gn_say(n->evidence, "Over the beats %.0f to %.0f dB (95 %%).", gn_whole(p->level_db_interval[0], 1), gn_whole(p->level_db_interval[1], 1));
  if (!isnan(p->peak_hz)) gn_say(n->evidence, "Strongest near %.0f Hz.", gn_whole(p->peak_hz, 1));
  if (!isnan(p->beats_fraction)) gn_say(n->evidence, "In %.0f %% of the clean beats.", gn_whole(100 * p->beats_fraction, 1));
}

static void how_common(const girthline_result *r, const girthline_murmur_phase *p, gn_note *n) {
  if (r->settings.species == GIRTHLINE_HORSE && p->phase == GIRTHLINE_SYSTOLE)
    gn_say(n->evidence, "Of 846 racehorses 81 %% had a murmur; systolic ones at the pulmonic area in 43 %%, the tricuspid in 29 %%, the mitral in 4 %% (Kriz et al. 2000, JAVMA "
                        "216:1441).");
}

static void flow(gn_note *n) {
  gn_say(n->text, "It fits the pattern of a flow murmur, which many fit horses have.");
  gn_say(n->advice, "Listen again on both sides and at every visit. A murmur that grows, lengthens or comes with poor performance asks for echocardiography.");
}

static void young(gn_note *n) {
  gn_say(n->text, "It fits the short early squeak that many fit young horses have; a leak of the aortic valve begins at the same moment.");
  gn_say(n->advice, "Listen again at the next visit. One that lasts longer, or that an older horse has, asks for echocardiography.");
}

// What it is commonly seen with. Where the sounds may be exchanged the phase tells nothing of that.
static void seen_with(const girthline_result *r, const girthline_murmur_phase *p, gn_note *n) {
  if (p->phase == GIRTHLINE_CONTINUOUS) gn_say(n->text, "Such murmurs are commonly seen with an open duct or another join between the great vessels.");
  else if (gn_confidence_names_doubted(r))
    gn_say(n->text, "It may lie in %s instead: the first and the second sound may be exchanged.", PHASES[p->phase == GIRTHLINE_SYSTOLE ? GIRTHLINE_DIASTOLE : GIRTHLINE_SYSTOLE]);
  else if (p->phase == GIRTHLINE_DIASTOLE) gn_say(n->text, "Murmurs in diastole are commonly seen with a leak of the aortic valve%s.", gn_findings_ridden(r->settings.species) ? ", above all in older horses" : "");
  else if (r->settings.side == GIRTHLINE_RIGHT) gn_say(n->text, "On the right such murmurs are commonly seen with a leak of the tricuspid valve or a hole between the chambers.");
  else gn_say(n->text, "Such murmurs are commonly seen with a leak of a valve between atrium and chamber%s.", r->settings.side == GIRTHLINE_LEFT ? " (on the left the mitral)" : "");
}

static void ask_echo(const girthline_result *r, const girthline_murmur_phase *p, gn_note *n) {
  // Echocardiography is advised: soon. In a horse with an irregular or fast heart the same murmur weighs more (Patteson Table 6.2: resting
  // rate over 45, irregular rhythm): before work.
  const bool equine = gn_findings_equine(r->settings.species);
  n->urgency = equine && rhythm_or_rate_adds(r) ? GIRTHLINE_BEFORE_WORK : GIRTHLINE_SOON;
  seen_with(r, p, n);
  if (p->phase == GIRTHLINE_SYSTOLE && r->settings.side == GIRTHLINE_LEFT && equine && !gn_confidence_names_doubted(r))
    gn_say(n->evidence, "A left-sided systolic murmur counts as regurgitation until it fits the flow pattern (WEVA 2023).");
  gn_say(n->advice, "Echocardiography settles where it comes from and whether it matters.");
  if (r->rhythm.pattern == GIRTHLINE_IRREGULAR || r->rhythm.pattern == GIRTHLINE_EARLY_BEATS) gn_say(n->advice, equine ? "With this rhythm, an ECG at rest as well, before any work." : "With this rhythm, an ECG as well.");
}

static void undecided(const girthline_result *r, gn_note *n) {
  gn_say(n->text, "It cannot be sorted from this recording.");
  if (r->settings.side == GIRTHLINE_SIDE_UNKNOWN || r->settings.area == GIRTHLINE_AREA_UNKNOWN)
    gn_say(n->advice, "Say on which side and at which valve area it was recorded, and record the other areas.");
  gn_say(n->advice, "If it stays, echocardiography settles where it comes from.");
}

static void young_duct(const girthline_result *r, const girthline_murmur_phase *p, gn_note *n) {
  if (r->settings.species != GIRTHLINE_FOAL || p->phase == GIRTHLINE_DIASTOLE) return;
  gn_say(n->evidence, "In new-born foals a duct that is still open gives a continuous or systolic murmur, usually gone by one to two weeks (Horse Side Vet Guide).");
  if (p->phase != GIRTHLINE_CONTINUOUS || r->settings.age_days < 0 || r->settings.age_days > r->limits.findings.ductus_days || rhythm_or_rate_adds(r)) return;
  n->urgency = GIRTHLINE_ROUTINE;
  gn_say(n->advice, "In a bright foal this young, listen again at two weeks; if it is still there, or the foal is dull, echocardiography.");
}

// The recording does not carry it: no urgency, and no examination before it is heard again.
static void doubtful(const girthline_murmur_phase *p, gn_note *n) {
  n->urgency = GIRTHLINE_ROUTINE;
  n->advice[0] = '\0';
  if (p->phase == GIRTHLINE_CONTINUOUS) {
    gn_say(n->text, "A steady sound of the room or the recorder looks alike.");
    gn_say(n->advice, "Record again, and for some seconds with the chest piece off the animal: what is still there is no murmur. If it is gone then, or was heard by "
                      "ear, echocardiography settles where it comes from.");
    return;
  }
  gn_say(n->text, "This recording does not carry that: noise that comes with the beats looks alike.");
  gn_say(n->advice, "Record again at the same place, quieter and for longer. If it is there again, or was heard by ear, echocardiography settles where it comes from.");
}

static int one(girthline_result *r, size_t i) {
  const girthline_murmur_phase *p = &r->murmur.phases[i];
  if ((unsigned)p->phase > GIRTHLINE_CONTINUOUS || (unsigned)p->timing > GIRTHLINE_HOLO || (unsigned)p->shape > GIRTHLINE_CRESCENDO_DECRESCENDO ||
      (unsigned)p->loudness > GIRTHLINE_LOUDER)
    return 0;
  gn_note n = gn_findings_note(KINDS[p->phase], GIRTHLINE_ROUTINE);
  char reasons[700] = "";
  const gn_leaning leaning = gn_findings_leaning(r, p, reasons, sizeof reasons);
  describe(r, p, &n);
  gn_say(n.evidence, "%s", reasons);
  how_common(r, p, &n);
  if (leaning == GN_LEANS_FLOW) flow(&n);
  else if (leaning == GN_LEANS_YOUNG) young(&n);
  else if (leaning == GN_LEANS_ECHO) ask_echo(r, p, &n);
  else undecided(r, &n);
  young_duct(r, p, &n);
  if (gn_findings_poor(r) || p->confidence < r->limits.findings.murmur_confidence) doubtful(p, &n);
  gn_say(n.evidence, "A grade is not given: a thrill cannot be heard, and loudness does not tell a moderate leak from a severe one (Hövener et al. 2021).");
  gn_findings_key(&n, KEYS[i]);
  gn_findings_key(&n, "/recording/side");
  gn_findings_key(&n, "/recording/area");
  gn_findings_key(&n, "/rate/standing");
  return gn_findings_add(r, &n);
}

static void limits(const girthline_result *r, gn_note *n) {
  const double *l = r->murmur.detection_limit_db;
  if (!isnan(l[0])) gn_say(n->evidence, "Softest that could have been heard in systole: %.0f dB against S1.", gn_whole(l[0], 1));
  if (!isnan(l[1])) gn_say(n->evidence, "Softest that could have been heard in diastole: %.0f dB.", gn_whole(l[1], 1));
  gn_findings_key(n, "/murmur/present");
  gn_findings_key(n, "/murmur/detection_limit_db");
}

static int none(girthline_result *r) {
  const double *l = r->murmur.detection_limit_db;
  gn_note n = gn_findings_note("murmur-none", GIRTHLINE_ROUTINE);
  if (!isnan(l[0]) && !isnan(l[1])) gn_say(n.text, "No murmur was heard: none above %.0f dB in systole and %.0f dB in diastole.", gn_whole(l[0], 1), gn_whole(l[1], 1));
  else gn_say(n.text, "No murmur was heard.");
  limits(r, &n);
  gn_say(n.advice, "A murmur is often heard in one place only: listen at every valve area on both sides.");
  return gn_findings_add(r, &n);
}

static int undetermined(girthline_result *r) {
  gn_note n = gn_findings_note("murmur-undetermined", GIRTHLINE_ROUTINE);
  gn_say(n.text, "Whether there is a murmur was not determined.");
  gn_say(n.evidence, "%s", gn_findings_reason(r, "/murmur/present"));
  limits(r, &n);
  gn_say(n.advice, "Record again in a quieter place, for longer, with the recorder's filter at its widest, or at another site. A murmur missing from a noisy recording has not gone; where one was heard by ear, "
                   "echocardiography settles it.");
  return gn_findings_add(r, &n);
}

int gn_findings_murmur(girthline_result *r) {
  for (size_t i = 0; i < r->murmur.n_phases && i < 4; i++)
    if (one(r, i)) return -1;
  if (r->murmur.n_phases > 0) return 0;
  return r->murmur.present == GIRTHLINE_NO ? none(r) : undetermined(r);
}
