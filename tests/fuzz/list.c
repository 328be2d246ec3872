// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A batch's list of recordings; and that every text in it comes back from its form in a table.
#include "fuzz.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "study/batch.h"
#include "study/csv.h"

// Written as a cell, read as a record, restored: the same text; and nothing a spreadsheet would take for a formula.
static void round_trip(const char *text) {
  gn_buffer out = {0};
  gn_buffer_puts(&out, "first,second\n"); // as every table has: a byte-order mark in a text is not the file's
  gn_csv_text(&out, text, true);
  gn_csv_text(&out, text, false);
  gn_buffer_add(&out, "\n", 1);
  FUZZ_HOLDS(!out.refused);
  FILE *file = fmemopen(out.text, out.n, "r");
  FUZZ_HOLDS(file);
  gn_csv csv = gn_csv_reader(file);
  for (int line = 0; line < 2; line++) FUZZ_HOLDS(gn_csv_next(&csv) == GN_CSV_RECORD && csv.n_fields == 2);
  for (size_t i = 0; i < 2; i++) {
    char *field = gn_strdup(gn_csv_field(&csv, i));
    FUZZ_HOLDS(field && !(*field && strchr("=+-@\t\r", *field)));
    gn_csv_restore(field);
    FUZZ_HOLDS(!strcmp(field, text));
    gn_free(field);
  }
  FUZZ_HOLDS(gn_csv_next(&csv) == GN_CSV_END);
  gn_csv_clear(&csv);
  fclose(file);
  gn_buffer_clear(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  const girthline_settings settings = girthline_settings_default();
  fuzz_file file = fuzz_file_of(data, n);
  gn_batch_inputs inputs = {0};
  girthline_error error = {0};
  fuzz_check_error(gn_batch_list_read(&inputs, file.path, &settings, &error), &error);
  for (size_t i = 0; i < inputs.n; i++) {
    const gn_batch_item *item = &inputs.items[i];
    FUZZ_HOLDS(item->file && item->path && item->line && (unsigned)item->settings.species < GIRTHLINE_N_SPECIES);
    round_trip(item->file);
    if (item->animal) round_trip(item->animal);
  }
  gn_batch_inputs_clear(&inputs);
  fuzz_file_close(&file);
  return 0;
}
