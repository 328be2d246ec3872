// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Helpers for filling a girthline_result.
#ifndef GN_BASE_RESULT_H
#define GN_BASE_RESULT_H

#include <girthline/result.h>

girthline_result *gn_result_new(void); ///< everything undetermined; NULL when refused

/// Record why the field at a JSON pointer ("/rate/bpm") is null. 0 on success, -1 when memory is refused. A pointer
/// that already has a reason keeps it.
int gn_result_undetermine(girthline_result *result, const char *pointer, const char *format, ...) __attribute__((format(printf, 3, 4)));

/// The further sounds of a kind; NULL: none.
girthline_extra *gn_result_extra(const girthline_result *result, girthline_extra_kind kind);

/// Where a beat begins: its S1, or its S2 where that was not found.
double gn_result_beat_s(const girthline_beat *beat);

/// How a rate stands against the usual range, and a murmur's level against S1 (softer under -6 dB, louder over 6): each judged as the JSON report
/// gives the number, so that both say the same. NaN: not known, and as loud.
girthline_standing gn_result_standing(double bpm, const double usual_range_bpm[2]);

/// true where no pattern was determined though there are intervals enough for one: they are uneven, in a way that has no name here.
bool gn_result_uneven(const girthline_result *result);
girthline_loudness gn_result_loudness(double level_db);

/// The species to name for an animal of this age (days; negative: not known) that was called by its kind's: "foal" for a horse under adult_days, "calf"
/// for cattle. NULL: the species named is right.
const char *gn_species_young(girthline_species species, double age_days, double adult_days);

/// How much higher the heart sounds lie than a horse's, 1 to 4/3: by the usual length of S1 to the power of minus a quarter (a choice).
double gn_species_pitch(const girthline_profile *profile);

/// What stands for any advice where the patient is a person.
extern const char GN_HUMAN_ADVICE[];

#endif
