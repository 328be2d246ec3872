// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// A recording, analysed and read.
//   cc analyse_file.c $(pkg-config --cflags --libs girthline) -o analyse_file
//   ./analyse_file RECORDING [SPECIES]
#include <math.h>
#include <stdio.h>

#include <girthline/girthline.h>

// NaN is "not determined"; why stands beside it under the field's place in the report.
static void print_rate(const girthline_result *r) {
  if (!isnan(r->rate.bpm)) {
    printf("rate: %.1f a minute\n", r->rate.bpm);
    return;
  }
  printf("rate: not determined\n");
  for (size_t i = 0; i < r->n_undetermined; i++) printf("  %s: %s\n", r->undetermined[i].pointer, r->undetermined[i].reason);
}

static void print_result(const girthline_result *r) {
  printf("quality: %s\n", r->quality.grade_reason);
  printf("beats: %zu\n", r->n_beats);
  print_rate(r);
  printf("rhythm: %s\n", r->rhythm.explanation);
  for (size_t i = 0; i < r->n_findings; i++) printf("finding: %s\n  %s\n", r->findings[i].text, r->findings[i].advice);
  printf("%s\n", girthline_caution(r->settings.species));
}

int main(int argc, char **argv) {
  if (argc < 2) {
    fprintf(stderr, "usage: analyse_file RECORDING [SPECIES]\n");
    return 2;
  }
  girthline_settings settings = girthline_settings_default();
  if (argc > 2) {
    if (!girthline_species_parse(argv[2], &settings.species)) {
      fprintf(stderr, "%s is no species this library knows\n", argv[2]);
      return 2;
    }
    settings.species_assumed = false;
  }
  girthline_error error = {0};
  girthline_result *result = NULL;
  if (girthline_analyse_file(argv[1], &settings, &result, &error) != GIRTHLINE_OK) {
    fprintf(stderr, "%s\n", error.text);
    return 1;
  }
  print_result(result);
  girthline_result_free(result);
  return 0;
}
