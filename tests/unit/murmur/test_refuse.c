// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What of the finds is no murmur, each limit from both sides.
#include <stdlib.h>

#include "support.h"

#include "base/maths.h"
#include "base/memory.h"
#include "base/result.h"
#include "murmur/parts.h"

typedef struct find {
  girthline_murmur_limits limits;
  gn_murmur_cube cube;
  gn_murmur_test test;
  gn_murmur_evidence e;
  girthline_murmur_phase p;
  bool usable;
  double click_s; // 0: none is told
} find;

// At 240 Hz, for 100 ms after S2, 10 dB over the limit; it hardly rises over the noise around.
static find tail(void) {
  find f = {.limits = girthline_limits_default().murmur, .usable = true};
  f.cube = (gn_murmur_cube){.n_beats = 20, .n_cells = 280, .n_systole = 80, .systole_s = 0.4, .sound_s = {0.12, 0.08}};
  f.e = (gn_murmur_evidence){.found = true, .phase = 1, .a = 90, .n = 10, .rows = 1u << 3, .x_db = 20, .z = 5, .locked = 5, .rise = 0.5, .over_sounds_db = 20};
  f.p = (girthline_murmur_phase){.phase = GIRTHLINE_DIASTOLE, .timing = GIRTHLINE_EARLY, .shape = GIRTHLINE_DECRESCENDO, .level_db = -10, .peak_hz = 300, .end_fraction = 0.1};
  return f;
}

static bool is_none(find f) {
  girthline_result *r = gn_result_new();
  r->murmur.detection_limit_db[0] = r->murmur.detection_limit_db[1] = -20;
  if (f.click_s > 0) {
    r->extras = gn_new(1, sizeof *r->extras);
    r->n_extras = 1;
    r->extras[0] = (girthline_extra){.kind = GIRTHLINE_CLICK, .delay_s = f.click_s, .beats_fraction = 1, .confidence = 1};
  }
  f.test.cube = &f.cube;
  f.test.limits = &f.limits;
  const bool none = gn_murmur_is_none(&f.test, f.usable, &f.e, &f.p, r);
  girthline_result_free(r);
  return none;
}

static void a_tail_that_seems_loud_and_hardly_rises_is_none(void **state) {
  (void)state;
  assert_true(is_none(tail()));
  find f = tail();
  f.usable = false;
  assert_false(is_none(f));
  f = tail();
  f.e.z = f.limits.z_sure;
  assert_false(is_none(f));
  f = tail();
  f.e.rise = 0.61;
  assert_false(is_none(f));
  f = tail();
  f.p.level_db = -14.1;
  assert_false(is_none(f));
  f = tail();
  f.p.end_fraction = 0.13;
  assert_false(is_none(f));
}

// The find in its band so far under the peak of the sound before it, dB.
static bool is_none_under(find f, double under_db) {
  f.cube.power = calloc(GN_MURMUR_ROWS * f.cube.n_cells * f.cube.n_beats, sizeof *f.cube.power);
  f.test.values = calloc(f.cube.n_beats, sizeof *f.test.values);
  f.test.scratch = calloc(f.cube.n_beats, sizeof *f.test.scratch);
  for (size_t i = 0; i < GN_MURMUR_ROWS * f.cube.n_cells * f.cube.n_beats; i++) f.cube.power[i] = 2;
  f.cube.floor_power[3] = 1;
  f.cube.sound_power[3][f.e.phase] = gn_from_db(under_db);
  const bool none = is_none(f);
  free(f.cube.power);
  free(f.test.values);
  free(f.test.scratch);
  return none;
}

// In a fast heart every murmur is over so soon.
static void what_comes_as_near_to_the_sound_as_no_tail_does_is_told(void **state) {
  (void)state;
  find f = tail();
  f.cube.n_cells = f.cube.n_systole + 40;
  f.e.a = f.cube.n_systole + 14;
  f.p.end_fraction = 0.55; // of 0.2 s
  assert_true(is_none_under(f, 8.1));
  assert_false(is_none_under(f, 7.9));
}

static void a_tail_of_s1_is_none_either(void **state) {
  (void)state;
  find f = tail();
  f.e.phase = 0;
  f.e.a = 20;
  f.p.phase = GIRTHLINE_SYSTOLE;
  f.p.end_fraction = 0.25; // of 0.4 s
  assert_true(is_none(f));
  f.p.end_fraction = 0.35;
  assert_false(is_none(f));
}

static void what_is_low_and_over_soon_is_none_unless_it_is_loud_and_lasts(void **state) {
  (void)state;
  find f = tail();
  f.cube.n_cells = f.cube.n_systole + 60; // of a fast heart: 0.3 s
  f.e.a = f.cube.n_systole + 30;
  f.e.rows = 1;
  f.e.rise = 1;
  f.p.level_db = -12.1;
  f.p.end_fraction = 0.35;
  assert_true(is_none(f));
  f.p.level_db = -12;
  assert_false(is_none(f));
  f.p.end_fraction = 0.29;
  assert_true(is_none(f));
  f.e.rows = 1u << 3;
  assert_false(is_none(f));
}

// By the noise further around alone, 6 dB over the limit.
static void what_would_have_stood_out_near_by_is_hidden(void **state) {
  (void)state;
  find f = tail();
  f.e.far = true;
  f.p.level_db = -13.9;
  assert_true(gn_murmur_is_hidden_near(&f.e, &f.p, -20));
  assert_false(gn_murmur_is_hidden_near(&f.e, &f.p, NAN));
  f.p.level_db = -14.1;
  assert_false(gn_murmur_is_hidden_near(&f.e, &f.p, -20));
  f.p.level_db = -13.9;
  f.e.far = false;
  assert_false(gn_murmur_is_hidden_near(&f.e, &f.p, -20));
}

static void what_the_noise_further_around_tells_of_rises_over_it(void **state) {
  (void)state;
  find f = tail();
  f.e.far = true;
  f.p.end_fraction = 0.9; // no tail
  f.e.rise = 0.44;
  assert_true(is_none(f));
  f.e.rise = 0.46;
  assert_false(is_none(f));
  f.e.rise = 0.44;
  f.e.far = false;
  assert_false(is_none(f));
}

static find doubtful(void) {
  find f = tail();
  f.e.z = 6;
  f.e.locked = 0;
  f.e.x_db = 12;
  f.e.rise = 1;
  f.p.end_fraction = 0.5;
  f.p.level_db = -25;
  return f;
}

static void what_nothing_makes_sure_of_is_none_unless_it_is_loud(void **state) {
  (void)state;
  assert_true(is_none(doubtful()));
  find f = doubtful();
  f.p.level_db = NAN;
  assert_true(is_none(f));
  f.p.level_db = -24;
  assert_false(is_none(f));
  f = doubtful();
  f.e.x_db = 12.1;
  assert_false(is_none(f));
  f = doubtful();
  f.e.locked = f.limits.chance_deviations;
  assert_false(is_none(f));
  f.e.far = true;
  assert_true(is_none(f));
  f = doubtful();
  f.e.z = f.limits.z_sure;
  assert_false(is_none(f));
}

static find soft_in_diastole(void) {
  find f = tail();
  f.p = (girthline_murmur_phase){.phase = GIRTHLINE_DIASTOLE, .timing = GIRTHLINE_MID, .shape = GIRTHLINE_CRESCENDO_DECRESCENDO, .level_db = -18.1, .end_fraction = 0.9};
  f.e.locked = 4.4;
  f.e.rise = 0.59;
  return f;
}

static void what_is_doubtful_soft_and_hardly_rises_in_a_part_of_diastole_is_the_background(void **state) {
  (void)state;
  assert_true(is_none(soft_in_diastole()));
  find f = soft_in_diastole();
  f.e.locked = f.limits.chance_deviations;
  assert_false(is_none(f));
  f.p.timing = GIRTHLINE_HOLO;
  assert_true(is_none(f));
  f = soft_in_diastole();
  f.e.z = f.limits.z_sure;
  assert_false(is_none(f));
  f = soft_in_diastole();
  f.e.rise = 0; // by excess alone: what it rises by was not told
  assert_false(is_none(f));
  f.e.rise = 0.61;
  assert_false(is_none(f));
  f = soft_in_diastole();
  f.p.level_db = -17.9;
  assert_false(is_none(f));
  f = soft_in_diastole();
  f.p.shape = GIRTHLINE_DECRESCENDO;
  assert_false(is_none(f));
  f = soft_in_diastole();
  f.p.phase = GIRTHLINE_SYSTOLE;
  f.e.phase = 0;
  assert_false(is_none(f));
}

// ---- what a lower sound leaves in the bands above ------------------------------------------------------------------

// The same find where the bands hold so much over their floor, dB.
static bool is_none_with(find f, const double over_db[GN_MURMUR_BANDS]) {
  const size_t n_cells = f.cube.n_cells, n_beats = f.cube.n_beats;
  f.cube.power = calloc(GN_MURMUR_ROWS * n_cells * n_beats, sizeof *f.cube.power);
  f.test.values = calloc(n_beats, sizeof *f.test.values);
  f.test.scratch = calloc(n_beats, sizeof *f.test.scratch);
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++) {
    f.cube.floor_power[row] = 1;
    for (size_t i = 0; i < n_cells * n_beats; i++) f.cube.power[row * n_cells * n_beats + i] = (float)(1 + gn_from_db(over_db[row]));
  }
  const bool none = is_none(f);
  free(f.cube.power);
  free(f.test.values);
  free(f.test.scratch);
  return none;
}

static find beside_a_split(void) {
  find f = tail();
  f.e.rise = 1.5; // no tail
  f.e.over_sounds_db = 11.9;
  return f;
}

static void what_falls_from_band_to_band_is_a_lower_sounds(void **state) {
  (void)state;
  static const double FALLS[] = {30, 30, 27.9, 22.8, 10}, HARDLY[] = {30, 30, 27.9, 23, 10}, HUMP[] = {30, 28, 26.1, 20, 10}, RISES[] = {30, 30, 27, 21, 19.5};
  assert_true(is_none_with(beside_a_split(), FALLS));
  assert_false(is_none_with(beside_a_split(), HARDLY));
  assert_false(is_none_with(beside_a_split(), HUMP)); // below it
  assert_true(is_none_with(beside_a_split(), RISES));
  find f = beside_a_split();
  f.e.rows |= 1u << 4;
  assert_false(is_none_with(f, RISES)); // within it
  assert_true(is_none_with(f, FALLS));
  f = beside_a_split();
  f.e.rows |= 1;
  assert_false(is_none_with(f, FALLS)); // it reaches down to the sounds' own
  f = beside_a_split();
  f.e.n = 25; // no such sound is as long
  assert_false(is_none_with(f, FALLS));
  f = beside_a_split();
  f.e.over_sounds_db = 12;
  assert_false(is_none_with(f, FALLS));
  f = beside_a_split();
  f.e.z = f.limits.z_sure;
  assert_false(is_none_with(f, FALLS));
}

static void so_is_what_is_found_in_the_second_band(void **state) {
  (void)state;
  static const double FALLS[] = {30, 24.9, 22.8, 10, 0}, HARDLY[] = {30, 25.1, 22.8, 10, 0};
  find f = beside_a_split();
  f.e.rows = 1u << 1 | 1u << 2;
  f.e.a = f.cube.n_systole + 60;
  f.p.end_fraction = 0.5;
  assert_true(is_none_with(f, FALLS));
  assert_false(is_none_with(f, HARDLY));
}

// ---- a click that is told ------------------------------------------------------------------------------------------

// A find through systole at a click of so many cells, so far over the background, dB; on either side of it systole holds what lies so far under it.
static bool is_click(find f, size_t n, double click_db, double beside_db) {
  f.cube.s1_end = 30;
  f.cube.s2_start = 76;
  f.cube.s2_end = 110;
  f.cube.s1_start = 270;
  f.cube.contour = calloc(GN_MURMUR_ROWS * f.cube.n_cells, sizeof *f.cube.contour);
  f.test.quiet = calloc(f.cube.n_cells, sizeof *f.test.quiet);
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
    for (size_t c = 0; c < f.cube.n_cells; c++) {
      const bool sound = c < f.cube.s1_end || (c >= f.cube.s2_start && c < f.cube.s2_end); // 20 dB over the click
      const double over = sound ? gn_from_db(click_db + 20) : c >= 50 && c < 50 + n ? gn_from_db(click_db) : c >= 40 && c < 70 ? gn_from_db(click_db + beside_db) : 0;
      f.cube.contour[row * f.cube.n_cells + c] = (float)(1 + over);
    }
  const bool none = is_none(f);
  free(f.cube.contour);
  free(f.test.quiet);
  return none;
}

static find at_a_click(void) {
  find f = tail();
  f.e = (gn_murmur_evidence){.found = true, .a = 45, .n = 12, .rows = 1u << 1 | 1u << 2 | 1u << 3 | 1u << 4, .x_db = 20, .z = 9, .over_sounds_db = 20};
  f.p = (girthline_murmur_phase){.phase = GIRTHLINE_SYSTOLE, .level_db = -10, .start_fraction = 0.4, .end_fraction = 0.8};
  f.click_s = 0.25;
  return f;
}

static void a_click_is_all_that_stands_out(void **state) {
  (void)state;
  assert_true(is_click(at_a_click(), 7, 30, -16));
  assert_false(is_click(at_a_click(), 8, 30, -16));
  assert_false(is_click(at_a_click(), 7, 30, -14)); // a murmur around it
  assert_true(is_click(at_a_click(), 7, 10, -7.2)); // as noise varies
  assert_false(is_click(at_a_click(), 7, 10, -6.8));
  find f = at_a_click();
  f.click_s = 0;
  assert_false(is_click(f, 7, 30, -16));
  f.click_s = 0.36; // after it
  assert_false(is_click(f, 7, 30, -16));
  f.click_s = 0.12; // before it
  assert_false(is_click(f, 7, 30, -16));
  f.click_s = 0.135;
  assert_true(is_click(f, 7, 30, -16));
  f.p.phase = GIRTHLINE_DIASTOLE;
  assert_false(is_click(f, 7, 30, -16));
}

// In noise the click itself may not stand out; what was found then is as short as one.
static void a_find_in_noise_is_a_click_where_it_fills_little_of_systole(void **state) {
  (void)state;
  find f = at_a_click();
  assert_false(is_click(f, 3, 30, -40));
  f.p.start_fraction = 0.55;
  f.p.end_fraction = 0.66;
  assert_true(is_click(f, 3, 30, -40));
  assert_false(is_click(f, 8, 30, -40)); // no click is as long
  f.e.rows = 1u << 1; // below the bands that are asked
  assert_true(is_click(f, 8, 30, -40));
  f.p.end_fraction = 0.7;
  assert_false(is_click(f, 8, 30, -40));
}

// ---- the background under a gain ---------------------------------------------------------------------------------

enum { N_CELLS = 260, N_SYSTOLE = 84, S1_END = 24, S2_START = 80, S2_END = 104, S1_START = 256 };

// Level of the background, dB, so far (0 to 1) through a phase's quiet part.
typedef double course(int phase, double share);
static double open_after_both(int phase, double share) { return share < (phase ? 0.25 : 0.5) ? 0 : -12; }
static double open_after_s1(int phase, double share) { return !phase && share < 0.5 ? 0 : -12; }
static double back_after_both(int phase, double share) { return phase ? fmin(-2, -12 + 30 * share) : -12 + 9 * share; }
static double hardly_back_after_s1(int phase, double share) { return phase ? fmin(-2, -12 + 30 * share) : -12 + 3 * share; }
static double falling_in_diastole(int phase, double share) { return phase ? -2 - 10 * share : -12 + 6 * share; }
static double back_after_s2(int phase, double share) { return phase ? fmin(-2, -11 + 30 * share) : -12 + 2 * share; }
static double late_in_diastole(int phase, double share) { return phase && share > 0.6 ? -2 : -12; }
static double late_and_far_out(int phase, double share) { return late_in_diastole(phase, share) > -12 ? 10 : -12; }
static double through_systole(int phase, double share) { return phase ? -12 + 10 * share : -5; } // and a breath at diastole's end

typedef struct lifted {
  course *course;
  int phase;
  size_t a;
  double end_fraction, apart_db; // apart: by how much the highest band rises less
  girthline_tristate musical;
  bool expected;
} lifted;

static bool is_lifted(const lifted *l) {
  gn_murmur_cube cube = {.n_beats = 20, .n_cells = N_CELLS, .n_systole = N_SYSTOLE, .s1_end = S1_END, .s2_start = S2_START, .s2_end = S2_END, .s1_start = S1_START};
  cube.contour = calloc((size_t)GN_MURMUR_ROWS * N_CELLS, sizeof *cube.contour);
  gn_murmur_test test = {.cube = &cube, .quiet = calloc(N_CELLS, sizeof *test.quiet)};
  for (size_t row = 0; row < GN_MURMUR_BANDS; row++)
    for (size_t c = 0; c < N_CELLS; c++) {
      const int phase = c >= N_SYSTOLE;
      const double from = phase ? S2_END : S1_END, to = phase ? S1_START : S2_START, share = ((double)c - from) / (to - from);
      const double db = share < 0 || share >= 1 ? 20 : l->course(phase, share);
      cube.contour[row * N_CELLS + c] = (float)gn_from_db(row + 1 == GN_MURMUR_BANDS && db > -12 ? fmax(-12, db - l->apart_db) : db);
    }
  const gn_murmur_evidence e = {.phase = l->phase, .a = l->a, .n = 10};
  const girthline_murmur_phase p = {.end_fraction = l->end_fraction, .musical = l->musical};
  const bool is = gn_murmur_is_lifted(&test, &e, &p);
  free(cube.contour);
  free(test.quiet);
  return is;
}

static void the_background_is_told_by_its_course_and_by_its_bands(void **state) {
  (void)state;
  static const lifted ROWS[] = {
      {open_after_both, 0, 30, 0.5, 0, GIRTHLINE_NO, true},
      {open_after_both, 1, 115, 0.3, 0, GIRTHLINE_NO, true},
      {open_after_both, 0, 30, 0.5, 2.9, GIRTHLINE_NO, true},
      {open_after_both, 0, 30, 0.5, 3.1, GIRTHLINE_NO, false},
      {open_after_both, 0, 30, 0.5, 0, GIRTHLINE_YES, false},
      {open_after_s1, 0, 30, 0.5, 0, GIRTHLINE_NO, false},
      {back_after_both, 1, 220, 0.9, 0, GIRTHLINE_NO, true},
      {back_after_both, 1, 220, 0.9, 1.4, GIRTHLINE_NO, true},
      {back_after_both, 1, 220, 0.9, 4.5, GIRTHLINE_NO, false},
      {hardly_back_after_s1, 1, 220, 0.9, 0, GIRTHLINE_NO, false},
      {falling_in_diastole, 1, 110, 0.9, 0, GIRTHLINE_NO, false},
      {back_after_s2, 1, 220, 0.97, 0, GIRTHLINE_NO, true},
      {back_after_s2, 1, 220, 0.97, 2, GIRTHLINE_NO, true},
      {back_after_s2, 1, 220, 0.97, 2.3, GIRTHLINE_NO, false},
      {back_after_s2, 1, 220, 0.96, 0, GIRTHLINE_NO, false},
      {back_after_s2, 1, 220, 0.97, 0, GIRTHLINE_YES, false},
      {late_in_diastole, 1, 220, 1, 0, GIRTHLINE_NO, false},
      {late_and_far_out, 1, 220, 1, 0, GIRTHLINE_NO, false},
      {through_systole, 0, 50, 1, 2.9, GIRTHLINE_NO, false},
  };
  for (size_t i = 0; i < sizeof ROWS / sizeof *ROWS; i++)
    if (is_lifted(&ROWS[i]) != ROWS[i].expected) fail_msg("row %zu is%s taken for the background", i, ROWS[i].expected ? " not" : "");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_tail_that_seems_loud_and_hardly_rises_is_none),
      cmocka_unit_test(what_comes_as_near_to_the_sound_as_no_tail_does_is_told),
      cmocka_unit_test(a_tail_of_s1_is_none_either),
      cmocka_unit_test(what_would_have_stood_out_near_by_is_hidden),
      cmocka_unit_test(what_the_noise_further_around_tells_of_rises_over_it),
      cmocka_unit_test(what_is_low_and_over_soon_is_none_unless_it_is_loud_and_lasts),
      cmocka_unit_test(what_nothing_makes_sure_of_is_none_unless_it_is_loud),
      cmocka_unit_test(what_is_doubtful_soft_and_hardly_rises_in_a_part_of_diastole_is_the_background),
      cmocka_unit_test(what_falls_from_band_to_band_is_a_lower_sounds),
      cmocka_unit_test(so_is_what_is_found_in_the_second_band),
      cmocka_unit_test(a_click_is_all_that_stands_out),
      cmocka_unit_test(a_find_in_noise_is_a_click_where_it_fills_little_of_systole),
      cmocka_unit_test(the_background_is_told_by_its_course_and_by_its_bands),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
