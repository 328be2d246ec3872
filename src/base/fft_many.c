// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Stockham's self-sorting transform (Swarztrauber 1984, Parallel Computing 1:45, "FFT algorithms for vector computers"), mixed radix.
// A real signal is taken as half as many complex numbers (even samples, odd samples), and its spectrum is put together from theirs.
// The signals lie side by side, so that every step is the same plain loop over neighbouring numbers.
#include "base/fft_many.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "base/maths.h"
#include "base/memory.h"
#include "base/wide.h"

enum { LANES = GN_FFT_MANY, FACTORS_MOST = 16, RADIX_MOST = 5 };
static const size_t N_MOST = 65536;

struct gn_fft_many {
  size_t n, n_factors, factors[FACTORS_MOST]; // n: complex numbers, half the signal's length
  float *cosines, *sines; // of -2 pi k / (2 n), k < 2 n
  float *store, *now, *next; // each n rows of LANES real parts, then as many imaginary ones
};

static int factorise(gn_fft_many *fft, size_t n) {
  for (size_t radix = RADIX_MOST; radix >= 2; radix--)
    while (n % radix == 0) {
      fft->factors[fft->n_factors++] = radix;
      n /= radix;
    }
  return n == 1 ? 0 : -1;
}

gn_fft_many *gn_fft_many_new(size_t length) {
  if (length < 2 || length % 2 || length > N_MOST) return NULL;
  gn_fft_many *fft = gn_new(1, sizeof *fft);
  if (!fft) return NULL;
  const size_t n = fft->n = length / 2;
  fft->cosines = gn_new(2 * length, sizeof *fft->cosines);
  fft->store = gn_room(4 * n * LANES, sizeof *fft->store);
  if (factorise(fft, n) || !fft->cosines || !fft->store) {
    gn_fft_many_free(fft);
    return NULL;
  }
  fft->sines = fft->cosines + length;
  for (size_t k = 0; k < length; k++) {
    fft->cosines[k] = (float)gn_cos(2 * GN_PI * (double)k / (double)length);
    fft->sines[k] = (float)-gn_sin(2 * GN_PI * (double)k / (double)length);
  }
  fft->now = fft->store;
  fft->next = fft->store + 2 * n * LANES;
  return fft;
}

void gn_fft_many_free(gn_fft_many *fft) {
  if (!fft) return;
  gn_free(fft->cosines);
  gn_free(fft->store);
  gn_free(fft);
}

// Four samples of four signals each, two even and two odd ones, tapered; what is not finite counts as 0 (of such a number itself taken off is none).
GN_WIDE_PART void take_four(gn_fft_many *fft, const float *const signals[4], size_t at, gn_row taper, float *even) {
  typedef int mask __attribute__((vector_size(sizeof(gn_row))));
  gn_row x[4];
  for (size_t k = 0; k < 4; k++) {
    const gn_row y = *(const gn_row *)(signals[k] + at);
    x[k] = (gn_row)((mask)(y * taper) & (mask)(y - y == 0));
  }
  gn_turn_over(x);
  float *const odd = even + fft->n * LANES;
  *(gn_row *)even = x[0], *(gn_row *)odd = x[1], *(gn_row *)(even + LANES) = x[2], *(gn_row *)(odd + LANES) = x[3];
}

GN_WIDE void gn_fft_many_take(gn_fft_many *fft, const float *const *signals, const float *taper) {
  const size_t n_fours = fft->n / 2;
  for (size_t i = 0; i < n_fours; i++) {
    const gn_row t = *(const gn_row *)(taper + 4 * i);
    for (size_t s = 0; s < GN_FFT_MANY; s += 4) take_four(fft, signals + s, 4 * i, t, fft->now + 2 * i * LANES + s);
  }
  for (size_t i = 4 * n_fours; i < 2 * fft->n; i++)
    for (size_t s = 0; s < GN_FFT_MANY; s++)
      fft->now[(i % 2 * fft->n + i / 2) * LANES + s] = fabsf(signals[s][i]) <= FLT_MAX ? signals[s][i] * taper[i] : 0;
}

// One stage: transforms of `radix` numbers that lie m blocks apart, turned and put side by side. A block holds `stride` rows.
typedef struct stage { size_t radix, m, stride; } stage;

typedef struct turn { float c, d; size_t len, im; } turn; // a root, numbers in a block, and from a real part to its imaginary one

GN_WIDE_PART void two(const float *restrict a, const float *restrict b, float *restrict first, float *restrict second, turn t) {
  for (size_t i = 0; i < t.len; i++) {
    const float x = a[i] - b[i], y = a[t.im + i] - b[t.im + i];
    first[i] = a[i] + b[i];
    first[t.im + i] = a[t.im + i] + b[t.im + i];
    second[i] = x * t.c - y * t.d;
    second[t.im + i] = x * t.d + y * t.c;
  }
}

// Eight numbers: real parts and imaginary ones.
typedef struct parts { gn_eight re, im; } parts;

GN_WIDE_PART parts parts_at(const float *from, turn t) { return (parts){*(const gn_eight *)from, *(const gn_eight *)(from + t.im)}; }
GN_WIDE_PART parts sum_of(parts x, parts y) { return (parts){x.re + y.re, x.im + y.im}; }
GN_WIDE_PART parts difference_of(parts x, parts y) { return (parts){x.re - y.re, x.im - y.im}; }

GN_WIDE_PART void put_turned(parts x, turn t, float *to) {
  *(gn_eight *)to = x.re * t.c - x.im * t.d;
  *(gn_eight *)(to + t.im) = x.re * t.d + x.im * t.c;
}

// Two steps of two at once: a quarter turn only exchanges parts. Of four blocks `apart`, to four that follow each other, by t[1], t[2] and t[3].
GN_WIDE_PART void four(const float *from, size_t apart, float *to, const turn t[4]) {
  for (size_t i = 0; i < t->len; i += 8) {
    const parts a = parts_at(from + i, *t), b = parts_at(from + apart + i, *t), c = parts_at(from + 2 * apart + i, *t), d = parts_at(from + 3 * apart + i, *t);
    const parts even = sum_of(a, c), odd = sum_of(b, d), across = difference_of(a, c), slant = difference_of(b, d), turned = {slant.im, -slant.re}, all = sum_of(even, odd);
    *(gn_eight *)(to + i) = all.re;
    *(gn_eight *)(to + t->im + i) = all.im;
    put_turned(sum_of(across, turned), t[1], to + t->len + i);
    put_turned(difference_of(even, odd), t[2], to + 2 * t->len + i);
    put_turned(difference_of(across, turned), t[3], to + 3 * t->len + i);
  }
}

GN_WIDE_PART void add_turned(const float *restrict from, float *restrict to, turn t) {
  for (size_t i = 0; i < t.len; i++) {
    const float x = from[i], y = from[t.im + i];
    to[i] += x * t.c - y * t.d;
    to[t.im + i] += x * t.d + y * t.c;
  }
}

GN_WIDE_PART turn turn_by(const gn_fft_many *fft, const stage *s, size_t at) {
  return (turn){fft->cosines[2 * at], fft->sines[2 * at], s->stride * LANES, fft->n * LANES};
}

GN_WIDE_PART void stage_of_two(const gn_fft_many *fft, const stage *s) {
  const size_t len = s->stride * LANES;
  for (size_t k = 0; k < s->m; k++) {
    const float *from = fft->now + k * len;
    float *to = fft->next + 2 * k * len;
    two(from, from + s->m * len, to, to + len, turn_by(fft, s, k * s->stride));
  }
}

GN_WIDE_PART void stage_of_four(const gn_fft_many *fft, const stage *s) {
  const size_t len = s->stride * LANES;
  for (size_t k = 0; k < s->m; k++) {
    turn t[4];
    for (size_t r = 0; r < 4; r++) t[r] = turn_by(fft, s, r * k * s->stride);
    four(fft->now + k * len, s->m * len, fft->next + 4 * k * len, t);
  }
}

// The sums as they are defined; for so few terms that is soon done.
GN_WIDE_PART void stage_of_more(const gn_fft_many *fft, const stage *s) {
  const size_t len = s->stride * LANES, root = fft->n / s->radix;
  memset(fft->next, 0, 2 * fft->n * LANES * sizeof *fft->next);
  for (size_t k = 0; k < s->m; k++)
    for (size_t r = 0; r < s->radix; r++)
      for (size_t j = 0; j < s->radix; j++)
        add_turned(fft->now + (k + j * s->m) * len, fft->next + (s->radix * k + r) * len,
                   turn_by(fft, s, (j * r % s->radix * root + k * r * s->stride) % fft->n));
}

GN_WIDE static void transform(gn_fft_many *fft) {
  stage s = {.m = fft->n, .stride = 1};
  for (size_t i = 0; i < fft->n_factors; i++) {
    s.radix = fft->factors[i];
    s.m /= s.radix;
    if (s.radix == 2) stage_of_two(fft, &s);
    else if (s.radix == 4) stage_of_four(fft, &s);
    else stage_of_more(fft, &s);
    s.stride *= s.radix;
    float *done = fft->next;
    fft->next = fft->now;
    fft->now = done;
  }
}

// X_k = E_k + w^k O_k, of the even and the odd samples' spectra: E_k = (Z_k + Z*_(n-k)) / 2, O_k = (Z_k - Z*_(n-k)) / 2i.
GN_WIDE_PART void powers(const float *restrict z, const float *restrict mirrored, float *restrict power, turn w) {
  for (size_t l = 0; l < LANES; l++) {
    const float even_re = z[l] + mirrored[l], even_im = z[w.im + l] - mirrored[w.im + l];
    const float odd_re = z[w.im + l] + mirrored[w.im + l], odd_im = mirrored[l] - z[l];
    const float re = even_re + (odd_re * w.c - odd_im * w.d), im = even_im + (odd_re * w.d + odd_im * w.c);
    power[l] = 0.25f * (re * re + im * im);
  }
}

// Bin n is bin 0 of the complex transform.
GN_WIDE_PART const float *bin(const gn_fft_many *fft, size_t k) { return fft->now + (k < fft->n ? k : 0) * LANES; }

GN_WIDE void gn_fft_many_power(gn_fft_many *fft, float *power) {
  const size_t n = fft->n;
  transform(fft);
  for (size_t k = 0; k <= n; k++)
    powers(bin(fft, k), bin(fft, n - k), power + k * GN_FFT_MANY, (turn){fft->cosines[k], fft->sines[k], 0, n * LANES});
}
