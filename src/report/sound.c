// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/sound.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include <soxr.h>

#include "base/error.h"
#include "base/maths.h"
#include "base/memory.h"

#define HIGH_PASS_HZ 25.0 ///< the band every level of the report is measured from
#define LOW_PASS_HZ 400.0 ///< a choice for listening: above it a stethoscope brings little but noise
#define PLAYED_PEAK 0.9   ///< share of full scale
#define EDGE_S 0.2        ///< mirrored sound before and after, so that the filter starts and ends settled
#define BLOCK 65536
#define MOST_FRAMES 1e15 ///< a choice: 165 years at the highest rate
#define WAV_HEADER_BYTES 44
#define PIECE_BYTES 6144 ///< a multiple of six

void gn_sound_clear(gn_sound *sound) {
  if (!sound) return;
  gn_free(sound->samples);
  *sound = (gn_sound){0};
}

girthline_status gn_sound_open(const girthline_report_input *input, girthline_reader **out, girthline_error *error) {
  const int channel = input->result->recording.channel_used; // 0 where the result was made by hand and says none
  return input->path ? girthline_reader_open_file(input->path, channel, out, error)
                     : girthline_reader_open_memory(input->data, input->n_bytes, input->name, channel, out, error);
}

static girthline_status read_part(girthline_reader *reader, double from_s, double to_s, gn_sound *out, girthline_error *error) {
  const double rate_hz = girthline_reader_recording(reader)->sample_rate_hz;
  from_s = fmax(from_s, 0); // a result made by hand may hold anything
  if (!(rate_hz > 0) || !(to_s > from_s)) return GIRTHLINE_OK;
  const size_t first = (size_t)fmin(floor(from_s * rate_hz), MOST_FRAMES), want = (size_t)fmin(ceil(to_s * rate_hz), MOST_FRAMES) - first;
  size_t capacity = 0, got = 0;
  girthline_status status = girthline_reader_seek(reader, first, error);
  out->rate_hz = rate_hz;
  out->start_s = (double)first / rate_hz;
  while (!status && out->n < want) {
    const size_t ask = want - out->n < BLOCK ? want - out->n : BLOCK;
    void *samples = out->samples;
    if (gn_grow(&samples, &capacity, out->n + ask, sizeof *out->samples)) return gn_error_memory(error, "report");
    out->samples = samples;
    status = girthline_reader_read(reader, out->samples + out->n, ask, &got, error);
    if (!status) out->n += got;
    if (got < ask) break;
  }
  return status;
}

girthline_status gn_sound_read(const girthline_report_input *input, double from_s, double to_s, gn_sound *out, girthline_error *error) {
  girthline_reader *reader;
  *out = (gn_sound){0};
  if (!input->path && !input->data) return GIRTHLINE_OK;
  girthline_status status = gn_sound_open(input, &reader, error);
  if (!status) status = read_part(reader, from_s, to_s, out, error);
  girthline_reader_free(reader);
  if (status) gn_sound_clear(out);
  return status;
}

girthline_status gn_sound_resample(const gn_sound *sound, double rate_hz, gn_sound *out, girthline_error *error) {
  *out = (gn_sound){.rate_hz = rate_hz, .start_s = sound->start_s};
  if (!sound->n) return GIRTHLINE_OK;
  const size_t room = (size_t)ceil((double)sound->n * rate_hz / sound->rate_hz) + 16;
  out->samples = gn_new(room, sizeof *out->samples);
  if (!out->samples) return gn_error_memory(error, "report");
  if (rate_hz == sound->rate_hz) {
    memcpy(out->samples, sound->samples, sound->n * sizeof *out->samples);
    out->n = sound->n;
    return GIRTHLINE_OK;
  }
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_HQ, 0);
  size_t done = 0;
  if (soxr_oneshot(sound->rate_hz, rate_hz, 1, sound->samples, sound->n, NULL, out->samples, room, &done, NULL, &quality, NULL)) {
    gn_sound_clear(out);
    return gn_error_memory(error, "report");
  }
  out->n = done;
  return GIRTHLINE_OK;
}

// One second-order Butterworth section by the bilinear transform with its edge pre-warped (Oppenheim & Schafer,
// Discrete-Time Signal Processing, 7.2).
typedef struct section {
  double b0, b1, b2, a1, a2;
} section;

static section butterworth(double edge_hz, double rate_hz, bool high) {
  const double w = gn_tan(GN_PI * fmin(edge_hz / rate_hz, 0.45)), norm = 1 / (1 + sqrt(2) * w + w * w);
  const double b0 = high ? norm : w * w * norm;
  return (section){b0, high ? -2 * b0 : 2 * b0, b0, 2 * (w * w - 1) * norm, (1 - sqrt(2) * w + w * w) * norm};
}

static void run_section(const section *s, double *x, ptrdiff_t n, bool backward) {
  double z1 = 0, z2 = 0;
  for (ptrdiff_t k = 0; k < n; k++) {
    double *at = &x[backward ? n - 1 - k : k];
    const double in = *at, y = s->b0 * in + z1;
    z1 = s->b1 * in - s->a1 * y + z2;
    z2 = s->b2 * in - s->a2 * y;
    *at = y;
  }
}

girthline_status gn_sound_heart_band(gn_sound *sound, girthline_error *error) {
  const size_t n = sound->n, edge = n ? (size_t)fmin((double)(n - 1), EDGE_S * sound->rate_hz) : 0, all = n + 2 * edge;
  if (!n) return GIRTHLINE_OK;
  double *x = gn_new(all, sizeof *x), peak = 0;
  if (!x) return gn_error_memory(error, "report");
  for (size_t i = 0; i < all; i++) {
    const size_t at = i < edge ? edge - i : i - edge < n ? i - edge : 2 * (n - 1) - (i - edge);
    x[i] = (double)sound->samples[at];
  }
  const section sections[] = {butterworth(HIGH_PASS_HZ, sound->rate_hz, true), butterworth(LOW_PASS_HZ, sound->rate_hz, false)};
  for (int pass = 0; pass < 4; pass++) run_section(&sections[pass / 2], x, (ptrdiff_t)all, pass % 2);
  for (size_t i = 0; i < n; i++) peak = fmax(peak, fabs(x[edge + i]));
  const double gain = peak > 1e-6 ? PLAYED_PEAK / peak : 0;
  for (size_t i = 0; i < n; i++) sound->samples[i] = (float)(x[edge + i] * gain);
  gn_free(x);
  return GIRTHLINE_OK;
}

static void put_u32(unsigned char *to, uint32_t v) {
  for (int i = 0; i < 4; i++) to[i] = (unsigned char)(v >> 8 * i);
}

// 16 bits, rounded and bounded; not a number is silence.
static int sample_of(float value) {
  const float scaled = value * 32768, bounded = scaled > 32767 ? 32767 : scaled < -32768 ? -32768 : scaled;
  return bounded >= 0 ? (int)(bounded + 0.5F) : bounded < 0 ? -(int)(0.5F - bounded) : 0;
}

// Piece by piece, each a multiple of three bytes, so that the file is never held whole beside its text.
void gn_sound_data_uri(const gn_sound *sound, gn_html *out) {
  static const unsigned char START[WAV_HEADER_BYTES] = "RIFF....WAVEfmt \x10\0\0\0\1\0\1\0........\2\0\x10\0data...";
  const uint32_t rate = (uint32_t)lround(sound->rate_hz), n_bytes = (uint32_t)(sound->n * 2);
  unsigned char piece[PIECE_BYTES];
  size_t filled = WAV_HEADER_BYTES;
  if (sound->n >= UINT32_MAX / 4) {
    out->failed = true;
    return;
  }
  memcpy(piece, START, WAV_HEADER_BYTES);
  put_u32(piece + 4, 36 + n_bytes);
  put_u32(piece + 24, rate);
  put_u32(piece + 28, rate * 2);
  put_u32(piece + 40, n_bytes);
  gn_html_raw(out, "data:audio/wav;base64,");
  for (size_t i = 0; i < sound->n;) {
    for (; i < sound->n && filled < PIECE_BYTES; i++, filled += 2) {
      const unsigned sample = (unsigned)sample_of(sound->samples[i]);
      piece[filled] = (unsigned char)(sample & 0xFF);
      piece[filled + 1] = (unsigned char)(sample >> 8 & 0xFF);
    }
    if (filled < PIECE_BYTES) break;
    gn_html_base64(out, piece, filled);
    filled = 0;
  }
  if (filled) gn_html_base64(out, piece, filled);
}
