// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// How the C library keeps the memory of several threads.
#ifndef GN_CLI_HEAP_H
#define GN_CLI_HEAP_H

/// For a command whose threads share one recording and ask for little: one heap for all, before there is a second thread. With one each, what
/// a thread has let go of would stay with it, and the hour would need 4 to 8 MiB more.
void gn_cli_one_heap(void);

/// For a command that analyses one recording after the other: what one has let go of stays for the next. Given back, every page of it would have to be
/// asked for and cleared again, some hundred MiB for ten recordings of five minutes.
void gn_cli_keep_heap(void);

#endif
