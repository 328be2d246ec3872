// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <pthread.h>
#include <time.h>

#include "base/memory.h"
#include "base/relay.h"

enum { PLACES = 3, ITEMS = 300, STAGES = 3 };

// Each stage multiplies by a number of its own and adds one that it counts up: out of order, or twice, it would come to something else.
typedef struct line {
  size_t place[PLACES];
  size_t counted[STAGES], n_done;
  size_t results[ITEMS];
  size_t fault_at[STAGES]; // item with which a stage comes to grief
  bool by_caller_alone;
  pthread_t caller;
  gn_relay *relay;
  int n_inside, most_inside;   // items in the stages now, and at most
  bool slow;                   // the last stage takes long
  size_t n_drawn, n_at_source; // threads at it now
  size_t start_at, n_threads;  // the item before which threads are started
} line;

static int n_left = -1; // threads that can still be had; -1: any number
static size_t n_created;
int __real_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user);
int __wrap_pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*run)(void *), void *user) {
  if (n_left == 0) return 11;
  if (n_left > 0) n_left--;
  n_created++;
  return __real_pthread_create(thread, attributes, run, user);
}

static girthline_status do_stage(line *l, size_t stage, size_t place) {
  if (l->by_caller_alone) assert_true(pthread_equal(l->caller, pthread_self()));
  if (stage == 0) {
    const int n_inside = __atomic_add_fetch(&l->n_inside, 1, __ATOMIC_SEQ_CST);
    if (n_inside > l->most_inside) l->most_inside = n_inside;
  }
  if (l->slow && stage == STAGES - 1) nanosleep(&(struct timespec){.tv_nsec = 20000000}, NULL);
  l->place[place] = 31 * l->place[place] + ++l->counted[stage];
  if (stage == STAGES - 1) l->results[l->n_done++] = l->place[place];
  if (stage == STAGES - 1) __atomic_sub_fetch(&l->n_inside, 1, __ATOMIC_SEQ_CST);
  return l->counted[stage] == l->fault_at[stage] ? GIRTHLINE_NO_MEMORY : GIRTHLINE_OK;
}

static girthline_status first(void *user, size_t place) { return do_stage(user, 0, place); }
static girthline_status second(void *user, size_t place) { return do_stage(user, 1, place); }
static girthline_status third(void *user, size_t place) { return do_stage(user, 2, place); }

static girthline_status run(line *l, size_t n_threads) {
  gn_relay_stage *const stages[STAGES] = {first, second, third};
  gn_relay *r = gn_relay_new(stages, STAGES, PLACES, l);
  girthline_status status = GIRTHLINE_OK;
  assert_non_null(r);
  l->caller = pthread_self();
  n_created = 0;
  gn_relay_start(r, n_threads);
  for (size_t i = 0; i < ITEMS && status == GIRTHLINE_OK; i++) {
    size_t place = 99;
    status = gn_relay_place(r, &place);
    assert_true(place < PLACES);
    l->place[place] = 7 * i;
    if (status == GIRTHLINE_OK) status = gn_relay_give(r);
  }
  const girthline_status all = gn_relay_wait(r);
  assert_true(status == GIRTHLINE_OK || status == all);
  gn_relay_free(r);
  return all;
}

static girthline_status draw_one(void *user, bool *more) {
  line *l = user;
  size_t place = 99;
  if (l->by_caller_alone) assert_true(pthread_equal(l->caller, pthread_self()));
  assert_int_equal(__atomic_fetch_add(&l->n_at_source, 1, __ATOMIC_SEQ_CST), 0);
  if (l->n_drawn == l->start_at) gn_relay_start(l->relay, l->n_threads);
  girthline_status status = l->n_drawn == ITEMS ? GIRTHLINE_OK : gn_relay_place(l->relay, &place);
  *more = l->n_drawn < ITEMS;
  if (*more) {
    assert_true(place < PLACES);
    l->place[place] = 7 * l->n_drawn++;
  }
  __atomic_fetch_sub(&l->n_at_source, 1, __ATOMIC_SEQ_CST);
  return *more && status == GIRTHLINE_OK ? gn_relay_give(l->relay) : status;
}

static girthline_status run_from_source(line *l, size_t n_threads, size_t start_at) {
  gn_relay_stage *const stages[STAGES] = {first, second, third};
  l->caller = pthread_self();
  l->n_threads = n_threads;
  l->start_at = start_at;
  l->relay = gn_relay_new(stages, STAGES, PLACES, l);
  assert_non_null(l->relay);
  const girthline_status status = gn_relay_draw(l->relay, draw_one), all = gn_relay_wait(l->relay);
  assert_true(status == GIRTHLINE_OK || status == all);
  gn_relay_free(l->relay);
  return all;
}

static void assert_all_done(const line *l) {
  assert_int_equal(l->n_done, ITEMS);
  for (size_t i = 0; i < ITEMS; i++) {
    size_t want = 7 * i;
    for (size_t s = 0; s < STAGES; s++) want = 31 * want + i + 1;
    assert_int_equal(l->results[i], want);
  }
}

static void items_go_through_in_order_whatever_the_number_of_threads(void **state) {
  (void)state;
  for (size_t n = 0; n < 6; n++) {
    line l = {.by_caller_alone = n < 2};
    assert_int_equal(run(&l, n), GIRTHLINE_OK);
    assert_all_done(&l);
    assert_int_equal(n_created, n < 2 ? 0 : n > STAGES ? STAGES : n - 1);
  }
}

static void items_of_a_source_go_the_same_way(void **state) {
  (void)state;
  for (size_t n = 0; n < 6; n++)
    for (size_t start_at = 0; start_at < 2; start_at++) {
      line l = {.by_caller_alone = n < 2};
      assert_int_equal(run_from_source(&l, n, start_at), GIRTHLINE_OK);
      assert_all_done(&l);
    }
}

static void a_source_is_asked_for_nothing_more_once_a_stage_has_come_to_grief(void **state) {
  (void)state;
  for (size_t n = 1; n <= STAGES; n++)
    for (size_t s = 0; s < STAGES; s++) {
      line l = {0};
      l.fault_at[s] = 20;
      assert_int_equal(run_from_source(&l, n, 0), GIRTHLINE_NO_MEMORY);
      assert_int_equal(l.counted[s], 20);
      assert_true(l.n_drawn <= 20 + PLACES);
    }
}

static void an_item_waits_for_a_place_and_for_nothing_else(void **state) {
  (void)state;
  gn_relay_stage *const stages[STAGES] = {first, second, third};
  line l = {.slow = true};
  gn_relay *r = gn_relay_new(stages, STAGES, PLACES, &l);
  size_t place;
  gn_relay_start(r, 2);
  for (size_t i = 0; i < 6; i++) {
    assert_int_equal(gn_relay_place(r, &place), GIRTHLINE_OK);
    assert_int_equal(gn_relay_give(r), GIRTHLINE_OK);
  }
  assert_int_equal(gn_relay_wait(r), GIRTHLINE_OK);
  gn_relay_free(r);
  assert_int_equal(l.n_done, 6);
  assert_int_equal(l.most_inside, PLACES);
}

static void where_threads_are_not_to_be_had_the_others_do_all(void **state) {
  (void)state;
  for (int n = 0; n < 2; n++) {
    line l = {.by_caller_alone = n == 0};
    n_left = n;
    assert_int_equal(run(&l, 3), GIRTHLINE_OK);
    n_left = -1;
    assert_all_done(&l);
    assert_int_equal(n_created, n);
  }
}

static void where_requests_for_memory_are_counted_the_caller_does_all(void **state) {
  (void)state;
  line l = {.by_caller_alone = true};
  gn_memory_refuse(1000);
  assert_int_equal(run(&l, 3), GIRTHLINE_OK);
  gn_memory_refuse(0);
  assert_all_done(&l);
  assert_int_equal(n_created, 0);
}

static void a_fault_ends_the_work_and_is_told(void **state) {
  (void)state;
  for (size_t n = 1; n <= STAGES; n++)
    for (size_t s = 0; s < STAGES; s++) {
      line l = {0};
      l.fault_at[s] = 20;
      assert_int_equal(run(&l, n), GIRTHLINE_NO_MEMORY);
      for (size_t later = s + 1; later < STAGES; later++) assert_true(l.counted[later] <= 19);
      for (size_t k = 0; k < STAGES; k++) assert_true(l.counted[k] <= 20 + PLACES);
      assert_int_equal(l.counted[s], 20);
    }
}

static void a_relay_may_be_let_go_of_while_it_works(void **state) {
  (void)state;
  for (size_t n = 1; n <= STAGES; n++) {
    gn_relay_stage *const stages[STAGES] = {first, second, third};
    line l = {0};
    gn_relay *r = gn_relay_new(stages, STAGES, PLACES, &l);
    size_t place;
    gn_relay_start(r, n);
    for (size_t i = 0; i < 5; i++) {
      assert_int_equal(gn_relay_place(r, &place), GIRTHLINE_OK);
      assert_int_equal(gn_relay_give(r), GIRTHLINE_OK);
    }
    gn_relay_free(r);
    assert_true(l.n_done <= 5);
  }
  gn_relay_free(NULL);
}

typedef struct piece {
  int in, out;
  pthread_t by;
} piece;

static void square(void *user) {
  piece *p = user;
  p->out = p->in * p->in;
  p->by = pthread_self();
}

static void two_pieces_are_both_done_with_a_second_thread_or_without(void **state) {
  (void)state;
  for (int how = 0; how < 4; how++) {
    piece a = {.in = 3}, b = {.in = 5};
    n_left = how == 2 ? 0 : -1;
    gn_memory_refuse(how == 3 ? 1000 : 0);
    gn_relay_both(square, &a, &b, how > 0);
    gn_memory_refuse(0);
    n_left = -1;
    assert_int_equal(a.out, 9);
    assert_int_equal(b.out, 25);
    assert_int_equal(!pthread_equal(a.by, b.by), how == 1);
  }
}

static void refused_memory_gives_no_relay(void **state) {
  (void)state;
  gn_relay_stage *const stages[1] = {first};
  gn_memory_refuse(1);
  assert_null(gn_relay_new(stages, 1, PLACES, NULL));
  gn_memory_refuse(0);
  assert_true(gn_relay_processors() >= 1);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(items_go_through_in_order_whatever_the_number_of_threads),
      cmocka_unit_test(items_of_a_source_go_the_same_way),
      cmocka_unit_test(a_source_is_asked_for_nothing_more_once_a_stage_has_come_to_grief),
      cmocka_unit_test(an_item_waits_for_a_place_and_for_nothing_else),
      cmocka_unit_test(where_threads_are_not_to_be_had_the_others_do_all),
      cmocka_unit_test(where_requests_for_memory_are_counted_the_caller_does_all),
      cmocka_unit_test(a_fault_ends_the_work_and_is_told),
      cmocka_unit_test(a_relay_may_be_let_go_of_while_it_works),
      cmocka_unit_test(two_pieces_are_both_done_with_a_second_thread_or_without),
      cmocka_unit_test(refused_memory_gives_no_relay),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
