// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files of this stage share: kept beats, the beat-aligned picture, and the evidence for a murmur.
#ifndef GN_MURMUR_PARTS_H
#define GN_MURMUR_PARTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <girthline/result.h>

#include "base/signal.h"

/// Rows of the picture: five bands in which a murmur is looked for, and two helpers.
enum {
  GN_MURMUR_BANDS = GIRTHLINE_CYCLE_BANDS,
  GN_MURMUR_LOW = GN_MURMUR_BANDS, ///< 25 to 100 Hz: where the heart sounds end
  GN_MURMUR_BROAD,                 ///< 25 to 700 Hz: levels
  GN_MURMUR_ROWS
};

#define GN_MURMUR_CELL_S 0.005   ///< grid of the power envelopes, seconds
#define GN_MURMUR_MOST_BEATS 256 ///< beats kept of a long recording, evenly chosen
#define GN_MURMUR_MOST_WAVES 48  ///< of these, beats whose samples are kept for the spectrum

extern const double gn_murmur_band_hz[GN_MURMUR_ROWS][2];

/// One kept beat. Cells count from S1's onset (from S2's where S1 was not found). Of a long pause the middle is left
/// out: cells before head_n count from the start, those from head_n on end at the next S1.
typedef struct gn_murmur_beat {
  double s1_s, s2_s;        ///< onsets; NaN: not found
  double systole_s;         ///< NaN: one of the sounds is missing
  double diastole_s;        ///< S2 to the next S1; NaN: no next S1
  double s1_length_s, s2_length_s;
  size_t index;             ///< among all beats, for the even selection
  size_t n_cells, head_n;
  float *power;             ///< [cell][row], NaN where spoilt or outside the recording
  float *wave;              ///< samples from the first cell's start; NULL when not kept
  size_t n_wave;
} gn_murmur_beat;

void gn_murmur_beat_clear(gn_murmur_beat *beat);

/// Power envelopes of a window, [row][cell] from the window's start. NULL when refused; *n_cells set.
float *gn_murmur_envelopes(const gn_signal *window, size_t *n_cells);

/// The cells [from_s, from_s + n * CELL) of one beat out of a window's envelopes; NaN in spoilt spans.
void gn_murmur_cut(const gn_signal *window, const float *envelopes, size_t n_envelope_cells, gn_murmur_beat *beat, double from_s);

/// The beat-aligned picture. Cells 0 .. n_systole-1: systole, stretched to its median; then n_first by time since S2; then
/// n_second by time before the next S1.
typedef struct gn_murmur_cube {
  size_t n_beats, n_cells, n_systole, n_first, n_second;
  double systole_s, diastole_s, interval_s;
  size_t n_whole;        ///< whole beats' worth: of the systoles and the diastoles that were heard from end to end the fewer
  double heard_s1;       ///< beats whose systole is there
  double heard_s2;       ///< beats whose first half of diastole is there
  float *power;          ///< [row][cell][beat], NaN: missing
  float *contour;        ///< [row][cell]: median over beats
  float *floor_contour;  ///< [row][cell]: low quantile over beats
  size_t s1_end, s2_start, s2_end, s1_start; ///< cells: systole's quiet part [s1_end, s2_start), diastole's [s2_end, s1_start)
  double floor_power[GN_MURMUR_ROWS]; ///< the quiet level
  double s1_power;       ///< broad row, mean over S1, background taken off
  double s1_peak_power;  ///< broad row, largest over S1
  double sound_s[2];     ///< length of S1 and S2, seconds
  double sound_power[GN_MURMUR_ROWS][2];     ///< peak of the median contour over S1 and over S2
} gn_murmur_cube;

/// 0, or -1 when memory is refused. Beats must hold at least one systole.
int gn_murmur_cube_build(gn_murmur_cube *cube, const gn_murmur_beat *beats, size_t n_beats);
void gn_murmur_cube_clear(gn_murmur_cube *cube);

/// Move the beats' sounds to where their own band begins, where a murmur that runs into one was taken for its beginning; the picture is to be
/// built again then. 0, or -1 when memory is refused.
int gn_murmur_align(const gn_murmur_cube *cube, gn_murmur_beat *beats, size_t n_beats, double fs_hz, bool *moved);

/// Power of band row over that of the low band, at the peak of a heart sound (0: S1, 1: S2), as far as the other one makes it likely; 0: not
/// to be had.
double gn_murmur_sound_ratio(const gn_murmur_cube *cube, size_t row, int sound);

/// The same of the sounds that leave their tails in a phase: in diastole the larger.
double gn_murmur_tail_ratio(const gn_murmur_cube *cube, size_t row, int phase);

/// The cells [cells[0], cells[1]) of a phase in which the band holds hardly anything of the heart sounds: its quiet part, and beyond it where the
/// band is quiet sooner, or longer, than the low one. Empty where the phase has no quiet part.
void gn_murmur_quiet_part(const gn_murmur_cube *cube, size_t row, int phase, size_t cells[2]);

#define GN_MURMUR_REMAINDER_S 0.120 ///< S3 and the end of S2 are over by then (an S3 lasts no longer)

static inline double gn_murmur_diastole_s(const gn_murmur_cube *cube) { return (double)(cube->n_cells - cube->n_systole) * GN_MURMUR_CELL_S; }

static inline float *gn_murmur_cell(const gn_murmur_cube *cube, size_t row, size_t cell) {
  return cube->power + (row * cube->n_cells + cell) * cube->n_beats;
}

/// Mean power per beat over cells [a, a + n); NaN where more than half of them are missing.
void gn_murmur_window(const gn_murmur_cube *cube, size_t row, size_t a, size_t n, float *values);
void gn_murmur_mean(const float *cells, size_t n, size_t n_beats, float *values); ///< the same of cells [cell][beat]

/// Quantile over beats of values, missing ones left out; NaN when none is there. scratch: n floats.
double gn_murmur_quantile(const float *values, size_t n, double q, float *scratch);

enum { GN_MURMUR_LENGTHS = 3 };

/// One window in one band, and how far it stands out.
typedef struct gn_murmur_evidence {
  bool found;
  int phase;               ///< 0 systole, 1 diastole
  size_t row, length, a, n;
  double q_power, ref_power;
  double x_db, low_db;     ///< excess; its 5 % bootstrap bound
  double z, share, share_out;
  bool outlasts;           ///< as low as the heart sounds, it lasts longer than their tails and any S3
  double over_sounds_db;   ///< excess over what the heart sounds leave there
  double level_db;         ///< excess against S1's peak
  double score;
  double paired;           ///< how far every beat's window stands over that beat's own quiet, in standard errors
  double beats_chance;     ///< by how many deviations it beats the best of the surrogates, each beat against its own quiet
  bool beyond_chance;      ///< none of the surrogates has as much excess
  double locked;           ///< deviations over the best that beats out of step show, by the test in noise; 0: not found by it
  double rise;             ///< logarithm of the power over the noise around, of the band where that is most; 0: not found by the test in noise
  double locked_lasts_s;   ///< how long that lasts; 0: found by excess
  bool far;                ///< the test in noise told it against the noise further around alone
  unsigned rows;           ///< bit per band in which this phase was found
} gn_murmur_evidence;

struct gn_murmur_locked; // locked.h

/// Working memory and the reference levels of the test.
typedef struct gn_murmur_test {
  const girthline_murmur_limits *limits;
  const gn_murmur_cube *cube;
  bool hides_s1;                            ///< see gn_murmur_hides_s1
  bool shares;                              ///< a second thread may be taken
  double fs_hz;                             ///< of the kept samples
  size_t length_n[GN_MURMUR_LENGTHS];       ///< window lengths in cells
  double *ref_power;                        ///< [row][length]
  float *outside;                           ///< [row][length][beat]: mean power in the quiet windows
  float *values, *part, *many, *scratch;
  double *quiet, *sorted, *errors;
  double *weights;                          ///< [beat], of the window in hand
  double *usual;                            ///< [row][length]: mean logarithm of a window's power over the beat's own quiet
} gn_murmur_test;

int gn_murmur_test_init(gn_murmur_test *test, const gn_murmur_cube *cube);
void gn_murmur_test_clear(gn_murmur_test *test);

/// The same test with room of its own to judge windows in, for another thread; what was learnt is shared, and outlives it. 0, or -1 when memory
/// is refused.
int gn_murmur_test_beside(const gn_murmur_test *test, gn_murmur_test *own);
void gn_murmur_test_beside_clear(gn_murmur_test *own);

/// Judge one window given its power per beat.
void gn_murmur_judge(gn_murmur_test *test, const float *values, gn_murmur_evidence *e);

/// A beat's weight by its own quiet level: a murmur shows in a quiet beat and drowns in a loud one. scratch: n doubles.
void gn_murmur_weigh(const float *own, size_t n, double *weights, double *scratch);

/// Weighted mean over beats and its standard error, missing ones left out. false: too few.
bool gn_murmur_weighted(const float *x, const double *weights, size_t n, double out[2]);

/// Hold a window against surrogates, whose beats are out of step: fills beats_chance and beyond_chance. 0, or -1 when memory is refused.
int gn_murmur_chance(gn_murmur_test *test, gn_murmur_evidence *e);

/// What is usual in the recording by band and window length; before a search.
void gn_murmur_test_learn(gn_murmur_test *test);

/// The strongest evidence of each phase (found or not); every window and band tried. 0, or -1 when memory is refused.
int gn_murmur_search(gn_murmur_test *test, struct gn_murmur_locked *locked, gn_murmur_evidence best[2]);

/// Does what was found come and go with every second beat, where the intervals do not?
bool gn_murmur_alternates(gn_murmur_test *test, const gn_murmur_evidence *e, const gn_murmur_beat *beats);

/// The course of a murmur through its phase.
typedef struct gn_murmur_profile {
  size_t first, n;         ///< the phase's cells
  double *power;           ///< [n] excess over the quiet level
  bool *seen;              ///< [n] not covered by S1 or S2
  double start, end;       ///< where the fitted shape begins and ends, shares of the phase
  size_t span[2];          ///< cells above 30 % of the peak's amplitude
  size_t core[2], heard[2]; ///< in the quiet part: cells above half of the peak's amplitude, and all of the shape's
  double hidden_db;        ///< how much louder the whole shape is than the part of it that is heard alone
  girthline_shape shape;
  bool bowed;              ///< the shape's sides are bowed, not straight
  girthline_timing timing;
} gn_murmur_profile;

/// 0, or -1 when memory is refused (clear it all the same).
int gn_murmur_profile_init(gn_murmur_test *test, const gn_murmur_evidence *e, gn_murmur_profile *profile);
void gn_murmur_profile_clear(gn_murmur_profile *profile);

/// What one phase's murmur is like; e must be found. test may be one beside another. 0, or -1 when memory is refused.
int gn_murmur_describe(gn_murmur_test *test, const struct gn_murmur_locked *locked, const gn_murmur_evidence *e, const gn_murmur_beat *beats,
                       girthline_murmur_phase *out);

/// Is what was found no murmur, but a sound's tail, the background or a click, or too doubtful? usable: the test in noise was; the detection limits
/// stand in the result.
bool gn_murmur_is_none(gn_murmur_test *test, bool usable, const gn_murmur_evidence *e, const girthline_murmur_phase *p, const girthline_result *result);

/// Does the noise near by hide what was found, that fills its phase, so far over the limit that it should have stood out against that, too? Then
/// it may be no murmur, and the limit does not hold.
bool gn_murmur_is_hidden_near(const gn_murmur_evidence *e, const girthline_murmur_phase *p, double limit_db);

/// Is what was found the background, lifted between the sounds by the recorder's gain, or let through by its gate?
bool gn_murmur_is_lifted(gn_murmur_test *test, const gn_murmur_evidence *e, const girthline_murmur_phase *p);

#define GN_MURMUR_QUIET_CELLS_LEAST 8 // of the cycle, before anything is said of its background

/// Does a cell lie between the sounds?
bool gn_murmur_is_quiet(const gn_murmur_cube *cube, size_t c);

/// The background of a band: its lowest cells against S1, and how far the cells' powers lie apart over the beats.
typedef struct gn_murmur_background { double floor_db, varies_db; } gn_murmur_background;

/// NaN: too little quiet part.
void gn_murmur_background_of(gn_murmur_test *test, gn_murmur_background bands[GN_MURMUR_BANDS]);

/// Does the recorder pass so little above some 150 Hz that murmurs there, where many lie, would not be heard?
bool gn_murmur_recorder_cuts_off(const gn_murmur_background bands[GN_MURMUR_BANDS]);

/// Does the recorder pass so little of the low frequencies, in which heart sounds have the most, that any background rises from the lowest band?
bool gn_murmur_recorder_lacks_lows(const gn_murmur_cube *cube);

/// Whether a murmur that never stops stands over everything. May not stop: it is that or the room.
typedef enum gn_murmur_lasting { GN_MURMUR_STOPS, GN_MURMUR_MAY_NOT_STOP, GN_MURMUR_NEVER_STOPS } gn_murmur_lasting;

/// rows: a bit per band that shows it. hum: mains hum is there.
gn_murmur_lasting gn_murmur_lasts(const gn_murmur_cube *cube, const gn_murmur_background bands[GN_MURMUR_BANDS], bool hum, unsigned *rows);

/// What a murmur through the whole cycle is like. 0, or -1 when memory is refused.
int gn_murmur_describe_continuous(gn_murmur_test *test, unsigned rows, const gn_murmur_beat *beats, double fs_hz, girthline_murmur_phase *out);

/// The frequencies in which the strongest of a murmur found in these bands is looked for.
void gn_murmur_search_range(unsigned rows, double search_hz[2]);

/// peak_hz, band_hz and musical of out from the kept samples; cells [a, b) of the picture hold the murmur.
/// The search is kept to search_hz. Of a continuous one nothing is taken off: there is no quiet place.
int gn_murmur_pitch(const gn_murmur_cube *cube, const gn_murmur_beat *beats, double fs_hz, const size_t span[2], const double search_hz[2],
                    girthline_murmur_phase *out);

/// The picture's cell as a time in one beat, seconds from the beat's first cell; NaN: missing there.
double gn_murmur_time_in_beat(const gn_murmur_cube *cube, const gn_murmur_beat *beat, double cell);

/// The average cycle for the pages. scratch: as many floats as beats.
void gn_murmur_picture(const gn_murmur_cube *cube, float *scratch, girthline_pictures *out);

/// Level over the beats in pick, dB; NaN: none.
typedef double gn_murmur_level(const void *what, const size_t *pick);

/// The 95 % interval of a level over beats drawn again and again; n_beats at most GN_MURMUR_MOST_BEATS.
void gn_murmur_level_interval(size_t n_beats, uint64_t seed, gn_murmur_level *level, const void *what, double interval_db[2]);

/// *limit_db: detection limit of a phase, dB, measured as level_db is; NaN: the phase has no quiet part. -1 when memory is refused.
/// Neither test nor locked is changed: both phases may be asked at once.
int gn_murmur_limit_db(const gn_murmur_test *test, const struct gn_murmur_locked *locked, int phase, double *limit_db);

/// What there is to tell once it is known what was found: the detection limit of either phase, and what a murmur that was found there is like; by two
/// threads where the test shares. 0, or -1 when memory is refused.
int gn_murmur_tell(const gn_murmur_test *test, const struct gn_murmur_locked *locked, const gn_murmur_beat *beats, const gn_murmur_evidence found[2],
                   double limit_db[2], girthline_murmur_phase phases[2]);

#endif
