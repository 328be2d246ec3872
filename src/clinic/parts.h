// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files that bring an examination together share.
#ifndef GN_CLINIC_PARTS_H
#define GN_CLINIC_PARTS_H

#include "clinic/examined.h"

// Within 15 % of the resting rate by 15 minutes after light and 30 to 45 minutes after hard work (Patteson, Equine
// Cardiology 3.8.3).
#define GN_RECOVERY_BACK_PERCENT 15.0
#define GN_RECOVERY_LIGHT_MIN 15.0
#define GN_RECOVERY_HARD_LEAST_MIN 30.0
#define GN_RECOVERY_HARD_MOST_MIN 45.0

// In this order; each reads what the ones before it have written.
int gn_exam_pool(gn_examined *x);         ///< rate and rhythm at rest, pulse deficit; -1: memory was refused
void gn_exam_murmurs(gn_examined *x);     ///< murmurs by phase, and the areas that were not recorded
void gn_exam_series(gn_examined *x);      ///< recovery
// Each adds its findings; -1: memory was refused.
int gn_exam_say_rate(gn_examined *x);     ///< rate and rhythm
int gn_exam_say_murmurs(gn_examined *x);
int gn_exam_say_signs(gn_examined *x);
int gn_exam_say_series(gn_examined *x);

gn_exam_finding gn_exam_note(const char *kind, girthline_urgency urgency);

/// Append to a field of fixed size; sentences are parted by a space and begin with a large letter.
#define gn_exam_say(field, ...) gn_exam_append((field), sizeof(field), __VA_ARGS__)
void gn_exam_append(char *field, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));

/// A text from the file for a sentence: one line, cut to the store's size, never through a character. Returns store.
const char *gn_exam_clip(const char *text, char *store, size_t n_store);
void gn_exam_point(gn_exam_finding *f, const char *format, ...) __attribute__((format(printf, 2, 3))); ///< add an evidence key
int gn_exam_add(gn_examined *x, const gn_exam_finding *f); ///< for a human the advice is replaced; -1: memory was refused

bool gn_exam_at_rest(const gn_examined *x, size_t recording);
bool gn_exam_usable(const gn_examined *x, size_t recording); ///< analysed, and not judged unusable
#define GN_EXAM_PLACE_BYTES 128
/// "left aortic area", "..., 20 min after exercise", "... (its name)" where another recording was made there and then; or its name.
const char *gn_exam_place(const gn_examined *x, size_t recording, char store[GN_EXAM_PLACE_BYTES]);
const char *gn_exam_signed(double value, char store[24]); ///< whole, from the tenths of the JSON report, with a true minus. Returns store
/// Whose and when: "Linnet, visit of 2026-05-19"; owned by the caller, NULL where memory was refused. A word stands before the date so that one
/// behind a name in Arabic or Hebrew letters is not set the other way round.
char *gn_exam_heading(const gn_exam *exam);
const char *gn_exam_label(int section, size_t key); ///< what a key is called on paper; not for recordings
void gn_exam_rate_words(const gn_examined *x, char said[200], char why[600]); ///< the answer on the rate at rest; both empty before
void gn_exam_murmur_words(const gn_examined *x, char said[200], char why[600]); ///< the answer on murmurs and its reasons; both empty before
bool gn_exam_equine(const gn_examined *x);
const girthline_limits *gn_exam_limits(const gn_examined *x); ///< of the recordings that were put together; NULL: there are none
const char *gn_exam_young(const gn_examined *x);              ///< the species to name for an animal so young (gn_species_young)
bool gn_exam_mean_differs(const gn_examined *x);              ///< the mean rate over all beats is another than the usual one, by the limit of the recordings

#endif
