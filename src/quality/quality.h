// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What may be trusted: spoilt spans, background level, hum, breathing; and the grade that follows from them.
#ifndef GN_QUALITY_QUALITY_H
#define GN_QUALITY_QUALITY_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/result.h>
#include <girthline/status.h>

#include "base/biquad.h"
#include "base/extremes.h"
#include "base/signal.h"

typedef struct gn_quality gn_quality;

/// limits and profile are copied. fs_hz: the recording's own rate; analysis_fs_hz: the rate of the windows; start_s: time of the first sample pushed.
gn_quality *gn_quality_new(const girthline_quality_limits *limits, const girthline_profile *profile, double fs_hz, double analysis_fs_hz, double start_s);
void gn_quality_free(gn_quality *q); ///< accepts NULL

/// Samples at the recording's own rate, in order: finds clipping as flat runs at any level and digital dropouts.
girthline_status gn_quality_push(gn_quality *q, const float *samples, size_t n);
gn_swing gn_quality_swing(const gn_quality *q); ///< of the samples pushed last

/// What is known of one window of the decimated recording; may be used for one after another. Windows overlap; each starts no earlier
/// than the one before. To begin, to mark and to measure may each be done by a thread of its own, with the windows in order.
typedef struct gn_quality_window gn_quality_window;
gn_quality_window *gn_quality_window_new(void); ///< NULL when memory is refused
void gn_quality_window_free(gn_quality_window *w); ///< accepts NULL

/// Take over what the samples pushed so far showed of the time from start_s to end_s, and of what was clipped shortly before.
girthline_status gn_quality_begin(const gn_quality *q, gn_quality_window *w, double start_s, double end_s);

/// Undo in a window's samples, which are samples, what a change of the recorder's gain did to them.
girthline_status gn_quality_even_out(gn_quality *q, const gn_signal *window, float *samples);

/// Look for hum in a window that was begun, and mark what is spoilt in it. *problems is owned by w and valid until it is begun again; it holds clipping and
/// dropouts too; time order. In which kinds nothing can be measured is told by gn_quality_hides.
girthline_status gn_quality_mark(gn_quality *q, gn_quality_window *w, const gn_signal *window, const girthline_problem **problems, size_t *n_problems);
bool gn_quality_hums(const gn_quality *q); ///< whether anything hums, of the mains or a machine, in the window that was marked last
/// What hums is taken off its samples, which are samples, and it is marked anew but for what is lost. What gn_quality_heard holds is of the
/// recording as it is, if it was filled before.
girthline_status gn_quality_take_hum_off(gn_quality *q, gn_quality_window *w, const gn_signal *window, float *samples, const girthline_problem **problems,
                                         size_t *n_problems);
bool gn_quality_hides(girthline_problem_kind kind); ///< handling, dropout, clipping
bool gn_quality_clips_by_beats(const gn_quality_window *w, girthline_span clipped); ///< whether one of a window's clipped spans is heart sounds: no bang

/// The band in which heart is held against noise, and where its samples go before gn_quality_measure: n of them, gn_biquad_zero_phase of the
/// window's. It is w's, until it is measured. NULL when memory is refused.
void gn_quality_heard_band(double analysis_fs_hz, gn_biquad band[2]);
float *gn_quality_heard(gn_quality_window *w, size_t n);

/// With a window's beats known (those with S1 in [from_s, to_s)), measure heart against noise, and breathing.
girthline_status gn_quality_measure(gn_quality *q, gn_quality_window *w, const gn_signal *window, const double from_to_s[2],
                                    const girthline_beat *beats, size_t n_beats);

/// Fill result->quality from all that was seen; result->beats and result->recording are complete (result->rate.settled_bpm
/// is used where it is known).
///
/// heart_to_noise_db: the power over S1 and S2 (onset to offset), less that of what lies under them, against the power in
/// the quietest third of the places in the cycle and those that chance may lift over them, 25 to 700 Hz, spoilt spans left out, and
/// sounds and places far louder than the usual sounds too; not less than -10. A hum (reported as hum_hz too) is noise, and so is a murmur
/// that fills the whole cycle.
/// usable_s: time under no mark but breathing, which spoils what lies between the beats and not the beats.
///
/// The grade (the figures are the usual limits, all choices; "confident" is a confidence of 0.5 or more). The first rule that fails decides:
///                                   good        fair        poor        else unusable
///   confident beats, at least       8           5           3
///   usable seconds, at least        10          6           3
///   usable share of the time        80 %        50 %        10 %          (silence at either end is not counted)
///   heart_to_noise_db, at least     10          4           -
///   share of beats confident        80 %        60 %        -
///   clipped_fraction, at most       0.1 %       2 %         -
/// Silence, noise and a tone have no beats and are unusable whatever else holds. Of a silent recording the whole is the only problem.
///
/// best_span: of all runs of three or more whole, confident beats free of spoilt spans, at most 12 s long, the one nearest to 10 s whose
/// intervals lie nearest to the settled one (where no settled rate is known yet, that of the last beats), without breathing where there is
/// a choice; from 0.1 s before an S1 to 0.05 s before one.
girthline_status gn_quality_finish(gn_quality *q, girthline_result *result);

#endif
