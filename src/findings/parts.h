// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// What the files of this stage share.
#ifndef GN_FINDINGS_PARTS_H
#define GN_FINDINGS_PARTS_H

#include <stdbool.h>

#include <girthline/result.h>

/// A finding being written. Texts longer than their room are cut at its end.
typedef struct gn_note {
  const char *kind;
  girthline_urgency urgency;
  char text[1200], evidence[1600], advice[1200];
  const char *keys[GIRTHLINE_MAX_EVIDENCE];
  size_t n_keys;
} gn_note;

gn_note gn_findings_note(const char *kind, girthline_urgency urgency);

/// Append to one of the note's three texts; sentences are parted by a space, and a number below zero gets a minus (U+2212).
#define gn_say(field, ...) gn_findings_say((field), sizeof(field), __VA_ARGS__)
void gn_findings_say(char *field, size_t size, const char *format, ...) __attribute__((format(printf, 3, 4)));


void gn_findings_key(gn_note *note, const char *pointer); ///< pointer must be a literal

/// Append the note to result->findings. For a human the advice is replaced: research and teaching only, urgency routine.
/// 0, or -1 when memory is refused.
int gn_findings_add(girthline_result *result, const gn_note *note);

// Each adds what its theme has to say. 0, or -1 when memory is refused.
int gn_findings_recording(girthline_result *result);
int gn_findings_rate(girthline_result *result);
int gn_findings_rhythm(girthline_result *result);
int gn_findings_sounds(girthline_result *result);
int gn_findings_murmur(girthline_result *result);

/// Which way a murmur leans by published criteria. Never a name of a disease.
typedef enum gn_leaning {
  GN_LEANS_UNDETERMINED = 0,
  GN_LEANS_FLOW,  ///< fits the pattern of a flow murmur
  GN_LEANS_YOUNG, ///< fits the short early diastolic squeak of fit young horses
  GN_LEANS_ECHO   ///< asks for echocardiography
} gn_leaning;

/// The leaning of one phase; reasons (may be NULL) has room for size bytes and gets sentences.
gn_leaning gn_findings_leaning(const girthline_result *result, const girthline_murmur_phase *phase, char *reasons, size_t size);

/// The recording is poor: what was read from it may be missed or false beats.
bool gn_findings_poor(const girthline_result *result);

/// Take the certainty out of a note: its text becomes `seen` and why the recording does not carry it, its advice to record again
/// better, its urgency routine.
void gn_findings_soften(const girthline_result *result, gn_note *note, const char *seen);

const char *gn_findings_plural(girthline_species species);   ///< "horses", "cattle", ...
bool gn_findings_equine(girthline_species species);          ///< horse, foal, donkey
bool gn_findings_ridden(girthline_species species);          ///< horse, donkey: what is published of the rhythm of horses is of grown ones
bool gn_findings_small(girthline_species species);           ///< dog, cat
const char *gn_findings_reason(const girthline_result *result, const char *pointer); ///< why it is null; a sentence, never NULL

#endif
