// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of [quality]. What may be trusted: spoilt spans, breathing, hum, noise, the best stretch, the grade.
/// limits.h says how a row is read.
#ifndef GIRTHLINE_LIMITS_QUALITY_H
#define GIRTHLINE_LIMITS_QUALITY_H

#define GIRTHLINE_LIMITS_QUALITY(LIMIT)                                                                                                                        \
  LIMIT(join_s, "s", 0.1, 0, 2, "Marks of one kind nearer to each other than this are one.", "a choice")                                                       \
  LIMIT(clip_run_n, "samples", 3, 3, 100, "So many equal samples at an extreme may be clipping.", "arithmetic: a rounded peak")                                \
  LIMIT(clip_step_quanta, "quanta", 3, 1, 1000, "Step on both sides of such a run.", "arithmetic: a parabola rounded to its quantum steps by 2.8 at most")     \
  LIMIT(clip_long_run_n, "samples", 16, 4, 10000, "From this length on the neighbours' lengths tell.", "a choice")                                             \
  LIMIT(clip_brief_share, "of the run", 0.125, 0.01, 0.5, "A neighbour is brief up to this share of the run.",                                                 \
        "arithmetic: beside a rounded peak it is 0.207 or more")                                                                                               \
  LIMIT(clip_extreme_share, "of the extreme", 0.98, 0.5, 1, "Clipping lies this near to its surroundings' extreme.", "a choice")                               \
  LIMIT(clip_swing_quanta, "quanta", 8, 1, 10000, "A block that swings less is too coarse to judge.", "a choice")                                              \
  LIMIT(clip_dense_share, "of the time", 0.25, 0.01, 1, "More of 0.4 s clipped than this hides the heart.", "a choice")                                        \
  LIMIT(gap_s, "s", 0.05, 0.005, 5, "A constant run this long in a lively signal is a dropout.", "a choice")                                                   \
  LIMIT(gap_step_quanta, "quanta", 2, 1, 1000, "Mean step before it, and the step into it.", "a choice")                                                       \
  LIMIT(heart_edge_1_hz, "Hz", 30, 15, 45, "Lower edge of the lowest of the three heart bands (a horse's; higher for shorter sounds).",                        \
        "30 to 120 Hz carry the sounds")                                                                                                                       \
  LIMIT(heart_edge_2_hz, "Hz", 60, 46, 90, "Edge between the lowest and the middle heart band.", "as above")                                                   \
  LIMIT(heart_edge_3_hz, "Hz", 120, 91, 180, "Edge between the middle and the upper heart band.", "as above")                                                  \
  LIMIT(heart_edge_4_hz, "Hz", 250, 181, 400, "Upper edge of the upper heart band: rubbing shows there first.", "a choice")                                    \
  LIMIT(breath_edge_1_hz, "Hz", 150, 60, 300, "Lower edge of the band in which breathing is heard.", "a choice")                                               \
  LIMIT(breath_edge_2_hz, "Hz", 450, 301, 700, "Its upper edge.", "a choice")                                                                                  \
  LIMIT(silence_under_db, "dB", -50, -100, -20, "This far under the loudest it is a recorder's silence.",                                                      \
        "no heart spans 50 dB over its own background in 16 bits")                                                                                             \
  LIMIT(silence_longest_s, "s", 1.5, 0.1, 30, "A silence this long is no gap between beats.", "a choice")                                                      \
  LIMIT(steady_least_weight, "", 0.1, 0, 1, "Under this, nothing but steady sound fills the bands.", "a choice")                                               \
  LIMIT(block_share, "of the interval", 0.9, 0.2, 3, "Of the longest expected interval: a stretch sure to hold a beat.", "a choice")                           \
  LIMIT(handling_sure_db, "dB", 6.5, 0, 40, "This far over the usual beats in all bands is handling.", "simulated recordings without handling stay under 5.6") \
  LIMIT(handling_suspect_db, "dB", 4, -10, 40, "From here on it is looked at: longer than a beat's sound, it is handling too.", "a cat's breath reaches 3")    \
  LIMIT(handling_edge_db, "dB", -12, -40, 0, "Handling ends this far under its own peak.", "a choice")                                                         \
  LIMIT(handling_floor_db, "dB", -12, -40, 0, "but not under this, against the usual beats.", "a choice")                                                      \
  LIMIT(handling_widen_s, "s", 0.08, 0, 2, "A mark is widened by this on both sides.", "a choice")                                                             \
  LIMIT(handling_length_db, "dB", -6, -40, -0.5, "A sound's length is taken this far under its peak.", "a choice")                                             \
  LIMIT(handling_length_share, "of S1's length", 1.3, 0.5, 10, "Longer than this it is no beat's sound.", "a choice")                                          \
  LIMIT(dropout_under_db, "dB", -5, -60, 0, "Every frame of a dropout lies this far under the quiet.",                                                         \
        "simulated recordings: no stretch of 0.4 s with a signal does")                                                                                        \
  LIMIT(dropout_median_db, "dB", -15, -80, 0, "and their median this far.", "as above")                                                                        \
  LIMIT(dropout_s, "s", 0.4, 0.05, 10, "A dropout lasts this long or longer.", "a choice")                                                                     \
  LIMIT(absence_high_quantile, "", 0.98, 0.8, 1, "The loud end of a stretch's levels.", "a slow heart sounds in 5 % of the time or less")                      \
  LIMIT(absence_low_quantile, "", 0.2, 0, 0.5, "and the quiet end.", "a choice")                                                                               \
  LIMIT(absence_contrast_db, "dB", 4.3, 0.5, 30, "A stretch with less between the two holds no heart sound.",                                                  \
        "noise reaches 3.9 in a minute, simulated hearts keep 5.8")                                                                                            \
  LIMIT(absence_kept_share, "of the stretch", 0.5, 0.1, 1, "So much of a stretch has to be free of dropouts to be judged.", "a choice")                        \
  LIMIT(absence_stretch_s, "s", 4, 1, 60, "Length of a stretch, at least.", "a choice")                                                                        \
  LIMIT(absence_stretch_intervals, "intervals", 2, 0.5, 10, "and in longest expected intervals.", "a choice")                                                  \
  LIMIT(absence_under_db, "dB", -14, -60, 0, "The loudest of a stretch this far under the usual beats: nothing came through.", "a choice")                     \
  LIMIT(absence_noise_db, "dB", -8, -60, 20, "The quiet of a stretch over this, against the usual beats: noise covers them.", "a choice")                      \
  LIMIT(breathing_low_share, "of the time", 0.3, 0.05, 0.9, "Quantile of the level in 0.4 s that falls between the sounds.", "a choice")                       \
  LIMIT(breathing_rise_db, "dB", 10, 1, 40, "Breathing is marked this far over the recording's own quiet.", "a choice")                                        \
  LIMIT(breathing_near_heart_db, "dB", -6, -40, 20, "and where it is this loud against the usual beats.", "a choice")                                          \
  LIMIT(breathing_shortest_s, "s", 0.3, 0, 10, "and lasts so long.", "a choice")                                                                               \
  LIMIT(breath_guard_s, "s", 0.05, 0, 0.3, "Kept away from the heart sounds when listening for breathing.", "a choice")                                        \
  LIMIT(breath_gap_s, "s", 5, 1, 60, "An interval longer than this is a gap, no cycle.", "a choice")                                                           \
  LIMIT(breath_stretch_s, "s", 12, 4, 60, "So much in one piece is needed.", "two slow breaths of a horse")                                                    \
  LIMIT(breath_range_factor, "times", 2, 1, 5, "The usual breathing rates are widened by this either way.", "a choice")                                        \
  LIMIT(breath_share, "of the variance", 0.27, 0, 1, "A wave explaining less than this is no breathing.", "a choice: on 520 simulated recordings with breath 0.22 tells 15 more and eight wrong ones where none is heard")                                          \
  LIMIT(breath_swing_db, "dB", 1.2, 0, 20, "nor is a level that swings less.", "a choice")                                                                     \
  LIMIT(breath_above_weight, "", 0.6, 0, 1, "Weight of rates above the usual ones.", "a choice")                                                               \
  LIMIT(breath_below_weight, "", 0.8, 0, 1, "Weight of rates below the usual ones.", "a choice")                                                               \
  LIMIT(breath_second_times, "times", 12, 0, 100, "How much stronger than the breath its going in and out may be.", "a choice")                                \
  LIMIT(breath_heart_share, "of the rate", 0.08, 0, 0.5, "Breathing is not looked for this near to the heart's own rate.", "a choice")                         \
  LIMIT(hum_least_spectra_n, "spectra", 15, 2, 100, "So many half-overlapping halves of a second are needed to look for hum.", "a choice: in 3 s of simulated hearts without one, one in ten seemed to hum, in 4 s one in 120") \
  LIMIT(hum_low_share, "of the time", 0.2, 0.01, 0.9, "Heart sounds come and go within this.", "a choice")                                                     \
  LIMIT(hum_lowest_hz, "Hz", 15, 5, 100, "Hum is looked for from here on.", "a choice")                                                                        \
  LIMIT(hum_over_db, "dB", 6.5, 1, 60, "A line stands this far over its neighbours.", "a choice")                                                              \
  LIMIT(hum_same_hz, "Hz", 0.7, 0.05, 5, "Lines nearer than this are one.", "a choice")                                                                        \
  LIMIT(hum_steady_share, "of the median", 0.25, 0, 1, "The line's quiet moments keep this much of it.", "a choice")                                           \
  LIMIT(hum_median_share, "of the line", 0.7, 0, 1, "and half of the time it keeps this much.", "a choice")                                                    \
  LIMIT(hum_family_share, "of the power", 0.0001, 0, 1, "Weaker lines are not counted as its family.", "a choice")                                             \
  LIMIT(hum_family_hz, "Hz", 0.35, 0.01, 5, "How far a line may lie from a multiple.", "a choice")                                                             \
  LIMIT(hum_multiple_n, "times", 7, 1, 50, "Multiples up to this one are family.", "a choice")                                                                 \
  LIMIT(hum_seen_share, "of the time", 0.6, 0.01, 1, "A line is there for this share of the recording.", "a choice: both of two parts, two of three, three of four") \
  LIMIT(noise_guard_s, "s", 0.03, 0, 0.3, "Kept away from the heart sounds when the noise is measured.", "a sound's skirts")                                   \
  LIMIT(noise_quiet_share, "of the cycle", 1.0 / 3, 0.05, 1, "The quietest places of the cycle that count as noise.", "a choice")                              \
  LIMIT(noise_gap_s, "s", 5, 1, 60, "An interval longer than this is a gap, no cycle.", "a choice")                                                            \
  LIMIT(noise_least_heart_share, "of the noise", 0.1, 1e-6, 1, "The heart's power is never taken for less (-10 dB).", "what is left below that is chance")     \
  LIMIT(best_longest_s, "s", 12, 2, 120, "The best stretch is no longer than this.", "about ten seconds are wanted")                                           \
  LIMIT(best_wanted_s, "s", 10, 1, 120, "and best this long.", "a choice")                                                                                     \
  LIMIT(best_lead_s, "s", 0.1, 0, 1, "It begins this long before its first S1.", "a choice")                                                                   \
  LIMIT(best_tail_s, "s", 0.05, 0, 1, "It ends this long before the S1 that follows.", "a choice")                                                             \
  LIMIT(best_beats_n, "beats", 3, 1, 100, "Fewest whole beats in it.", "a choice")                                                                             \
  LIMIT(best_confidence, "", 0.5, 0, 1, "Each with this confidence or more.", "a choice")                                                                      \
  LIMIT(best_gap_s, "s", 8, 1, 60, "An interval longer than this is a gap in the beats.", "a choice")                                                          \
  LIMIT(best_rate_tolerance, "of the rate", 0.03, 0, 1, "So far off the settled rate costs nothing.", "a choice")                                              \
  LIMIT(best_rate_cost_s, "s", 40, 0, 1000, "What a doubled rate costs, in seconds of length.", "a choice")                                                    \
  LIMIT(best_breath_cost_s, "s", 3, 0, 1000, "What breathing in it costs.", "a choice")                                                                        \
  LIMIT(best_settled_beats_n, "beats", 10, 2, 60, "The last beats that stand for the settled rate where none is known.", "a choice")                           \
  LIMIT(confidence, "", 0.5, 0, 1, "A beat counts as confident from here on.", "a choice")                                                                     \
  LIMIT(good_beats_n, "beats", 8, 0, 1000, "Good: fewest confident beats.", "a choice")                                                                        \
  LIMIT(good_usable_s, "s", 10, 0, 3600, "Good: fewest usable seconds.", "a choice")                                                                           \
  LIMIT(good_usable_share, "of the time", 0.8, 0, 1, "Good: least usable share.", "a choice")                                                                  \
  LIMIT(good_heart_db, "dB", 10, -100, 60, "Good: least of heart over noise.", "a choice")                                                                     \
  LIMIT(good_confident_share, "of the beats", 0.8, 0, 1, "Good: least share of confident beats.", "a choice")                                                  \
  LIMIT(good_clipped_share, "of the samples", 0.001, 0, 1, "Good: most that may be clipped.", "a choice")                                                      \
  LIMIT(fair_beats_n, "beats", 5, 0, 1000, "Fair: fewest confident beats.", "a choice")                                                                        \
  LIMIT(fair_usable_s, "s", 6, 0, 3600, "Fair: fewest usable seconds.", "a choice")                                                                            \
  LIMIT(fair_usable_share, "of the time", 0.5, 0, 1, "Fair: least usable share.", "a choice")                                                                  \
  LIMIT(fair_heart_db, "dB", 4, -100, 60, "Fair: least of heart over noise.", "a choice")                                                                      \
  LIMIT(fair_confident_share, "of the beats", 0.6, 0, 1, "Fair: least share of confident beats.", "a choice")                                                  \
  LIMIT(fair_clipped_share, "of the samples", 0.02, 0, 1, "Fair: most that may be clipped.", "a choice")                                                       \
  LIMIT(poor_beats_n, "beats", 3, 0, 1000, "Poor, and not unusable: fewest confident beats.", "a choice")                                                      \
  LIMIT(poor_usable_s, "s", 3, 0, 3600, "Poor: fewest usable seconds.", "a choice")                                                                            \
  LIMIT(poor_usable_share, "of the time", 0.1, 0, 1, "Poor: least usable share.", "a choice")                                                                  \
  LIMIT(poor_heart_db, "dB", -100, -100, 60, "Poor: least of heart over noise.", "a choice")                                                                   \
  LIMIT(poor_confident_share, "of the beats", 0, 0, 1, "Poor: least share of confident beats.", "a choice")                                                    \
  LIMIT(poor_clipped_share, "of the samples", 1, 0, 1, "Poor: most that may be clipped.", "a choice")

/// A field of a stage's struct out of its row.
#ifndef GIRTHLINE_LIMIT_FIELD
#define GIRTHLINE_LIMIT_FIELD(name, unit, usual, lowest, highest, what, source) double name;
#endif

typedef struct girthline_quality_limits { GIRTHLINE_LIMITS_QUALITY(GIRTHLINE_LIMIT_FIELD) } girthline_quality_limits;

#endif
