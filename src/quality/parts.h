// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The parts of the quality stage, for its own files (and their tests) only.
#ifndef GN_QUALITY_PARTS_H
#define GN_QUALITY_PARTS_H

#include <stdint.h>

#include "base/fft_many.h"
#include "quality/quality.h"

// ---- spans.c: lists of spoilt spans of bounded length ------------------------------------------------------------

typedef struct gn_quality_spans {
  girthline_problem *items;
  size_t n, capacity;
  double join_s; ///< spans of one kind nearer than this are one
} gn_quality_spans;

/// Add a span; one of the same kind that it touches among the latest ones takes it in. Past a fixed count (10,000) the
/// nearest spans of a kind are joined. 0, or -1 when memory is refused. An empty or NaN span is left out.
int gn_quality_spans_add(gn_quality_spans *list, girthline_problem_kind kind, double start_s, double end_s);
void gn_quality_spans_sort(gn_quality_spans *list); ///< by start, then end, then kind; joins what touches
void gn_quality_spans_clear(gn_quality_spans *list);
/// Does any span of the (sorted) list whose kind is in `kinds` (bit per kind) overlap [start_s, end_s)?
bool gn_quality_spans_hit(const girthline_problem *items, size_t n, unsigned kinds, double start_s, double end_s);

#define GN_QUALITY_HIDING (1u << GIRTHLINE_HANDLING | 1u << GIRTHLINE_DROPOUT | 1u << GIRTHLINE_CLIPPING)
/// What is not counted as usable: all but breathing, which spoils the reading between the beats and not the beats.
#define GN_QUALITY_SPOILING (GN_QUALITY_HIDING | 1u << GIRTHLINE_NOISE | 1u << GIRTHLINE_NO_HEART_SOUND)

// ---- clipping.c: flat runs at the recording's own rate -----------------------------------------------------------

typedef struct gn_quality_run { uint64_t start, n; float value; } gn_quality_run;
#define GN_QUALITY_BLOCK_RUNS 512

typedef struct gn_quality_clipping {
  const girthline_quality_limits *limits;
  double fs_hz, start_s;        ///< start_s: time of the first sample
  uint64_t flat_n;              ///< equal samples that are a run worth a look
  uint64_t n_seen, n_clipped, block_start, block_clipped;
  float last, before;           ///< value of the run under way, and of the run before it
  uint64_t run_n, before_n;     ///< their lengths
  double quantum;               ///< smallest step seen where it is sought; infinite as long as no two samples differ
  double step_sum, activity;    ///< sum of steps under way; mean step of the last full stretch, and as it was when the
  double activity_at_run;       ///< run under way began
  gn_quality_run held;          ///< a flat run whose right edge is not seen yet
  uint64_t held_before_n;
  double held_step;
  gn_quality_run runs[GN_QUALITY_BLOCK_RUNS]; ///< candidates of the block
  size_t n_runs;
  float block_min, block_max;
  gn_swing swing;               ///< of the samples that came last, and
  gn_swing here;                ///< of those of them that are under way
  float rail[2];                ///< level clipped at, low and high; 0: none known
  gn_quality_run pending[2];    ///< one lone run at a level not known as a rail
} gn_quality_clipping;

void gn_quality_clipping_init(gn_quality_clipping *c, const girthline_quality_limits *limits, double fs_hz); ///< limits is kept
/// Spans of dense clipping and of digital dropouts are added to `list`. 0, or -1 when memory is refused.
int gn_quality_clipping_push(gn_quality_clipping *c, const float *samples, size_t n, gn_quality_spans *list);
int gn_quality_clipping_flush(gn_quality_clipping *c, gn_quality_spans *list); ///< at the end of the recording

// ---- frames.c: short-time band powers on a grid of absolute sample indices ---------------------------------------

/// Three bands that carry the heart, the band in which breathing is heard, what lies above, the whole, and what a thump lifts.
enum { GN_BAND_LOW, GN_BAND_MID, GN_BAND_HIGH, GN_BAND_BREATH, GN_BAND_ABOVE, GN_BAND_WIDE, GN_BAND_THUMP, GN_N_BANDS };
#define GN_N_HEART_BANDS 3

typedef struct gn_quality_frames {
  const girthline_quality_limits *limits;
  double fs_hz, scale;       ///< scale: how much higher this heart sounds than a horse's
  gn_fft_many *fft;
  size_t n_fft, hop_n;
  float *taper, *power;
  size_t lo[GN_N_BANDS], hi[GN_N_BANDS]; ///< bins [lo, hi)
  float (*rows)[GN_N_BANDS]; ///< mean power in each band, full scale 1
  size_t n, capacity;        ///< frames held
  int64_t first;             ///< index of rows[0]; frame i covers samples [i hop_n, i hop_n + n_fft)
} gn_quality_frames;

/// limits is kept. 0, or -1 when memory is refused.
int gn_quality_frames_init(gn_quality_frames *f, const girthline_quality_limits *limits, const girthline_profile *profile, double fs_hz);
void gn_quality_frames_clear(gn_quality_frames *f);
/// Hold exactly the frames that lie wholly in the window; those already held are kept. 0, or -1 when memory is refused.
int gn_quality_frames_cover(gn_quality_frames *f, const gn_signal *window);
double gn_quality_frames_time(const gn_quality_frames *f, size_t i); ///< middle of rows[i], seconds
double gn_quality_frames_step(const gn_quality_frames *f);           ///< seconds between frames

/// What the window's own heart is like; every threshold is relative to it.
typedef struct gn_quality_levels {
  double peak[GN_N_BANDS]; ///< median over blocks (each sure to hold a beat) of the block's largest frame, power; less where thumps fill half of them
  double weight[GN_N_HEART_BANDS]; ///< share of each heart band in a mean of them, sum 1: less where a steady line fills it
  double low_wide;         ///< 20 % quantile of the wide band over frames that are not digital silence
  double most_wide;        ///< 95 % quantile of the wide band
  size_t n_block;          ///< frames in a block
} gn_quality_levels;

int gn_quality_levels_of(const gn_quality_frames *f, const girthline_profile *profile, gn_quality_levels *out);

/// Frame i in the heart bands, each against its own peak: weighted mean of power ratios, about 1 at a usual beat's loudest.
double gn_quality_loudness(const gn_quality_frames *f, const gn_quality_levels *levels, size_t i);

// ---- gain.c ------------------------------------------------------------------------------------------------------

/// Undo in a window's samples, whose frames are held, what a change of the recorder's gain did. 1 where there was one, 0 where not, -1 when memory is
/// refused.
int gn_quality_even_gain(const gn_quality_frames *f, const gn_signal *window, float *samples);

// ---- marks, each adding to `list` --------------------------------------------------------------------------------

typedef struct gn_quality_view {
  const girthline_quality_limits *limits;
  const gn_quality_frames *frames;
  const gn_quality_levels *levels;
  const girthline_profile *profile;
  double start_s, end_s; ///< of the window
} gn_quality_view;

int gn_quality_handling_mark(const gn_quality_view *view, gn_quality_spans *list);
double gn_quality_dropout_level(const gn_quality_view *view); ///< wide-band power under which nothing comes through
int gn_quality_dropout_mark(const gn_quality_view *view, gn_quality_spans *list);
int gn_quality_absence_mark(const gn_quality_view *view, gn_quality_spans *list);   ///< no-heart-sound and noise
int gn_quality_breathing_mark(const gn_quality_view *view, gn_quality_spans *list);

// ---- hum.c -------------------------------------------------------------------------------------------------------

typedef struct gn_quality_cut {
  const gn_signal *window;
  const gn_quality_spans *spoilt; ///< sorted
} gn_quality_cut;

/// A line's amplitude (times half a slice's samples) and phase in one slice.
typedef struct gn_quality_phasor { double re, im, size; } gn_quality_phasor;
size_t gn_quality_slice_n(const gn_signal *w); ///< samples in a slice
bool gn_quality_is_lost(const gn_quality_cut *cut, size_t from, size_t n); ///< whether nothing came through in a part of these samples
void gn_quality_mix_down(const gn_signal *w, double hz, size_t slice_n, gn_quality_phasor *out, size_t n); ///< the first n slices
double gn_quality_drift_hz(const gn_quality_phasor *z, size_t n, size_t apart, double slice_s);
double gn_quality_angle(double re, double im); ///< of (re, im), where it is less than pi / 2

#define GN_QUALITY_FAMILY_OFF_HZ 0.35 // mains keep to 0.2 Hz but in distress
/// What hums, and its multiples: its frequency as a line that is such a multiple tells it.
typedef struct gn_quality_family { double hz, multiple; } gn_quality_family;

#define GN_QUALITY_LINES 16
typedef struct gn_quality_line { double hz, weight_s, power; } gn_quality_line; ///< power: summed over the seconds it was seen for
typedef struct gn_quality_lines {
  gn_quality_line items[GN_QUALITY_LINES];
  size_t n;
} gn_quality_lines;
#define GN_QUALITY_FAMILIES 3 ///< a choice: mains, a railway's and a machine's
typedef struct gn_quality_hum {
  const girthline_quality_limits *limits;
  gn_quality_lines lines; ///< of the recording
  double heard_s;         ///< seconds looked at
  gn_quality_family families[GN_QUALITY_FAMILIES]; ///< of the last window that was long enough
  size_t n_families;
} gn_quality_hum;
int gn_quality_hum_add(gn_quality_hum *h, const gn_quality_cut *cut); ///< one window; -1 when memory is refused
/// 0: none; NaN: too little seen. beat_hz: beats a second, whose multiples are the heart's own where it is fast; NaN if not known.
double gn_quality_hum_hz(const gn_quality_hum *h, double beat_hz);

// ---- hum_off.c ---------------------------------------------------------------------------------------------------

/// Take what hums off the window's samples: the family's frequency and its multiples, where they are there for seconds. -1 when memory is refused.
int gn_quality_hum_off(const gn_quality_family *family, const gn_quality_cut *cut, float *samples);

// ---- noise.c -----------------------------------------------------------------------------------------------------

#define GN_QUALITY_SYSTOLE_CELLS 8
#define GN_QUALITY_CELLS 24
typedef struct gn_quality_noise {
  const girthline_quality_limits *limits;
  double sound_power[2], sound_n[2]; ///< over S1 and over S2, onset to offset
  double cell_power[GN_QUALITY_CELLS], cell_n[GN_QUALITY_CELLS]; ///< by place in the cycle
  double cell_db[GN_QUALITY_CELLS], cell_squares[GN_QUALITY_CELLS], cell_beats[GN_QUALITY_CELLS]; ///< sums of the beats' levels there and of their squares, and how many
} gn_quality_noise;
/// heard: the window's sound in gn_quality_heard_band. 0, or -1 when memory is refused.
int gn_quality_noise_add(gn_quality_noise *noise, const gn_quality_cut *cut, const float *heard, const girthline_beat *beats, size_t n_beats);
/// Heart against noise, dB; NaN where there is none of either. The heart's power is what the sounds have over what lies under them
/// (halfway in level between the places beside them, at least the noise); the noise is what stands in the quietest third of the places in
/// the cycle and in those that are no more over them than chance allows (so that a murmur, an S3 or an S4 is not noise). A sound or a
/// place far louder than the window's usual sounds is left out: a hand moved. A steady hum is noise.
double gn_quality_noise_db(const gn_quality_noise *noise);

// ---- breathing.c -------------------------------------------------------------------------------------------------

#define GN_BREATH_SLOTS 320        ///< 64 s at 5 a second
#define GN_BREATH_GRID 231         ///< 0.05 to 1.2 Hz by 0.005
typedef struct gn_quality_breathing {
  const girthline_quality_limits *limits;
  double sum[GN_BREATH_SLOTS], weight[GN_BREATH_SLOTS]; ///< level in dB and frames in each 0.2 s
  int64_t first_slot;
  double share[GN_BREATH_GRID]; ///< of the variance that a wave of this frequency explains, summed over stretches
  double depth_db;              ///< sum of the SD over stretches
  size_t n_stretches;
  double beat_interval_s;       ///< summed over beats
  size_t n_intervals;
  bool any;
} gn_quality_breathing;
int gn_quality_breathing_add(gn_quality_breathing *b, const gn_quality_frames *f, const gn_quality_spans *spoilt, double from_s, double to_s,
                             const girthline_beat *beats, size_t n_beats);
/// Breaths a minute, or NaN with *reason set.
double gn_quality_breathing_rate(gn_quality_breathing *b, const girthline_profile *profile, const char **reason);

// ---- best_span.c, grade.c ----------------------------------------------------------------------------------------

/// result->quality.problems and result->limits are filled. NaN span where there is none.
girthline_span gn_quality_best_span(const girthline_result *result);
void gn_quality_grade(girthline_quality *quality, const girthline_quality_limits *limits, const girthline_beat *beats, size_t n_beats, double analysed_s);

#endif
