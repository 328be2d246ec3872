// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/leaning.h>

#include <math.h>
#include <string.h>

#include "base/confidence.h"
#include "base/numbers.h"
#include "findings/parts.h"

// The criteria of a flow murmur: early to mid systolic, crescendo-decrescendo, ends before S2, soft, localised at the left
// heart base (Patteson, Equine Cardiology 3.5.2; WEVA 2023). A left-sided systolic murmur counts as regurgitation until it
// fits them (WEVA 2023). Echocardiography for diastolic, continuous, holosystolic and loud murmurs (Reef et al. 2014, details from
// memory; Patteson: regurgitant murmurs of 3/6 and over).

// "Short early diastolic squeak" of fit young horses: between S2 and S3, very short, high (Patteson 3.5.2). S3 comes some
// 130 to 200 ms after S2, a quarter of a resting diastole at most; high-pitched: 150 Hz and over (a choice).

typedef struct voice { char *out; size_t size; } voice;

static void reason(const voice *v, bool holds, bool *all, const char *sentence) {
  if (holds) return;
  *all = false;
  if (v->out) gn_findings_say(v->out, v->size, "%s", sentence);
}

static bool left_base(const girthline_settings *s) {
  return s->side == GIRTHLINE_LEFT && (s->area == GIRTHLINE_PULMONIC || s->area == GIRTHLINE_AORTIC);
}

static bool fits_flow(const girthline_result *r, const girthline_murmur_phase *p, const voice *v) {
  const girthline_settings *s = &r->settings;
  bool all = true;
  const bool adult = s->age_days < 0 || s->age_days >= r->limits.findings.adult_days; // a horse that is not adult is called a foal
  reason(v, s->species == GIRTHLINE_HORSE && !s->species_assumed && adult, &all, "It is not stated to be an adult horse.");
  const bool placed = s->side != GIRTHLINE_SIDE_UNKNOWN && s->area != GIRTHLINE_AREA_UNKNOWN;
  reason(v, left_base(s), &all, placed ? "The place is not the left heart base (pulmonic or aortic area)." : "The left heart base (pulmonic or aortic area) was not stated as the place.");
  reason(v, s->minutes_after_exercise < 0, &all, "It was not recorded at rest.");
  reason(v, r->rate.standing == GIRTHLINE_WITHIN, &all, "The rate is not known to be within the range for rest.");
  reason(v, !gn_confidence_names_doubted(r), &all, "It may lie in diastole: the first and the second sound may be exchanged.");
  reason(v, p->timing == GIRTHLINE_EARLY || p->timing == GIRTHLINE_MID, &all, "It is not early or mid systolic.");
  reason(v, p->shape == GIRTHLINE_CRESCENDO_DECRESCENDO, &all, "It does not rise and fall.");
  reason(v, p->loudness != GIRTHLINE_LOUDER, &all, "It is louder than the heart sounds.");
  reason(v, p->ends_before_s2 == GIRTHLINE_YES, &all, "Its end was not measured to lie before S2.");
  return all;
}

// A leak of the aortic valve begins there too: it is only said of what is stated to be a horse, not known to be old, with an otherwise even rhythm.
static bool squeak(const girthline_result *r, const girthline_murmur_phase *p) {
  const girthline_settings *s = &r->settings;
  const girthline_findings_limits *m = &r->limits.findings;
  const bool uneven = r->rhythm.pattern == GIRTHLINE_IRREGULAR || r->rhythm.pattern == GIRTHLINE_EARLY_BEATS;
  if (gn_confidence_names_doubted(r)) return false;
  if (s->species != GIRTHLINE_HORSE || s->species_assumed || s->age_days >= m->squeak_days || uneven) return false;
  return p->phase == GIRTHLINE_DIASTOLE && p->timing == GIRTHLINE_EARLY && p->end_fraction <= m->squeak_end_share && p->peak_hz >= m->squeak_hz &&
         p->loudness != GIRTHLINE_LOUDER;
}

// Animals other than horses: no pattern of a harmless murmur by sound is in the sources used here, so that none leans that way; what is
// published of them stands in their reasons. Dogs: of 77, how long a murmur keeps above 200 Hz went with how severe the leak was
// (Ljungvall et al. 2009, Am J Vet Res 70:604); in Boxers it and the peak frequency were used to tell innocent from stenotic ones (Hoeglund et al.
// 2007, Am J Vet Res 68:962).
static void say_basis(const girthline_result *r, const voice *v) {
  if (!v->out) return;
  const girthline_species s = r->settings.species;
  if (s == GIRTHLINE_DOG)
    gn_findings_say(v->out, v->size,
                    "The pattern of a harmless flow murmur is published for adult horses and is not used for dogs. In dogs the pitch of a murmur, and how long it "
                    "stays above 200 Hz, went with how severe a leak of the mitral valve was (Ljungvall et al. 2009) and, in Boxers, was used to tell innocent from stenotic "
                    "ones (H\xC3\xB6glund et al. 2007); no limit of either is used here.");
  else
    gn_findings_say(v->out, v->size, "The pattern of a harmless flow murmur is published for adult horses; nothing published is used to sort murmurs of %s.",
                    gn_findings_plural(s));
}

gn_leaning gn_findings_leaning(const girthline_result *r, const girthline_murmur_phase *p, char *reasons, size_t size) {
  const voice v = {reasons, size}, silent = {NULL, 0};
  if (p->phase != GIRTHLINE_SYSTOLE) {
    if (squeak(r, p)) {
      if (reasons) gn_findings_say(reasons, size, "A very short, high, early diastolic sound is heard in fit young horses (Patteson 3.5.2).");
      return GN_LEANS_YOUNG;
    }
    if (reasons) gn_findings_say(reasons, size, p->phase == GIRTHLINE_DIASTOLE ? "It lies in diastole." : "It runs through systole and diastole.");
    return GN_LEANS_ECHO;
  }
  if (fits_flow(r, p, &silent)) {
    if (reasons)
      gn_findings_say(reasons, size, "Early to mid systolic, rising and falling, ends before S2, not loud, at the left heart base of an adult horse at a resting rate.");
    return GN_LEANS_FLOW;
  }
  if (r->settings.species == GIRTHLINE_HORSE || r->settings.species == GIRTHLINE_FOAL) {
    if (reasons) gn_findings_say(reasons, size, "It does not fit the pattern of a flow murmur."); // what the sentences that follow are about
    fits_flow(r, p, &v);
  } else {
    say_basis(r, &v);
  }
  const bool asks = p->timing == GIRTHLINE_HOLO || p->loudness == GIRTHLINE_LOUDER || r->settings.side == GIRTHLINE_LEFT || !gn_findings_equine(r->settings.species);
  return asks ? GN_LEANS_ECHO : GN_LEANS_UNDETERMINED;
}

girthline_leaning girthline_murmur_leaning(const girthline_result *r, const girthline_murmur_phase *p, char *reasons, size_t n_reasons) {
  GN_PLAIN_NUMBERS;
  if (reasons && n_reasons) reasons[0] = '\0';
  switch (gn_findings_leaning(r, p, n_reasons ? reasons : NULL, n_reasons)) {
  case GN_LEANS_FLOW: return GIRTHLINE_FITS_FLOW_PATTERN;
  case GN_LEANS_ECHO: return GIRTHLINE_ASKS_FOR_ECHO;
  case GN_LEANS_YOUNG:
  case GN_LEANS_UNDETERMINED: break;
  }
  return GIRTHLINE_LEANS_UNDETERMINED;
}
