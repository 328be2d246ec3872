// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <girthline/report.h>

#include "base/memory.h"

void girthline_text_free(char *text) { gn_free(text); }

void girthline_data_free(void *data) { gn_free(data); }
