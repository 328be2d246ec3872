// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "report/utf8.h"

size_t gn_utf8_next(const char *text, uint32_t *code, bool *ok) {
  const unsigned char *s = (const unsigned char *)text;
  *ok = true;
  *code = s[0];
  if (s[0] < 0x80) return 1;
  const size_t n = s[0] >= 0xF0 ? 4 : s[0] >= 0xE0 ? 3 : 2;
  static const uint32_t LEAST[] = {0, 0, 0x80, 0x800, 0x10000}; // a shorter form of a character is ill-formed
  uint32_t c = s[0] & (0x7Fu >> n);
  bool good = s[0] >= 0xC2 && s[0] <= 0xF4;
  for (size_t i = 1; good && i < n; i++) {
    good = (s[i] & 0xC0) == 0x80;
    c = c << 6 | (s[i] & 0x3Fu);
  }
  if (good && c >= LEAST[n] && c <= 0x10FFFF && !(c >= 0xD800 && c <= 0xDFFF)) {
    *code = c;
    return n;
  }
  *ok = false;
  *code = GN_UTF8_REPLACEMENT;
  return 1;
}

bool gn_utf8_valid(const char *text) {
  bool ok = true;
  uint32_t code;
  while (*text && ok) text += gn_utf8_next(text, &code, &ok);
  return ok;
}

bool gn_utf8_acts(uint32_t c) {
  return c < 0x20 || (c >= 0x7F && c <= 0x9F) || c == 0x61C || (c >= 0x200B && c <= 0x200F) || (c >= 0x2028 && c <= 0x202E) ||
         (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF;
}

int gn_utf8_columns(uint32_t c) {
  if ((c >= 0x300 && c <= 0x36F) || (c >= 0x20D0 && c <= 0x20FF) || (c >= 0xFE00 && c <= 0xFE0F)) return 0;
  const bool wide = (c >= 0x1100 && c <= 0x115F) || (c >= 0x2E80 && c <= 0xA4CF) || (c >= 0xAC00 && c <= 0xD7A3) ||
                    (c >= 0xF900 && c <= 0xFAFF) || (c >= 0xFE30 && c <= 0xFE6F) || (c >= 0xFF00 && c <= 0xFF60) ||
                    (c >= 0x1F300 && c <= 0x1FAFF) || (c >= 0x20000 && c <= 0x3FFFD);
  return wide ? 2 : 1;
}
