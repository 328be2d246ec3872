// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/relay.h"

#include <pthread.h>
#include <sched.h>
#include <signal.h>

#include "base/memory.h"
#include "base/numbers.h"

struct gn_relay {
  gn_relay_stage *stages[GN_RELAY_STAGES];
  size_t n_stages, n_places;
  void *user;
  pthread_t threads[GN_RELAY_STAGES]; // beside the caller's
  size_t n_threads;
  pthread_mutex_t lock; // for all that follows
  pthread_cond_t changed;
  size_t done[GN_RELAY_STAGES + 1]; // items given, and done by each stage: the one before stage s leaves done[s] to it
  bool busy[GN_RELAY_STAGES];       // somebody is at a stage
  girthline_status status;
  gn_relay_source *source; // NULL: none that has more
  bool drawing;            // somebody is at it
  bool ending;
};

gn_relay *gn_relay_new(gn_relay_stage *const *stages, size_t n_stages, size_t n_places, void *user) {
  gn_relay *r = gn_new(1, sizeof *r);
  if (!r) return NULL;
  for (size_t s = 0; s < n_stages; s++) r->stages[s] = stages[s];
  r->n_stages = n_stages;
  r->n_places = n_places;
  r->user = user;
  pthread_mutex_init(&r->lock, NULL);
  pthread_cond_init(&r->changed, NULL);
  return r;
}

static size_t place_of(const gn_relay *r, size_t item) { return r->n_threads ? item % r->n_places : 0; }

// The last stage that has an item and nobody at it; n_stages: there is none.
static size_t ready(const gn_relay *r) {
  size_t s = r->n_stages;
  while (s > 0 && (r->busy[s - 1] || r->done[s - 1] == r->done[s])) s--;
  return s > 0 ? s - 1 : r->n_stages;
}

// A stage's next item, with the lock held: without it while at work.
static void work(gn_relay *r, size_t s) {
  const size_t place = place_of(r, r->done[s + 1]);
  const bool stopped = r->status != GIRTHLINE_OK;
  r->busy[s] = true;
  pthread_mutex_unlock(&r->lock);
  const girthline_status status = stopped ? GIRTHLINE_OK : r->stages[s](r->user, place);
  pthread_mutex_lock(&r->lock);
  if (r->status == GIRTHLINE_OK) r->status = status;
  r->busy[s] = false;
  r->done[s + 1]++;
  pthread_cond_broadcast(&r->changed);
}

static bool is_free(const gn_relay *r) { return r->done[0] - r->done[r->n_stages] < r->n_places; }

// The source's next item, in the same way.
static void draw(gn_relay *r) {
  gn_relay_source *const source = r->source;
  bool more = false;
  r->drawing = true;
  pthread_mutex_unlock(&r->lock);
  const girthline_status status = source(r->user, &more);
  pthread_mutex_lock(&r->lock);
  if (r->status == GIRTHLINE_OK) r->status = status;
  r->drawing = false;
  if (!more || r->status != GIRTHLINE_OK) r->source = NULL;
  pthread_cond_broadcast(&r->changed);
}

// Do what there is to do, or wait until there is something.
static void go_on(gn_relay *r) {
  const size_t s = ready(r);
  if (s < r->n_stages) work(r, s);
  else if (r->source && !r->drawing && is_free(r)) draw(r);
  else pthread_cond_wait(&r->changed, &r->lock);
}

static void *run(void *user) {
  GN_PLAIN_NUMBERS;
  gn_relay *r = user;
  pthread_mutex_lock(&r->lock);
  while (!r->ending) go_on(r);
  pthread_mutex_unlock(&r->lock);
  return NULL;
}

static void end_threads(gn_relay *r) {
  pthread_mutex_lock(&r->lock);
  r->ending = true;
  pthread_cond_broadcast(&r->changed);
  pthread_mutex_unlock(&r->lock);
  for (size_t i = 0; i < r->n_threads; i++) pthread_join(r->threads[i], NULL);
  r->n_threads = 0;
  r->ending = false;
}

// A signal is for the threads of the program, not for these.
static bool create(pthread_t *thread, void *(*begin)(void *), void *user) {
  sigset_t all, kept;
  sigfillset(&all);
  pthread_sigmask(SIG_SETMASK, &all, &kept);
  const bool created = !pthread_create(thread, NULL, begin, user);
  pthread_sigmask(SIG_SETMASK, &kept, NULL);
  return created;
}

void gn_relay_start(gn_relay *r, size_t n_threads) {
  if (r->n_threads || gn_memory_counts()) return;
  pthread_mutex_lock(&r->lock); // nobody works before all are there
  while (r->n_threads < r->n_stages && r->n_threads + 1 < n_threads && create(&r->threads[r->n_threads], run, r)) r->n_threads++;
  pthread_mutex_unlock(&r->lock);
}

girthline_status gn_relay_place(gn_relay *r, size_t *place) {
  pthread_mutex_lock(&r->lock);
  while (!is_free(r)) go_on(r);
  *place = place_of(r, r->done[0]);
  const girthline_status status = r->status;
  pthread_mutex_unlock(&r->lock);
  return status;
}

static girthline_status finish(gn_relay *r) {
  while (r->done[0] != r->done[r->n_stages]) go_on(r);
  return r->status;
}

girthline_status gn_relay_give(gn_relay *r) {
  pthread_mutex_lock(&r->lock);
  r->done[0]++;
  pthread_cond_broadcast(&r->changed);
  const girthline_status status = r->n_threads ? r->status : finish(r);
  pthread_mutex_unlock(&r->lock);
  return status;
}

girthline_status gn_relay_draw(gn_relay *r, gn_relay_source *source) {
  pthread_mutex_lock(&r->lock);
  r->source = source;
  while (r->source) go_on(r);
  const girthline_status status = r->status;
  pthread_mutex_unlock(&r->lock);
  return status;
}

girthline_status gn_relay_wait(gn_relay *r) {
  pthread_mutex_lock(&r->lock);
  const girthline_status status = finish(r);
  pthread_mutex_unlock(&r->lock);
  return status;
}

typedef struct half {
  void (*work)(void *piece);
  void *piece;
} half;

static void *run_half(void *user) {
  GN_PLAIN_NUMBERS;
  const half *h = user;
  h->work(h->piece);
  return NULL;
}

void gn_relay_both(void (*each)(void *piece), void *one, void *other, bool side_by_side) {
  half second = {each, other};
  pthread_t thread;
  const bool shared = side_by_side && !gn_memory_counts() && create(&thread, run_half, &second);
  each(one);
  if (shared) pthread_join(thread, NULL);
  else each(other);
}

size_t gn_relay_processors(void) {
  cpu_set_t mine;
  const int n = sched_getaffinity(0, sizeof mine, &mine) ? 0 : CPU_COUNT(&mine);
  return n > 1 ? (size_t)n : 1;
}

void gn_relay_free(gn_relay *r) {
  if (!r) return;
  end_threads(r);
  pthread_cond_destroy(&r->changed);
  pthread_mutex_destroy(&r->lock);
  gn_free(r);
}
