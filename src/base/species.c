// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/result.h"

#include <girthline/result.h>
#include <girthline/species.h>

#include <math.h>
#include <stddef.h>
#include <string.h>

// Every number has its source beside it; the full citations stand in docs/references.md. "Memory" marks a published
// figure whose text was not read; "choice" marks a number of this project.
//
// Systole (S1 onset to S2 onset) as a * interval^b seconds. No regression of it on the rate was found for any animal
// here, so the law is this project's, held against what is published:
// - Horse: S1 to S2 about 400 to 500 ms at 30 to 45 a minute (derived: QT 557 ms in Bakos and Lohne's undisturbed
//   horses, S2 shortly after the T wave in Patteson, less the time from Q to S1). The law gives 455 ms at 45 a minute,
//   480 at 40 and 546 at 30, where it stands above that range: a decoder must let it shrink.
// - Human: Weissler, Harris and Schoenfeld 1968, QS2 = 546 - 2.1 rate ms: 420 ms at 60, 378 at 80 (memory), less about
//   85 ms from Q to S1's onset (choice). The law gives 330 and 294.
// - Dog: ejection 159 ms at 124 a minute (Atkins and Snyder 1992, memory) and about 25 ms from S1 to its start (choice):
//   184 ms; the law gives 181.
// - The rest is scaled between these by the heart's size (choice).
// The exponent lies near a square root and falls with size (choice); systole takes half the cycle of a human near 80 a
// minute (derived from Weissler) and more above, which the greatest share, six tenths (choice), allows for.
//
// S1 and S2 last about 100 to 150 and 70 to 100 ms in horses (memory) and 122 and 92 ms in humans (Schmidt et al. 2010,
// memory); other animals are scaled between (choice). S3 and S4 windows are published delays, widened (choice).
//
// possible_bpm is where the decoder looks (choice): from under the slowest block to over the fastest published rate.
static const girthline_profile PROFILES[GIRTHLINE_N_SPECIES] = {
    {
        .species = GIRTHLINE_HORSE,
        .name = "horse",
        // 28: MSD Veterinary Manual's 28 to 40 (memory). 44: Patteson's normal pulse is 24 to 45, and over 45 truly at
        // rest is to be looked into. Healthy Warmbloods in an echo room span 27 to 53 (Berthoud and Schwarzwald 2021),
        // but that is a room and a probe, not rest.
        .usual_bpm = {28, 44},
        .age_matters = false,
        .possible_bpm = {16, 240}, // block at rest 20 to 40 (Patteson); greatest 204 to 241 (Evans; Hodgson and Rose, memory)
        .systole_at_1s_s = 0.400,
        .systole_exponent = 0.45,
        .systole_share_most = 0.62,
        .s1_length_s = 0.120,          // within 100 to 150 ms (memory)
        .s2_length_s = 0.085,          // within 70 to 100 ms (memory)
        .s3_after_s2_s = {0.10, 0.25}, // 130 to 200 ms (memory), widened
        .s4_before_s1_s = {0.08, 0.30}, // 100 to 200 ms (memory); P-R, its bound, 273 ms (Bakos and Lohne)
        .breaths_per_min = {8, 16},    // teaching range; MSD 10 to 14 (memory)
        .s3_s4_normal = true,          // two, three or four sounds in a normal horse (Patteson 3.4.1)
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_FOAL,
        .name = "foal",
        .usual_bpm = {40, 150}, // age unknown: all of FOAL_STEPS
        .age_matters = true,
        .possible_bpm = {40, 260}, // under 50 is abnormal in the first minutes (Rossdale; Koterba); upper end: choice
        .systole_at_1s_s = 0.300,
        .systole_exponent = 0.42,
        .systole_share_most = 0.60,
        .s1_length_s = 0.090,
        .s2_length_s = 0.065,
        .s3_after_s2_s = {0.07, 0.18},  // choice
        .s4_before_s1_s = {0.05, 0.20}, // choice
        .breaths_per_min = {30, 40},    // after the first half hour (Mustang Alley, quoting a vet)
        .s3_s4_normal = true,           // as the horse (choice)
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_DONKEY,
        .name = "donkey",
        // The Donkey Sanctuary's range, median 44; WVS's 38 to 48 is narrower, and the wider calls no healthy one wrong.
        .usual_bpm = {36, 68},
        .age_matters = false,
        .possible_bpm = {20, 250},
        .systole_at_1s_s = 0.370,
        .systole_exponent = 0.45,
        .systole_share_most = 0.62,
        .s1_length_s = 0.110,
        .s2_length_s = 0.080,
        .s3_after_s2_s = {0.09, 0.22},  // choice
        .s4_before_s1_s = {0.07, 0.27}, // choice
        .breaths_per_min = {12, 44},    // the Donkey Sanctuary's range, median 20
        .s3_s4_normal = true,           // as the horse (choice)
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_DOG,
        .name = "dog",
        // Large 60 to 120, small 90 to 160 (Tilley, memory); Provet 70 to 160; MSD 70 to 120 (memory). The size is not known.
        .usual_bpm = {60, 160},
        .age_matters = false,
        .possible_bpm = {36, 270}, // to 220 in puppies and toy breeds (Provet)
        .systole_at_1s_s = 0.245,
        .systole_exponent = 0.42,
        .systole_share_most = 0.60,
        .s1_length_s = 0.070,
        .s2_length_s = 0.050,
        .s3_after_s2_s = {0.06, 0.16},  // choice
        .s4_before_s1_s = {0.05, 0.15}, // choice
        .breaths_per_min = {10, 30},    // resting mean 19, under 30 normal (Rishniw et al. 2012); lower end: choice
        .s3_s4_normal = false,
        .breathing_arrhythmia_marked = true,
    },
    {
        .species = GIRTHLINE_CAT,
        .name = "cat",
        // Home 132 +- 19, hospital 150 +- 23, restrained 187 +- 25 (Abbott 2005); clinic 140 to 220, MSD 120 to 140 (memory).
        .usual_bpm = {120, 220},
        .age_matters = false,
        .possible_bpm = {80, 320},
        .systole_at_1s_s = 0.240,
        .systole_exponent = 0.42,
        .systole_share_most = 0.60,
        .s1_length_s = 0.050,
        .s2_length_s = 0.035,
        .s3_after_s2_s = {0.05, 0.12},  // choice
        .s4_before_s1_s = {0.04, 0.12}, // P-R 40 to 90 ms (Feline Cardiology), widened
        .breaths_per_min = {20, 40},    // asleep 25.5, awake 37.5 (Feline Cardiology after Orem 1977), rounded outwards
        .s3_s4_normal = false,
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_CATTLE,
        .name = "cattle",
        .usual_bpm = {48, 84}, // dairy cow, MSD (memory); Texas AgriLife 2009: 60 to 70
        .age_matters = false,
        .possible_bpm = {28, 220},
        .systole_at_1s_s = 0.360,
        .systole_exponent = 0.45,
        .systole_share_most = 0.62,
        .s1_length_s = 0.110,
        .s2_length_s = 0.080,
        .s3_after_s2_s = {0.09, 0.22},  // choice
        .s4_before_s1_s = {0.07, 0.25}, // choice
        .breaths_per_min = {10, 30},    // beef 10 to 30, dairy 18 to 28 (teaching range); MSD dairy 26 to 50 (memory)
        .s3_s4_normal = true,           // choice, as for the horse
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_CALF,
        .name = "calf",
        .usual_bpm = {48, 140}, // age unknown: all of CALF_STEPS
        .age_matters = true,
        .possible_bpm = {50, 260},
        .systole_at_1s_s = 0.300,
        .systole_exponent = 0.42,
        .systole_share_most = 0.60,
        .s1_length_s = 0.080,
        .s2_length_s = 0.060,
        .s3_after_s2_s = {0.07, 0.18},  // choice
        .s4_before_s1_s = {0.05, 0.20}, // choice
        .breaths_per_min = {20, 50},    // choice
        .s3_s4_normal = true,           // choice, as for the horse
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_SHEEP,
        .name = "sheep",
        .usual_bpm = {60, 120}, // range, mean 75 (Texas AgriLife 2009); MSD 70 to 80 (memory)
        .age_matters = false,
        .possible_bpm = {40, 260},
        .systole_at_1s_s = 0.290,
        .systole_exponent = 0.42,
        .systole_share_most = 0.60,
        .s1_length_s = 0.075,
        .s2_length_s = 0.055,
        .s3_after_s2_s = {0.06, 0.16},  // choice
        .s4_before_s1_s = {0.05, 0.18}, // choice
        .breaths_per_min = {12, 34},    // teaching range 12 to 20; MSD 16 to 34 (memory)
        .s3_s4_normal = true,           // choice, as for cattle
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_GOAT,
        .name = "goat",
        .usual_bpm = {70, 135}, // range, mean 90 (Texas AgriLife 2009); MSD 70 to 80 (memory)
        .age_matters = false,
        .possible_bpm = {40, 260},
        .systole_at_1s_s = 0.290,
        .systole_exponent = 0.42,
        .systole_share_most = 0.60,
        .s1_length_s = 0.075,
        .s2_length_s = 0.055,
        .s3_after_s2_s = {0.06, 0.16},  // choice
        .s4_before_s1_s = {0.05, 0.18}, // choice
        .breaths_per_min = {12, 30},    // teaching range 12 to 20; MSD 15 to 30 (memory)
        .s3_s4_normal = true,           // choice, as for cattle
        .breathing_arrhythmia_marked = false,
    },
    {
        .species = GIRTHLINE_HUMAN,
        .name = "human",
        .usual_bpm = {60, 100}, // adult, general
        .age_matters = false,
        .possible_bpm = {36, 230},
        .systole_at_1s_s = 0.330,
        .systole_exponent = 0.40,
        .systole_share_most = 0.60,
        .s1_length_s = 0.110,           // 122 +- 22 ms (Schmidt et al. 2010, memory); 50 to 100 (Li et al. 2020)
        .s2_length_s = 0.085,           // 92 +- 22 ms (Schmidt et al. 2010, memory); 25 to 50 (Li et al. 2020)
        .s3_after_s2_s = {0.09, 0.20},  // 120 to 180 ms (memory); 120 to 150 (Li et al. 2020), widened
        .s4_before_s1_s = {0.05, 0.16}, // 90 to 120 ms (memory), widened
        .breaths_per_min = {12, 20},    // adult, general
        .s3_s4_normal = false,
        .breathing_arrhythmia_marked = false,
    },
};

// A usual resting range from an age on.
typedef struct age_step {
  double from_days;
  double usual_bpm[2];
} age_step;

static const age_step FOAL_STEPS[] = {
    {0, {60, 150}}, // at least 60 in the first minutes (Rossdale; Koterba), about 150 within 12 h (Mustang Alley, quoting a vet)
    {1, {80, 120}}, // 1 to 5 days (Rossdale; Koterba, memory); 90 to 120 by 24 to 48 h (Mustang Alley)
    {7, {60, 100}}, // from the first week on (Rossdale; Koterba, memory)
    {90, {40, 60}}, // 3 to 6 months: falls towards 40 to 60 (Rossdale; Koterba, memory); kept beyond (choice)
};

static const age_step CALF_STEPS[] = {
    {0, {100, 140}}, // newborn (Radostits, memory); taken as the first week (choice)
    {7, {80, 120}},  // first weeks (Radostits, memory)
    {90, {48, 120}}, // no figure found: from the cow's lower to the calf's upper end (choice)
};

static const age_step *step_at(const age_step *steps, size_t n, double age_days) {
  const age_step *found = &steps[0];
  for (size_t i = 1; i < n && age_days >= steps[i].from_days; i++) found = &steps[i];
  return found;
}

const girthline_profile *girthline_profile_of(girthline_species species, double age_days, girthline_profile *store) {
  if ((unsigned)species >= GIRTHLINE_N_SPECIES) return NULL;
  const girthline_profile *profile = &PROFILES[species];
  if (!profile->age_matters || !(age_days >= 0) || !store) return profile;
  const age_step *step = species == GIRTHLINE_FOAL ? step_at(FOAL_STEPS, sizeof FOAL_STEPS / sizeof *FOAL_STEPS, age_days)
                                                   : step_at(CALF_STEPS, sizeof CALF_STEPS / sizeof *CALF_STEPS, age_days);
  *store = *profile;
  memcpy(store->usual_bpm, step->usual_bpm, sizeof store->usual_bpm);
  return store;
}

bool girthline_species_parse(const char *name, girthline_species *out) {
  if (!name || !out) return false;
  for (int i = 0; i < GIRTHLINE_N_SPECIES; i++)
    if (!strcmp(PROFILES[i].name, name)) {
      *out = PROFILES[i].species;
      return true;
    }
  return false;
}

const char *girthline_species_name(girthline_species species) {
  return (unsigned)species < GIRTHLINE_N_SPECIES ? PROFILES[species].name : NULL;
}

const char *girthline_caution(girthline_species species) {
  if (species == GIRTHLINE_HUMAN)
    return "For research and teaching only, not for use on patients. This page describes what was measured in sound recordings. "
           "It is not a diagnosis, it does not show that a disease is present or absent, and nobody may be examined, treated, "
           "reassured or sent away on its word. Anyone worried about a heart should see a doctor.";
  return "A screening aid, not a diagnosis. It describes what was measured in sound recordings and what such a pattern is commonly "
         "seen with; it does not show that a disease is present, and finding nothing does not show that none is. Rhythm is settled by "
         "an ECG, a murmur by echocardiography, and an exercise test is done only on a veterinarian's decision. A licensed veterinarian "
         "decides, and local rules apply: do not ride, work, sedate, treat, buy or sell an animal on this report alone.";
}

const char *gn_species_young(girthline_species species, double age_days, double adult_days) {
  if (!(age_days >= 0) || age_days >= adult_days) return NULL;
  return species == GIRTHLINE_HORSE ? "foal" : species == GIRTHLINE_CATTLE ? "calf" : NULL;
}

double gn_species_pitch(const girthline_profile *profile) {
  return fmin(4.0 / 3.0, fmax(1, sqrt(sqrt(PROFILES[GIRTHLINE_HORSE].s1_length_s / profile->s1_length_s))));
}

const char GN_HUMAN_ADVICE[] =
    "For research and teaching only, not for use on patients. In general an ECG settles a question of rhythm and echocardiography one of valves and "
    "heart muscle.";
