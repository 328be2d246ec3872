// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/numbers.h"
#include "base/result.h"

#define ROOM 1600 // the longest of a note's three texts

gn_note gn_findings_note(const char *kind, girthline_urgency urgency) {
  gn_note note;
  memset(&note, 0, sizeof note);
  note.kind = kind;
  note.urgency = urgency;
  return note;
}

void gn_findings_say(char *field, size_t size, const char *format, ...) {
  size_t n = strlen(field);
  if (n > 0 && n + 1 < size) {
    field[n++] = ' ';
    field[n] = '\0';
  }
  char said[ROOM];
  va_list args;
  va_start(args, format);
  vsnprintf(said, sizeof said, format, args);
  va_end(args);
  gn_numbers_signed(said, field + n, size - n);
}

bool gn_findings_poor(const girthline_result *r) { return r->quality.grade == GIRTHLINE_POOR; }

void gn_findings_soften(const girthline_result *r, gn_note *note, const char *seen) {
  note->text[0] = note->advice[0] = '\0';
  note->urgency = GIRTHLINE_ROUTINE;
  gn_say(note->text, "%s, but this recording does not carry that:", seen);
  if (gn_findings_poor(r)) gn_say(note->text, "it is poor, and missed or false beats look alike.");
  else gn_say(note->text, "too little of it speaks for it.");
  gn_say(note->advice, "Record again for a minute in a quiet place, with the chest piece held still, and count by ear meanwhile. Where the rhythm sounds uneven "
                       "to the ear, an ECG at rest first; exercise only on a veterinarian's decision.");
}

void gn_findings_key(gn_note *note, const char *pointer) {
  if (note->n_keys < GIRTHLINE_MAX_EVIDENCE) note->keys[note->n_keys++] = pointer;
}

int gn_findings_add(girthline_result *r, const gn_note *note) {
  size_t capacity = r->n_findings;
  void *items = r->findings;
  if (gn_grow(&items, &capacity, r->n_findings + 1, sizeof *r->findings)) return -1;
  r->findings = items;
  const bool human = r->settings.species == GIRTHLINE_HUMAN;
  girthline_finding *f = &r->findings[r->n_findings];
  memset(f, 0, sizeof *f);
  f->kind = note->kind;
  f->urgency = human ? GIRTHLINE_ROUTINE : note->urgency;
  memcpy(f->evidence_keys, note->keys, sizeof note->keys);
  f->n_evidence_keys = note->n_keys;
  f->text = gn_strdup(note->text);
  f->evidence = gn_strdup(note->evidence);
  f->advice = gn_strdup(human ? GN_HUMAN_ADVICE : note->advice);
  r->n_findings++; // counted even when a copy failed, so that girthline_result_free finds the others
  return f->text && f->evidence && f->advice ? 0 : -1;
}

const char *gn_findings_plural(girthline_species species) {
  static const char *const PLURAL[GIRTHLINE_N_SPECIES] = {"horses", "foals", "donkeys", "dogs", "cats", "cattle", "calves", "sheep", "goats", "people"};
  return (unsigned)species < GIRTHLINE_N_SPECIES ? PLURAL[species] : "animals";
}

bool gn_findings_equine(girthline_species s) { return s == GIRTHLINE_HORSE || s == GIRTHLINE_FOAL || s == GIRTHLINE_DONKEY; }

bool gn_findings_ridden(girthline_species s) { return s == GIRTHLINE_HORSE || s == GIRTHLINE_DONKEY; }

bool gn_findings_small(girthline_species s) { return s == GIRTHLINE_DOG || s == GIRTHLINE_CAT; }

const char *gn_findings_reason(const girthline_result *r, const char *pointer) {
  for (size_t i = 0; i < r->n_undetermined; i++)
    if (!strcmp(r->undetermined[i].pointer, pointer)) return r->undetermined[i].reason;
  return "The recording did not carry it.";
}
