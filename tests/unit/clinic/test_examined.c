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
#include "made_result.h"

// An examination from its text, with a made result in place of each recording's analysis.
typedef struct made {
  gn_exam *exam;
  gn_examined *x;
} made;

static made make(const char *text) {
  made m = {0};
  girthline_error error = {0};
  if (gn_exam_parse(text, strlen(text), "v.ini", &m.exam, &error) != GIRTHLINE_OK) print_error("%s\n", error.text);
  assert_non_null(m.exam);
  m.x = gn_new(1, sizeof *m.x);
  m.x->exam = m.exam;
  m.x->species = m.exam->species;
  m.x->age_days = m.exam->age_days;
  m.x->recordings = gn_new(m.exam->n_recordings, sizeof *m.x->recordings);
  for (size_t i = 0; i < m.exam->n_recordings; i++) {
    girthline_result *r = m.x->recordings[i].result = made_result(10);
    r->settings = girthline_settings_default();
    r->settings.species = m.exam->species;
    r->settings.species_assumed = !m.exam->species_given;
    r->settings.side = m.exam->recordings[i].side;
    r->settings.area = m.exam->recordings[i].area;
    r->settings.minutes_after_exercise = m.exam->recordings[i].minutes_after_exercise;
  }
  return m;
}

static void together(made *m) {
  assert_int_equal(gn_exam_pool(m->x), 0);
  gn_exam_murmurs(m->x);
  gn_exam_series(m->x);
  assert_int_equal(gn_exam_say_rate(m->x), 0);
  assert_int_equal(gn_exam_say_murmurs(m->x), 0);
  assert_int_equal(gn_exam_say_signs(m->x), 0);
  assert_int_equal(gn_exam_say_series(m->x), 0);
}

static void done(made *m) {
  gn_examined_free(m->x);
  gn_exam_free(m->exam);
}

static girthline_result *result(made *m, size_t i) { return m->x->recordings[i].result; }

static const gn_exam_finding *finding(const made *m, const char *kind) {
  for (size_t i = 0; i < m->x->n_findings; i++)
    if (!strcmp(m->x->findings[i].kind, kind)) return &m->x->findings[i];
  return NULL;
}

static void intervals(girthline_result *r, const double *lengths_s, size_t n) {
  girthline_rhythm *y = &r->rhythm;
  gn_free(y->intervals);
  y->intervals = gn_new(n, sizeof *y->intervals);
  double at = 0;
  for (size_t i = 0; i < n; i++, at += lengths_s[i - 1]) y->intervals[i] = (girthline_interval){{at, at + lengths_s[i]}, true};
  y->n_intervals = y->used_count = n;
}

static void regular(girthline_result *r) {
  r->rhythm.pattern = GIRTHLINE_REGULAR;
  r->rhythm.n_pauses = r->rhythm.n_early = 0;
}

#define HORSE "[animal]\nspecies = horse\n"
#define PULMONIC "[recording p]\nfile = p.wav\nside = left\narea = pulmonic\n"
#define AORTIC "[recording a]\nfile = a.wav\nside = left\narea = aortic\n"
#define MITRAL "[recording m]\nfile = m.wav\nside = left\narea = mitral\n"
#define TRICUSPID "[recording t]\nfile = t.wav\nside = right\narea = tricuspid\n"

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
  assert_non_null(strstr(f->text, "Loudest: left mitral area. Also heard: left pulmonic area"));
  assert_non_null(strstr(f->text, "more than one murmur"));
  done(&m);
}

static void a_pulse_deficit_is_said_beyond_what_counting_can_tell(void **state) {
  (void)state;
  static const struct { const char *pulse; const char *kind; } ROWS[] = {{"37", "pulse"}, {"30", "pulse-deficit"}, {"60", "pulse"}};
  for (int i = 0; i < 3; i++) {
    char text[300];
    snprintf(text, sizeof text, "%s[signs]\npulse_per_min = %s\n%s", HORSE, ROWS[i].pulse, PULMONIC);
    made m = make(text);
    intervals(result(&m, 0), (const double[]){1.5, 1.5}, 2); // 40 a minute
    together(&m);
    assert_near(m.x->pulse_deficit_per_min, 40 - atof(ROWS[i].pulse), 1e-9);
    assert_non_null(finding(&m, ROWS[i].kind));
    done(&m);
  }
}

static void signs_are_held_against_usual_values(void **state) {
  (void)state;
  made m = make(HORSE "[signs]\ncapillary_refill_s = 2\nbreaths_per_min = 30\njugular_left = full\n[elsewhere]\necg = even\n" PULMONIC);
  together(&m);
  assert_int_equal(finding(&m, "capillary-refill")->urgency, GIRTHLINE_ROUTINE); // 2 s: common practice, no source
  assert_non_null(strstr(finding(&m, "capillary-refill")->evidence, "common practice, no source"));
  assert_int_equal(finding(&m, "breathing-rate")->urgency, GIRTHLINE_SOON); // over 1.5 times 16 (teaching range 8 to 16)
  assert_non_null(strstr(finding(&m, "jugular")->text, "as written: full."));
  assert_non_null(strstr(finding(&m, "jugular")->text, "right side was not recorded"));
  assert_non_null(strstr(finding(&m, "elsewhere")->text, "ECG: even."));
  done(&m);
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
  assert_non_null(strstr(json, "an animal is a foal: name that species"));
  girthline_text_free(json);
  done(&m);
}

static made series(double resting, double after, const char *minutes) {
  char text[400];
  snprintf(text, sizeof text, "%s%s[recording x]\nfile = x.wav\nminutes_after_exercise = %s\n", HORSE, PULMONIC, minutes);
  made m = make(text);
  result(&m, 0)->rate.settled_bpm = resting;
  result(&m, 1)->rate.bpm = after;
  regular(result(&m, 1));
  together(&m);
  return m;
}

static void recovery_is_held_against_published_recovery(void **state) {
  (void)state;
  // Within 15 % by 15 minutes after light and 30 to 45 after hard work (Patteson 3.8.3).
  static const struct { double after; const char *minutes, *says; girthline_urgency urgency; } ROWS[] = {
      {45, "15", "back within 15 %", GIRTHLINE_ROUTINE}, {60, "5", "too early", GIRTHLINE_ROUTINE},     {60, "20", "after hard work it is not late yet", GIRTHLINE_ROUTINE},
      {60, "40", "at the end of what is published", GIRTHLINE_SOON}, {60, "50", "slower than published for light and for hard", GIRTHLINE_SOON},
  };
  for (int i = 0; i < 5; i++) {
    made m = series(40, ROWS[i].after, ROWS[i].minutes);
    const gn_exam_finding *f = finding(&m, "recovery");
    assert_non_null(f);
    if (!strstr(f->text, ROWS[i].says)) print_error("row %d: %s\n", i, f->text);
    assert_non_null(strstr(f->text, ROWS[i].says));
    assert_int_equal(f->urgency, ROWS[i].urgency);
    assert_near(m.x->recovery[0].over_resting_percent, 100 * (ROWS[i].after / 40 - 1), 1e-9);
    done(&m);
  }
}

static void pauses_that_vanish_with_exercise_are_not_called_harmless(void **state) {
  (void)state;
  made m = series(40, 60, "5"); // the made result has a pause at rest
  const gn_exam_finding *f = finding(&m, "rhythm-after-exercise");
  assert_non_null(f);
  assert_non_null(strstr(f->text, "no pauses were heard"));
  assert_non_null(strstr(f->advice, "Pauses that vanish with exercise do not exclude disease."));
  assert_non_null(strstr(f->advice, "An ECG at rest first; exercise only on a veterinarian's decision."));
  done(&m);
}

static void no_sentence_states_a_disease_or_prompts_to_exercise(void **state) {
  (void)state;
  static const char *const NEVER[] = {"diagnos", "is healthy", "suffers", "has atrial fibrillation", "has a leak", "rule out", "rules out", "confirm", "lunge", "exercise the horse", "exercise the animal", "ride it", "harmless"};
  made m = make(HORSE "[signs]\ncapillary_refill_s = 3\npulse_per_min = 20\nbreaths_per_min = 40\njugular_left = full\n" PULMONIC MITRAL TRICUSPID
                      "[recording x]\nfile = x.wav\nminutes_after_exercise = 50\n");
  result(&m, 1)->rhythm.pattern = GIRTHLINE_IRREGULAR;
  result(&m, 3)->rhythm.pattern = GIRTHLINE_IRREGULAR;
  result(&m, 3)->rate.bpm = 90;
  together(&m);
  for (size_t i = 0; i < m.x->n_findings; i++)
    for (size_t k = 0; k < sizeof NEVER / sizeof *NEVER; k++) {
      const gn_exam_finding *f = &m.x->findings[i];
      const bool said = strstr(f->text, NEVER[k]) || strstr(f->advice, NEVER[k]) || strstr(f->evidence, NEVER[k]);
      if (said) print_error("%s says \"%s\"\n", f->kind, NEVER[k]);
      assert_false(said);
    }
  assert_int_equal(finding(&m, "rhythm-after-exercise")->urgency, GIRTHLINE_BEFORE_WORK);
  done(&m);
}

static void a_human_gets_no_advice_but_research_and_teaching(void **state) {
  (void)state;
  made m = make("[animal]\nspecies = human\n" PULMONIC);
  together(&m);
  assert_true(m.x->n_findings > 0);
  assert_int_equal(m.x->n_not_recorded, 0);
  for (size_t i = 0; i < m.x->n_findings; i++) {
    assert_int_equal(m.x->findings[i].urgency, GIRTHLINE_ROUTINE);
    assert_non_null(strstr(m.x->findings[i].advice, "research and teaching only"));
  }
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
      cmocka_unit_test(a_missing_right_side_is_named),
      cmocka_unit_test(a_flow_pattern_keeps_to_the_left_heart_base),
      cmocka_unit_test(each_condition_of_the_flow_pattern_is_needed),
      cmocka_unit_test(a_loud_murmur_elsewhere_asks_for_echocardiography_and_two_shapes_are_said),
      cmocka_unit_test(a_pulse_deficit_is_said_beyond_what_counting_can_tell),
      cmocka_unit_test(signs_are_held_against_usual_values),
      cmocka_unit_test(a_foals_rate_is_held_against_its_age),
      cmocka_unit_test(a_young_horse_is_not_held_against_grown_ones),
      cmocka_unit_test(recovery_is_held_against_published_recovery),
      cmocka_unit_test(pauses_that_vanish_with_exercise_are_not_called_harmless),
      cmocka_unit_test(no_sentence_states_a_disease_or_prompts_to_exercise),
      cmocka_unit_test(a_human_gets_no_advice_but_research_and_teaching),
      cmocka_unit_test(long_words_are_cut_between_characters),
      cmocka_unit_test(refused_memory_gives_neither_page_nor_document),
      cmocka_unit_test(refused_memory_is_said_wherever_it_happens),
      cmocka_unit_test(a_file_becomes_json_as_long_as_one_recording_could_be_analysed),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
