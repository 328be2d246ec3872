// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The course of the rate and of each murmur over all visits of an animal.
#ifndef GN_CLINIC_COMPARE_TREND_H
#define GN_CLINIC_COMPARE_TREND_H

#include "clinic/store.h"
#include "report/html.h"

/// Pictures as a section of a page; nothing where fewer than two visits have a date. Undated visits are left out.
girthline_status gn_compare_trends(gn_store *store, long long animal_id, gn_html *html, girthline_error *error);

#endif
