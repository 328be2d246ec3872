// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The signs beside usual values and beside what was heard. Words written by hand are shown, never read for meaning.
#include <math.h>
#include <string.h>

#include "base/numbers.h"
#include "clinic/parts.h"

// Common practice; no published source was found.
static const double REFILL_USUAL_S = 2.0;
// A count over 15 s times four is good to one beat: four a minute.
static const double COUNT_STEP_PER_MIN = 4.0;

enum { MOST_QUOTED = 300 }; // bytes of a text from the file in a sentence; the whole stands among the signs

static const char *text_of(const gn_examined *x, int key) { return gn_exam_text(x->exam, GN_SECTION_SIGNS, key); }
static double number_of(const gn_examined *x, int key) { return gn_exam_number(x->exam, GN_SECTION_SIGNS, key); }

static int refill(gn_examined *x) {
  const double s = number_of(x, GN_SIGN_REFILL);
  if (!isfinite(s)) return 0;
  const bool slow = s > REFILL_USUAL_S;
  gn_exam_finding f = gn_exam_note("capillary-refill", slow ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
  gn_exam_say(f.text, "The capillary refill time was given as %.1f s, %s the usual %.0f s.", s, slow ? "longer than" : "within", REFILL_USUAL_S);
  gn_exam_say(f.evidence, "Usual: up to %.0f s (common practice, no source).", REFILL_USUAL_S);
  gn_exam_point(&f, "/signs/capillary_refill_s");
  gn_exam_say(f.advice, slow ? "Press the gum again, and look at membranes, pulse and limbs: a slow refill asks for a clinical examination by a veterinarian."
                             : "Nothing beyond the usual examination.");
  return gn_exam_add(x, &f);
}

static const char *breathing_source(girthline_species s) {
  switch (s) {
  case GIRTHLINE_HORSE: return "Usual for a resting horse: 8 to 16 (teaching range; the MSD manual has 10 to 14).";
  case GIRTHLINE_FOAL: return "Usual for a foal after its first half hour: 30 to 40 (Mustang Alley, quoting a veterinarian; weak source). An older foal breathes more slowly.";
  case GIRTHLINE_DONKEY: return "Usual for a donkey: 12 to 44, median 20 (the Donkey Sanctuary's values).";
  case GIRTHLINE_DOG: return "Usual for a resting dog: under 30, mean 19 (Rishniw et al. 2012).";
  case GIRTHLINE_CAT: return "Usual for a cat: 25 asleep to 38 awake (Feline Cardiology, after Orem 1977).";
  case GIRTHLINE_CATTLE: return "Usual for cattle: 10 to 30 (teaching range; the MSD manual has 26 to 50 for dairy cows).";
  case GIRTHLINE_CALF: return "Taken as usual for a calf: 20 to 50 (a choice; no source was found).";
  case GIRTHLINE_SHEEP: return "Usual for sheep: 12 to 20 (teaching range), 16 to 34 (MSD manual).";
  case GIRTHLINE_GOAT: return "Usual for goats: 12 to 20 (teaching range), 15 to 30 (MSD manual).";
  case GIRTHLINE_HUMAN: return "Usual for an adult: 12 to 20 (general).";
  case GIRTHLINE_N_SPECIES: break;
  }
  return "";
}

static int breathing(gn_examined *x) {
  const double n = number_of(x, GN_SIGN_BREATHS);
  girthline_profile store;
  const girthline_profile *p = girthline_profile_of(x->species, x->age_days, &store);
  if (!isfinite(n) || !p) return 0;
  const char *word = n < p->breaths_per_min[0] ? "below" : n > p->breaths_per_min[1] ? "above" : "within";
  const bool fast = n > p->breaths_per_min[1];
  // A choice: half as fast again as the upper end is no longer excitement alone.
  gn_exam_finding f = gn_exam_note("breathing-rate", n > 1.5 * p->breaths_per_min[1] ? GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
  gn_exam_say(f.text, "The breathing was counted as %.0f a minute, %s the usual %.0f to %.0f at rest.", n, word, p->breaths_per_min[0], p->breaths_per_min[1]);
  for (size_t i = 0; i < x->exam->n_recordings; i++)
    if (gn_exam_at_rest(x, i) && gn_exam_usable(x, i) && isfinite(x->recordings[i].result->quality.breaths_per_min))
      gn_exam_say(f.evidence, "In the recording %s breathing was heard %.0f times a minute.", x->exam->recordings[i].name, gn_whole(x->recordings[i].result->quality.breaths_per_min, 1));
  gn_exam_say(f.evidence, "%s", breathing_source(x->species));
  gn_exam_point(&f, "/signs/breaths_per_min");
  gn_exam_say(f.advice, fast ? "Count again when the animal has settled; if it stays high, a veterinarian looks at lungs and heart." : "Nothing beyond the usual examination.");
  return gn_exam_add(x, &f);
}

static int pulse(gn_examined *x) {
  const double n = number_of(x, GN_SIGN_PULSE), deficit = x->pulse_deficit_per_min;
  if (!isfinite(n)) return 0;
  const bool uneven = x->rhythm.pattern == GIRTHLINE_IRREGULAR || x->rhythm.pattern == GIRTHLINE_EARLY_BEATS;
  const bool real = deficit > COUNT_STEP_PER_MIN, missed = deficit < -COUNT_STEP_PER_MIN;
  gn_exam_finding f = gn_exam_note(real ? "pulse-deficit" : "pulse", real ? uneven ? GIRTHLINE_BEFORE_WORK : GIRTHLINE_SOON : GIRTHLINE_ROUTINE);
  gn_exam_say(f.text, "The pulse was counted as %.0f a minute.", n);
  if (!isfinite(deficit)) gn_exam_say(f.text, "There is no heart rate at rest to hold it against.");
  else {
    gn_exam_say(f.text, "By all beats counted the heart beat %.0f times a minute.", gn_whole(x->rate.mean_bpm, 2));
    if (real)
      gn_exam_say(f.text, "That is a pulse deficit of %.0f a minute: some beats do not reach the artery, the two were counted at different times, or other sounds were "
                          "read as beats.", gn_whole(deficit, 2));
    else if (missed) gn_exam_say(f.text, "More pulses than beats: the two were counted at different times, or beats were missed in the recordings.");
    else gn_exam_say(f.text, "They agree within what counting can tell.");
  }
  gn_exam_say(f.evidence, "The mean rate over the resting recordings is held against the count; a count over 15 s is good to %.0f a minute.", COUNT_STEP_PER_MIN);
  gn_exam_point(&f, "/signs/pulse_per_min");
  gn_exam_point(&f, "/rate/mean_bpm");
  gn_exam_point(&f, "/pulse_deficit_per_min");
  if (real) gn_exam_say(f.advice, "Count the pulse while listening. A deficit that stays asks for an ECG at rest first; exercise only on a veterinarian's decision.");
  else if (missed) gn_exam_say(f.advice, "Count the pulse while listening. If it stays above the rate that was read, beats were missed: do not rely on that rate.");
  else gn_exam_say(f.advice, "Nothing beyond the usual examination.");
  return gn_exam_add(x, &f);
}

static bool right_murmur(const gn_examined *x, gn_exam_finding *f) {
  bool any_right = false, found = false, none = false;
  char place[GN_EXAM_PLACE_BYTES];
  for (size_t i = 0; i < x->exam->n_recordings; i++) {
    if (x->exam->recordings[i].side != GIRTHLINE_RIGHT) continue;
    any_right = any_right || gn_exam_usable(x, i);
    none = none || (gn_exam_usable(x, i) && x->recordings[i].result->murmur.present == GIRTHLINE_NO);
    if (!gn_exam_usable(x, i) || !x->recordings[i].result->murmur.n_phases) continue;
    found = true;
    gn_exam_say(f->text, "On the right a murmur was heard (%s).", gn_exam_place(x, i, place));
    gn_exam_point(f, "/recordings/%zu/report/murmur", i);
  }
  if (!any_right) gn_exam_say(f->text, "The right side was not recorded in a usable way, so nothing heard there can be set beside them.");
  else if (!found) gn_exam_say(f->text, none ? "No murmur was found on the right." : "Whether there is a murmur on the right was not determined.");
  return found;
}

static int jugular(gn_examined *x) {
  const char *left = text_of(x, GN_SIGN_JUGULAR_LEFT), *right = text_of(x, GN_SIGN_JUGULAR_RIGHT);
  if (!left && !right) return 0;
  gn_exam_finding f = gn_exam_note("jugular", GIRTHLINE_ROUTINE);
  char store[MOST_QUOTED];
  if (left) gn_exam_say(f.text, "Left jugular vein, as written: %s.", gn_exam_clip(left, store, sizeof store));
  if (right) gn_exam_say(f.text, "Right jugular vein, as written: %s.", gn_exam_clip(right, store, sizeof store));
  if (right_murmur(x, &f)) f.urgency = GIRTHLINE_SOON;
  if (x->rhythm.pattern == GIRTHLINE_IRREGULAR) gn_exam_say(f.text, "The rhythm heard is irregular.");
  gn_exam_say(f.evidence, "A jugular vein that stays full or pulses far up the neck is commonly seen with a leak of the tricuspid valve or with a right heart that empties badly "
                          "(common practice, no source). The words are shown as written and were not judged.");
  if (left) gn_exam_point(&f, "/signs/jugular_left");
  if (right) gn_exam_point(&f, "/signs/jugular_right");
  gn_exam_say(f.advice, "Where a vein is full or pulses, record the right side as well; echocardiography settles it.");
  return gn_exam_add(x, &f);
}

static int elsewhere(gn_examined *x) {
  static const char *const WORDS[] = {"ECG", "Echocardiography", "Exercise test", "Other"};
  gn_exam_finding f = gn_exam_note("elsewhere", GIRTHLINE_ROUTINE);
  char store[MOST_QUOTED];
  for (int k = 0; k <= GN_ELSEWHERE_OTHER; k++) {
    const char *text = gn_exam_text(x->exam, GN_SECTION_ELSEWHERE, k);
    if (!text) continue;
    if (!f.text[0]) gn_exam_say(f.text, "Found by another examination, as written.");
    gn_exam_say(f.text, "%s: %s.", WORDS[k], gn_exam_clip(text, store, sizeof store));
    gn_exam_point(&f, "/elsewhere/%s", gn_exam_sections[GN_SECTION_ELSEWHERE].keys[k].name);
  }
  if (!f.text[0]) return 0;
  gn_exam_say(f.evidence, "Kept and shown as written; not judged here.");
  gn_exam_say(f.advice, "Where it differs from what was heard, the ECG decides on rhythm and echocardiography on valves.");
  return gn_exam_add(x, &f);
}

// What was set otherwise may hide what the usual limits show; each recording's own report names it.
static int settings(gn_examined *x) {
  const size_t n_changed = girthline_limits_changed(x->limits);
  if (!n_changed) return 0;
  gn_exam_finding f = gn_exam_note("settings-changed", GIRTHLINE_ROUTINE);
  gn_exam_say(f.text, "This report was not made with the usual settings: %zu of the method's limits %s changed.", n_changed, n_changed == 1 ? "was" : "were");
  gn_exam_point(&f, "/tool/settings_hash");
  gn_exam_say(f.advice, "Compare it only with reports made with the same settings.");
  return gn_exam_add(x, &f);
}

int gn_exam_say_signs(gn_examined *x) { return settings(x) || refill(x) || breathing(x) || pulse(x) || jugular(x) || elsewhere(x) ? -1 : 0; }
