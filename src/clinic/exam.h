// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
/// \file
/// The examination file: INI text in UTF-8, written by hand. What is read, and nothing of what was heard.
///
/// A line is empty, a comment (# or ; in its first column), [section], or "key = value" (":" does as well). A value of
/// prose (history, notes, ...) may hold any text, ";", "#", "=" and quotes too, and goes on over the lines after it that
/// begin with a space; an empty line between them is kept. In a number, a date or a word from a list, " ;" or " #"
/// begins a comment. An empty value is a key not given. Nothing may stand twice.
#ifndef GN_CLINIC_EXAM_H
#define GN_CLINIC_EXAM_H

#include <stdbool.h>
#include <stddef.h>

#include <girthline/settings.h>
#include <girthline/status.h>

#define GN_EXAM_MOST_BYTES ((size_t)256 << 10)       ///< of a file: text written by hand is far shorter
#define GN_EXAM_MOST_VALUE_BYTES ((size_t)64 << 10)  ///< of one value
#define GN_EXAM_MOST_RECORDINGS 64

enum { GN_SECTION_ANIMAL = 0, GN_SECTION_EXAMINATION, GN_SECTION_SIGNS, GN_SECTION_ELSEWHERE, GN_SECTION_RECORDING, GN_N_SECTIONS };
enum { GN_ANIMAL_NAME = 0, GN_ANIMAL_IDENTIFIER, GN_ANIMAL_SPECIES, GN_ANIMAL_SEX, GN_ANIMAL_BORN, GN_ANIMAL_BREED };
enum { GN_EXAM_DATE = 0, GN_EXAM_EXAMINER, GN_EXAM_PRACTICE, GN_EXAM_PLACE, GN_EXAM_REASON, GN_EXAM_HISTORY };
enum {
  GN_SIGN_MEMBRANES = 0,
  GN_SIGN_REFILL,
  GN_SIGN_PULSE_QUALITY,
  GN_SIGN_PULSE,
  GN_SIGN_JUGULAR_LEFT,
  GN_SIGN_JUGULAR_RIGHT,
  GN_SIGN_OEDEMA,
  GN_SIGN_TOLERANCE,
  GN_SIGN_BREATHS,
  GN_SIGN_TEMPERATURE,
  GN_SIGN_NOTES
};
enum { GN_ELSEWHERE_ECG = 0, GN_ELSEWHERE_ECHO, GN_ELSEWHERE_EXERCISE, GN_ELSEWHERE_OTHER };
enum { GN_REC_FILE = 0, GN_REC_SIDE, GN_REC_AREA, GN_REC_MINUTES, GN_REC_NOTES };
#define GN_MOST_KEYS 11 ///< in a section

typedef enum gn_exam_kind { GN_KIND_WORD = 0, GN_KIND_PROSE, GN_KIND_NUMBER, GN_KIND_DATE, GN_KIND_BORN, GN_KIND_SPECIES, GN_KIND_SIDE, GN_KIND_AREA } gn_exam_kind;

typedef struct gn_exam_key {
  const char *name;
  gn_exam_kind kind;
  double least, most; ///< of a number: what can be at all
} gn_exam_key;

typedef struct gn_exam_section {
  const char *name;
  const gn_exam_key *keys;
  size_t n_keys;
} gn_exam_section;

extern const gn_exam_section gn_exam_sections[GN_N_SECTIONS];

/// text is NULL where the key was not given; number belongs to a number.
typedef struct gn_exam_value {
  char *text;
  double number;
  size_t line; ///< where it stands, from 1
} gn_exam_value;

typedef struct gn_exam_recording {
  char *name; ///< of the section
  char *path; ///< the file as it is opened: relative names begin at the examination file's folder
  size_t line;
  gn_exam_value values[GN_MOST_KEYS]; ///< GN_REC_...
  girthline_side side;
  girthline_area area;
  double minutes_after_exercise; ///< < 0: at rest
} gn_exam_recording;

typedef struct gn_exam {
  char *path; ///< as given
  gn_exam_value parts[GN_SECTION_RECORDING][GN_MOST_KEYS];
  gn_exam_recording *recordings; ///< those that name a file, in the file's order
  size_t n_recordings;
  girthline_species species; ///< horse where none is named
  bool species_given;
  double age_days;      ///< on the day of the examination; < 0: not known
  bool age_is_least;    ///< the day of birth is given by its year or month only: age_days is the least it can be
} gn_exam;

/// Read an examination file: a regular file, opened for reading only. A fault gives GIRTHLINE_BAD_HAND_FILE and names the
/// file, the line, the key and the nearest known one. On GIRTHLINE_OK *out is owned by the caller.
girthline_status gn_exam_read(const char *path, gn_exam **out, girthline_error *error);

/// The same from text in memory (n_bytes; may hold zeros, which are refused). path is used in messages and for folders.
girthline_status gn_exam_parse(const char *text, size_t n_bytes, const char *path, gn_exam **out, girthline_error *error);

void gn_exam_free(gn_exam *exam); ///< accepts NULL

const char *gn_exam_text(const gn_exam *exam, int section, int key);  ///< NULL: not given; not for recordings
double gn_exam_number(const gn_exam *exam, int section, int key);     ///< NaN: not given

/// A commented examination file that can be read as it is. Never NULL.
const char *gn_exam_template(void);

#endif
