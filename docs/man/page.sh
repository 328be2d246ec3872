#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# page.sh SCDOC SOURCE VERSION: a manual page on standard output. The version stands at its foot, not the day it was built,
# and names of options and keys are not broken at a hyphen: groff's .TH takes scdoc's own .nh back.
page=$("$1" <"$2") || exit 1
printf '%s\n' "$page" | sed -e "s/^\(\.TH \"[^\"]*\" \"[^\"]*\"\).*/\1 \"\" \"girthline $3\" \"girthline manual\"/" -e '/^\.TH /a .nh'
