// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "base/relay.h"

#include <pthread.h>
#include <sched.h>
#include <signal.h>

#include "base/memory.h"
#include "base/numbers.h"

// One thread and its stages: first .. end - 1.
typedef struct hand {
  gn_relay *relay;
  size_t first, end;
  pthread_t thread;
} hand;

struct gn_relay {
  gn_relay_stage *stages[GN_RELAY_STAGES];
  size_t n_stages, n_places;
  void *user;
  hand hands[GN_RELAY_STAGES]; // the first is the caller's
  size_t n_hands;
  pthread_mutex_t lock; // for all that follows
  pthread_cond_t changed;
  size_t done[GN_RELAY_STAGES + 1]; // items given, and done by each stage: the one before stage s leaves done[s] to it
  girthline_status status;
  bool ending;
};

static bool is_shared(const gn_relay *r) { return r->n_hands > 1; }

static void all_to_caller(gn_relay *r) {
  r->hands[0] = (hand){.relay = r, .first = 0, .end = r->n_stages};
  r->n_hands = 1;
}

gn_relay *gn_relay_new(gn_relay_stage *const *stages, size_t n_stages, size_t n_places, void *user) {
  gn_relay *r = gn_new(1, sizeof *r);
  if (!r) return NULL;
  for (size_t s = 0; s < n_stages; s++) r->stages[s] = stages[s];
  r->n_stages = n_stages;
  r->n_places = n_places;
  r->user = user;
  all_to_caller(r);
  pthread_mutex_init(&r->lock, NULL);
  pthread_cond_init(&r->changed, NULL);
  return r;
}

// The next item of a hand, with the lock held: without it while at work.
static void work(const hand *h) {
  gn_relay *r = h->relay;
  const size_t place = is_shared(r) ? r->done[h->end] % r->n_places : 0;
  girthline_status status = r->status;
  const bool stopped = status != GIRTHLINE_OK;
  pthread_mutex_unlock(&r->lock);
  for (size_t s = h->first; status == GIRTHLINE_OK && s < h->end; s++) status = r->stages[s](r->user, place);
  pthread_mutex_lock(&r->lock);
  if (!stopped && r->status == GIRTHLINE_OK) r->status = status;
  for (size_t s = h->first; s < h->end; s++) r->done[s + 1]++;
  pthread_cond_broadcast(&r->changed);
}

static void *run(void *user) {
  GN_PLAIN_NUMBERS;
  const hand *h = user;
  gn_relay *r = h->relay;
  pthread_mutex_lock(&r->lock);
  for (;;) {
    while (!r->ending && r->done[h->first] == r->done[h->end]) pthread_cond_wait(&r->changed, &r->lock);
    if (r->ending) break;
    work(h);
  }
  pthread_mutex_unlock(&r->lock);
  return NULL;
}

static void end_threads(gn_relay *r) {
  pthread_mutex_lock(&r->lock);
  r->ending = true;
  pthread_cond_broadcast(&r->changed);
  pthread_mutex_unlock(&r->lock);
  for (size_t i = 1; i < r->n_hands; i++) pthread_join(r->hands[i].thread, NULL);
  r->ending = false;
  all_to_caller(r);
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
  const size_t n = n_threads < r->n_stages ? n_threads : r->n_stages;
  if (n < 2 || is_shared(r) || gn_memory_counts()) return;
  pthread_mutex_lock(&r->lock); // nobody looks at n_hands before all are there
  bool created = true;
  for (r->n_hands = 0; created && r->n_hands < n; r->n_hands += created) {
    hand *h = &r->hands[r->n_hands];
    *h = (hand){.relay = r, .first = r->n_hands * r->n_stages / n, .end = (r->n_hands + 1) * r->n_stages / n};
    created = r->n_hands == 0 || create(&h->thread, run, h);
  }
  pthread_mutex_unlock(&r->lock);
  if (!created) end_threads(r); // some stages would have nobody
}

girthline_status gn_relay_place(gn_relay *r, size_t *place) {
  pthread_mutex_lock(&r->lock);
  while (r->done[0] - r->done[r->n_stages] == r->n_places) pthread_cond_wait(&r->changed, &r->lock);
  *place = is_shared(r) ? r->done[0] % r->n_places : 0;
  const girthline_status status = r->status;
  pthread_mutex_unlock(&r->lock);
  return status;
}

girthline_status gn_relay_give(gn_relay *r) {
  pthread_mutex_lock(&r->lock);
  r->done[0]++;
  work(&r->hands[0]);
  const girthline_status status = r->status;
  pthread_mutex_unlock(&r->lock);
  return status;
}

girthline_status gn_relay_wait(gn_relay *r) {
  pthread_mutex_lock(&r->lock);
  while (r->done[0] != r->done[r->n_stages]) pthread_cond_wait(&r->changed, &r->lock);
  const girthline_status status = r->status;
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
