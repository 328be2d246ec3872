// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// libsndfile keeps the reason of a failed opening in one place for the whole process; hold this lock from sf_open to
/// the reading of its text.
#ifndef GN_AUDIO_LOCK_H
#define GN_AUDIO_LOCK_H

void gn_audio_lock(void);
void gn_audio_unlock(void);

#endif
