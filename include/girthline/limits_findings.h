// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of [findings]. Which words and which urgency follow from the measurements.
/// limits.h says how a row is read.
#ifndef GIRTHLINE_LIMITS_FINDINGS_H
#define GIRTHLINE_LIMITS_FINDINGS_H

#define GIRTHLINE_LIMITS_FINDINGS(LIMIT)                                                                                                                      \
  LIMIT(short_s, "s", 30, 0, 3600, "With less usable sound the report says that it is short.",                                                                \
        "three repeats of a five-beat pattern of a horse take 24 to 30 s")                                                                                    \
  LIMIT(names_confidence, "", 0.7, 0, 1, "Under this mean an exchange of S1 and S2 is told of.", "a choice")                                                  \
  LIMIT(below_soon_share, "of the range's lower end", 0.85, 0, 1, "A rate below this: soon.", "24 a minute is inside the wider published range of horses")    \
  LIMIT(below_work_share, "of the range's lower end", 0.7, 0, 1, "A rate below this: before work; that of a foal or calf: now.", "no published range holds it")                            \
  LIMIT(above_soon_share, "of the range's upper end", 1.25, 1, 5, "A rate above this: soon.",                                                                 \
        "55 a minute in a horse; healthy ones reach 53 (Berthoud and Schwarzwald 2021)")                                                                      \
  LIMIT(above_work_share, "of the range's upper end", 1.6, 1, 5, "A rate above this: before work.", "a choice")                                               \
  LIMIT(mean_differs_share, "of the mean", 0.05, 0, 1, "Median and mean rate are both told of where they differ by more.", "the report's definition")         \
  LIMIT(recovered_share, "of the range's upper end", 1.15, 1, 5, "A horse has recovered under this", "Patteson, Equine Cardiology 3.8.3")                     \
  LIMIT(recovered_min, "minutes", 45, 0, 1440, "after so long.", "Patteson, Equine Cardiology 3.8.3")                                                         \
  LIMIT(long_pause_ratio, "times the usual", 2.4, 1, 10, "A longer pause asks for an ECG soon.", "one dropped beat makes about 2.0")                          \
  LIMIT(advanced_pause_ratio, "times the usual", 3.5, 1, 20, "A pause this long: before work.", "three beats blocked in a row make about 4 (advanced block)") \
  LIMIT(irregular_fast_share, "of the range's upper end", 1.5, 1, 5, "Irregular and faster than this: now.", "a choice: such a heart fills badly")            \
  LIMIT(pattern_confidence, "", 0.7, 0, 1, "A pattern less sure is not called.", "a choice")                                                                  \
  LIMIT(murmur_confidence, "", 0.7, 0, 1, "A murmur less sure is not called.", "a choice")                                                                    \
  LIMIT(ductus_days, "days", 14, 0, 365, "Up to this age a foal's continuous murmur may be listened to again first.",                                         \
        "usually gone by one to two weeks (Horse Side Vet Guide)")                                                                                            \
  LIMIT(adult_days, "days", 365, 0, 3650, "A horse younger than this is not adult.", "a choice")                                                              \
  LIMIT(squeak_end_share, "of diastole", 0.25, 0, 1, "The early squeak of fit young horses ends before this.", "between S2 and S3 (Patteson 3.5.2)")          \
  LIMIT(squeak_hz, "Hz", 150, 20, 1000, "and is this high or higher.", "a choice")                                                                            \
  LIMIT(squeak_days, "days", 1826, 365, 20000, "A horse of this age is no longer young for it.", "a choice: five years; heard in young horses (Patteson 3.5.2)")

/// A field of a stage's struct out of its row.
#ifndef GIRTHLINE_LIMIT_FIELD
#define GIRTHLINE_LIMIT_FIELD(name, unit, usual, lowest, highest, what, source) double name;
#endif

typedef struct girthline_findings_limits { GIRTHLINE_LIMITS_FINDINGS(GIRTHLINE_LIMIT_FIELD) } girthline_findings_limits;

#endif
