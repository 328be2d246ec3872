// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
//
// A recording, analysed and written out as the program writes it: JSON for other programs, a page for people.
//   cc write_report.c $(pkg-config --cflags --libs girthline-report) -o write_report
//   ./write_report RECORDING OUT.json OUT.html
#include <stdio.h>

#include <girthline/girthline.h>
#include <girthline/report.h>

// Write a text that the report library made, and let go of it. 0 where it is on the disk.
static int put(const char *path, char *text, const girthline_error *error) {
  if (!text) {
    fprintf(stderr, "%s\n", error->text);
    return 1;
  }
  FILE *file = fopen(path, "w");
  int bad = !file || fputs(text, file) < 0;
  if (file && fclose(file)) bad = 1;
  girthline_text_free(text);
  if (bad) perror(path);
  return bad;
}

static int write_out(const girthline_report_input *input, char **paths) {
  girthline_error error = {0};
  if (put(paths[0], girthline_report_json(input, 1, &error), &error)) return 1;
  return put(paths[1], girthline_report_html(input, 1, NULL, &error), &error);
}

int main(int argc, char **argv) {
  if (argc != 4) {
    fprintf(stderr, "usage: write_report RECORDING OUT.json OUT.html\n");
    return 2;
  }
  girthline_error error = {0};
  girthline_result *result = NULL;
  char hash[48];
  girthline_status status = girthline_analyse_file(argv[1], NULL, &result, &error);
  if (status == GIRTHLINE_OK) status = girthline_content_hash_path(argv[1], hash, &error);
  int bad = status != GIRTHLINE_OK;
  if (bad) fprintf(stderr, "%s\n", error.text);
  const girthline_report_input input = {.result = result, .name = argv[1], .path = argv[1], .content_hash = hash};
  if (!bad) bad = write_out(&input, argv + 2);
  girthline_result_free(result);
  return bad;
}
