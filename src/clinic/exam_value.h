// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// One value of an examination file, checked by its key's kind.
#ifndef GN_CLINIC_EXAM_VALUE_H
#define GN_CLINIC_EXAM_VALUE_H

#include "clinic/exam.h"

/// Check value->text by key and set value->number. NULL: right; else what is wrong with it, a sentence's end, in store.
const char *gn_exam_value_check(const gn_exam_key *key, gn_exam_value *value, char *store, size_t n_store);

#endif
