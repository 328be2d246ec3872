// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <string.h>

#include "base/memory.h"

static void fresh_memory_is_zero(void **state) {
  (void)state;
  unsigned char *p = gn_new(1000, 3);
  assert_non_null(p);
  for (int i = 0; i < 3000; i++) assert_int_equal(p[i], 0);
  gn_free(p);
  gn_free(NULL);
}

static void nothing_asked_gives_room_for_one(void **state) {
  (void)state;
  double *p = gn_new(0, sizeof *p);
  assert_non_null(p);
  p[0] = 1;
  gn_free(p);
}

static void a_size_that_overflows_is_refused(void **state) {
  (void)state;
  assert_null(gn_new(SIZE_MAX / 8 + 2, 8)); // 8 bytes, were the product to wrap
  assert_null(gn_new(SIZE_MAX, SIZE_MAX));
  void *items = NULL;
  size_t capacity = 0;
  assert_int_equal(gn_grow(&items, &capacity, SIZE_MAX / 8 + 2, 8), -1);
  assert_null(items);
  assert_int_equal(capacity, 0);
}

static void growing_keeps_what_was_there(void **state) {
  (void)state;
  void *items = NULL;
  size_t capacity = 0;
  for (size_t n = 1; n <= 5000; n++) {
    const size_t before = capacity;
    assert_int_equal(gn_grow(&items, &capacity, n, sizeof(size_t)), 0);
    assert_true(capacity >= n && (capacity == before || capacity >= 2 * before));
    ((size_t *)items)[n - 1] = n;
  }
  for (size_t n = 1; n <= 5000; n++) assert_int_equal(((size_t *)items)[n - 1], n);
  gn_free(items);
}

static void a_refused_growth_leaves_all_as_it_was(void **state) {
  (void)state;
  void *items = NULL;
  size_t capacity = 0;
  assert_int_equal(gn_grow(&items, &capacity, 4, 1), 0);
  memcpy(items, "abc", 4);
  void *const was = items;
  const size_t held = capacity;
  gn_memory_refuse(1);
  assert_int_equal(gn_grow(&items, &capacity, held + 1, 1), -1);
  assert_ptr_equal(items, was);
  assert_int_equal(capacity, held);
  assert_string_equal(items, "abc");
  gn_free(items);
}

static void the_kth_request_is_refused_and_only_that(void **state) {
  (void)state;
  gn_memory_refuse(3);
  void *a = gn_new(1, 1), *b = gn_new(1, 1), *c = gn_new(1, 1), *d = gn_new(1, 1);
  assert_true(a && b && !c && d);
  gn_free(a);
  gn_free(b);
  gn_free(d);
  gn_memory_refuse(0);
}

static void text_is_copied_and_formatted(void **state) {
  (void)state;
  assert_null(gn_strdup(NULL));
  char *copy = gn_strdup("");
  assert_string_equal(copy, "");
  gn_free(copy);
  copy = gn_strprintf("%s at %.1f a minute", "forty", 40.04);
  assert_string_equal(copy, "forty at 40.0 a minute");
  gn_free(copy);
  gn_memory_refuse(1);
  assert_null(gn_strdup("x"));
  gn_memory_refuse(1);
  assert_null(gn_strprintf("%d", 1));
  gn_memory_refuse(0);
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(fresh_memory_is_zero),
      cmocka_unit_test(nothing_asked_gives_room_for_one),
      cmocka_unit_test(a_size_that_overflows_is_refused),
      cmocka_unit_test(growing_keeps_what_was_there),
      cmocka_unit_test(a_refused_growth_leaves_all_as_it_was),
      cmocka_unit_test(the_kth_request_is_refused_and_only_that),
      cmocka_unit_test(text_is_copied_and_formatted),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
