// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// Does a sound repeat the waveform that the recording's own beats share? A heart's sounds do, breath and gut do not.
///
/// Heart sounds of one recording agree from beat to beat closely enough to be averaged as waveforms: of 34 short recordings of human
/// hearts the S2 of 24 agreed with the average of the others by 0.96 and more, that of ten under a loud murmur by 0.6 in the median;
/// simulated ones by 0.95, in another simulator by 0.75. Two stretches of noise do not, however loud. How far this heart's sounds do, and
/// how far what lies between them agrees with them by chance, is measured in the window itself: where the two are alike nothing is said.
#ifndef GN_SEGMENT_REPEAT_H
#define GN_SEGMENT_REPEAT_H

#include "segment/candidate.h"
#include "segment/onset.h"

/// Add to h->scores, at every frame, what the waveform there says for S1 and for S2 (natural log of the likelihood ratio against what lies
/// between beats). first, second: the refined times of c's sounds. Nothing is added with fewer than six clean sounds of a kind or
/// without f->wave. *told: whether anything was. -1 when memory is refused.
int gn_repeat_score(gn_hearing *h, const gn_candidate *c, const gn_sound_times *first, const gn_sound_times *second, bool *told);

#endif
