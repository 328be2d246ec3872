// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "support.h"

#include <cairo.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "report/figures.h"
#include "report/figures_area.h"
#include "report/figures_plot.h"
#include "sample_result.h"

// Half a second of a 100 Hz tone within the best stretch.
static float tone[4000];
static gn_sound stretch(void) {
  for (int i = 0; i < 4000; i++) tone[i] = (float)(0.5 * sin(6.283185307179586 * 100 * i / 8000.0));
  return (gn_sound){tone, 4000, 8000, 11};
}

static gn_html svg_of(gn_figure_kind kind, const girthline_result *result, const char *prefix, gn_figure_area *area) {
  const gn_sound sound = stretch();
  const gn_figure_source source = {result, &sound, NULL};
  gn_html out = {0};
  girthline_error error = {0};
  assert_int_equal(gn_figure_svg(kind, &source, 600, prefix, &out, area, &error), GIRTHLINE_OK);
  return out;
}

static void every_id_carries_the_prefix(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  for (int kind = 0; kind < GN_N_FIGURES; kind++) {
    gn_html svg = svg_of((gn_figure_kind)kind, r, "abc-", NULL);
    for (const char *at = svg.text; (at = strstr(at, "id=\"")); at += 4) assert_memory_equal(at + 4, "abc-", 4);
    for (const char *at = svg.text; (at = strstr(at, "href=\"#")); at += 7) assert_memory_equal(at + 7, "abc-", 4);
    for (const char *at = svg.text; (at = strstr(at, "url(#")); at += 5) assert_memory_equal(at + 5, "abc-", 4);
    gn_html_clear(&svg);
  }
  girthline_result_free(r);
}

static void no_style_attribute_and_no_colour_without_a_name_is_left(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  for (int kind = 0; kind < GN_N_FIGURES; kind++) {
    gn_html svg = svg_of((gn_figure_kind)kind, r, "x", NULL);
    assert_null(strstr(svg.text, "style="));
    assert_null(strstr(svg.text, "rgb("));
    assert_null(strstr(svg.text, "xlink"));
    assert_non_null(strstr(svg.text, "class=\"f-ink\""));
    gn_html_clear(&svg);
  }
  girthline_result_free(r);
}

static void labels_stay_text_and_no_letter_is_drawn(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  for (int kind = 0; kind < GN_N_FIGURES; kind++) {
    gn_html svg = svg_of((gn_figure_kind)kind, r, "x", NULL);
    assert_null(strstr(svg.text, "<symbol"));
    assert_non_null(strstr(svg.text, "<text "));
    gn_html_clear(&svg);
  }
  gn_html sound = svg_of(GN_FIGURE_SOUND, r, "x", NULL);
  assert_non_null(strstr(sound.text, ">amplitude, share of full scale</text>"));
  assert_non_null(strstr(sound.text, ">\xE2\x88\x92" "0.")); // a true minus
  gn_html_clear(&sound);
  girthline_result_free(r);
}

static void the_time_axis_covers_the_recording_or_the_stretch(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  gn_figure_area area;
  gn_html svg = svg_of(GN_FIGURE_SOUND, r, "x", &area);
  assert_near(area.time_start_s, 0, 0);
  assert_near(area.time_end_s, 30, 0);
  assert_true(area.x >= 0 && area.x + area.width <= 600);
  gn_html_clear(&svg);
  svg = svg_of(GN_FIGURE_DETAIL, r, "x", &area);
  assert_near(area.time_start_s, 10.83, 1e-9);
  assert_near(area.time_end_s, 21.10, 1e-9);
  gn_html_clear(&svg);
  svg = svg_of(GN_FIGURE_CYCLE, r, "x", &area);
  assert_true(area.time_end_s <= area.time_start_s);
  gn_html_clear(&svg);
  girthline_result_free(r);
}

static void a_result_without_data_has_no_pictures(void **state) {
  (void)state;
  girthline_result *r = sample_result_empty();
  const gn_figure_source source = {r, NULL, NULL};
  for (int kind = 0; kind < GN_N_FIGURES; kind++) assert_false(gn_figure_has((gn_figure_kind)kind, &source));
  girthline_result_free(r);
}

static void a_picture_stays_within_its_height(void **state) {
  (void)state;
  static const double WIDTHS[] = {264, 328, 624, 912, 2000};
  girthline_result *r = sample_result_full();
  const gn_sound sound = stretch();
  const gn_figure_source source = {r, &sound, NULL};
  for (int kind = 0; kind < GN_N_FIGURES; kind++)
    for (size_t i = 0; i < sizeof WIDTHS / sizeof WIDTHS[0]; i++) {
      cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
      cairo_t *cr = cairo_create(surface);
      double x, y, width, height;
      assert_int_equal(gn_figure_draw((gn_figure_kind)kind, &source, cr, WIDTHS[i], NULL, NULL), GIRTHLINE_OK);
      cairo_recording_surface_ink_extents(surface, &x, &y, &width, &height);
      if (x < -1 || y < -1 || x + width > WIDTHS[i] + 1 || y + height > gn_figure_height((gn_figure_kind)kind, WIDTHS[i]) + 1)
        print_error("%s at %g: %g %g %g %g\n", gn_figure_name((gn_figure_kind)kind), WIDTHS[i], x, y, x + width, y + height);
      assert_true(x >= -1 && y >= -1);
      assert_true(x + width <= WIDTHS[i] + 1 && y + height <= gn_figure_height((gn_figure_kind)kind, WIDTHS[i]) + 1);
      cairo_destroy(cr);
      cairo_surface_destroy(surface);
    }
  girthline_result_free(r);
}

// Phones and recorders with a low gain reach a hundredth of full scale and less.
static void a_quiet_recording_s_axis_keeps_its_minus_signs(void **state) {
  (void)state;
  static const double WIDTHS[] = {264, 624};
  girthline_result *r = sample_result_full();
  const gn_sound sound = stretch();
  for (double most = 1; most > 2e-6; most *= 0.85)
    for (size_t i = 0; i < 2; i++) {
      const gn_figure_scale scale = {.amplitude = most};
      const gn_figure_source source = {r, &sound, &scale};
      cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
      cairo_t *cr = cairo_create(surface);
      double x, y, width, height;
      assert_int_equal(gn_figure_draw(GN_FIGURE_SOUND, &source, cr, WIDTHS[i], NULL, NULL), GIRTHLINE_OK);
      cairo_recording_surface_ink_extents(surface, &x, &y, &width, &height);
      if (x < 0) fail_msg("up to %g: the picture begins at %g", most, x);
      cairo_destroy(cr);
      cairo_surface_destroy(surface);
    }
  girthline_result_free(r);
}

static void a_small_picture_stays_within_its_size(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  gn_area_panel panel = GN_AREA_AXES;
  assert_true(gn_area_widen(&panel, r));
  panel.result = r;
  panel.level_db[0] = -19;
  cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t *cr = cairo_create(surface);
  double x, y, width, height;
  assert_int_equal(gn_area_drawer(&panel, cr, GN_AREA_WIDTH, NULL), GIRTHLINE_OK);
  cairo_recording_surface_ink_extents(surface, &x, &y, &width, &height);
  if (x < 0 || y < 0 || x + width > GN_AREA_WIDTH || y + height > GN_AREA_HEIGHT) fail_msg("%g %g to %g %g", x, y, x + width, y + height);
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
  girthline_result_free(r);
}

static double height_of(const char *svg, const char *name) {
  char end[20];
  snprintf(end, sizeof end, ">%s</text>", name);
  const char *at = strstr(svg, end);
  assert_non_null(at);
  while (memcmp(at, " y=\"", 4)) at--;
  return atof(at + 4);
}

// A cat at 220 a minute.
static void a_fast_hearts_names_and_numbers_have_room(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  const double step_s = 60.0 / 220, start_s = r->quality.best_span.start_s;
  for (size_t i = 0; i < r->n_beats; i++) {
    r->beats[i].s1_onset_s = start_s + step_s * (double)i;
    r->beats[i].s2_onset_s = r->beats[i].s1_onset_s + step_s / 2;
  }
  for (size_t i = 0; i < r->rhythm.n_intervals; i++)
    r->rhythm.intervals[i].span = (girthline_span){start_s + step_s * (double)i, start_s + step_s * (double)(i + 1) + (i % 2 ? 0.004 : 0)};
  r->quality.best_span.end_s = start_s + step_s * (double)r->n_beats;
  gn_html svg = svg_of(GN_FIGURE_DETAIL, r, "x", NULL);
  assert_true(height_of(svg.text, "S2") - height_of(svg.text, "S1") >= 12);
  gn_html_clear(&svg);
  cairo_surface_t *surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, NULL);
  cairo_t *cr = cairo_create(surface);
  const gn_figure_source source = {r, NULL, NULL};
  double x, y, width, height;
  assert_int_equal(gn_figure_draw(GN_FIGURE_NEXT, &source, cr, 264, NULL, NULL), GIRTHLINE_OK);
  cairo_recording_surface_ink_extents(surface, &x, &y, &width, &height);
  assert_true(x >= 0);
  cairo_destroy(cr);
  cairo_surface_destroy(surface);
  girthline_result_free(r);
}

static void a_sound_alone_in_a_pause_is_named_in_its_picture(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  const size_t n_extras = r->n_extras;
  r->n_extras = 0;
  r->rhythm.n_pauses = 0;
  gn_html svg = svg_of(GN_FIGURE_DETAIL, r, "x", NULL);
  assert_null(strstr(svg.text, ">S4</text>"));
  gn_html_clear(&svg);
  const double at_s = r->quality.best_span.start_s;
  r->rhythm.n_pauses = 1;
  r->rhythm.pauses[0] = (girthline_pause){{at_s, at_s + 2}, 2, {at_s + 1}, 1};
  svg = svg_of(GN_FIGURE_DETAIL, r, "x", NULL);
  assert_non_null(strstr(svg.text, ">S4</text>"));
  gn_html_clear(&svg);
  r->n_extras = n_extras; // freed with their onsets
  girthline_result_free(r);
}

static size_t count(const char *text, const char *word) {
  size_t n = 0;
  for (; (text = strstr(text, word)); text++) n++;
  return n;
}

// As those given by hand: an onset is all that is known of them.
static void a_sound_without_an_end_is_named_where_it_begins(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  gn_html whole = svg_of(GN_FIGURE_DETAIL, r, "x", NULL);
  for (size_t i = 0; i < r->n_beats; i++) r->beats[i].s1_offset_s = r->beats[i].s2_offset_s = NAN;
  gn_html svg = svg_of(GN_FIGURE_DETAIL, r, "x", NULL);
  assert_true(count(whole.text, ">S1</text>") > 2);
  assert_int_equal(count(svg.text, ">S1</text>"), count(whole.text, ">S1</text>"));
  assert_int_equal(count(svg.text, ">S2</text>"), count(whole.text, ">S2</text>"));
  gn_html_clear(&whole);
  gn_html_clear(&svg);
  girthline_result_free(r);
}

static void a_day_of_beats_makes_no_larger_a_picture(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  const size_t n = 50000;
  gn_free(r->rhythm.intervals);
  r->rhythm.intervals = gn_new(n, sizeof *r->rhythm.intervals);
  r->rhythm.n_intervals = r->rhythm.used_count = n;
  r->recording.duration_s = r->recording.to_s = 1.7 * (double)n;
  double at = 0;
  for (size_t i = 0; i < n; i++) {
    const double next = at + 1.7 + 0.1 * sin((double)i * 0.7);
    r->rhythm.intervals[i] = (girthline_interval){{at, next}, i % 50 != 0};
    at = next;
  }
  for (int kind = GN_FIGURE_INTERVALS; kind <= GN_FIGURE_RATE; kind++) {
    gn_html svg = svg_of((gn_figure_kind)kind, r, "x", NULL);
    assert_true(svg.n < 400000);
    gn_html_clear(&svg);
  }
  girthline_result_free(r);
}

// On a telephone's width the name is longer than the bracket over the stretch, and would cover it.
static void the_best_stretch_keeps_its_bracket(void **state) {
  (void)state;
  girthline_result *r = sample_result_full();
  const gn_figure_source source = {r, NULL, NULL};
  for (int late = 0; late < 2; late++) {
    gn_html svg = {0};
    gn_figure_area area;
    r->quality.best_span = (girthline_span){(late ? 0.85 : 0.05) * r->recording.to_s, (late ? 0.95 : 0.15) * r->recording.to_s};
    assert_int_equal(gn_figure_svg(GN_FIGURE_SOUND, &source, 328, "x", &svg, &area, NULL), GIRTHLINE_OK);
    const char *label = strstr(svg.text, ">best stretch</text>");
    assert_non_null(label);
    while (strncmp(label, "x=\"", 3)) label--;
    const double x = atof(label + 3), per_s = area.width / (area.time_end_s - area.time_start_s);
    const double from = area.x + (r->quality.best_span.start_s - area.time_start_s) * per_s, to = area.x + (r->quality.best_span.end_s - area.time_start_s) * per_s;
    assert_true(late ? x < from - 20 : x > to + 20); // its middle
    gn_html_clear(&svg);
  }
  girthline_result_free(r);
}

// WCAG 2.1, 1.4.3 and 1.4.11: contrast ratio from relative luminance; the linear part of sRGB by its 2.4 power.
static double luminance(gn_rgb c) {
  const double part[] = {c.red / 255.0, c.green / 255.0, c.blue / 255.0}, weight[] = {0.2126, 0.7152, 0.0722};
  double sum = 0;
  for (int i = 0; i < 3; i++) sum += weight[i] * (part[i] <= 0.03928 ? part[i] / 12.92 : pow((part[i] + 0.055) / 1.055, 2.4));
  return sum;
}

static void colours_of_text_reach_the_contrast_asked_for(void **state) {
  (void)state;
  static const gn_colour TEXT[] = {GN_INK, GN_FIRST, GN_SECOND, GN_NOTE, GN_WAVE};
  for (size_t i = 0; i < sizeof TEXT / sizeof TEXT[0]; i++)
    assert_true((luminance(gn_palette[GN_PAPER]) + 0.05) / (luminance(gn_palette[TEXT[i]]) + 0.05) >= 4.5);
  // The two sounds also differ in grey.
  assert_true((luminance(gn_palette[GN_SECOND]) + 0.05) / (luminance(gn_palette[GN_FIRST]) + 0.05) >= 1.4);
}

static gn_html svg_scaled(const girthline_result *result, gn_figure_kind kind, const gn_figure_scale *scale) {
  const gn_figure_source source = {result, NULL, scale};
  gn_html out = {0};
  assert_int_equal(gn_figure_svg(kind, &source, 600, "x", &out, NULL, NULL), GIRTHLINE_OK);
  return out;
}

static void shared_axes_hold_every_recording_and_leave_one_alone_as_it_is(void **state) {
  (void)state;
  girthline_result *a = sample_result_full(), *b = sample_result_full(), *empty = sample_result_empty();
  for (size_t i = 0; i < b->rhythm.n_intervals; i++) b->rhythm.intervals[i].span.end_s += 3;
  for (size_t i = 0; i < b->pictures.n_overview; i++) b->pictures.overview_max[i] *= 4;
  b->rate.max_bpm = 220;
  b->pictures.cycle_hi_db[0][0] = 90;
  const girthline_report_input inputs[] = {{a, "a", NULL, NULL, 0, ""}, {b, "b", NULL, NULL, 0, ""}, {empty, "c", NULL, NULL, 0, ""}};
  gn_figure_scale one, own, both;
  assert_true(gn_figure_scale_of(inputs, 1, &one) && gn_figure_scale_of(inputs + 1, 1, &own) && gn_figure_scale_of(inputs, 3, &both));
  assert_near(both.amplitude, own.amplitude, 1e-12);
  assert_near(both.interval_s, own.interval_s, 1e-12);
  assert_near(both.rate_bpm[1], own.rate_bpm[1], 1e-12);
  assert_near(both.rate_bpm[0], fmin(one.rate_bpm[0], own.rate_bpm[0]), 1e-12);
  assert_near(both.cycle_db[1], 90, 1e-12);
  assert_near(both.next_s[0], one.next_s[0], 1e-12);
  for (int kind = GN_FIGURE_CYCLE; kind < GN_N_FIGURES; kind++) {
    gn_html alone = svg_scaled(a, (gn_figure_kind)kind, NULL), same = svg_scaled(a, (gn_figure_kind)kind, &one), wide = svg_scaled(a, (gn_figure_kind)kind, &both);
    assert_string_equal(alone.text, same.text);
    assert_string_not_equal(alone.text, wide.text);
    gn_html_clear(&alone);
    gn_html_clear(&same);
    gn_html_clear(&wide);
  }
  girthline_result_free(a);
  girthline_result_free(b);
  girthline_result_free(empty);
}

static void a_picture_as_a_file_says_who_wrote_it_and_is_the_same_twice(void **state) {
  (void)state;
  girthline_result *full = sample_result_full(), *empty = sample_result_empty();
  const girthline_report_input input = {full, "a", NULL, NULL, 0, ""}, nothing = {empty, "a", NULL, NULL, 0, ""};
  static const char PNG[] = "tEXtSoftware\0girthline";
  void *data, *again;
  size_t n, n_again, n_made = 0;
  for (size_t i = 0; girthline_figure_name(i); i++)
    for (int form = GIRTHLINE_FIGURE_SVG; form <= GIRTHLINE_FIGURE_PNG; form++) {
      assert_int_equal(girthline_report_figure(&input, i, (girthline_figure_form)form, NULL, &data, &n, NULL), GIRTHLINE_OK);
      assert_int_equal(girthline_report_figure(&input, i, (girthline_figure_form)form, NULL, &again, &n_again, NULL), GIRTHLINE_OK);
      assert_int_equal(n, n_again);
      if (n) assert_memory_equal(data, again, n);
      if (n && form == GIRTHLINE_FIGURE_PNG) assert_true(!memcmp(data, "\x89PNG", 4) && memmem(data, n, PNG, sizeof PNG - 1));
      if (n && form == GIRTHLINE_FIGURE_SVG) assert_true(!memcmp(data, "<?xml", 5) && memmem(data, n, "<desc>Written by girthline ", 27));
      n_made += n > 0;
      girthline_data_free(data);
      girthline_data_free(again);
    }
  assert_true(n_made >= 12);
  assert_int_equal(girthline_report_figure(&nothing, GN_FIGURE_CYCLE, GIRTHLINE_FIGURE_SVG, NULL, &data, &n, NULL), GIRTHLINE_OK);
  assert_null(data);
  assert_int_equal(girthline_report_figure(&input, 99, GIRTHLINE_FIGURE_SVG, NULL, &data, &n, NULL), GIRTHLINE_BAD_ARGUMENT);
  girthline_result_free(full);
  girthline_result_free(empty);
}

int main(void) {
  const struct CMUnitTest tests[] = {cmocka_unit_test(every_id_carries_the_prefix),
                                     cmocka_unit_test(no_style_attribute_and_no_colour_without_a_name_is_left),
                                     cmocka_unit_test(labels_stay_text_and_no_letter_is_drawn),
      cmocka_unit_test(the_time_axis_covers_the_recording_or_the_stretch),
                                     cmocka_unit_test(a_result_without_data_has_no_pictures),
                                     cmocka_unit_test(a_picture_stays_within_its_height),
                                     cmocka_unit_test(a_quiet_recording_s_axis_keeps_its_minus_signs),
                                     cmocka_unit_test(a_small_picture_stays_within_its_size),
                                     cmocka_unit_test(a_fast_hearts_names_and_numbers_have_room),
      cmocka_unit_test(a_sound_alone_in_a_pause_is_named_in_its_picture),
      cmocka_unit_test(a_sound_without_an_end_is_named_where_it_begins),
      cmocka_unit_test(the_best_stretch_keeps_its_bracket),
      cmocka_unit_test(a_day_of_beats_makes_no_larger_a_picture),
                                     cmocka_unit_test(colours_of_text_reach_the_contrast_asked_for), cmocka_unit_test(shared_axes_hold_every_recording_and_leave_one_alone_as_it_is),
      cmocka_unit_test(a_picture_as_a_file_says_who_wrote_it_and_is_the_same_twice)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
