// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "clinic/compare.h"
char *gn_compare_page(const gn_comparison *comparison, gn_store *store, girthline_error *error) {
  (void)comparison; (void)store; (void)error;
  return NULL;
}
