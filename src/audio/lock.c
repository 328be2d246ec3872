// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/lock.h"

#include <pthread.h>

static pthread_mutex_t mutex = PTHREAD_MUTEX_INITIALIZER;

void gn_audio_lock(void) { pthread_mutex_lock(&mutex); }
void gn_audio_unlock(void) { pthread_mutex_unlock(&mutex); }
