// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// page_sample full|empty|hostile|long [json|pdf]: the page (or JSON report, or document) of a result made by hand, on standard output, for the
// checks that read or show it.
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <girthline/report.h>

#include "sample_result.h"

static int write_document(const girthline_report_input *inputs, size_t n) {
  girthline_error error = {0};
  void *data = NULL;
  size_t n_bytes = 0;
  if (girthline_report_pdf(inputs, n, NULL, &data, &n_bytes, &error) != GIRTHLINE_OK) {
    fprintf(stderr, "%s\n", error.text);
    return 1;
  }
  fwrite(data, 1, n_bytes, stdout);
  girthline_data_free(data);
  return 0;
}

static int write_text(const girthline_report_input *inputs, size_t n, bool json) {
  girthline_error error = {0};
  char *text = json ? girthline_report_json(inputs, n, &error) : girthline_report_html(inputs, n, NULL, &error);
  if (text) fputs(text, stdout);
  else fprintf(stderr, "%s\n", error.text);
  girthline_text_free(text);
  return text ? 0 : 1;
}

int main(int argc, char **argv) {
  const char *kind = argc > 1 ? argv[1] : "full";
  girthline_result *result = strcmp(kind, "empty") ? sample_result_full() : sample_result_empty();
  girthline_report_input inputs[16];
  void *sound = NULL;
  size_t n_bytes = 0, n = 0;
  sample_sound(&sound, &n_bytes);
  if (!strcmp(kind, "long")) result->recording.duration_s = result->recording.to_s = 7200;
  if (!strcmp(kind, "hostile"))
    for (; SAMPLE_HOSTILE[n]; n++) inputs[n] = (girthline_report_input){result, SAMPLE_HOSTILE[n], NULL, NULL, 0, SAMPLE_HOSTILE[n]};
  else
    inputs[n++] = (girthline_report_input){result, "bay-mare-left-aortic.wav", NULL, sound, n_bytes, "xxh3-128:0123456789abcdef0123456789abcdef"};
  const int code = argc > 2 && !strcmp(argv[2], "pdf") ? write_document(inputs, n) : write_text(inputs, n, argc > 2);
  girthline_result_free(result);
  free(sound);
  return code;
}
