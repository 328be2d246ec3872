// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <math.h>
#include <string.h>

#include "base/fft.h"
#include "base/maths.h"
#include "base/memory.h"
#include "base/statistics.h"
#include "quality/parts.h"

// Choices: a frame about as long as half a heart sound; a step short enough for marks good to a frame or two.
static const double FRAME_S = 0.064, STEP_S = 0.020;
// The heart bands are those of a horse, whose S1 is this long.
static const double HORSE_S1_S = 0.120;
// A dropout is told while less of the stretch than this is lost, in pieces longer than that: between sounds a heart falls still for less, and a
// faint beat heard through parts what is lost. Choices; of 170 s lost in 85 simulated recordings 0.82 were marked without them and 0.94 with
// them, and of 1956 without a loss eight had a mark and nine have one.
static const double LOST_MOST = 0.4, LOST_LEAST_S = 1.0;

static void choose_bins(gn_quality_frames *f) {
  const girthline_quality_limits *m = f->limits;
  const double band_hz[GN_N_BANDS][2] = {{m->heart_edge_1_hz, m->heart_edge_2_hz},
                                         {m->heart_edge_2_hz, m->heart_edge_3_hz},
                                         {m->heart_edge_3_hz, m->heart_edge_4_hz},
                                         {m->breath_edge_1_hz, m->breath_edge_2_hz},
                                         {450, 900},
                                         {25, 700},
                                         {10, 30}};
  const double bin_hz = f->fs_hz / (double)f->n_fft;
  for (int b = 0; b < GN_N_BANDS; b++) {
    const double scale = b < GN_N_HEART_BANDS ? f->scale : 1;
    const size_t most = f->n_fft / 2;
    f->lo[b] = (size_t)floor(band_hz[b][0] * scale / bin_hz + 0.5);
    f->hi[b] = (size_t)floor(band_hz[b][1] * scale / bin_hz + 0.5);
    if (f->hi[b] > most) f->hi[b] = most;
    if (f->lo[b] >= f->hi[b]) f->lo[b] = f->hi[b] - 1;
  }
}

int gn_quality_frames_init(gn_quality_frames *f, const girthline_quality_limits *limits, const girthline_profile *profile, double fs_hz) {
  memset(f, 0, sizeof *f);
  f->limits = limits;
  f->fs_hz = fs_hz;
  // Half-way (in octaves) between the sounds' pitch staying and rising as they shorten.
  f->scale = sqrt(HORSE_S1_S / profile->s1_length_s);
  f->n_fft = gn_fft_size((size_t)(FRAME_S * fs_hz + 0.5) < 16 ? 16 : (size_t)(FRAME_S * fs_hz + 0.5));
  f->hop_n = (size_t)(STEP_S * fs_hz + 0.5) < 1 ? 1 : (size_t)(STEP_S * fs_hz + 0.5);
  f->fft = gn_fft_many_new(f->n_fft);
  f->taper = gn_new(f->n_fft, sizeof(float));
  f->power = gn_new((f->n_fft / 2 + 1) * GN_FFT_MANY, sizeof(float));
  if (!f->fft || !f->taper || !f->power) return -1;
  double sum = 0;
  for (size_t i = 0; i < f->n_fft; i++) {
    const double w = gn_hann(i, f->n_fft);
    f->taper[i] = (float)w;
    sum += w * w;
  }
  // Scaled so that the sum over bins 1 .. n/2-1 is the mean square.
  const float scale = (float)sqrt(2 / (sum * (double)f->n_fft));
  for (size_t i = 0; i < f->n_fft; i++) f->taper[i] *= scale;
  choose_bins(f);
  return 0;
}

void gn_quality_frames_clear(gn_quality_frames *f) {
  gn_fft_many_free(f->fft);
  gn_free(f->taper);
  gn_free(f->power);
  gn_free(f->rows);
  memset(f, 0, sizeof *f);
}

// The next n <= GN_FFT_MANY frames, hop_n apart.
static void compute(gn_quality_frames *f, const float *samples, size_t n, float rows[][GN_N_BANDS]) {
  const float *from[GN_FFT_MANY];
  for (size_t k = 0; k < GN_FFT_MANY; k++) from[k] = samples + (k < n ? k : 0) * f->hop_n;
  gn_fft_many_take(f->fft, from, f->taper);
  gn_fft_many_power(f->fft, f->power);
  for (int b = 0; b < GN_N_BANDS; b++) {
    float sum[GN_FFT_MANY] = {0};
    for (size_t bin = f->lo[b]; bin < f->hi[b]; bin++)
      for (size_t k = 0; k < GN_FFT_MANY; k++) sum[k] += f->power[bin * GN_FFT_MANY + k];
    for (size_t k = 0; k < n; k++) rows[k][b] = sum[k];
  }
}

// Frames of the last window that this one has too move to the front.
static size_t keep_known(gn_quality_frames *f, int64_t first, size_t n) {
  const int64_t skip = first - f->first;
  if (!f->n || skip < 0 || skip >= (int64_t)f->n) return 0;
  size_t kept = f->n - (size_t)skip;
  if (kept > n) kept = n;
  memmove(f->rows, f->rows + skip, kept * sizeof *f->rows);
  return kept;
}

int gn_quality_frames_cover(gn_quality_frames *f, const gn_signal *window) {
  const int64_t hop = (int64_t)f->hop_n, start = (int64_t)floor(window->start_s * f->fs_hz + 0.5);
  const int64_t first = start <= 0 ? 0 : (start + hop - 1) / hop, end = start + (int64_t)window->n - (int64_t)f->n_fft;
  const size_t n = end < first * hop ? 0 : (size_t)((end - first * hop) / hop) + 1;
  void *rows = f->rows;
  if (gn_grow(&rows, &f->capacity, n, sizeof *f->rows)) return -1;
  f->rows = rows;
  size_t i = keep_known(f, first, n);
  f->first = first;
  f->n = n;
  for (; i < n; i += GN_FFT_MANY) compute(f, window->samples + ((first + (int64_t)i) * hop - start), n - i < GN_FFT_MANY ? n - i : GN_FFT_MANY, f->rows + i);
  return 0;
}

double gn_quality_frames_step(const gn_quality_frames *f) { return (double)f->hop_n / f->fs_hz; }

double gn_quality_frames_time(const gn_quality_frames *f, size_t i) {
  return ((double)(f->first + (int64_t)i) * (double)f->hop_n + 0.5 * (double)f->n_fft) / f->fs_hz;
}

// Frames whose silence lasts for longer than a beat can stay away say nothing of the background; shorter ones (a coarse
// file that rounds the quiet to nothing) do.
static size_t leave_out_silence(const gn_quality_frames *f, double least, size_t longest_n, float *out) {
  size_t n = 0;
  for (size_t i = 0; i < f->n;) {
    size_t end = i;
    while (end < f->n && (double)f->rows[end][GN_BAND_WIDE] <= least) end++;
    if (end - i < longest_n)
      for (; i < end; i++) out[n++] = f->rows[i][GN_BAND_WIDE];
    for (i = end; i < f->n && !((double)f->rows[i][GN_BAND_WIDE] <= least); i++) out[n++] = f->rows[i][GN_BAND_WIDE];
  }
  return n;
}

// The quiet that a lost signal lies under is a low quantile of what is neither silent nor lost. Where much of a stretch is lost that quantile
// would be the lost signal's own: what lies as far under a higher one as a dropout does, for long enough, is left out too.
static int wide_levels(const gn_quality_frames *f, gn_quality_levels *out) {
  float *wide = gn_new(f->n, sizeof *wide);
  if (!wide) return -1;
  for (size_t i = 0; i < f->n; i++) wide[i] = f->rows[i][GN_BAND_WIDE];
  out->most_wide = f->n ? (double)gn_quantile_f(wide, f->n, 0.95) : 0;
  const size_t longest_n = (size_t)(f->limits->silence_longest_s / gn_quality_frames_step(f));
  const double silent = out->most_wide * gn_from_db(f->limits->silence_under_db);
  size_t n = leave_out_silence(f, silent, longest_n, wide);
  const double lost = n ? (double)gn_quantile_f(wide, n, LOST_MOST) * gn_from_db(f->limits->dropout_median_db) : 0;
  if (lost > silent) n = leave_out_silence(f, lost, (size_t)(LOST_LEAST_S / gn_quality_frames_step(f)), wide);
  out->low_wide = n ? (double)gn_quantile_f(wide, n, 0.2) : 0;
  gn_free(wide);
  return 0;
}

static double block_peak(const gn_quality_frames *f, size_t start, size_t n, int band) {
  float most = 0;
  for (size_t i = start; i < start + n; i++)
    if (f->rows[i][band] > most) most = f->rows[i][band];
  return (double)most;
}

// A band that a steady line fills says nothing of beats: its quiet is as loud as its peak.
static int weigh_bands(const gn_quality_frames *f, gn_quality_levels *out) {
  float *x = gn_new(f->n, sizeof *x);
  if (!x) return -1;
  double sum = 0;
  for (int b = 0; b < GN_N_HEART_BANDS; b++) {
    for (size_t i = 0; i < f->n; i++) x[i] = f->rows[i][b];
    const double low = f->n ? (double)gn_quantile_f(x, f->n, 0.2) : 0;
    out->weight[b] = out->peak[b] > low ? 1 - low / out->peak[b] : 0;
    sum += out->weight[b];
  }
  for (int b = 0; b < GN_N_HEART_BANDS; b++) out->weight[b] = sum > f->limits->steady_least_weight ? out->weight[b] / sum : 1.0 / GN_N_HEART_BANDS;
  gn_free(x);
  return 0;
}

double gn_quality_loudness(const gn_quality_frames *f, const gn_quality_levels *levels, size_t i) {
  double sum = 0;
  for (int b = 0; b < GN_N_HEART_BANDS; b++)
    if (levels->peak[b] > 0) sum += levels->weight[b] * (double)f->rows[i][b] / levels->peak[b];
  return sum;
}

// Whether anything stands out of a block: a fifth of its frames lie this far under its loudest. Where the chest piece is off the animal, nothing
// does: steady noise seldom reaches so far. Of 765 simulated recordings with the chest piece on all along 8 dB changed eleven, one by six beats lost.
static const double STANDS_OUT_DB = 7, QUIET_SHARE = 0.2;

static bool stands_out(const gn_quality_frames *f, size_t start, size_t n) {
  const double quiet = block_peak(f, start, n, GN_BAND_WIDE) * gn_from_db(-STANDS_OUT_DB);
  size_t n_quiet = 0;
  for (size_t i = start; i < start + n; i++) n_quiet += (double)f->rows[i][GN_BAND_WIDE] < quiet;
  return (double)n_quiet >= QUIET_SHARE * (double)n;
}

// A block of which more than this share is lost may hold no beat in the rest, which then tells of the background alone: a choice.
static const double LOST_OF_BLOCK = 0.25;

static bool tells_of_heart(const gn_quality_frames *f, const gn_quality_levels *levels, size_t start) {
  const double lost = levels->low_wide * gn_from_db(f->limits->dropout_median_db);
  size_t n_lost = 0;
  for (size_t i = start; i < start + levels->n_block; i++) n_lost += (double)f->rows[i][GN_BAND_WIDE] < lost;
  return (double)n_lost <= LOST_OF_BLOCK * (double)levels->n_block && stands_out(f, start, levels->n_block);
}

// Where blocks begin that tell of the heart.
typedef struct blocks { size_t *start, *telling, n; } blocks; // telling: room for those that may be chosen

// Those hop_n apart that are no silence: of them those out of which something stands and that are not lost, unless they are few.
static void choose_blocks(const gn_quality_frames *f, const gn_quality_levels *levels, size_t hop_n, blocks *out) {
  const double least = levels->most_wide * gn_from_db(f->limits->silence_under_db);
  size_t n = 0, n_told = 0;
  for (size_t start = 0; start + levels->n_block <= f->n; start += hop_n) {
    if (!(block_peak(f, start, levels->n_block, GN_BAND_WIDE) > least)) continue;
    out->start[n++] = start;
    if (tells_of_heart(f, levels, start)) out->telling[n_told++] = start;
  }
  out->n = n;
  if (4 * n_told < n) return;
  out->n = n_told;
  if (n_told) memcpy(out->start, out->telling, n_told * sizeof *out->start);
}

static void peaks_of(const gn_quality_frames *f, const gn_quality_levels *levels, const blocks *in, int band, double *out) {
  for (size_t i = 0; i < in->n; i++) out[i] = block_peak(f, in->start[i], levels->n_block, band);
}

// The peak of most blocks. In a recording of which half the blocks hold a thump that is no beat's: where it lies further over what a
// quarter of the stretches of that length (half overlapping, so that short recordings have enough) stay under than hearts, breath and the gut
// bring about, a hand did it. In 249 simulated recordings without handling the 98 % quantile of that distance was 1.7, 2.1, 4.1, 4.7, 3.5, 1.7
// and 2.0 dB in the bands as they stand here; dogs at 2 dB over breath reach more, and a voice more still in the bands it fills.
static const double MIDDLE_OVER_QUARTER_DB[GN_N_BANDS] = {5, 5, 8, 13, 14, 5, 5};

// half: none in so short a recording that a block may hold no beat.
static double usual_peak(const gn_quality_frames *f, const gn_quality_levels *levels, const blocks *whole, const blocks *half, int band, double *room) {
  if (!whole->n) return 0;
  peaks_of(f, levels, whole, band, room);
  const double middle = gn_median(room, whole->n);
  if (half->n < 2) return middle;
  peaks_of(f, levels, half, band, room);
  const double low = gn_quantile(room, half->n, (double)((half->n - 1) / 4) / (double)(half->n - 1));
  return fmin(middle, low * gn_from_db(MIDDLE_OVER_QUARTER_DB[band]));
}

int gn_quality_levels_of(const gn_quality_frames *f, const girthline_profile *profile, gn_quality_levels *out) {
  memset(out, 0, sizeof *out);
  if (wide_levels(f, out)) return -1;
  const double block_n = f->limits->block_share * 60 / profile->possible_bpm[0] / gn_quality_frames_step(f);
  out->n_block = (size_t)block_n;
  if (out->n_block > f->n / 3) out->n_block = f->n / 3;
  if (!out->n_block) out->n_block = 1;
  const size_t most = 2 * (f->n / out->n_block) + 2;
  double *room = gn_new(most, sizeof *room);
  size_t *starts = gn_new(3 * most, sizeof *starts);
  const bool refused = !room || !starts;
  if (!refused) {
    blocks whole = {starts, starts + 2 * most, 0}, half = {starts + most, starts + 2 * most, 0};
    choose_blocks(f, out, out->n_block, &whole);
    if ((double)(out->n_block + 1) > block_n) choose_blocks(f, out, (out->n_block + 1) / 2, &half);
    for (int b = 0; b < GN_N_BANDS; b++) out->peak[b] = usual_peak(f, out, &whole, &half, b, room);
  }
  gn_free(room);
  gn_free(starts);
  return refused ? -1 : weigh_bands(f, out);
}
