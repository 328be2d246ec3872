// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Rate and rhythm in words. What a recording's own findings say stays theirs; here stands what they say together, and
// each finding that asks for something is brought up once, with where it was heard.
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/numbers.h"
#include "clinic/parts.h"

static int undetermined(gn_examined *x) {
  gn_exam_finding f = gn_exam_note("rate-undetermined", GIRTHLINE_ROUTINE);
  gn_exam_say(f.text, "The rate at rest was not determined.");
  gn_exam_say(f.evidence, "No recording at rest gave a rate.");
  gn_exam_point(&f, "/rate/bpm");
  gn_exam_say(f.advice, "Count by ear over a whole minute, and record again. That no rate was found says nothing of the heart.");
  return gn_exam_add(x, &f);
}

// The sentences for a rate outside the range are the recording's own, with its sources and urgency.
static const girthline_finding *own_finding(const gn_examined *x, const char *kind, size_t *at) {
  const girthline_finding *best = NULL;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (!x->pooled[i]) continue;
    const girthline_result *r = x->recordings[i].result;
    for (size_t k = 0; k < r->n_findings; k++)
      if (!strcmp(r->findings[k].kind, kind) && (!best || r->findings[k].urgency > best->urgency)) {
        best = &r->findings[k];
        *at = i;
      }
  }
  return best;
}

bool gn_exam_mean_differs(const gn_examined *x) {
  const gn_pooled_rate *r = &x->rate;
  const girthline_limits *limits = gn_exam_limits(x);
  return limits && isfinite(r->bpm) && fabs(r->mean_bpm - r->bpm) > limits->findings.mean_differs_share * r->bpm;
}

static int rate(gn_examined *x) {
  static const char *const KINDS[] = {"rate-below", "rate-within", "rate-above"}, *const WORDS[] = {"below", "within", "above"};
  const gn_pooled_rate *r = &x->rate;
  const bool known = r->standing != GIRTHLINE_STANDING_UNKNOWN;
  const char *young = gn_exam_young(x);
  gn_exam_finding f = gn_exam_note(known ? KINDS[r->standing] : "rate-not-held", GIRTHLINE_ROUTINE);
  size_t at = 0;
  const girthline_finding *own = known ? own_finding(x, f.kind, &at) : NULL;
  const double least = gn_whole(r->recordings_bpm[0], 2), most = gn_whole(r->recordings_bpm[1], 2);
  gn_exam_say(f.text, "At rest the heart beat %.0f times a minute", gn_whole(r->settled_bpm, 2));
  if (x->n_pooled == 1) gn_exam_say(f.text, "(one recording).");
  else if (least == most) gn_exam_say(f.text, "(%zu recordings).", x->n_pooled);
  else gn_exam_say(f.text, "(%zu recordings, %.0f to %.0f).", x->n_pooled, least, most);
  if (known) gn_exam_say(f.text, "That is %s%s the usual %.0f to %.0f.", gn_numbers_just(r->settled_bpm, r->usual_range_bpm), WORDS[r->standing], r->usual_range_bpm[0], r->usual_range_bpm[1]);
  else if (young) gn_exam_say(f.text, "What is usual at this age is the rate of a %s.", young);
  else gn_exam_say(f.text, "What is usual depends on the age, which is not known.");
  if (gn_exam_mean_differs(x))
    gn_exam_say(f.text, "The mean over all beats is %.0f: it differs because %s.", gn_whole(r->mean_bpm, 2),
                x->rhythm.pattern == GIRTHLINE_PAUSES || x->rhythm.pattern == GIRTHLINE_EARLY_BEATS ? "beats are missing or come early" : "the intervals are not alike");
  if (own) {
    if (r->standing != GIRTHLINE_WITHIN) gn_exam_say(f.text, "%s: %s", x->exam->recordings[at].name, own->text);
    gn_exam_say(f.evidence, "%s", own->evidence ? own->evidence : "");
    gn_exam_say(f.advice, "%s", own->advice ? own->advice : "");
    f.urgency = own->urgency;
  } else if (young) {
    gn_exam_say(f.advice, "Name the species %s.", young);
  } else {
    gn_exam_say(f.advice, known ? "Count again at the next visit, after the animal has settled." : "Give the day of birth and the day of the examination.");
  }
  gn_exam_point(&f, "/rate/settled_bpm");
  gn_exam_point(&f, "/rate/standing");
  return gn_exam_add(x, &f);
}

static void list_places(const gn_examined *x, const char *kind, char *out, size_t size) {
  char place[GN_EXAM_PLACE_BYTES];
  size_t n = 0;
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    const girthline_result *r = x->recordings[i].result;
    for (size_t k = 0; r && k < r->n_findings; k++)
      if (!strcmp(r->findings[k].kind, kind)) {
        const size_t at = strlen(out);
        snprintf(out + at, size - at, "%s%s", n++ ? "; " : "", gn_exam_place(x, i, place));
        break;
      }
  }
}

static int bring_up(gn_examined *x, size_t i, const girthline_finding *own) {
  gn_exam_finding f = gn_exam_note(own->kind, own->urgency);
  char places[600] = "";
  list_places(x, own->kind, places, sizeof places);
  gn_exam_say(f.text, "%s", own->text ? own->text : own->kind);
  gn_exam_say(f.text, "Heard at: %s.", places);
  gn_exam_say(f.evidence, "%s", own->evidence ? own->evidence : "");
  gn_exam_say(f.advice, "%s", own->advice ? own->advice : "");
  for (size_t k = 0; k < own->n_evidence_keys; k++) gn_exam_point(&f, "/recordings/%zu/report%s", i, own->evidence_keys[k]);
  return gn_exam_add(x, &f);
}

// Told of elsewhere: rates and murmurs together, recovery as a series.
static bool told_elsewhere(const char *kind) { return !strncmp(kind, "rate-", 5) || !strncmp(kind, "murmur-", 7); }

static bool is_rhythm(const char *kind) { return !strcmp(kind, "pauses") || !strcmp(kind, "early-beats") || !strcmp(kind, "irregular"); }

static bool already(const gn_examined *x, const char *kind) {
  for (size_t i = 0; i < x->n_findings; i++)
    if (!strcmp(x->findings[i].kind, kind)) return true;
  return false;
}

// The most urgent one of each kind, once.
static int bring_up_all(gn_examined *x) {
  for (int urgency = GIRTHLINE_NOW; urgency >= GIRTHLINE_ROUTINE; urgency--)
    for (size_t i = 0; i < x->exam->n_recordings; i++) {
      const girthline_result *r = x->recordings[i].result;
      for (size_t k = 0; r && k < r->n_findings; k++) {
        const girthline_finding *own = &r->findings[k];
        if ((int)own->urgency != urgency || told_elsewhere(own->kind) || already(x, own->kind)) continue;
        if (urgency == GIRTHLINE_ROUTINE && !is_rhythm(own->kind)) continue;
        if (bring_up(x, i, own)) return -1;
      }
    }
  return 0;
}

static int rhythm(gn_examined *x) {
  if (x->rhythm.pattern == GIRTHLINE_PAUSES || x->rhythm.pattern == GIRTHLINE_EARLY_BEATS || x->rhythm.pattern == GIRTHLINE_IRREGULAR) return 0; // brought up
  gn_exam_finding f = gn_exam_note(x->rhythm.pattern == GIRTHLINE_REGULAR ? "regular" : x->rhythm.pattern == GIRTHLINE_CYCLIC ? "cyclic" : "rhythm-undetermined",
                                   GIRTHLINE_ROUTINE);
  if (already(x, f.kind) || (x->rhythm.pattern == GIRTHLINE_PATTERN_UNDETERMINED && already(x, "rhythm-uneven"))) return 0;
  gn_exam_say(f.text, "%s", x->rhythm.explanation);
  gn_exam_say(f.evidence, "Intervals are from heart sounds, not from an ECG.");
  gn_exam_point(&f, "/rhythm/pattern");
  gn_exam_say(f.advice, "What comes and goes may be missed in short recordings; an ECG over 24 hours sees more.");
  return gn_exam_add(x, &f);
}

static int not_analysed(gn_examined *x) {
  gn_exam_finding f = gn_exam_note("recording-not-analysed", GIRTHLINE_ROUTINE);
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (x->recordings[i].result) continue;
    gn_exam_say(f.text, "The recording %s could not be analysed.", x->exam->recordings[i].name);
    gn_exam_say(f.evidence, "%s.", x->recordings[i].reason);
    gn_exam_point(&f, "/recordings/%zu/report", i);
  }
  if (!f.text[0]) return 0;
  gn_exam_say(f.advice, "Check the file's name and form, or record again. What was not heard is not known to be missing.");
  return gn_exam_add(x, &f);
}

// One file named for two places, or a copy of it: a slip in a file written by hand, after which a place counts as heard that was not.
static int repeated(gn_examined *x) {
  gn_exam_finding f = gn_exam_note("recording-repeated", GIRTHLINE_ROUTINE);
  for (size_t i = 1; i < x->exam->n_recordings; i++) {
    size_t first = 0;
    while (first < i && (!*x->recordings[i].hash || strcmp(x->recordings[first].hash, x->recordings[i].hash))) first++;
    if (first == i) continue;
    gn_exam_say(f.text, "The recordings %s and %s are one and the same: at most one of them was made where and when the file says.", x->exam->recordings[first].name,
                x->exam->recordings[i].name);
    gn_exam_point(&f, "/recordings/%zu/report/recording/content_hash", i);
  }
  if (!f.text[0]) return 0;
  gn_exam_say(f.evidence, "Their files hold the same bytes. What is said over all recordings counts each of them.");
  gn_exam_say(f.advice, "Name each place's own file in the examination file, and analyse it again.");
  return gn_exam_add(x, &f);
}

int gn_exam_say_rate(gn_examined *x) {
  if (repeated(x)) return -1;
  const int said = isfinite(x->rate.settled_bpm) ? rate(x) : undetermined(x);
  return said || bring_up_all(x) || rhythm(x) || not_analysed(x) ? -1 : 0;
}
