// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What every test program needs: cmocka in the right order, and a comparison that keeps doubles.
#ifndef TESTS_SUPPORT_H
#define TESTS_SUPPORT_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

/// |got - want| <= tolerance; NaN never passes. cmocka 1.1's own float comparison rounds to float.
#define assert_near(got, want, tolerance)                                                                               \
  do {                                                                                                                  \
    const double got_ = (double)(got), want_ = (double)(want), tolerance_ = (double)(tolerance);                        \
    if (!(fabs(got_ - want_) <= tolerance_)) {                                                                          \
      print_error("%s = %.17g, want %.17g within %g\n", #got, got_, want_, tolerance_);                                \
      _fail(__FILE__, __LINE__);                                                                                        \
    }                                                                                                                   \
  } while (0)

#endif
