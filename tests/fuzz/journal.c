// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A batch's journal as a killed run, or somebody else, left it: read back, a row appended, read back again. The records' hashes are made to
// fit first: they hold off accidents, and anybody can compute them.
#include "fuzz.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define XXH_INLINE_ALL
#include <xxhash.h>

#include "base/memory.h"
#include "study/journal.h"

enum { START_BYTES = sizeof "girthline journal 1\n" - 1, PREFIX_BYTES = 56, HASH_AT = 2, HASH_DIGITS = 16 };

static void mend_hashes(uint8_t *data, size_t n) {
  for (size_t at = START_BYTES; at + PREFIX_BYTES <= n;) {
    char prefix[PREFIX_BYTES + 1] = {0}, hash[HASH_DIGITS + 1];
    unsigned long long head_n, parts_n;
    memcpy(prefix, data + at, PREFIX_BYTES);
    const uint8_t *body = data + at + PREFIX_BYTES;
    const size_t left = n - at - PREFIX_BYTES;
    if (sscanf(prefix, "R %*16x %16llx %16llx", &head_n, &parts_n) != 2 || head_n > left || parts_n > left - head_n) return;
    snprintf(hash, sizeof hash, "%016llx", (unsigned long long)XXH3_64bits(body, (size_t)(head_n + parts_n)));
    memcpy(data + at + HASH_AT, hash, HASH_DIGITS);
    at += PREFIX_BYTES + (size_t)(head_n + parts_n);
  }
}

// What was heard of a journal: how many records, and a hash over all of them.
typedef struct heard {
  size_t n, n_bytes;
  uint64_t hash;
  gn_journal *journal;
} heard;

static void add(heard *h, const void *data, size_t n) { h->hash = XXH3_64bits_withSeed(data, n, h->hash); }

static void check_ended(const char *text, size_t room) { FUZZ_HOLDS(memchr(text, 0, room)); }

static girthline_status hear(void *user, const char *file, const gn_journal_entry *e) {
  heard *h = user;
  girthline_error error = {0};
  FUZZ_HOLDS(file && e->at > 0 && e->status <= GIRTHLINE_REFUSED && e->grade <= GIRTHLINE_UNUSABLE);
  FUZZ_HOLDS(!isinf(e->bpm));
  check_ended(e->key, sizeof e->key);
  check_ended(e->content_hash, sizeof e->content_hash);
  check_ended(e->page, sizeof e->page);
  h->n++;
  add(h, file, strlen(file));
  for (int part = 0; part < GN_N_PARTS; part++) {
    char *text = gn_journal_part(h->journal, e, part, &error);
    FUZZ_HOLDS(text && !text[e->part_n[part]]);
    FUZZ_HOLDS(e->part_n[part] <= h->n_bytes);
    add(h, text, e->part_n[part]);
    gn_free(text);
  }
  return GIRTHLINE_OK;
}

static girthline_status open_journal(gn_journal *journal, const char *path, heard *h, girthline_error *error) {
  struct stat st;
  FUZZ_HOLDS(!stat(path, &st));
  *h = (heard){.n_bytes = (size_t)st.st_size, .journal = journal};
  const girthline_status status = gn_journal_open(journal, path, false, hear, h, error);
  fuzz_check_error(status, error);
  // Nothing is left that the next run would have to pass over.
  if (!status) FUZZ_HOLDS(!stat(path, &st) && st.st_size == journal->end);
  return status;
}

static void append(gn_journal *journal, girthline_error *error) {
  static char row_text[] = ",one.wav,analysed\n";
  gn_batch_row row = {.bpm = 36.5, .grade = GIRTHLINE_FAIR, .content_hash = "xxh3-128:0"};
  gn_journal_entry entry;
  row.part[GN_PART_ROW] = (gn_buffer){.text = row_text, .n = sizeof row_text - 1};
  FUZZ_HOLDS(!gn_journal_append(journal, "a folder/one.wav", "key", &row, &entry, error));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  const char *path = fuzz_place("journal");
  uint8_t *mended = malloc(n + 1);
  FUZZ_HOLDS(mended);
  if (n) memcpy(mended, data, n);
  mend_hashes(mended, n);
  fuzz_write(path, mended, n);
  free(mended);
  gn_journal journal;
  girthline_error error = {0};
  heard first, again;
  const girthline_status status = open_journal(&journal, path, &first, &error);
  if (!status) append(&journal, &error);
  gn_journal_close(&journal);
  if (status) return 0;
  FUZZ_HOLDS(!open_journal(&journal, path, &again, &error));
  gn_journal_close(&journal);
  FUZZ_HOLDS(again.n == first.n + 1);
  return 0;
}
