// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/frame.h"

#include <girthline/version.h>

#include "page_assets.h"

void gn_frame_open(gn_html *h, const char *title, const char *heading) {
  (void)PAGE_SCRIPT; // no script on this page
  gn_html_raw(h, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                 "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src '" PAGE_STYLE_HASH "'; base-uri 'none'; form-action 'none'\">\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                 "<meta name=\"generator\" content=\"girthline\">\n<meta name=\"color-scheme\" content=\"light dark\">\n"
                 "<meta name=\"referrer\" content=\"no-referrer\">\n<title>");
  gn_html_text(h, title);
  gn_html_raw(h, "</title>\n<style>");
  for (const char *const *line = PAGE_STYLE; *line; line++) gn_html_raw(h, *line);
  gn_html_raw(h, "</style>\n</head>\n<body>\n<main>\n<h1>");
  gn_html_text(h, heading);
  gn_html_raw(h, "</h1>\n");
}

void gn_frame_close(gn_html *h) {
  gn_html_raw(h, "<footer><p>Made by girthline " GIRTHLINE_VERSION ".</p></footer>\n</main>\n</body>\n</html>\n");
}
