// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of [extra]. S3, S4, split sounds, clicks, and atrial sounds that stand alone.
/// limits.h says how a row is read.
#ifndef GIRTHLINE_LIMITS_EXTRA_H
#define GIRTHLINE_LIMITS_EXTRA_H

#define GIRTHLINE_LIMITS_EXTRA(LIMIT)                                                                                                                       \
  LIMIT(s3_rise_db, "dB", 3, 0, 60, "S3: a beat's candidate stands this far over the dips on both sides.", "a choice, on simulated recordings")             \
  LIMIT(s3_usual_db, "dB", 6, 0, 60, "and half of them this far.", "a choice, on simulated recordings")                                                     \
  LIMIT(s3_within_s, "s", 0.025, 0.001, 0.2, "Beats agree when their delays lie this near.", "a choice, on simulated recordings")                           \
  LIMIT(s3_share, "of the beats", 0.6, 0.05, 1, "So many of the beats agree.", "a choice, on simulated recordings")                                         \
  LIMIT(s4_rise_db, "dB", 3, 0, 60, "S4: a beat's candidate stands this far over the dips on both sides.", "a choice, on simulated recordings")             \
  LIMIT(s4_usual_db, "dB", 6, 0, 60, "and half of them this far.", "a choice, on simulated recordings")                                                     \
  LIMIT(s4_within_s, "s", 0.025, 0.001, 0.2, "Beats agree when their delays lie this near.", "a choice, on simulated recordings")                           \
  LIMIT(s4_share, "of the beats", 0.6, 0.05, 1, "So many of the beats agree.", "a choice, on simulated recordings")                                         \
  LIMIT(filling_least_db, "dB", -24, -80, 20, "An S3 or S4 this far against S1 or softer is none: it is what other sounds leave behind.",                      \
        "of 868 in simulated hearts the softest had -22, of 69 claimed where there was none 34 lay lower")                                              \
  LIMIT(split_s1_rise_db, "dB", 3, 0, 60, "split S1: a beat's candidate stands this far over the dips on both sides.", "a choice, on simulated recordings") \
  LIMIT(split_s1_usual_db, "dB", 11, 0, 60, "and half of them this far.", "a choice, on simulated recordings")                                             \
  LIMIT(split_s1_within_s, "s", 0.008, 0.001, 0.2, "Beats agree when their delays lie this near.", "a choice, on simulated recordings")                     \
  LIMIT(split_s1_share, "of the beats", 0.75, 0.05, 1, "So many of the beats agree.", "a choice, on simulated recordings")                                  \
  LIMIT(split_s2_rise_db, "dB", 3, 0, 60, "split S2: a beat's candidate stands this far over the dips on both sides.", "a choice, on simulated recordings") \
  LIMIT(split_s2_usual_db, "dB", 8, 0, 60, "and half of them this far.", "a choice, on simulated recordings")                                               \
  LIMIT(split_s2_within_s, "s", 0.008, 0.001, 0.2, "Beats agree when their delays lie this near.", "a choice, on simulated recordings")                     \
  LIMIT(split_s2_share, "of the beats", 0.75, 0.05, 1, "So many of the beats agree.", "a choice, on simulated recordings")                                  \
  LIMIT(split_s1_tenth_s, "s", 0.043, 0.01, 0.1, "Or split S1: what moves in it from beat to beat has a tenth of its energy no sooner than this after the onset, for a horse.", "a choice, on simulated recordings") \
  LIMIT(split_s1_quarter_s, "s", 0.046, 0.01, 0.1, "and a quarter no sooner than this.", "a choice, on simulated recordings")                              \
  LIMIT(split_s1_rises_s, "s", 0.020, 0.001, 0.1, "From the tenth to the quarter it takes no longer, for a horse: a sound sets in, a murmur lasts.", "a choice, on simulated recordings") \
  LIMIT(split_s1_moves_share, "of the variance", 0.2, 0, 1, "One movement explains so much of what differs between the beats.", "a choice, on simulated recordings") \
  LIMIT(split_s2_tenth_s, "s", 0.035, 0.01, 0.1, "Or split S2: what moves in it from beat to beat has a tenth of its energy no sooner than this after the onset, for a horse.", "a choice, on simulated recordings") \
  LIMIT(split_s2_quarter_s, "s", 0.038, 0.01, 0.1, "and a quarter no sooner than this.", "a choice, on simulated recordings")                              \
  LIMIT(split_s2_rises_s, "s", 0.012, 0.001, 0.1, "From the tenth to the quarter it takes no longer, for a horse: a sound sets in, a murmur lasts.", "a choice, on simulated recordings") \
  LIMIT(split_s2_moves_share, "of the variance", 0.2, 0, 1, "One movement explains so much of what differs between the beats.", "a choice, on simulated recordings") \
  LIMIT(click_rise_db, "dB", 8, 0, 60, "click: a beat's candidate stands this far over the dips on both sides.", "a choice, on simulated recordings")       \
  LIMIT(click_usual_db, "dB", 12, 0, 60, "and half of them this far.", "a choice, on simulated recordings")                                                 \
  LIMIT(click_within_s, "s", 0.012, 0.001, 0.2, "Beats agree when their delays lie this near.", "a choice, on simulated recordings")                        \
  LIMIT(click_within_share, "of systole", 0.05, 0, 1, "or this near, where that is more: systole at 60 a minute.", "a choice, on simulated recordings")     \
  LIMIT(click_share, "of the beats", 0.7, 0.05, 1, "So many of the beats agree.", "a choice, on simulated recordings")                                      \
  LIMIT(chance_z, "SD", 4, 0, 20, "Over the share that candidates strewn at random would give.", "a choice")                                                \
  LIMIT(beats_n, "beats", 4, 1, 1000, "Fewer with a candidate show nothing.", "a choice")                                                                   \
  LIMIT(confidence, "", 0.2, 0, 1, "Beats the decoder doubts more are left out.", "a choice")                                                               \
  LIMIT(dip_room_s, "s", 0.08, 0.01, 0.5, "How far from its range a sound's dips are looked for.", "a choice")                                              \
  LIMIT(split_from_s, "s", 0.018, 0.005, 0.05, "Parts of a split sound are no closer than this.", "closer ones fuse")                                       \
  LIMIT(split_to_s, "s", 0.07, 0.051, 0.2, "and no wider apart.", "wider ones are two sounds")                                                              \
  LIMIT(click_longest_s, "s", 0.03, 0.002, 0.2, "A click is no longer, at half its amplitude.", "a choice")                                                 \
  LIMIT(lone_gap_s, "s", 0.4, 0.1, 3, "A sound like S4 is alone where no beat follows within this.", "a choice")                                            \
  LIMIT(lone_after_s2_s, "s", 0.35, 0.1, 3, "and it is no S3.", "a choice")                                                                                 \
  LIMIT(lone_rise_db, "dB", 9, 0, 60, "It stands this far over its dips.", "a choice")                                                                      \
  LIMIT(lone_level_db, "dB", 8, 0, 60, "and is within this of the S4 that beats follow.", "a choice")

/// A field of a stage's struct out of its row.
#ifndef GIRTHLINE_LIMIT_FIELD
#define GIRTHLINE_LIMIT_FIELD(name, unit, usual, lowest, highest, what, source) double name;
#endif

typedef struct girthline_extra_limits { GIRTHLINE_LIMITS_EXTRA(GIRTHLINE_LIMIT_FIELD) } girthline_extra_limits;

#endif
