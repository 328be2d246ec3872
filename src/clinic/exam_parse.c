// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Line by line. Read by hand: a general reader of this format cuts long lines and drops what follows " ;", and notes hold both.
#include <stdio.h>
#include <string.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "clinic/date.h"
#include "clinic/exam.h"
#include "clinic/exam_value.h"
#include "report/utf8.h"

#define STAGE "exam"
enum { NO_SECTION = -1 };

typedef struct reader {
  const char *path;
  gn_exam *exam;
  girthline_error *error;
  size_t line;                     // from 1
  int section;
  size_t section_line[GN_N_SECTIONS];
  gn_exam_value *prose;            // may go on in the next line
  size_t n_empty;                  // empty lines since
  size_t capacity;                 // of recordings
} reader;

static girthline_status fault(const reader *r, const char *what) {
  return gn_error_set(r->error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s, line %zu: %s", r->path, r->line, what);
}

static girthline_status no_memory(const reader *r) { return gn_error_memory(r->error, STAGE); }

static bool space(char c) { return c == ' ' || c == '\t'; }

static char *trimmed(char *text) {
  while (space(*text)) text++;
  size_t n = strlen(text);
  while (n && space(text[n - 1])) text[--n] = 0;
  return text;
}

static gn_exam_recording *current(const reader *r) { return &r->exam->recordings[r->exam->n_recordings - 1]; }

static gn_exam_value *values_of(const reader *r) { return r->section == GN_SECTION_RECORDING ? current(r)->values : r->exam->parts[r->section]; }

static const gn_exam_key *find_key(int section, const char *name) {
  const gn_exam_section *s = &gn_exam_sections[section];
  for (size_t i = 0; i < s->n_keys; i++)
    if (!strcmp(s->keys[i].name, name)) return &s->keys[i];
  return NULL;
}

static const char *near_key(int section, const char *word) {
  const gn_exam_section *s = &gn_exam_sections[section];
  const char *names[GN_MOST_KEYS];
  for (size_t i = 0; i < s->n_keys; i++) names[i] = s->keys[i].name;
  return gn_nearest(word, names, s->n_keys);
}

static girthline_status unknown_section(const reader *r, const char *word) {
  const char *names[GN_N_SECTIONS];
  char what[300];
  for (int i = 0; i < GN_N_SECTIONS; i++) names[i] = gn_exam_sections[i].name;
  const char *near = gn_nearest(word, names, GN_N_SECTIONS);
  if (near) snprintf(what, sizeof what, "unknown section [%.60s]; did you mean [%s%s]?", word, near, strcmp(near, "recording") ? "" : " NAME");
  else snprintf(what, sizeof what, "unknown section [%.60s]; known are animal, examination, signs, recording NAME and elsewhere", word);
  return fault(r, what);
}

static girthline_status unknown_key(const reader *r, const char *word) {
  char what[400];
  const char *near = near_key(r->section, word);
  const char *section = gn_exam_sections[r->section].name;
  if (near) {
    snprintf(what, sizeof what, "unknown key %.60s in [%s]; did you mean %s?", word, section, near);
    return fault(r, what);
  }
  for (int s = 0; s < GN_N_SECTIONS; s++)
    if (find_key(s, word)) {
      snprintf(what, sizeof what, "the key %.60s belongs into [%s], not [%s]", word, gn_exam_sections[s].name, section);
      return fault(r, what);
    }
  size_t at = (size_t)snprintf(what, sizeof what, "unknown key %.60s in [%s]; known are", word, section);
  for (size_t i = 0; i < gn_exam_sections[r->section].n_keys && at < sizeof what; i++)
    at += (size_t)snprintf(what + at, sizeof what - at, "%s %s", i ? "," : "", gn_exam_sections[r->section].keys[i].name);
  return fault(r, what);
}

static girthline_status open_recording(reader *r, const char *name) {
  gn_exam *e = r->exam;
  char what[300];
  if (!*name) return fault(r, "a recording's section needs a name of its own, such as [recording left mitral]");
  for (size_t i = 0; i < e->n_recordings; i++)
    if (!strcmp(e->recordings[i].name, name)) {
      snprintf(what, sizeof what, "[recording %.80s] stands in line %zu already; give each recording a name of its own", name, e->recordings[i].line);
      return fault(r, what);
    }
  if (e->n_recordings >= GN_EXAM_MOST_RECORDINGS) return fault(r, "an examination holds 64 recordings at most");
  void *items = e->recordings;
  if (gn_grow(&items, &r->capacity, e->n_recordings + 1, sizeof *e->recordings)) return no_memory(r);
  e->recordings = items;
  e->recordings[e->n_recordings++] = (gn_exam_recording){.line = r->line, .minutes_after_exercise = -1};
  current(r)->name = gn_strdup(name);
  return current(r)->name ? GIRTHLINE_OK : no_memory(r);
}

static girthline_status read_section(reader *r, char *line) {
  char *end = strchr(line, ']');
  char what[200];
  r->prose = NULL;
  if (!end || end[1 + strspn(end + 1, " \t")]) return fault(r, "a section is written [name], with nothing behind it");
  *end = 0;
  char *word = trimmed(line + 1), *rest = word + strcspn(word, " \t");
  if (*rest) *rest++ = 0;
  rest = trimmed(rest);
  int s = 0;
  while (s < GN_N_SECTIONS && strcmp(gn_exam_sections[s].name, word)) s++;
  if (s == GN_N_SECTIONS) return unknown_section(r, word);
  r->section = s;
  if (s == GN_SECTION_RECORDING) return open_recording(r, rest);
  if (*rest) return fault(r, "only a recording's section has a name behind it");
  if (r->section_line[s]) {
    snprintf(what, sizeof what, "the section [%s] stands in line %zu already", word, r->section_line[s]);
    return fault(r, what);
  }
  r->section_line[s] = r->line;
  return GIRTHLINE_OK;
}

// Behind a number, a date or a word from a list a remark may stand.
static void cut_remark(char *text) {
  for (char *c = text; *c; c++)
    if ((*c == ';' || *c == '#') && (c == text || space(c[-1]))) *c = 0;
}

static girthline_status wrong_value(const reader *r, const gn_exam_key *key, const gn_exam_value *value, const char *why) {
  char what[500];
  int n = (int)strlen(value->text);
  if (n > 80) for (n = 80; n && ((unsigned char)value->text[n] & 0xC0) == 0x80;) n--; // not through a character
  snprintf(what, sizeof what, "%s = %.*s: %s", key->name, n, value->text, why);
  return fault(r, what);
}

static girthline_status take(reader *r, const gn_exam_key *key, gn_exam_value *value, char *text) {
  char store[200];
  if (key->kind != GN_KIND_WORD && key->kind != GN_KIND_PROSE) cut_remark(text);
  text = trimmed(text);
  if (strlen(text) > GN_EXAM_MOST_VALUE_BYTES) return fault(r, "the value is longer than 64 KiB");
  value->line = r->line;
  r->prose = key->kind == GN_KIND_PROSE ? value : NULL;
  if (!*text) return GIRTHLINE_OK; // not given; prose may begin in the next line
  value->text = gn_strdup(text);
  if (!value->text) return no_memory(r);
  const char *why = gn_exam_value_check(key, value, store, sizeof store);
  return why ? wrong_value(r, key, value, why) : GIRTHLINE_OK;
}

static girthline_status read_key(reader *r, char *line) {
  char what[200];
  char *mark = line + strcspn(line, "=:");
  if (!*mark) return fault(r, "this is neither [section], key = value, nor a comment (#); text that goes on begins with a space");
  *mark = 0;
  const char *word = trimmed(line);
  if (!*word) return fault(r, "the key before the = is missing");
  if (r->section == NO_SECTION) return fault(r, "a key stands before the first section; begin with [animal]");
  const gn_exam_key *key = find_key(r->section, word);
  if (!key) return unknown_key(r, word);
  gn_exam_value *value = &values_of(r)[key - gn_exam_sections[r->section].keys];
  if (value->line) {
    snprintf(what, sizeof what, "the key %s stands in line %zu of this section already", word, value->line);
    return fault(r, what);
  }
  return take(r, key, value, mark + 1);
}

// A key or a section that was moved in by mistake would vanish into the text before it.
static bool like_a_section(const char *text) {
  if (*text != '[') return false;
  const char *word = text + 1 + strspn(text + 1, " \t");
  const size_t n = strcspn(word, " \t]");
  for (int s = 0; s < GN_N_SECTIONS; s++)
    if (strlen(gn_exam_sections[s].name) == n && !strncmp(gn_exam_sections[s].name, word, n)) return true;
  return false;
}

static bool like_a_key(const reader *r, const char *text) {
  char word[40];
  const size_t n = strcspn(text, "=: \t");
  const char *after = text + n + strspn(text + n, " \t");
  if (!n || n >= sizeof word || (*after != '=' && *after != ':')) return false;
  snprintf(word, sizeof word, "%.*s", (int)n, text);
  return near_key(r->section, word) != NULL;
}

static girthline_status go_on(reader *r, char *text) {
  gn_exam_value *v = r->prose;
  if (like_a_key(r, text)) return fault(r, "this looks like a key but begins with a space, which continues the text before; begin a key in the first column");
  if (like_a_section(text)) return fault(r, "this looks like a section but begins with a space, which continues the text before; begin a section in the first column");
  char *longer;
  if (!v->text) {
    longer = gn_strdup(text);
  } else {
    if (strlen(v->text) + strlen(text) + r->n_empty + 1 > GN_EXAM_MOST_VALUE_BYTES) return fault(r, "the value is longer than 64 KiB");
    longer = gn_strprintf("%s%s\n%s", v->text, r->n_empty ? "\n" : "", text);
  }
  if (!longer) return no_memory(r);
  gn_free(v->text);
  v->text = longer;
  r->n_empty = 0;
  return GIRTHLINE_OK;
}

static girthline_status read_line(reader *r, char *line) {
  char *text = trimmed(line);
  if (!*text) {
    r->n_empty++;
    return GIRTHLINE_OK;
  }
  if (*line == '#' || *line == ';') return GIRTHLINE_OK;
  if (text != line && r->prose) return go_on(r, text);
  r->n_empty = 0;
  if (*text == '#' || *text == ';') return GIRTHLINE_OK;
  return *text == '[' ? read_section(r, text) : read_key(r, text);
}

static girthline_status read_lines(reader *r, char *text, size_t n) {
  char *const end = text + n;
  if (n >= 2 && (!memcmp(text, "\xFF\xFE", 2) || !memcmp(text, "\xFE\xFF", 2))) {
    r->line = 1;
    return fault(r, "the file is written in UTF-16; save it as UTF-8");
  }
  if (n >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3)) text += 3;
  girthline_status status = GIRTHLINE_OK;
  while (text < end && status == GIRTHLINE_OK) {
    char *stop = text;
    while (stop < end && *stop != '\n' && *stop != '\r') stop++;
    char *const next = stop + (stop < end && *stop == '\r' && stop + 1 < end && stop[1] == '\n' ? 2 : 1);
    r->line++;
    const bool zero = memchr(text, 0, (size_t)(stop - text)) != NULL;
    *stop = 0; // the copy has room for one more
    if (zero) status = fault(r, "a zero byte stands in it; that is not text (a recording is analysed by girthline report)");
    else if (!gn_utf8_valid(text)) status = fault(r, "these bytes are not UTF-8; save the file as UTF-8");
    else status = read_line(r, text);
    text = next;
  }
  return status;
}

static girthline_status at(reader *r, size_t line, const char *what) {
  r->line = line;
  return fault(r, what);
}

static girthline_status find_age(reader *r) {
  gn_exam *e = r->exam;
  const gn_exam_value *born = &e->parts[GN_SECTION_ANIMAL][GN_ANIMAL_BORN], *day = &e->parts[GN_SECTION_EXAMINATION][GN_EXAM_DATE];
  gn_date from, to;
  e->age_days = -1;
  if (!born->text || !day->text || !gn_date_parse(born->text, true, &from) || !gn_date_parse(day->text, false, &to)) return GIRTHLINE_OK;
  if (from.first > to.first) return at(r, born->line, "born lies after the date of the examination");
  e->age_is_least = from.first != from.last;
  e->age_days = from.last > to.first ? 0 : (double)(to.first - from.last);
  return GIRTHLINE_OK;
}

static char *path_beside(const char *exam_path, const char *file) {
  const char *slash = strrchr(exam_path, '/');
  if (*file == '/' || !slash) return gn_strdup(file);
  return gn_strprintf("%.*s%s", (int)(slash - exam_path + 1), exam_path, file);
}

static girthline_status settle_recording(reader *r, gn_exam_recording *rec) {
  const gn_exam_value *v = rec->values;
  if (v[GN_REC_SIDE].text) girthline_side_parse(v[GN_REC_SIDE].text, &rec->side);
  if (v[GN_REC_AREA].text) girthline_area_parse(v[GN_REC_AREA].text, &rec->area);
  if (v[GN_REC_MINUTES].text) rec->minutes_after_exercise = v[GN_REC_MINUTES].number;
  if (!v[GN_REC_FILE].text && v[GN_REC_NOTES].text) return at(r, rec->line, "this recording has notes but names no file; write the notes into [signs]");
  if (!v[GN_REC_FILE].text) return GIRTHLINE_OK;
  rec->path = path_beside(r->path, v[GN_REC_FILE].text);
  return rec->path ? GIRTHLINE_OK : no_memory(r);
}

static void drop_without_file(gn_exam *e) {
  size_t kept = 0;
  for (size_t i = 0; i < e->n_recordings; i++) {
    gn_exam_recording *rec = &e->recordings[i];
    if (rec->path) {
      e->recordings[kept++] = *rec;
      continue;
    }
    for (size_t k = 0; k < GN_MOST_KEYS; k++) gn_free(rec->values[k].text);
    gn_free(rec->name);
  }
  e->n_recordings = kept;
}

static girthline_status settle(reader *r) {
  gn_exam *e = r->exam;
  const char *species = gn_exam_text(e, GN_SECTION_ANIMAL, GN_ANIMAL_SPECIES);
  e->species_given = species && girthline_species_parse(species, &e->species);
  girthline_status status = find_age(r);
  for (size_t i = 0; i < e->n_recordings && status == GIRTHLINE_OK; i++) status = settle_recording(r, &e->recordings[i]);
  if (status != GIRTHLINE_OK) return status;
  drop_without_file(e);
  if (e->n_recordings) return GIRTHLINE_OK;
  return gn_error_set(r->error, GIRTHLINE_BAD_HAND_FILE, STAGE, "%s: no recording is named; add a section [recording NAME] with file = ...", r->path);
}

girthline_status gn_exam_parse(const char *text, size_t n, const char *path, gn_exam **out, girthline_error *error) {
  reader r = {.path = path, .error = error, .section = NO_SECTION, .exam = gn_new(1, sizeof *r.exam)};
  char *copy = gn_new(n + 1, 1);
  girthline_status status = GIRTHLINE_OK;
  if (r.exam) r.exam->path = gn_strdup(path);
  if (!copy || !r.exam || !r.exam->path) status = gn_error_memory(error, STAGE);
  if (status == GIRTHLINE_OK && n) memcpy(copy, text, n);
  if (status == GIRTHLINE_OK) status = read_lines(&r, copy, n);
  if (status == GIRTHLINE_OK) status = settle(&r);
  gn_free(copy);
  if (status == GIRTHLINE_OK) *out = r.exam;
  else gn_exam_free(r.exam);
  return status;
}
