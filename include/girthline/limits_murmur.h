// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of [murmur]. When what repeats between the sounds is called a murmur.
/// limits.h says how a row is read.
#ifndef GIRTHLINE_LIMITS_MURMUR_H
#define GIRTHLINE_LIMITS_MURMUR_H

#define GIRTHLINE_LIMITS_MURMUR(LIMIT)                                                                                                               \
  LIMIT(excess_db, "dB", 1.5, 0, 40, "A murmur's excess over the quiet level, at least.", "a choice, on simulated recordings")                       \
  LIMIT(z_enough, "SD", 5, 0, 50, "From this repetition on any such excess will do.", "a choice, on simulated recordings")                           \
  LIMIT(db_per_z, "dB", 3, 0, 50, "Below it, so much excess more for each SD less.", "a choice, on simulated recordings")                            \
  LIMIT(z_least, "SD", 1.2, 0, 50, "Less repetition is never enough.", "a choice, on simulated recordings")                                          \
  LIMIT(z_sure, "SD", 7, 0, 100, "From this repetition on it is not held against beats out of step.", "a choice, on simulated recordings")           \
  LIMIT(chance_deviations, "SD", 4.5, 0, 50, "Below it, it must stand so far over the best of beats out of step.",                                     \
        "a choice, on simulated recordings")                                                                                                         \
  LIMIT(step_deviations, "SD", 3, 0, 50, "What keeps step above 150 Hz in a slow heart stands so far over it.", "a choice, on simulated recordings") \
  LIMIT(few_beats_n, "beats", 4, 2, 1000, "In so few beats", "a choice, on simulated recordings")                                                    \
  LIMIT(few_excess_db, "dB", 6, 0, 60, "every one of them stands this far out,", "a choice, on simulated recordings")                                \
  LIMIT(few_soft_excess_db, "dB", 15, 0, 60, "or this far where the murmur is softer than that:", "a breath outlasts few beats, and is softer")        \
  LIMIT(few_soft_db, "dB", -15, -80, 40, "so much against S1's peak.", "as above: on human recordings of 3 beats, and breath")                          \
  LIMIT(over_sounds_db, "dB", 6, 0, 60, "Excess over what the heart sounds' own tails leave.", "a choice, on simulated recordings")                  \
  LIMIT(level_least_db, "dB", -38, -80, 0, "Against S1's peak; softer, the recorder's own noise repeats.", "a choice, on simulated recordings")      \
  LIMIT(none_limit_db, "dB", -10, -80, 40, "No murmur is said only where one this soft would have been heard.", "a choice, on simulated recordings")

/// A field of a stage's struct out of its row.
#ifndef GIRTHLINE_LIMIT_FIELD
#define GIRTHLINE_LIMIT_FIELD(name, unit, usual, lowest, highest, what, source) double name;
#endif

typedef struct girthline_murmur_limits { GIRTHLINE_LIMITS_MURMUR(GIRTHLINE_LIMIT_FIELD) } girthline_murmur_limits;

#endif
