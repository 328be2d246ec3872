// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>

#include "base/numbers.h"
#include "base/result.h"

// Urgency. Below: routine down to 0.85 of the range's lower end (a horse at 24, still inside the wider published range of
// 24 to 45), then soon; under 0.7 of it before work, since nobody should ride or sedate on a rate no range holds.
// A foal or calf does no work, and a heart that slow is none of fitness: now (choices).
// Above: up to 1.25 times the upper end excitement explains it as well (healthy horses' reference interval reaches 53,
// Berthoud and Schwarzwald 2021; 55 is 1.25 times 44), then soon; over 1.6 times before work.

#define YOUNG_AND_DULL "A young animal that is dull or does not drink needs a veterinarian whatever its rate."

static void usual(const girthline_result *r, gn_note *n) {
  const double *u = r->rate.usual_range_bpm;
  if (!isnan(u[0])) gn_say(n->evidence, "Usual at rest for %s: %.0f to %.0f a minute.", gn_findings_plural(r->settings.species), u[0], u[1]);
  if (r->settings.species == GIRTHLINE_HORSE)
    gn_say(n->evidence, "Published for horses: 24 to 45, and over 45 truly at rest is to be looked into (Patteson, Equine Cardiology, Table 6.2); healthy "
                        "Warmbloods 27 to 53 (Berthoud and Schwarzwald 2021, J Vet Intern Med 35).");
}

static bool is_young(const girthline_result *r) { return r->settings.species == GIRTHLINE_FOAL || r->settings.species == GIRTHLINE_CALF; }

// Early beats and pauses part what a count over the whole gives from the usual interval: said where the former lies within the range.
static void say_counted(const girthline_result *r, gn_note *n) {
  const double mean = r->rate.mean_bpm, *range = r->rate.usual_range_bpm;
  if (!isnan(r->rate.settled_from_s) || !(mean >= range[0] && mean <= range[1])) return;
  gn_say(n->text, "This is the rate by the usual interval; counted over all beats it is %.0f, within the range.", gn_whole(mean, 2));
  gn_findings_key(n, "/rate/mean_bpm");
}

// What it points to, and what a count gives; true where the recording does not carry more than `seen`.
static bool is_softened(const girthline_result *r, gn_note *n, const char *seen) {
  gn_findings_key(n, "/rate/settled_bpm");
  gn_findings_key(n, "/rate/usual_range_bpm");
  say_counted(r, n);
  if (gn_findings_poor(r)) gn_findings_soften(r, n, seen);
  return gn_findings_poor(r);
}

// So far off the usual that it may be another animal's; of an assumed species a finding of its own tells.
static void ask_for_species(const girthline_result *r, gn_note *n) {
  if (n->urgency < GIRTHLINE_BEFORE_WORK || r->settings.species_assumed) return;
  gn_say(n->advice, "Check the species: %s was given, and another animal's heart may be misread.", girthline_species_name(r->settings.species));
}

static int below(girthline_result *r) {
  const double bpm = r->rate.settled_bpm, lo = r->rate.usual_range_bpm[0];
  const girthline_findings_limits *m = &r->limits.findings;
  const bool young = is_young(r);
  const girthline_urgency far = young ? GIRTHLINE_NOW : GIRTHLINE_BEFORE_WORK;
  const girthline_urgency u = bpm < m->below_work_share * lo ? far : bpm < m->below_soon_share * lo ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE;
  gn_note n = gn_findings_note("rate-below", u);
  gn_say(n.text, "The rate is %.0f a minute, %sbelow the usual range. %s; a slow regular heart may be a block too.", gn_whole(bpm, 2), gn_numbers_just(bpm, r->rate.usual_range_bpm),
         young ? "At this age that is no sign of fitness" : u == GIRTHLINE_ROUTINE ? "Fit and quiet animals may run this slow" : "That is slow even for a fit and quiet animal");
  usual(r, &n);
  if (is_softened(r, &n, "The rate was read as below the usual range")) return gn_findings_add(r, &n);
  gn_say(n.advice, "An ECG at rest tells a slow healthy heart from a block. Until a veterinarian has seen it, no sedation%s.",
         gn_findings_ridden(r->settings.species) ? " and no riding" : "");
  if (young) gn_say(n.advice, u == GIRTHLINE_NOW ? "With a rate this low, call a veterinarian now." : YOUNG_AND_DULL);
  ask_for_species(r, &n);
  return gn_findings_add(r, &n);
}

static int above(girthline_result *r) {
  const double bpm = r->rate.settled_bpm, hi = r->rate.usual_range_bpm[1];
  const girthline_findings_limits *m = &r->limits.findings;
  const girthline_urgency u = bpm > m->above_work_share * hi ? GIRTHLINE_BEFORE_WORK : bpm > m->above_soon_share * hi ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE;
  gn_note n = gn_findings_note("rate-above", u);
  gn_say(n.text, "The rate is %.0f a minute, %sabove the usual range at rest. Contact, excitement, pain and fever raise it, and so does heart disease.", gn_whole(bpm, 2),
         gn_numbers_just(bpm, r->rate.usual_range_bpm));
  usual(r, &n);
  if (r->settings.species == GIRTHLINE_HORSE)
    gn_say(n.evidence, "Under mild stress healthy horses ran at 46 ± 2 (J Vet Intern Med 2024, doi 10.1111/jvim.16967); horses with disease of the heart muscle at 53 ± 15 "
                       "(Koenig et al. 2017).");
  if (is_softened(r, &n, "The rate was read as above the usual range")) return gn_findings_add(r, &n);
  gn_say(n.advice, "Let the animal stand quietly and listen again for some minutes. If the rate stays high, a clinical examination comes first, and an ECG at rest "
                   "shows where the rhythm starts.");
  ask_for_species(r, &n);
  return gn_findings_add(r, &n);
}

// A regular rhythm's own finding tells of such a rate as well.
static int within(girthline_result *r) {
  if (r->rhythm.pattern == GIRTHLINE_REGULAR) return 0;
  gn_note n = gn_findings_note("rate-within", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rate is %.0f a minute, within the usual range at rest.", gn_whole(r->rate.settled_bpm, 2));
  usual(r, &n);
  gn_findings_key(&n, "/rate/settled_bpm");
  gn_findings_key(&n, "/rate/usual_range_bpm");
  gn_say(n.advice, gn_findings_poor(r) ? "The recording is poor: count by ear over a whole minute as well." : "Nothing follows from the rate alone.");
  return gn_findings_add(r, &n);
}

static int settled(girthline_result *r) {
  if (isnan(r->rate.settled_from_s)) return 0;
  gn_note n = gn_findings_note("rate-settled", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rate fell after the start and was steady from %.0f s on, at %.0f a minute.", r->rate.settled_from_s, gn_whole(r->rate.settled_bpm, 2));
  if (!isnan(r->rate.max_bpm)) gn_say(n.evidence, "Highest over 15 s: %.0f a minute, lowest %.0f.", gn_whole(r->rate.max_bpm, 2), gn_whole(r->rate.min_bpm, 2));
  gn_say(n.evidence, "Touching the chest raises the rate for about a minute (common practice, no source).");
  gn_findings_key(&n, "/rate/settled_bpm");
  gn_findings_key(&n, "/rate/settled_from_s");
  gn_say(n.advice, "The settled rate is the one to compare.");
  return gn_findings_add(r, &n);
}

static int mean_differs(girthline_result *r) {
  const double a = r->rate.bpm, b = r->rate.mean_bpm;
  if (!(fabs(a - b) > r->limits.findings.mean_differs_share * b) || r->rhythm.n_pauses || r->rhythm.n_early) return 0; // pauses and early beats tell of it
  gn_note n = gn_findings_note("rate-mean-differs", GIRTHLINE_ROUTINE);
  gn_say(n.text, "Two rates stand side by side: %.0f a minute by the usual interval, %.0f by all beats counted.", gn_whole(a, 2), gn_whole(b, 2));
  gn_say(n.evidence, "They differ by %.0f %%. The first does not see dropped beats; the second is what a count over the whole gives.", 100 * fabs(a - b) / b);
  gn_findings_key(&n, "/rate/bpm");
  gn_findings_key(&n, "/rate/mean_bpm");
  gn_say(n.advice, "Look at the intervals: long and short ones have their own finding.");
  return gn_findings_add(r, &n);
}

static int after_exercise(girthline_result *r) {
  const double minutes = r->settings.minutes_after_exercise, bpm = r->rate.bpm, hi = r->rate.usual_range_bpm[1];
  const bool horse = r->settings.species == GIRTHLINE_HORSE;
  const bool slow = horse && minutes >= r->limits.findings.recovered_min && bpm > r->limits.findings.recovered_share * hi;
  gn_note n = gn_findings_note("rate-after-exercise", slow ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
  char after[40];
  gn_say(n.text, "%s after exercise the rate is %.0f a minute. It is not held against the range for rest.", gn_numbers_minutes(minutes, after), gn_whole(bpm, 2));
  if (slow) gn_say(n.text, "By now it would usually have come back near to rest.");
  if (horse)
    gn_say(n.evidence, "Published for horses: 60 to 110 right after ten minutes of brisk trot and canter, near rest by 20 minutes (The Veterinary Care of the Horse, "
                       "p. 723); within 15 %% of rest by 15 minutes after light and 30 to 45 minutes after hard work (Patteson, Equine Cardiology 3.8.3).");
  else gn_say(n.evidence, "No published recovery figure for %s is held here.", gn_findings_plural(r->settings.species));
  gn_findings_key(&n, "/recording/minutes_after_exercise");
  gn_findings_key(&n, "/rate/bpm");
  if (slow) gn_say(n.advice, "A slow recovery asks for a clinical examination and an ECG at rest before further work.");
  else gn_say(n.advice, "Record again at rest, and at the same minutes next time; recovery is compared with the animal's own.");
  return gn_findings_add(r, &n);
}

static int needs_species(girthline_result *r, const char *young) {
  gn_note n = gn_findings_note("rate-needs-species", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rate is %.0f a minute. It is not held against the range of %s: at this age it is that of a %s that counts.", gn_whole(r->rate.settled_bpm, 2),
         gn_findings_plural(r->settings.species), young);
  gn_say(n.evidence, "%s", gn_findings_reason(r, "/rate/standing"));
  gn_findings_key(&n, "/rate/settled_bpm");
  gn_findings_key(&n, "/rate/standing");
  gn_say(n.advice, "Analyse the recording again as that of a %s. " YOUNG_AND_DULL, young);
  return gn_findings_add(r, &n);
}

static int needs_age(girthline_result *r) {
  gn_note n = gn_findings_note("rate-needs-age", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rate is %.0f a minute. Whether that is usual depends on the age, which was not given.", gn_whole(r->rate.settled_bpm, 2));
  if (r->settings.species == GIRTHLINE_FOAL)
    gn_say(n.evidence, "A foal's rate is 70 to 80 at birth, up to about 150 within 12 hours and 90 to 120 by the second day (Mustang Alley, quoting a veterinarian; "
                       "weak source); 60 to 100 from the first week on (neonatal texts, from memory).");
  else gn_say(n.evidence, "A calf's rate is 100 to 140 when new-born and 80 to 120 in the first weeks (textbooks, from memory).");
  gn_findings_key(&n, "/rate/settled_bpm");
  gn_findings_key(&n, "/rate/standing");
  gn_say(n.advice, "Give the age in days. " YOUNG_AND_DULL);
  return gn_findings_add(r, &n);
}

static int undetermined(girthline_result *r) {
  gn_note n = gn_findings_note("rate-undetermined", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The rate was not determined.");
  gn_say(n.evidence, "%s", gn_findings_reason(r, "/rate/bpm"));
  gn_findings_key(&n, "/rate/bpm");
  gn_say(n.advice, "Count by ear over a whole minute, and record again. That no rate was found says nothing of the heart.");
  return gn_findings_add(r, &n);
}

static int standing(girthline_result *r) {
  if (r->settings.minutes_after_exercise >= 0) return after_exercise(r);
  switch (r->rate.standing) {
  case GIRTHLINE_BELOW: return below(r);
  case GIRTHLINE_ABOVE: return above(r);
  case GIRTHLINE_WITHIN: return within(r);
  case GIRTHLINE_STANDING_UNKNOWN: break;
  }
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(r->settings.species, r->settings.age_days, &store);
  const char *young = gn_species_young(r->settings.species, r->settings.age_days, r->limits.findings.adult_days);
  if (isnan(r->rate.settled_bpm)) return 0;
  if (young) return needs_species(r, young);
  return p && p->age_matters && r->settings.age_days < 0 ? needs_age(r) : 0;
}

int gn_findings_rate(girthline_result *r) {
  if (isnan(r->rate.bpm)) return undetermined(r);
  return standing(r) || settled(r) || mean_differs(r) ? -1 : 0;
}
