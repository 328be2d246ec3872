// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// One input's way through: look at the file, compare with what is kept, analyse, look again, write the row.
#include "study/batch_job.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <girthline/girthline.h>
#include <girthline/report.h>

#include "base/error.h"
#include "base/file.h"
#include "base/memory.h"
#include "report/utf8.h"

#define STAGE "batch"
#define ROW_FORM "1" // changes when a row is made up differently from the same result

// What a row's key says of its page.
enum { NO_PAGE, PAGE, PAGE_NO_SOUND, N_PAGES };
static const char *const PAGES[N_PAGES] = {"00", "10", "11"};

static int pages_of(const gn_batch *b) { return !b->reports ? NO_PAGE : b->no_sound ? PAGE_NO_SOUND : PAGE; }

// All a row depends on besides the file's bytes.
static girthline_status key_of(const gn_batch_item *item, int pages, char key[48], girthline_error *error) {
  char settings[48];
  girthline_settings_hash(&item->settings, settings);
  char *text = gn_strprintf(ROW_FORM "\n%s\n%s\n%s\n%s", girthline_version(), settings, PAGES[pages], item->animal ? item->animal : "");
  if (!text) return gn_error_memory(error, STAGE);
  girthline_content_hash_memory(text, strlen(text), key);
  gn_free(text);
  return GIRTHLINE_OK;
}

// What has to do with the moment (a disk that was away, memory) is tried again; what has to do with the bytes is not.
static bool lasts(girthline_status status) { return status == GIRTHLINE_OK || status == GIRTHLINE_NOT_AUDIO || status == GIRTHLINE_LIMIT; }

static char *page_path(const gn_batch *b, const char *page) { return gn_strprintf("%s/%s", b->out, page); }

// Made as it would be now? Where no pages are asked for, one that is there is as good.
static bool is_key(const gn_batch_job *job, size_t i, const char *kept) {
  const int asked = pages_of(job->batch);
  char key[48];
  for (int pages = NO_PAGE; pages < N_PAGES; pages++)
    if ((pages == asked || asked == NO_PAGE) && !key_of(job->mine[i], pages, key, NULL) && !strcmp(key, kept)) return true;
  return false;
}

bool gn_batch_job_keeps(const gn_batch_job *job, size_t i) {
  const gn_journal_entry *e = &job->entries[i];
  if (!e->at || !lasts(e->status) || !is_key(job, i, e->key)) return false;
  if (!e->has_page) return true;
  char *path = page_path(job->batch, e->page);
  const bool there = path && !access(path, F_OK);
  gn_free(path);
  return there;
}

// Characters of one line of text: a reason may hold a name with any bytes.
static void set_reason(gn_batch_row *row, const char *text) {
  size_t n = 0;
  while (*text && n + 4 < sizeof row->reason) {
    uint32_t code;
    bool ok;
    const size_t taken = gn_utf8_next(text, &code, &ok);
    const bool shows = ok && !gn_utf8_acts(code);
    memcpy(row->reason + n, shows ? text : "?", shows ? taken : 1);
    n += shows ? taken : 1;
    text += taken;
  }
  row->reason[n] = 0;
}

// A message without the path it begins with: the row has the name, and where the set lies today is no part of its table.
static const char *without_path(const gn_batch_item *item, const char *text) {
  const size_t n = strlen(item->path);
  if (strncmp(text, item->path, n) || (text[n] != ':' && text[n] != ' ')) return text;
  return text + n + strspn(text + n, ": ");
}

static girthline_status look(const char *path, struct stat *st, girthline_error *error) {
  if (stat(path, st)) return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s cannot be opened: %s", path, strerror(errno));
  if (S_ISREG(st->st_mode)) return GIRTHLINE_OK;
  return gn_error_set(error, GIRTHLINE_CANNOT_READ, STAGE, "%s is no plain file but a %s", path, S_ISDIR(st->st_mode) ? "folder" : "pipe, socket or device");
}

static bool same(const struct stat *a, const struct stat *b) {
  return a->st_size == b->st_size && a->st_ino == b->st_ino && a->st_dev == b->st_dev && a->st_mtim.tv_sec == b->st_mtim.tv_sec &&
         a->st_mtim.tv_nsec == b->st_mtim.tv_nsec;
}

// The hash and the analysis must have seen the same bytes. 1: they did; 0: the file changed meanwhile.
static int read_once(gn_batch_job *job, size_t i, gn_batch_row *row, girthline_result **result, girthline_error *error) {
  const gn_batch_item *item = job->mine[i];
  const gn_journal_entry *kept = &job->entries[i];
  struct stat before, after;
  row->status = look(item->path, &before, error);
  if (!row->status) row->status = girthline_content_hash_path(item->path, row->content_hash, error);
  if (row->status) return 1;
  if (kept->at && !strcmp(kept->content_hash, row->content_hash)) return 1;
  row->status = girthline_analyse_file(item->path, &item->settings, result, error);
  const bool changed = stat(item->path, &after) || !same(&before, &after);
  if (!changed) return 1;
  girthline_result_free(*result);
  *result = NULL;
  return 0;
}

#define TRIES 2 // a file that is being copied changes again and again; a moment's touch does not

static void analyse(gn_batch_job *job, size_t i, gn_batch_row *row, girthline_result **result) {
  girthline_error error = {0};
  if (job->mine[i]->failure) {
    row->status = GIRTHLINE_CANNOT_READ;
    set_reason(row, job->mine[i]->failure);
    return;
  }
  int tries = 0, done = 0;
  while (!done && tries++ < TRIES) {
    error = (girthline_error){0};
    done = read_once(job, i, row, result, &error);
  }
  if (!done) {
    row->status = GIRTHLINE_CANNOT_READ;
    row->content_hash[0] = 0;
    set_reason(row, "the file changed while it was read: start the command again when it is complete");
  } else if (row->status) {
    set_reason(row, error.text[0] ? without_path(job->mine[i], error.text) : girthline_status_text(row->status));
  }
}

// As the table prints it, so that joining shards counts the same.
static girthline_status printed_bpm(const girthline_rate *rate, double *printed, girthline_error *error) {
  gn_buffer b = {0};
  const double bpm = isfinite(rate->settled_bpm) ? rate->settled_bpm : rate->bpm;
  if (!isfinite(bpm)) return GIRTHLINE_OK;
  gn_buffer_number(&b, bpm, 2);
  const bool refused = b.refused;
  if (!refused) *printed = strtod(b.text, NULL);
  gn_buffer_clear(&b);
  return refused ? gn_error_memory(error, STAGE) : GIRTHLINE_OK;
}

// A name of plain signs for a name of any: its beginning, to be recognised, and a hash, to be its own.
static void name_page(gn_batch_row *row, const char *file) {
  char hash[48], stem[41];
  const char *slash = strrchr(file, '/'), *base = slash ? slash + 1 : file, *dot = strrchr(base, '.');
  size_t n = 0;
  for (const char *c = base; *c && c != dot && n < sizeof stem - 1; c++)
    stem[n++] = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') || (*c >= '0' && *c <= '9') || *c == '-' ? *c : '_';
  stem[n] = 0;
  girthline_content_hash_memory(file, strlen(file), hash);
  snprintf(row->page, sizeof row->page, "pages/%s.%.16s.html", stem, strchr(hash, ':') + 1);
}

typedef struct bytes {
  const char *text;
  size_t n;
} bytes;

static int fill_bytes(int fd, void *user) {
  const bytes *b = user;
  return gn_file_put(fd, b->text, b->n);
}

static girthline_status write_text(gn_batch_job *job, const char *path, const char *text, girthline_error *error) {
  bytes b = {text, strlen(text)};
  struct stat st;
  pthread_mutex_lock(&job->lock); // the host writes one file at a time
  int code = 0;
  if (!lstat(path, &st) && (!S_ISREG(st.st_mode) || (st.st_size && !job->batch->host.is_ours(path)))) { // a link leads elsewhere
    pthread_mutex_unlock(&job->lock);
    return gn_error_set(error, GIRTHLINE_CANNOT_WRITE, STAGE, "%s exists and was not written by girthline: name another folder", path);
  }
  code = job->batch->host.stream(path, fill_bytes, &b);
  if (code) job->said = code;
  pthread_mutex_unlock(&job->lock);
  return code ? GIRTHLINE_CANNOT_WRITE : GIRTHLINE_OK;
}

// The page, and beside it the report with the lines it has on its own.
static girthline_status write_pages(gn_batch_job *job, const gn_batch_item *item, gn_batch_row *row, const girthline_result *result, girthline_error *error) {
  const girthline_report_input input = {.result = result, .name = item->file, .path = item->path, .content_hash = row->content_hash};
  const girthline_report_options options = {.no_sound = job->batch->no_sound};
  name_page(row, item->file);
  for (int json = 0; json < 2; json++) {
    char *path = gn_strprintf("%s/%.*s%s", job->batch->out, (int)(strrchr(row->page, '.') - row->page), row->page, json ? ".json" : ".html");
    char *text = !path ? NULL : json ? girthline_report_json(&input, 1, error) : girthline_report_html(&input, 1, &options, error);
    const girthline_status status = text ? write_text(job, path, text, error) : gn_error_memory(error, STAGE);
    girthline_text_free(text);
    gn_free(path);
    if (status) return status;
  }
  return GIRTHLINE_OK;
}

static girthline_status finish(gn_batch_job *job, size_t i, gn_batch_row *row, girthline_result *result, girthline_error *error) {
  const gn_batch_item *item = job->mine[i];
  char key[48] = "";
  girthline_status status = key_of(item, pages_of(job->batch), key, error);
  if (!status && result) {
    row->grade = result->quality.grade;
    status = printed_bpm(&result->rate, &row->bpm, error);
    if (row->grade == GIRTHLINE_UNUSABLE) set_reason(row, result->quality.grade_reason);
  }
  if (!status && result && job->batch->reports) status = write_pages(job, item, row, result, error);
  if (status == GIRTHLINE_CANNOT_WRITE) return status;
  if (status) { // the recording went away before its sound was read for the page, or it is too much for this machine
    row->status = status;
    set_reason(row, without_path(item, error->text));
    *error = (girthline_error){0};
    row->page[0] = 0;
    result = NULL;
  }
  gn_batch_row_fill(row, item, result, error);
  pthread_mutex_lock(&job->lock);
  gn_journal_entry *e = &job->entries[i];
  status = gn_journal_append(&job->journal, item->file, key, row, e, error);
  pthread_mutex_unlock(&job->lock);
  return status;
}

girthline_status gn_batch_job_do(gn_batch_job *job, size_t i, girthline_error *error) {
  gn_batch_row row = {.bpm = (double)NAN};
  girthline_result *result = NULL;
  if (job->entries[i].at && !gn_batch_job_keeps(job, i)) job->entries[i] = (gn_journal_entry){0};
  analyse(job, i, &row, &result);
  const bool kept = !result && !row.status && job->entries[i].at;
  const girthline_status status = kept ? GIRTHLINE_OK : finish(job, i, &row, result, error);
  girthline_result_free(result);
  gn_batch_row_clear(&row);
  pthread_mutex_lock(&job->lock);
  if (!status) {
    job->n_done++;
    job->n_kept += kept;
    job->n_failed += job->entries[i].status != GIRTHLINE_OK;
  }
  pthread_mutex_unlock(&job->lock);
  return status;
}
