// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include <stdio.h>

#include <girthline/girthline.h>

int main(void) {
  puts(girthline_version());
  return 0;
}
