// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of [segment]. When what repeats is taken for a heart. The decoder's own expectations stand with the species.
/// limits.h says how a row is read.
#ifndef GIRTHLINE_LIMITS_SEGMENT_H
#define GIRTHLINE_LIMITS_SEGMENT_H

#define GIRTHLINE_LIMITS_SEGMENT(LIMIT)                                                                                                                      \
  LIMIT(clear_beats_n, "beats", 2, 1, 1000, "Fewer whole beats cannot repeat: no heart.", "arithmetic")                                                      \
  LIMIT(gain_nats, "nats a beat", 4, 0, 100, "Less likelihood gained a beat: no heart.", "on 525 simulated hearts and 60 recordings of noise")               \
  LIMIT(faint_gain_nats, "nats a beat", 1.5, 0, 100, "Where many beats keep a steady time with a steady systole, so much will do:",                              \
        "noise that gains this little held on to 4 beats at most in 60 recordings")                                                                          \
  LIMIT(faint_beats_n, "beats", 20, 1, 1000, "of at least so many whole ones.", "a choice: 20 times a place within a tenth says more than loudness")            \
  LIMIT(contrast_db, "dB", 10, 0, 80, "Contrast of the clearer of the two sounds, at least.", "on 525 simulated hearts and 60 recordings of noise")          \
  LIMIT(contrast_other_db, "dB", 3, 0, 80, "and of the other one.", "a loud murmur may all but cover it")                                                    \
  LIMIT(loud_contrast_db, "dB", 25, 0, 80, "Where the clearer one stands out so far, no murmur covers the other, and",                                        \
        "as below; of 1160 simulated hearts one passes by its many beats, with a sound of 1.8 dB and one of 15; slow knocks would with one of 26 to 36")                                                                                                                                        \
  LIMIT(loud_gain_nats, "nats a second", 7, 0, 1000, "a beat has to gain so much for each second of its interval: knocks leave other knocks unexplained.",   \
        "a choice: 9 at least in 1875 simulated hearts so loud; 2 to 4 in knocks at random times")                                                          \
  LIMIT(steady_beats_n, "beats", 10, 1, 1000, "Where a murmur covers a sound, so many beats will do without that contrast,",                                 \
        "a choice: many beats at a steady time, and a steady systole, say enough")                                                                           \
  LIMIT(steady_other_db, "dB", 1, 0, 40, "the covered sound still standing so far out,", "as above: a click alone has no other")                             \
  LIMIT(steady_gain_nats, "nats a beat", 12, 0, 100, "each gaining so much,", "as above")                                                                    \
  LIMIT(steady_systole_sd, "log", 0.07, 0.005, 1, "with a systole that spreads by no more than this,", "as above")                                           \
  LIMIT(steady_usual_share, "of the intervals", 0.85, 0, 1, "so many usual intervals,", "as above")                                                          \
  LIMIT(steady_offset, "log", 0.2, 0, 1, "and a systole this near to the species' expectation.", "as above")                                                 \
  LIMIT(systole_share, "of the interval", 0.7, 0.3, 1, "A systole this long or longer is no heart's.",                                                       \
        "a choice: the fastest simulated hearts reach 0.62")                                                                                                 \
  LIMIT(usual_share, "of the intervals", 0.55, 0, 1, "So many lie within a factor of the usual one.", "on 525 simulated hearts and 60 recordings of noise")  \
  LIMIT(systole_sd, "log", 0.145, 0.01, 1, "A heart's systole spreads by less.", "of 195 uneven hearts 98 in 100 lie under 0.12")                            \
  LIMIT(strange_offset, "log", 0.29, 0, 1, "A systole this far from the species' expectation has to be steadier:",                                           \
        "on 525 simulated hearts and 60 recordings of noise")                                                                                                \
  LIMIT(strange_systole_sd, "log", 0.1, 0.01, 1, "its spread is less than this", "on 525 simulated hearts and 60 recordings of noise")                       \
  LIMIT(strange_usual_share, "of the intervals", 0.7, 0, 1, "and more intervals than this are usual.", "on 525 simulated hearts and 60 recordings of noise") \
  LIMIT(uneven_usual_share, "of the intervals", 0.82, 0, 1, "More than this are usual where the systole spreads by that.",                                    \
        "on 540 simulated hearts and 60 recordings of noise")                                                                                                \
  LIMIT(alike_db, "dB", 0.9, 0, 20, "Two sounds closer than this are one sound.",                                                                             \
        "in 1952 simulated hearts whose systole takes 0.35 to 0.65 of the interval they are 1.0 apart and more, in 68 of 78 recordings of even knocks less")  \
  LIMIT(midway_nats, "nats", -2, -100, 100, "Midway between its beats a heart has no other's sounds: what two there would gain is less.",                         \
        "of 790 simulated hearts all right ones lie under -8, those read at half their rate over 0")                                                         \
  LIMIT(even_most, "of the interval", 0.15, 0, 0.5, "How near half the interval systole is for evenly spaced sounds.",                                        \
        "a choice: knocks in even steps were read as pairs with 0.36 to 0.62")

/// A field of a stage's struct out of its row.
#ifndef GIRTHLINE_LIMIT_FIELD
#define GIRTHLINE_LIMIT_FIELD(name, unit, usual, lowest, highest, what, source) double name;
#endif

typedef struct girthline_segment_limits { GIRTHLINE_LIMITS_SEGMENT(GIRTHLINE_LIMIT_FIELD) } girthline_segment_limits;

#endif
