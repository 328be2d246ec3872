// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The limits of [rhythm]. Intervals, rate, variability, pattern.
/// limits.h says how a row is read.
#ifndef GIRTHLINE_LIMITS_RHYTHM_H
#define GIRTHLINE_LIMITS_RHYTHM_H

#define GIRTHLINE_LIMITS_RHYTHM(LIMIT)                                                                                                                         \
  LIMIT(confidence, "", 0.5, 0, 1, "A beat less sure than this bounds no interval.", "confidence is the share of such beats that are right")                   \
  LIMIT(unbroken, "", 0.995, 0, 1, "An interval counts where no beat was missed within it with this probability.",                                             \
        "of 7600 intervals of simulated hearts those from here on were whole but for 1 in 1000, those below but for half")                                     \
  LIMIT(unbroken_spoilt, "", 0.9999, 0, 1, "The same where something in it is spoilt, or it is as long as a pause.",                                              \
        "of 250 such intervals of simulated hearts 4 in 100 from here on were not whole, most below")                                                          \
  LIMIT(silent_heart_s, "s", 10, 1, 120, "Longer without any sound: taken for a sensor off the skin, not for a pause.",                                        \
        "a choice, longer than pauses told of in resting horses")                                                                                              \
  LIMIT(pause_ratio, "times the usual", 1.6, 1.1, 5, "An interval this long or longer is a pause.", "the report's definition")                                 \
  LIMIT(atrial_within, "of the usual", 0.12, 0.01, 0.5, "A sound alone in a pause is the atria's this near to where a dropped beat's S4 belongs.",                \
        "half of what neighbouring intervals of healthy resting horses differ by, up to 22 % (Flethoj et al. 2016, BMC Vet Res 12:266)")                        \
  LIMIT(early_ratio, "times the usual", 0.85, 0.3, 0.99, "An interval this short ends in an early beat.",                                                      \
        "healthy resting horses vary by 12 to 22 % (Flethoj et al. 2016, BMC Vet Res 12:266)")                                                                 \
  LIMIT(early_swinging_ratio, "times the usual", 0.7, 0.3, 0.99, "The same in a rhythm without a pattern, and in one that swings, of what a sure wave gives there.", "a choice, on simulated series") \
  LIMIT(split_sum, "times the usual", 1, 0.5, 1.5, "Two short intervals that make this: the beat between is doubtful.", "arithmetic")                          \
  LIMIT(split_tolerance, "times the usual", 0.1, 0, 0.5, "within this.", "a choice, on simulated series")                                                      \
  LIMIT(pattern_intervals_n, "intervals", 5, 3, 1000, "Fewer carry no pattern.", "a choice")                                                                   \
  LIMIT(tight_share, "of the usual", 0.085, 0.005, 0.5, "Spread up to which a rhythm is otherwise regular.",                                                   \
        "healthy horses 3 to 5 % (Liege, ORBi 2268/293159), fibrillation about 24 % (Tateno and Glass 2001); between them, on simulated series")               \
  LIMIT(pauses_short_n, "intervals", 20, 0, 10000, "In so few intervals one pause makes a pattern.", "a choice, on simulated series")                          \
  LIMIT(early_short_n, "intervals", 20, 0, 10000, "In so few intervals one early beat makes a pattern.", "a choice, on simulated series")                      \
  LIMIT(early_even_short_n, "intervals", 26, 0, 10000, "and one that is made up for by the pause after it.", "a choice, on simulated series")                  \
  LIMIT(even_tolerance, "times the usual", 0.1, 0, 0.5, "Early beat and pause after it make two usual intervals, within this.",                                \
        "a choice, on simulated series")                                                                                                                       \
  LIMIT(after_early_low, "times the usual", 0.92, 0.5, 1, "or a usual interval follows, from here", "a choice, on simulated series")                           \
  LIMIT(after_early_high, "times the usual", 1.18, 1, 2, "to here.", "a choice, on simulated series")                                                          \
  LIMIT(early_gap_spreads, "spreads", 3.5, 0, 20, "How far an early beat stands off the others' spread.", "a choice, on simulated series")                     \
  LIMIT(steady_odds, "nats", 4, -100, 100, "How much better single beats out of place explain the intervals than no pattern does.", "a choice, on simulated series")\
  LIMIT(pauses_share, "of the intervals", 0.04, 0, 1, "Rarer pauses are listed and make no pattern.", "a choice, on simulated series")                         \
  LIMIT(early_share, "of the intervals", 0.05, 0, 1, "Rarer early beats are listed and make no pattern.", "a choice, on simulated series")                     \
  LIMIT(wave_share, "of the mean", 0.055, 0, 1, "A smaller wave is a heart's ordinary wandering.", "a choice, on simulated series")                            \
  LIMIT(wave_explained, "of the variance", 0.5, 0, 1, "A wave explains this much or more.", "a choice, on simulated series")                                   \
  LIMIT(wave_kept, "of the intervals", 0.75, 0, 1, "and holds for so many of the intervals.", "a choice, on simulated series")                                 \
  LIMIT(fall_share, "of the settled rate", 0.06, 0.005, 1, "A smaller fall of the rate after the start is not told from wandering.", "a choice")               \
  LIMIT(fall_price, "", 3, 0, 50, "What a fall has to gain for each natural log of the number of intervals.", "three parameters and a search")                 \
  LIMIT(fall_intervals_n, "intervals", 7, 3, 1000, "Fewer show no fall.", "a choice")                                                                          \
  LIMIT(fall_longest_s, "s", 120, 10, 3600, "A fall is over by then.", "a choice")                                                                             \
  LIMIT(fall_within_low, "of the curve", 0.62, 0.1, 1, "Intervals that enter the first fit, from here", "a choice, on simulated series")                       \
  LIMIT(fall_within_high, "of the curve", 1.5, 1, 10, "to here.", "a choice, on simulated series")                                                             \
  LIMIT(fall_close_low, "of the curve", 0.85, 0.1, 1, "Intervals that enter the second fit, from here", "a choice, on simulated series")                       \
  LIMIT(fall_close_high, "of the curve", 1.18, 1, 10, "to here.", "a choice, on simulated series")                                                             \
  LIMIT(wave_turns, "turns", 1.5, 0.5, 20, "Fewer turns in a stretch are a drift.", "a choice, on simulated series")                                           \
  LIMIT(wave_intervals_a_turn, "intervals", 2.4, 2, 20, "With fewer intervals a turn, any two make a wave.", "a choice, on simulated series")                  \
  LIMIT(wave_keep_low, "of the median", 0.6, 0.1, 1, "Intervals that may belong to a wave, from here", "a choice, on simulated series")                        \
  LIMIT(wave_keep_high, "of the median", 1.6, 1, 10, "to here.", "a choice, on simulated series")                                                              \
  LIMIT(wave_price, "", 4, 0, 50, "What a wave has to gain for each natural log of the number of intervals.", "a choice, on simulated series")                 \
  LIMIT(misfit_one_in_n, "intervals", 6, 1, 1000, "One in so many may be left out as a misfit.", "a choice, on simulated series")                              \
  LIMIT(misfit_price, "", 2.5, 0, 50, "What each has to gain, as above.", "a choice, on simulated series")                                                     \
  LIMIT(even_spread, "of the mean", 0.03, 0, 0.5, "Under this spread no wave is looked for.", "a choice, on simulated series")                                 \
  LIMIT(least_spread, "of the mean", 0.012, 0.0001, 0.5, "The least spread a heart has about its wave.", "a choice, on simulated series")                      \
  LIMIT(jitter_times, "times", 2, 0, 10, "A measure of variability under so many times what the onsets' own jitter gives is null.", "the report's definition") \
  LIMIT(rate_intervals_n, "intervals", 3, 1, 1000, "Fewer give no rate.", "the median outvotes one wrong interval")                                            \
  LIMIT(rate_error, "of the median", 0.083, 0.01, 1, "A median interval less sure than this (its standard error, by how many intervals are missing) gives no rate.", \
        "a quarter lies three standard errors away")                                                                                                           \
  LIMIT(rate_error_noisy, "of the median", 0.055, 0.01, 1, "The same where a beat may have been taken from the noise,",                                       \
        "a quarter lies four and a half standard errors away: with four, two more rates of some 7500 simulated recordings were off by that")                   \
  LIMIT(rate_wrong_n, "intervals", 3, 0, 100, "and where so many more count as missing.",                                                                      \
        "a choice, on the same: a false beat moves the median of few intervals as far as that")                                                                \
  LIMIT(rate_split, "times", 1.1, 1, 10, "Or where the median rate is so many times the mean one, as where false beats cut long intervals in two,",             \
        "a choice: of some 9000 simulated recordings 19 so, 9 of them right and three off by more than a quarter")                                              \
  LIMIT(rate_error_split, "of the median", 0.025, 0, 1, "and the median less sure than this.", "as above: without it 158 right ones would be lost")             \
  LIMIT(rate_few_n, "intervals", 10, 0, 1000, "So few give no rate", "a choice, with the next")                                                                 \
  LIMIT(rate_few_share, "of the time", 0.3, 0, 1, "where they take less of the time from the first beat to the last.",                                          \
        "of some 10000 simulated recordings four had so few: three of them off by more than a quarter, none right")                                             \
  LIMIT(rate_twice, "times", 1.7, 1, 10, "Nor do so few where the middle one is so many times the next shorter.",                                               \
        "of some 15000 simulated recordings three so: two of them off by more than a quarter, one right")                                                       \
  LIMIT(steady_share_1, "of the rate", 0.01, 0.001, 0.5, "Steady: this near to where the rate ends.", "a choice")                                              \
  LIMIT(steady_share_2, "of the rate", 0.02, 0.001, 0.5, "or, where that does not last, this near", "a choice")                                                \
  LIMIT(steady_share_3, "of the rate", 0.03, 0.001, 0.5, "or this near", "a choice")                                                                           \
  LIMIT(steady_share_4, "of the rate", 0.06, 0.001, 0.5, "or, at the last, this near.", "a smaller fall is none (fall_share)")                                 \
  LIMIT(steady_s, "s", 8, 1, 600, "It lasts so long.", "as long as a short count")                                                                             \
  LIMIT(steady_intervals_n, "intervals", 4, 1, 1000, "and has so many intervals.", "what 8 s hold of a heart at 28 a minute: a choice")                        \
  LIMIT(reach_intervals, "intervals", 2, 0.5, 20, "A window's end further than this from a beat was not listened to.", "a choice")

/// A field of a stage's struct out of its row.
#ifndef GIRTHLINE_LIMIT_FIELD
#define GIRTHLINE_LIMIT_FIELD(name, unit, usual, lowest, highest, what, source) double name;
#endif

typedef struct girthline_rhythm_limits { GIRTHLINE_LIMITS_RHYTHM(GIRTHLINE_LIMIT_FIELD) } girthline_rhythm_limits;

#endif
