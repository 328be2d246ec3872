// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>
#include <string.h>

#include "base/numbers.h"
#include "base/result.h"

// Pauses. One dropped beat makes an interval of about two usual ones and is common in resting horses; more than 2.4, or
// two pauses in a row, asks for an ECG soon. Three atrial beats blocked in a row (an interval of about four; three and a half to
// leave room for a shortened one) count as advanced block (Veterian Key, atrioventricular block): before work.
// Irregular and this much over the usual range: now. A choice: at such a rate a heart without an even rhythm fills badly.

// RMSSD that parted horses with and without atrial fibrillation at rest, 2-minute ECGs, manually checked: Broux et al. 2018, Table 2.
static const double FIBRILLATION_MS = 215.0;

#define ECG_FIRST "An ECG at rest first; exercise only on a veterinarian's decision."

static void about_sound(gn_note *n) { gn_say(n->evidence, "Intervals are from heart sounds, not from an ECG."); }

// The recording does not carry what its intervals seem to show.
static bool weak(const girthline_result *r) { return gn_findings_poor(r) || r->rhythm.confidence < r->limits.findings.pattern_confidence; }

static void two_rates(const girthline_result *r, gn_note *n) {
  const double a = r->rate.bpm, b = r->rate.mean_bpm;
  if (fabs(a - b) > r->limits.findings.mean_differs_share * b) gn_say(n->text, "By the usual interval the rate is %.0f a minute, by all beats counted %.0f.", gn_whole(a, 2), gn_whole(b, 2));
}

static const char *otherwise(const girthline_rhythm *y) {
  return y->pattern == GIRTHLINE_CYCLIC ? "a rhythm that else swings smoothly" : y->pattern == GIRTHLINE_PATTERN_UNDETERMINED ? "what could be used" : "an otherwise even rhythm";
}

static const double SAME_S = 1e-6; // two times so near are one beat's

static bool in_a_row(const girthline_rhythm *y) {
  for (size_t i = 1; i < y->n_pauses; i++)
    if (fabs(y->pauses[i].span.start_s - y->pauses[i - 1].span.end_s) < SAME_S) return true;
  return false;
}

// Whether a beat that comes early stands at a time; *first moves on through them, for both lists are in order.
static bool after_early(const girthline_rhythm *y, double start_s, size_t *first) {
  while (*first < y->n_early && y->early[*first].onset_s <= start_s - SAME_S) ++*first;
  return *first < y->n_early && y->early[*first].onset_s < start_s + SAME_S;
}

typedef struct pause_view { double longest_s, ratio; size_t n_atrial, n_after_early; bool in_a_row; } pause_view;

static pause_view view_pauses(const girthline_rhythm *y) {
  pause_view v = {.in_a_row = in_a_row(y)};
  size_t first_early = 0;
  for (size_t i = 0; i < y->n_pauses; i++) {
    v.longest_s = fmax(v.longest_s, y->pauses[i].span.end_s - y->pauses[i].span.start_s);
    v.ratio = fmax(v.ratio, y->pauses[i].ratio);
    v.n_atrial += y->pauses[i].n_atrial > 0;
    v.n_after_early += after_early(y, y->pauses[i].span.start_s, &first_early);
  }
  return v;
}

static void pauses_evidence(const girthline_result *r, const pause_view *v, gn_note *n) {
  gn_say(n->evidence, "Longest interval %.1f s, %.1f times the usual one; a single dropped beat makes about 2.0.", v->longest_s, v->ratio);
  if (v->n_atrial) gn_say(n->evidence, "In %zu of them a soft sound like an S4 stands alone, as when the atria beat and the chambers do not follow.", v->n_atrial);
  if (gn_findings_ridden(r->settings.species))
    gn_say(n->evidence, "Second-degree AV block is seen in about 15 %% of resting ECGs of horses and up to 44 %% over 24 hours (EquiMed review, after Reef); "
                        "often every third to fifth beat drops, and the S4 is not always heard (Patteson, Equine Cardiology 7.7.2).");
  about_sound(n);
}

// RMSSD cannot part dropped beats from fibrillation; what it is held against, and what parts them, is said where it is high.
static void rmssd_of_pauses(const girthline_result *r, gn_note *n) {
  const double ms = r->rhythm.rmssd_ms;
  if (!(ms >= FIBRILLATION_MS) || !gn_findings_ridden(r->settings.species)) return;
  gn_say(n->evidence, "RMSSD %.0f ms lies over the %.0f ms that parted 14 horses with and without atrial fibrillation (Broux et al. 2018, BMC Vet Res 14:320), but dropped "
                      "beats alone raise it as far: here the intervals between the pauses repeat.", gn_whole(ms, 1), FIBRILLATION_MS);
}

enum { IN_TURN_LEAST_N = 3 }; // early beats or pauses, none of them in a row: a choice

// Is every second interval one of n such?
static bool every_second(const girthline_rhythm *y, size_t n) { return n >= IN_TURN_LEAST_N && y->n_intervals + 1 >= 2 * n && y->n_intervals <= 2 * n + 1; }

static int pauses(girthline_result *r) {
  const girthline_rhythm *y = &r->rhythm;
  const pause_view v = view_pauses(y);
  const bool ridden = gn_findings_ridden(r->settings.species);
  const bool by_turns = !v.in_a_row && every_second(y, y->n_pauses);
  const bool advanced = v.ratio >= r->limits.findings.advanced_pause_ratio, lengthy = v.ratio > r->limits.findings.long_pause_ratio || v.in_a_row;
  // Outside grown horses and donkeys dropped beats at rest are not usual, so even single ones ask for an ECG soon.
  gn_note n = gn_findings_note("pauses", advanced ? GIRTHLINE_BEFORE_WORK : lengthy || by_turns || !ridden ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
  if (y->n_pauses == 1) gn_say(n.text, "There is one pause in %s.", otherwise(y));
  else gn_say(n.text, "There are %zu pauses in %s.", y->n_pauses, otherwise(y));
  if (v.in_a_row) gn_say(n.text, "At least two follow each other directly.");
  if (v.n_after_early == y->n_pauses) gn_say(n.text, "%s an early beat directly, as an interval that makes up for one does.", y->n_pauses == 1 ? "It follows" : "Each follows");
  else if (ridden) gn_say(n.text, "This is commonly seen with second-degree AV block, which many fit resting horses have; a missed soft beat looks alike.");
  else gn_say(n.text, "This is commonly seen with a block or a sinus pause, and less usual in %s than in horses; a missed soft beat looks alike.", gn_findings_plural(r->settings.species));
  if (by_turns) gn_say(n.text, "Every second interval is a long one: premature beats that each bring a pause make the same.");
  two_rates(r, &n);
  pauses_evidence(r, &v, &n);
  rmssd_of_pauses(r, &n);
  gn_findings_key(&n, "/rhythm/pauses");
  gn_findings_key(&n, "/rhythm/longest_interval_s");
  gn_findings_key(&n, "/rhythm/rmssd_ms");
  if (weak(r)) {
    gn_findings_soften(r, &n, y->n_pauses == 1 ? "A pause was seen" : "Pauses were seen");
    return gn_findings_add(r, &n);
  }
  gn_say(n.advice, ECG_FIRST " Pauses that vanish with exercise do not exclude disease.");
  if (lengthy) gn_say(n.advice, "Pauses this long, or in a row, ask for the ECG soon, before the animal is %s.", ridden ? "ridden or sedated" : "sedated");
  return gn_findings_add(r, &n);
}

static bool early_in_a_row(const girthline_rhythm *y) {
  for (size_t i = 1, k = 0; i < y->n_early; i++) {
    while (k < y->n_intervals && y->intervals[k].span.start_s < y->early[i - 1].onset_s) k++;
    if (k < y->n_intervals && y->intervals[k].span.start_s == y->early[i - 1].onset_s && y->intervals[k].span.end_s == y->early[i].onset_s) return true;
  }
  return false;
}

// Largest deviation of an interval from the one before in healthy horses, per cent, by rate (Flethoj et al. 2016).
static double deviation_limit_percent(double bpm) { return bpm < 60 ? 20 : bpm <= 100 ? 10 : 4; }

static void deviation_of_early(const girthline_result *r, double ratio, gn_note *n) {
  if (!gn_findings_ridden(r->settings.species)) return;
  gn_say(n->evidence, "In healthy horses an interval differs from the one before by at most 20 %% under 60 a minute, 10 %% from 60 to 100 and 4 %% above 100; premature atrial "
                      "beats at rest: median 7 in 24 hours, range 2 to 86 (Flethøj et al. 2016, BMC Vet Res 12:266).");
  if (isnan(r->rate.bpm)) return;
  const double off = 100 * (1 - ratio), limit = deviation_limit_percent(r->rate.bpm);
  gn_say(n->evidence, "At this rate the limit is %.0f %%; the earliest beat here is %.0f %% early%s.", limit, off, off > limit ? ", beyond it" : ", within it");
}

static int early(girthline_result *r) {
  const girthline_rhythm *y = &r->rhythm;
  const bool row = early_in_a_row(y);
  // Repeated early beats in a row count as complex (SAEVA 2018 proceedings, p. 27), and complex ventricular ones as a reason
  // not to ride (Reef et al. 2014): before work. Single ones were seen in healthy horses (median 7 a day): routine.
  gn_note n = gn_findings_note("early-beats", row ? GIRTHLINE_BEFORE_WORK : y->n_early > 1 ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
  double ratio = 1;
  for (size_t i = 0; i < y->n_early; i++) ratio = fmin(ratio, y->early[i].ratio);
  if (y->n_early == 1) gn_say(n.text, "One beat comes early in %s.", otherwise(y));
  else if (!row && every_second(y, y->n_early)) gn_say(n.text, "Every second beat comes early: short and long intervals come in turn.");
  else gn_say(n.text, "%zu beats come early in %s.", y->n_early, otherwise(y));
  if (row) gn_say(n.text, "At least two follow each other directly.");
  gn_say(n.text, "This is commonly seen with premature beats of the atria or the chambers; sound does not tell which.");
  gn_say(n.evidence, "The earliest comes after %.0f %% of the usual interval.", 100 * ratio);
  deviation_of_early(r, ratio, &n);
  about_sound(&n);
  gn_findings_key(&n, "/rhythm/early");
  gn_findings_key(&n, "/rhythm/intervals");
  if (weak(r)) {
    gn_findings_soften(r, &n, y->n_early == 1 ? "An early beat was seen" : "Early beats were seen");
    return gn_findings_add(r, &n);
  }
  if (!y->n_pauses) two_rates(r, &n);
  gn_say(n.advice, ECG_FIRST " A 24-hour ECG shows how many there are and where they start.");
  return gn_findings_add(r, &n);
}

static void irregular_evidence(const girthline_result *r, gn_note *n) {
  const girthline_rhythm *y = &r->rhythm;
  if (!isnan(y->interval_cv_percent) && !isnan(y->longest_interval_s))
    gn_say(n->evidence, "The intervals vary by %.0f %%; the longest is %.1f s.", gn_whole(y->interval_cv_percent, 2), y->longest_interval_s);
  if (!isnan(y->rmssd_ms) && gn_findings_ridden(r->settings.species))
    gn_say(n->evidence, "RMSSD %.0f ms; healthy resting Warmbloods 52 ± 25 ms (Liège, ORBi 2268/293159); %.0f ms parted 14 horses with and without atrial fibrillation on 2-minute "
                        "ECGs (Broux et al. 2018, BMC Vet Res 14:320). Dropped beats raise it as well, so it was not used to tell the two apart: no interval repeats here.",
           gn_whole(y->rmssd_ms, 1), FIBRILLATION_MS);
  else if (!isnan(y->rmssd_ms)) gn_say(n->evidence, "RMSSD %.0f ms.", gn_whole(y->rmssd_ms, 1));
  gn_say(n->evidence, gn_result_extra(r, GIRTHLINE_EXTRA_S4) ? "An S4 was heard, which speaks of atria that beat." : "No S4 was found; a missing S4 alone proves nothing.");
  about_sound(n);
}

static int irregular(girthline_result *r) {
  const bool ridden = gn_findings_ridden(r->settings.species);
  const bool fast = r->rate.bpm > r->limits.findings.irregular_fast_share * r->rate.usual_range_bpm[1] && r->settings.minutes_after_exercise < 0;
  // Atrial fibrillation asks for an ECG before continued work (Reef et al. 2014, from memory; SAEVA 2018): before work.
  gn_note n = gn_findings_note("irregular", fast ? GIRTHLINE_NOW : GIRTHLINE_BEFORE_WORK);
  gn_say(n.text, "The rhythm is irregular and no pattern repeats. This is commonly seen with atrial fibrillation, and also with many early beats; sound alone does not tell "
                 "them apart.");
  if (ridden) gn_say(n.text, "At a low rate it is easily mistaken for dropped beats.");
  irregular_evidence(r, &n);
  gn_findings_key(&n, "/rhythm/pattern");
  gn_findings_key(&n, "/rhythm/interval_cv_percent");
  gn_findings_key(&n, "/rhythm/rmssd_ms");
  if (weak(r)) {
    gn_findings_soften(r, &n, "The intervals look irregular");
    return gn_findings_add(r, &n);
  }
  gn_say(n.advice, ECG_FIRST " The ECG settles it; echocardiography then shows whether the heart behind it is sound.");
  gn_say(n.advice, "Nobody should %s the animal before.", ridden ? "ride or sedate" : "sedate");
  if (fast) gn_say(n.advice, "With a rate this high, call a veterinarian now.");
  return gn_findings_add(r, &n);
}

static int cyclic(girthline_result *r) {
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(r->settings.species, r->settings.age_days, &store);
  const bool marked = p && p->breathing_arrhythmia_marked;
  gn_note n = gn_findings_note("cyclic", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rate rises and falls smoothly, as with breathing.");
  if (marked) gn_say(n.text, "In %s such a breathing arrhythmia is normal and often marked.", gn_findings_plural(r->settings.species));
  else gn_say(n.text, "A breathing arrhythmia is normal; in %s it is usually less marked than in dogs.", gn_findings_plural(r->settings.species));
  gn_say(n.evidence, "%s", r->rhythm.explanation);
  if (!isnan(r->quality.breaths_per_min)) gn_say(n.evidence, "Breathing was heard %.0f times a minute.", gn_whole(r->quality.breaths_per_min, 1));
  about_sound(&n);
  gn_findings_key(&n, "/rhythm/pattern");
  gn_findings_key(&n, "/rhythm/explanation");
  gn_findings_key(&n, "/quality/breaths_per_min");
  if (weak(r)) {
    gn_findings_soften(r, &n, "The rate seems to rise and fall smoothly");
    return gn_findings_add(r, &n);
  }
  if (marked) gn_say(n.advice, "Watch whether it keeps time with the breathing. If it does not, an ECG settles it.");
  else gn_say(n.advice, "Watch whether it keeps time with the breathing. Where it is marked or does not, an ECG at rest settles it; exercise only on a veterinarian's decision.");
  return gn_findings_add(r, &n);
}

static int regular(girthline_result *r) {
  const girthline_rhythm *y = &r->rhythm;
  gn_note n = gn_findings_note("regular", GIRTHLINE_ROUTINE);
  gn_say(n.text, gn_findings_poor(r) ? "As far as a poor recording shows, the rhythm is regular" : "The rhythm is regular");
  if (r->rate.standing == GIRTHLINE_WITHIN) gn_say(n.text, "at %.0f a minute, within the usual range at rest", gn_whole(r->rate.settled_bpm, 2));
  if (y->n_pauses + y->n_early) gn_say(n.text, "but for single beats, told of apart");
  strcat(n.text, ".");
  gn_say(n.evidence, "%s", y->explanation);
  if (!isnan(y->rmssd_ms)) gn_say(n.evidence, "RMSSD %.0f ms%s.", gn_whole(y->rmssd_ms, 1), r->settings.species == GIRTHLINE_HORSE ? "; healthy resting Warmbloods 52 ± 25 ms (Liège, ORBi 2268/293159)" : "");
  about_sound(&n);
  gn_findings_key(&n, "/rhythm/pattern");
  gn_findings_key(&n, "/rhythm/intervals");
  gn_findings_key(&n, "/rhythm/rmssd_ms");
  gn_say(n.advice, "What comes and goes may be missed in a short recording; an ECG over 24 hours sees more.");
  return gn_findings_add(r, &n);
}

// Short and long intervals in turn that differ too little for early beats: a breath over two beats makes such, and early beats may.
static int uneven(girthline_result *r) {
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(r->settings.species, r->settings.age_days, &store);
  gn_note n = gn_findings_note("rhythm-uneven", p && p->breathing_arrhythmia_marked ? GIRTHLINE_ROUTINE : GIRTHLINE_SOON);
  gn_say(n.text, "The rhythm is uneven, and its pattern was not determined.");
  gn_say(n.evidence, "%s", r->rhythm.explanation);
  about_sound(&n);
  gn_findings_key(&n, "/rhythm/pattern");
  gn_findings_key(&n, "/rhythm/intervals");
  if (gn_findings_poor(r)) gn_findings_soften(r, &n, "The intervals look uneven");
  else gn_say(n.advice, "Watch whether it keeps time with the breathing, two beats to a breath. If it does not, an ECG at rest settles it; exercise only on a veterinarian's decision.");
  return gn_findings_add(r, &n);
}

static int undetermined(girthline_result *r) {
  if (gn_result_uneven(r)) return uneven(r);
  gn_note n = gn_findings_note("rhythm-undetermined", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rhythm was not determined.");
  gn_say(n.evidence, "%s", r->rhythm.explanation[0] ? r->rhythm.explanation : gn_findings_reason(r, "/rhythm/confidence"));
  gn_findings_key(&n, "/rhythm/pattern");
  gn_findings_key(&n, "/rhythm/used_count");
  gn_say(n.advice, "Record again for a minute or longer. Where the rhythm sounds uneven to the ear, an ECG at rest settles it.");
  return gn_findings_add(r, &n);
}

int gn_findings_rhythm(girthline_result *r) {
  const girthline_rhythm *y = &r->rhythm;
  int failed = 0;
  switch (y->pattern) {
  case GIRTHLINE_PATTERN_UNDETERMINED: failed = undetermined(r); break;
  case GIRTHLINE_REGULAR: failed = regular(r); break;
  case GIRTHLINE_CYCLIC: failed = cyclic(r); break;
  case GIRTHLINE_IRREGULAR: return irregular(r); // long and short intervals are what it is made of
  case GIRTHLINE_PAUSES:
  case GIRTHLINE_EARLY_BEATS: break;
  }
  if (!failed && y->n_pauses) failed = pauses(r);
  if (!failed && y->n_early) failed = early(r);
  return failed;
}
