// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Murmurs of the examination in words: where loudest, where else, which way they lean and why; and where none was listened for.
#include <math.h>
#include <string.h>

#include "clinic/parts.h"

static const char *const PHASES[] = {"systole", "diastole", "systole and diastole"};
static const char *const TIMINGS[] = {"in early", "in mid", "in late", "through the whole of"};
static const char *const SHAPES[] = {"even", "rising", "falling", "rising and falling"};
static const char *const LOUD[] = {"softer than", "about as loud as", "louder than"};
static const char *const KINDS[] = {"murmur-systole", "murmur-diastole", "murmur-continuous"};

static const char DOUBT[] = "It is uncertain: noise that comes with the beats looks alike.";
static const char DOUBT_CONTINUOUS[] = "It is uncertain: a steady sound of the room or the recorder looks alike.";

// Which way a murmur leans, in a sentence. Of those in diastole the early squeak of fit young horses alone does not ask for echocardiography.
static const char *leaning_words(const gn_exam_murmur *m) {
  if (m->leaning == GIRTHLINE_FITS_FLOW_PATTERN) return "It fits the pattern of a flow murmur.";
  if (m->leaning == GIRTHLINE_ASKS_FOR_ECHO) return "It asks for echocardiography.";
  if (m->phase == GIRTHLINE_DIASTOLE && !m->doubtful) return "It fits the short early squeak that many fit young horses have; a leak of the aortic valve begins at the same moment.";
  return "It cannot be sorted from these recordings.";
}

// What the recordings' own findings ask for, by how soon.
static girthline_urgency own_urgency(const gn_examined *x, const gn_exam_murmur *m) {
  girthline_urgency most = GIRTHLINE_ROUTINE;
  for (size_t k = 0; k < m->n_heard; k++) {
    const girthline_result *r = x->recordings[m->heard[k].recording].result;
    for (size_t i = 0; i < r->n_findings; i++)
      if (!strcmp(r->findings[i].kind, KINDS[m->phase]) && r->findings[i].urgency > most) most = r->findings[i].urgency;
  }
  return most;
}

static void where(const gn_examined *x, const gn_exam_murmur *m, gn_exam_finding *f) {
  char place[GN_EXAM_PLACE_BYTES];
  for (size_t k = 0; k < m->n_heard; k++) {
    const gn_heard_at at = m->heard[k];
    const girthline_murmur_phase *p = &x->recordings[at.recording].result->murmur.phases[at.phase];
    const char *name = gn_exam_place(x, at.recording, place);
    char level[24];
    if (!k) gn_exam_say(f->text, "A murmur %s %s %s, %s and %s the heart sounds. Loudest: %s.", p->timing == GIRTHLINE_HOLO ? "runs" : "lies", TIMINGS[p->timing], PHASES[m->phase], SHAPES[p->shape], LOUD[p->loudness], name);
    else gn_exam_say(f->text, "Also heard: %s (%s %s, %s).", name, TIMINGS[p->timing], PHASES[m->phase], SHAPES[p->shape]);
    if (isfinite(p->level_db)) gn_exam_say(f->evidence, "%s %s: %s dB against S1 there.", k ? "At the" : "Level at the", name, gn_exam_signed(p->level_db, level));
    gn_exam_point(f, "/recordings/%zu/report/murmur/phases/%zu", at.recording, at.phase);
  }
  if (m->differs) gn_exam_say(f->text, "Timing or shape differ between the places: there may be more than one murmur.");
  if (m->doubtful) gn_exam_say(f->text, "%s", m->phase == GIRTHLINE_CONTINUOUS ? DOUBT_CONTINUOUS : DOUBT);
  if (m->n_heard == 1) gn_exam_say(f->text, "It was heard at no other place that was recorded.");
}

static void lean(const gn_examined *x, const gn_exam_murmur *m, gn_exam_finding *f) {
  const char *const echo_found = gn_exam_text(x->exam, GN_SECTION_ELSEWHERE, GN_ELSEWHERE_ECHO);
  gn_exam_say(f->text, "%s", leaning_words(m));
  if (m->leaning == GIRTHLINE_FITS_FLOW_PATTERN) {
    gn_exam_say(f->advice, "Listen again on both sides and at every visit. A murmur that grows, lengthens or comes with poor performance asks for echocardiography.");
  } else if (m->leaning == GIRTHLINE_ASKS_FOR_ECHO) {
    gn_exam_say(f->advice, "Echocardiography settles where it comes from and whether it matters.");
  } else {
    gn_exam_say(f->advice, "Record every valve area on both sides. If it stays, echocardiography settles where it comes from.");
  }
  if (echo_found) gn_exam_say(f->advice, "An echocardiographic examination is noted under elsewhere; hold this murmur against it.");
  if (x->rhythm.pattern == GIRTHLINE_IRREGULAR || x->rhythm.pattern == GIRTHLINE_EARLY_BEATS) gn_exam_say(f->advice, "With this rhythm, an ECG at rest as well, before any work.");
}

static int one(gn_examined *x, size_t i) {
  const gn_exam_murmur *m = &x->murmurs[i];
  gn_exam_finding f = gn_exam_note(KINDS[m->phase], own_urgency(x, m));
  if (m->leaning == GIRTHLINE_ASKS_FOR_ECHO && f.urgency < GIRTHLINE_SOON && x->species != GIRTHLINE_FOAL) f.urgency = GIRTHLINE_SOON;
  gn_exam_point(&f, "/murmurs/%zu", i);
  where(x, m, &f);
  lean(x, m, &f);
  gn_exam_say(f.evidence, "%s", m->reasons);
  if (m->phase == GIRTHLINE_SYSTOLE && gn_exam_equine(x))
    gn_exam_say(f.evidence, "Anaemia, fever and colic can cause systolic murmurs that go with recovery (Veterian Key, heart murmur).");
  gn_exam_say(f.evidence, "A grade is not given: a thrill cannot be heard, and loudness does not tell a moderate leak from a severe one (Hövener et al. 2021).");
  return gn_exam_add(x, &f);
}

static int none(gn_examined *x) {
  gn_exam_finding f = gn_exam_note("murmur-none", GIRTHLINE_ROUTINE);
  char place[GN_EXAM_PLACE_BYTES];
  size_t n = 0, n_unknown = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!x->recordings[i].result) continue;
    const girthline_murmur *m = &x->recordings[i].result->murmur;
    if (m->present != GIRTHLINE_NO) {
      n_unknown++;
      continue;
    }
    n++;
    const char *name = gn_exam_place(x, i, place);
    char systole[24], diastole[24];
    if (isfinite(m->detection_limit_db[0]) && isfinite(m->detection_limit_db[1]))
      gn_exam_say(f.evidence, "The %s could have shown one of %s dB in systole and %s dB in diastole.", name, gn_exam_signed(m->detection_limit_db[0], systole),
                  gn_exam_signed(m->detection_limit_db[1], diastole));
  }
  if (!n) f.kind = "murmur-undetermined";
  if (n && x->exam->n_recordings == 1) gn_exam_say(f.text, "No murmur was heard in the one recording.");
  else if (n) gn_exam_say(f.text, "No murmur was heard in %zu of %zu recordings.", n, x->exam->n_recordings);
  else gn_exam_say(f.text, "Whether there is a murmur was not determined.");
  if (n && n_unknown) gn_exam_say(f.text, n_unknown == 1 ? "In one it was not determined." : "In %zu it was not determined.", n_unknown);
  gn_exam_say(f.evidence, "A murmur missing from a noisy recording is not known to be absent.");
  gn_exam_point(&f, "/murmurs");
  gn_exam_say(f.advice, "A murmur is often heard in one place only: listen at every valve area on both sides.");
  return gn_exam_add(x, &f);
}

static int areas(gn_examined *x) {
  if (!x->n_not_recorded) return 0;
  gn_exam_finding f = gn_exam_note("areas-not-recorded", GIRTHLINE_ROUTINE);
  for (size_t i = 0; i < x->n_not_recorded; i++) {
    char sentence[200] = "";
    gn_exam_say(sentence, "%s.", x->not_recorded[i].consequence);
    if (sentence[0] >= 'a' && sentence[0] <= 'z') sentence[0] = (char)(sentence[0] - 'a' + 'A');
    gn_exam_say(f.text, "%s", sentence);
  }
  gn_exam_say(f.evidence, "Murmurs are often heard at one area only; of 846 racehorses 28.5 %% had a systolic murmur at the right tricuspid area (Kriz et al. 2000, JAVMA 216:1441).");
  gn_exam_point(&f, "/not_recorded");
  gn_exam_say(f.advice, "Record the missing areas before a murmur is said to be absent.");
  return gn_exam_add(x, &f);
}

void gn_exam_murmur_words(const gn_examined *x, char said[200], char why[600]) {
  char place[GN_EXAM_PLACE_BYTES];
  for (size_t i = 0; i < x->n_murmurs; i++) {
    const gn_exam_murmur *m = &x->murmurs[i];
    const gn_heard_at at = m->heard[0];
    const girthline_murmur_phase *p = &x->recordings[at.recording].result->murmur.phases[at.phase];
    gn_exam_append(said, 200, "%s murmur %s %s", i ? "and a" : "A", TIMINGS[p->timing], PHASES[m->phase]);
    gn_exam_append(why, 600, "Loudest: %s.", gn_exam_place(x, at.recording, place));
    for (size_t k = 1; k < m->n_heard; k++) gn_exam_append(why, 600, k == 1 ? "Also: %s%c" : "%s%c", gn_exam_place(x, m->heard[k].recording, place), k + 1 < m->n_heard ? ',' : '.');
    if (m->doubtful) gn_exam_append(why, 600, "%s", m->phase == GIRTHLINE_CONTINUOUS ? DOUBT_CONTINUOUS : DOUBT);
    gn_exam_append(why, 600, "%s", leaning_words(m));
  }
  size_t n_none = 0, n_unknown = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    const girthline_result *r = x->recordings[i].result;
    n_none += r && r->murmur.present == GIRTHLINE_NO;
    n_unknown += !r || r->murmur.present == GIRTHLINE_UNKNOWN;
  }
  if (!x->n_murmurs) gn_exam_append(said, 200, n_none ? "No murmur found" : "Not determined");
  if (n_unknown) gn_exam_append(why, 600, "Recordings in which it was not determined: %zu.", n_unknown);
  for (size_t i = 0; i < x->n_not_recorded; i++) {
    const char *area = girthline_area_name(x->not_recorded[i].area);
    gn_exam_append(why, 600, i ? "%s%s%s%s" : "Not recorded, or not in a usable way: %s%s%s%s", girthline_side_name(x->not_recorded[i].side), area ? " " : "", area ? area : "", i + 1 < x->n_not_recorded ? "," : ".");
  }
}

int gn_exam_say_murmurs(gn_examined *x) {
  for (size_t i = 0; i < x->n_murmurs; i++)
    if (one(x, i)) return -1;
  if (!x->n_murmurs && none(x)) return -1;
  return areas(x);
}
