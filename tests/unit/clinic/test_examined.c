// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What several recordings say together, on results made by hand.
#include "support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/result.h"
#include "clinic/parts.h"
#include "clinic/visits_from_file.h"
#include "examined_made.h"

static void rates_are_pooled_over_all_resting_intervals(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC MITRAL "minutes_after_exercise = 5\n");
  intervals(result(&m, 0), (const double[]){1.0, 1.2}, 2);
  intervals(result(&m, 1), (const double[]){2.0, 2.0, 2.0}, 3);
  intervals(result(&m, 2), (const double[]){0.5}, 1);
  together(&m);
  assert_near(m.x->rate.bpm, 30, 1e-9);                           // median of 1.0 1.2 2 2 2
  assert_near(m.x->rate.mean_bpm, 60 / (8.2 / 5), 1e-9);
  assert_near(m.x->rhythm.sdnn_ms, 1000 * sqrt(0.02 / 3), 1e-6);  // within: 0.02 s2 over 5 intervals less 2 recordings
  assert_int_equal(m.x->n_pooled, 2);
  done(&m);
}

static void a_mean_that_differs_is_said_by_the_limit_of_the_recordings(void **state) {
  (void)state;
  for (int differs = 0; differs < 2; differs++) {
    made m = make(HORSE PULMONIC);
    intervals(result(&m, 0), (const double[]){1.6, 1.6, 1.6, 1.6, differs ? 2.1 : 1.9}, 5); // the mean is 5.9 or 3.6 % slower
    together(&m);
    assert_int_equal(strstr(finding(&m, "rate-within")->text, "The mean over all beats is 35") != NULL, differs);
    done(&m);
  }
}

// Beside the picture of each place stands its rate; the range over them has to hold it.
static void the_range_over_the_recordings_holds_the_rate_of_each(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC);
  for (size_t i = 0; i < 2; i++) {
    girthline_rate *r = &result(&m, i)->rate;
    r->bpm = r->settled_bpm = 38 + 2 * (double)i;
    r->min_bpm = r->max_bpm = 39;
  }
  together(&m);
  assert_non_null(strstr(finding(&m, "rate-within")->text, "(2 recordings, 38 to 40)"));
  assert_near(m.x->rate.max_bpm, 39, 0); // over 15 s windows, in the JSON report
  done(&m);
}

static void the_pattern_that_asks_for_most_is_given_and_the_difference_said(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC);
  regular(result(&m, 0));
  result(&m, 1)->rhythm.pattern = GIRTHLINE_IRREGULAR;
  together(&m);
  assert_int_equal(m.x->rhythm.pattern, GIRTHLINE_IRREGULAR);
  assert_non_null(strstr(m.x->rhythm.explanation, "The recordings differ"));
  done(&m);
}

static void an_unusable_recording_is_not_pooled_and_its_area_not_taken_as_recorded(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC MITRAL TRICUSPID);
  result(&m, 3)->quality.grade = GIRTHLINE_UNUSABLE;
  together(&m);
  assert_int_equal(m.x->n_pooled, 3);
  assert_int_equal(m.x->n_not_recorded, 1);
  assert_non_null(strstr(m.x->not_recorded[0].consequence, "recorded but unusable"));
  done(&m);
}

static void an_area_whose_file_could_not_be_read_is_told_from_an_unusable_one(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC MITRAL TRICUSPID);
  girthline_result_free(m.x->recordings[2].result);
  m.x->recordings[2].result = NULL;
  together(&m);
  assert_int_equal(m.x->n_not_recorded, 1);
  assert_string_equal(m.x->not_recorded[0].consequence, "left mitral area recorded, but its file could not be read: a mitral murmur cannot be excluded");
  done(&m);
}

static void a_missing_right_side_is_named(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC MITRAL);
  together(&m);
  assert_int_equal(m.x->n_not_recorded, 1);
  assert_string_equal(m.x->not_recorded[0].consequence, "right side not recorded: a tricuspid murmur cannot be excluded");
  assert_non_null(finding(&m, "areas-not-recorded"));
  done(&m);
}

static void a_flow_pattern_keeps_to_the_left_heart_base(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC AORTIC);
  result(&m, 1)->murmur.phases[0].level_db = -20;
  together(&m);
  assert_int_equal(m.x->n_murmurs, 1);
  assert_int_equal(m.x->murmurs[0].n_heard, 2);
  assert_int_equal(m.x->murmurs[0].heard[0].recording, 0);
  assert_int_equal(m.x->murmurs[0].leaning, GIRTHLINE_FITS_FLOW_PATTERN);
  done(&m);
  m = make(HORSE PULMONIC MITRAL);
  together(&m);
  assert_int_not_equal(m.x->murmurs[0].leaning, GIRTHLINE_FITS_FLOW_PATTERN);
  done(&m);
}

static void each_condition_of_the_flow_pattern_is_needed(void **state) {
  (void)state;
  for (int broken = 0; broken < 6; broken++) {
    static const char *const FILES[] = {HORSE PULMONIC,
                                        HORSE "[recording p]\nfile = p.wav\n",
                                        "[animal]\nspecies = foal\n" PULMONIC,
                                        PULMONIC,
                                        HORSE PULMONIC,
                                        HORSE PULMONIC};
    made m = make(FILES[broken]);
    if (broken == 4) result(&m, 0)->rate.standing = GIRTHLINE_ABOVE, result(&m, 0)->rate.settled_bpm = 60;
    if (broken == 5) result(&m, 0)->murmur.phases[0].ends_before_s2 = GIRTHLINE_UNKNOWN;
    together(&m);
    if (broken) assert_int_not_equal(m.x->murmurs[0].leaning, GIRTHLINE_FITS_FLOW_PATTERN);
    else assert_int_equal(m.x->murmurs[0].leaning, GIRTHLINE_FITS_FLOW_PATTERN);
    done(&m);
  }
}

static void a_loud_murmur_elsewhere_asks_for_echocardiography_and_two_shapes_are_said(void **state) {
  (void)state;
  made m = make(HORSE PULMONIC MITRAL);
  girthline_murmur_phase *p = &result(&m, 1)->murmur.phases[0];
  p->timing = GIRTHLINE_HOLO;
  p->shape = GIRTHLINE_PLATEAU;
  p->level_db = -3;
  together(&m);
  assert_int_equal(m.x->murmurs[0].leaning, GIRTHLINE_ASKS_FOR_ECHO);
  const gn_exam_finding *f = finding(&m, "murmur-systole");
  assert_non_null(f);
  assert_int_equal(f->urgency, GIRTHLINE_SOON);
  assert_non_null(strstr(f->text, "A murmur runs through the whole of systole, even"));
  assert_non_null(strstr(f->text, "Loudest: left mitral area. Also heard: left pulmonic area"));
  assert_non_null(strstr(f->text, "more than one murmur"));
  assert_null(strstr(f->evidence, "more than one murmur"));
  done(&m);
}

static void the_places_of_a_murmur_stand_in_one_list(void **state) {
  (void)state;
  static const char *const SAYS[] = {"Loudest: left pulmonic area. It", "Loudest: left pulmonic area. Also: left aortic area. It", "Loudest: left pulmonic area. Also: left aortic area, left mitral area. It"};
  static const char *const FILES[] = {HORSE PULMONIC, HORSE PULMONIC AORTIC, HORSE PULMONIC AORTIC MITRAL};
  for (size_t n = 0; n < 3; n++) {
    made m = make(FILES[n]);
    for (size_t i = 0; i <= n; i++) result(&m, i)->murmur.phases[0].level_db = -8 - (double)i;
    together(&m);
    char said[200] = "", why[600] = "";
    gn_exam_murmur_words(m.x, said, why);
    if (!strstr(why, SAYS[n])) fail_msg("%s", why);
    done(&m);
  }
}

static void a_foals_rate_is_held_against_its_age(void **state) {
  (void)state;
  made m = make("[animal]\nspecies = foal\nborn = 2026-05-01\n[examination]\ndate = 2026-05-04\n" PULMONIC);
  result(&m, 0)->rate.settled_bpm = 100;
  together(&m);
  assert_near(m.x->rate.usual_range_bpm[0], 80, 0); // 1 to 5 days: 80 to 120 (Rossdale; Koterba)
  assert_near(m.x->rate.usual_range_bpm[1], 120, 0);
  assert_int_equal(m.x->rate.standing, GIRTHLINE_WITHIN);
  done(&m);
}

static void a_young_horse_is_not_held_against_grown_ones(void **state) {
  (void)state;
  made m = make("[animal]\nspecies = horse\nborn = 2026-05-01\n[examination]\ndate = 2026-05-10\n" PULMONIC);
  result(&m, 0)->rate.settled_bpm = 36;
  together(&m);
  assert_int_equal(m.x->rate.standing, GIRTHLINE_STANDING_UNKNOWN);
  assert_true(isnan(m.x->rate.usual_range_bpm[0]));
  assert_non_null(strstr(finding(&m, "rate-not-held")->text, "the rate of a foal"));
  girthline_error error = {0};
  char *json = gn_exam_json(m.x, &error);
  assert_non_null(json);
  assert_non_null(strstr(json, "an animal is a foal: name that species."));
  girthline_text_free(json);
  done(&m);
}

static void long_words_are_cut_between_characters(void **state) {
  (void)state;
  char store[12], text[40] = "aaaaaaa\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9";
  assert_string_equal(gn_exam_clip(text, store, sizeof store), "aaaaaaa...");
  assert_string_equal(gn_exam_clip("a\nb.", store, sizeof store), "a b");
}

// A result with a cycle, an examination with a series: everything the page and the document draw.
static void refused_memory_gives_neither_page_nor_document(void **state) {
  (void)state;
  FILE *f = fopen("examined-test.wav", "w");
  fputs("HEART", f);
  fclose(f);
  static const char TEXT[] = HORSE "[recording x]\nfile = examined-test.wav\nside = left\narea = aortic\n[recording y]\nfile = examined-test.wav\nminutes_after_exercise = 20\n";
  gn_exam *exam = NULL;
  gn_examined *x = NULL;
  girthline_error error = {0};
  assert_int_equal(gn_exam_parse(TEXT, sizeof TEXT - 1, "v.ini", &exam, &error), GIRTHLINE_OK);
  assert_int_equal(gn_exam_analyse(exam, NULL, &x, &error), GIRTHLINE_OK);
  for (size_t i = 0; i < 2; i++) { // there is no sound behind them to draw from
    x->recordings[i].result->quality.best_span = (girthline_span){0, 0};
    x->recordings[i].result->rhythm.n_pauses = x->recordings[i].result->rhythm.n_early = 0;
  }
  bool paged = false, printed = false;
  const girthline_report_options options = {.no_sound = true};
  for (size_t k = 1; k < 20000 && !(paged && printed); k += 1 + k / 12) {
    void *data = NULL;
    size_t n = 1;
    error = (girthline_error){0};
    gn_memory_refuse(k);
    char *page = gn_exam_page(x, &options, &error);
    gn_memory_refuse(0);
    paged = page;
    if (!page) assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
    girthline_text_free(page);
    error = (girthline_error){0};
    gn_memory_refuse(k);
    const girthline_status status = gn_exam_pdf(x, &data, &n, &error);
    gn_memory_refuse(0);
    printed = status == GIRTHLINE_OK;
    if (printed) assert_true(data && n);
    else assert_true(status == GIRTHLINE_NO_MEMORY && !data);
    girthline_data_free(data);
  }
  assert_true(paged && printed);
  gn_examined_free(x);
  gn_exam_free(exam);
  remove("examined-test.wav");
}

// analyse, JSON, text and page with each request refused once; the pipeline is stood in for.
static void refused_memory_is_said_wherever_it_happens(void **state) {
  (void)state;
  FILE *f = fopen("examined-test.wav", "w");
  fputs("HEART", f);
  fclose(f);
  static const char TEXT[] = HORSE "[signs]\nnotes = a\n  b\n[recording x]\nfile = examined-test.wav\nside = left\narea = aortic\n[recording y]\nfile = examined-gone.wav\n";
  gn_exam *exam = NULL;
  girthline_error error = {0};
  assert_int_equal(gn_exam_parse(TEXT, sizeof TEXT - 1, "v.ini", &exam, &error), GIRTHLINE_OK);
  gn_examined *x = NULL;
  char *json = NULL, *text = NULL;
  size_t n_refused = 0;
  // The stand-in makes do without some of its own requests, so that a success does not end the series.
  for (size_t k = 1; k <= 300; k++) {
    girthline_text_free(json);
    girthline_text_free(text);
    gn_examined_free(x);
    json = text = NULL;
    x = NULL;
    error = (girthline_error){0};
    gn_memory_refuse(k);
    if (gn_exam_analyse(exam, NULL, &x, &error) == GIRTHLINE_OK) {
      json = gn_exam_json(x, &error);
      if (json) text = gn_exam_text_report(x, NULL, &error);
    }
    gn_memory_refuse(0);
    n_refused += !text;
    if (!text) assert_int_equal(error.status, GIRTHLINE_NO_MEMORY);
  }
  assert_true(n_refused > 15);
  assert_non_null(text);
  assert_non_null(strstr(json, "\"schema\": \"girthline.exam.v1\""));
  assert_int_equal(x->recordings[1].status, GIRTHLINE_CANNOT_READ);
  assert_non_null(strstr(text, "Not analysed"));
  girthline_text_free(json);
  girthline_text_free(text);
  gn_examined_free(x);
  gn_exam_free(exam);
  remove("examined-test.wav");
}

static void a_file_becomes_json_as_long_as_one_recording_could_be_analysed(void **state) {
  (void)state;
  static const char *const FILES[] = {"[recording x]\nfile = seam-test.wav\n[recording y]\nfile = seam-gone.wav\n", "[recording y]\nfile = seam-gone.wav\n", "[recording y]\n"};
  static const girthline_status WANT[] = {GIRTHLINE_OK, GIRTHLINE_CANNOT_READ, GIRTHLINE_BAD_HAND_FILE};
  FILE *f = fopen("seam-test.wav", "w");
  fputs("HEART", f);
  fclose(f);
  for (int i = 0; i < 3; i++) {
    girthline_error error = {0};
    char *json = NULL;
    f = fopen("seam-test.ini", "w");
    fputs(FILES[i], f);
    fclose(f);
    assert_int_equal(gn_exam_json_of_file("seam-test.ini", &json, &error), WANT[i]);
    assert_true(i ? !json && error.text[0] : json && strstr(json, "girthline.exam.v1"));
    girthline_text_free(json);
  }
  remove("seam-test.ini");
  remove("seam-test.wav");
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_mean_that_differs_is_said_by_the_limit_of_the_recordings),
      cmocka_unit_test(the_range_over_the_recordings_holds_the_rate_of_each),
      cmocka_unit_test(rates_are_pooled_over_all_resting_intervals),
      cmocka_unit_test(the_pattern_that_asks_for_most_is_given_and_the_difference_said),
      cmocka_unit_test(an_unusable_recording_is_not_pooled_and_its_area_not_taken_as_recorded),
      cmocka_unit_test(an_area_whose_file_could_not_be_read_is_told_from_an_unusable_one),
      cmocka_unit_test(a_missing_right_side_is_named),
      cmocka_unit_test(a_flow_pattern_keeps_to_the_left_heart_base),
      cmocka_unit_test(each_condition_of_the_flow_pattern_is_needed),
      cmocka_unit_test(a_loud_murmur_elsewhere_asks_for_echocardiography_and_two_shapes_are_said),
      cmocka_unit_test(the_places_of_a_murmur_stand_in_one_list),
      cmocka_unit_test(a_foals_rate_is_held_against_its_age),
      cmocka_unit_test(a_young_horse_is_not_held_against_grown_ones),
      cmocka_unit_test(long_words_are_cut_between_characters),
      cmocka_unit_test(refused_memory_gives_neither_page_nor_document),
      cmocka_unit_test(refused_memory_is_said_wherever_it_happens),
      cmocka_unit_test(a_file_becomes_json_as_long_as_one_recording_could_be_analysed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
