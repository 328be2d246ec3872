// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "rhythm/line.h"

#include <math.h>
#include <string.h>

#include "base/maths.h"

static void terms_at(const gn_stretch *w, double hz, double t, double x[GN_LINE_TERMS]) {
  const double mid = 0.5 * (w->t[0] + w->t[w->n - 1]), half = fmax(0.5 * (w->t[w->n - 1] - w->t[0]), 1e-9);
  const double phase = 2 * GN_PI * hz * (t - w->t[0]);
  x[0] = 1, x[1] = (t - mid) / half, x[2] = gn_sin(phase), x[3] = gn_cos(phase);
}

void gn_line_sum(const gn_stretch *w, double hz, gn_line_sums *sums) {
  *sums = (gn_line_sums){.hz = hz};
  for (size_t i = 0; i < w->n; i++) {
    double x[GN_LINE_TERMS];
    terms_at(w, hz, w->t[i], x);
    for (int j = 0; j < GN_LINE_TERMS; j++) {
      sums->b[j] += x[j] * w->y[i];
      for (int k = 0; k <= j; k++) sums->a[j][k] += x[j] * x[k];
    }
    sums->yy += w->y[i] * w->y[i];
  }
}

bool gn_line_solve(const gn_line_sums *sums, int terms, const double ridge[GN_LINE_TERMS], gn_line *out) {
  double a[GN_LINE_TERMS][GN_LINE_TERMS], b[GN_LINE_TERMS], yy = sums->yy, det = 1;
  memcpy(a, sums->a, sizeof a);
  memcpy(b, sums->b, sizeof b);
  for (int j = 0; j < terms; j++) {
    if (ridge) a[j][j] += ridge[j];
    for (int k = 0; k <= j; k++) {
      for (int m = 0; m < k; m++) a[j][k] -= a[j][m] * a[k][m];
      if (k < j) a[j][k] /= a[k][k];
      else if (a[j][j] <= 1e-9) return false;
      else a[j][j] = sqrt(a[j][j]);
    }
    det *= a[j][j] * a[j][j];
  }
  for (int j = 0; j < terms; j++) {
    for (int m = 0; m < j; m++) b[j] -= a[j][m] * b[m];
    b[j] /= a[j][j];
    yy -= b[j] * b[j];
  }
  *out = (gn_line){.sse = fmax(yy, 0), .det = det, .hz = terms > 2 ? sums->hz : 0};
  for (int j = terms - 1; j >= 0; j--) {
    for (int m = j + 1; m < terms; m++) b[j] -= a[m][j] * out->c[m];
    out->c[j] = b[j] / a[j][j];
  }
  return true;
}

double gn_line_at(const gn_stretch *w, const gn_line *l, double t) {
  double x[GN_LINE_TERMS], y = 0;
  terms_at(w, l->hz, t, x);
  for (int j = 0; j < GN_LINE_TERMS; j++) y += l->c[j] * x[j];
  return y;
}

void gn_line_drop_worst(gn_stretch *w, const gn_line *l) {
  size_t worst = 0;
  double off = 0;
  for (size_t i = 0; i < w->n; i++) {
    const double d = fabs(w->y[i] - gn_line_at(w, l, w->t[i]));
    if (d > off) off = d, worst = i;
  }
  w->n--;
  memmove(w->t + worst, w->t + worst + 1, (w->n - worst) * sizeof *w->t);
  memmove(w->y + worst, w->y + worst + 1, (w->n - worst) * sizeof *w->y);
}
