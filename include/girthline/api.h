// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What stands between GIRTHLINE_API_BEGIN and GIRTHLINE_API_END is seen from outside the library, and by C++ as C.
#ifndef GIRTHLINE_API_H
#define GIRTHLINE_API_H

#if defined(__GNUC__)
#define GIRTHLINE_API_SEEN _Pragma("GCC visibility push(default)")
#define GIRTHLINE_API_UNSEEN _Pragma("GCC visibility pop")
#else
#define GIRTHLINE_API_SEEN
#define GIRTHLINE_API_UNSEEN
#endif

#ifdef __cplusplus
#define GIRTHLINE_API_BEGIN extern "C" { GIRTHLINE_API_SEEN
#define GIRTHLINE_API_END GIRTHLINE_API_UNSEEN }
#else
#define GIRTHLINE_API_BEGIN GIRTHLINE_API_SEEN
#define GIRTHLINE_API_END GIRTHLINE_API_UNSEEN
#endif

#endif
