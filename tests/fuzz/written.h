// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// A result in every form a report has.
#ifndef TESTS_FUZZ_WRITTEN_H
#define TESTS_FUZZ_WRITTEN_H

#include <girthline/report.h>

#define FUZZ_FORMS 6

/// Written into memory as JSON and text, and as one of the others: page with sound and without, document, marked recording, its best
/// stretch, pictures. Each is whole, or fails with a sentence.
void fuzz_write_out(const girthline_report_input *input, unsigned form);

#endif
