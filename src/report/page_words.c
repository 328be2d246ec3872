// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The words of the page: one place for what an enumeration is called and where a usual range was published.
#include "report/page.h"

#include <math.h>
#include <string.h>

#include "base/numbers.h"
#include "report/reasons.h"

#define COUNT(names) ((int)(sizeof(names) / sizeof((names)[0])))
#define PICK(names, i) ((int)(i) >= 0 && (int)(i) < COUNT(names) ? (names)[i] : "not determined")

double gn_page_json(const char *key, double value, int *decimals) {
  static const struct {
    const char *in;
    int decimals;
  } ROUNDED[] = {{"clipped_fraction", 5}, {"interval_cv_percent", 2}, {"_percent", 1}, {"_bpm", 2},     {"/bpm", 2}, {"_ms", 1}, {"_db", 1}, {"_hz", 1},
                 {"_fraction", 3},        {"confidence", 3},          {"_entropy", 3}, {"_per_min", 1}, {"ratio", 2}};
  *decimals = 4;
  for (size_t i = sizeof ROUNDED / sizeof ROUNDED[0]; i-- > 0;)
    if (strstr(key, ROUNDED[i].in)) *decimals = ROUNDED[i].decimals;
  return gn_rounded(value, *decimals);
}

const char *gn_page_heading(const girthline_report_input *input) {
  const char *slash = input->name ? strrchr(input->name, '/') : NULL;
  return slash && slash[1] ? slash + 1 : input->name ? input->name : "recording";
}

void gn_page_reason(gn_page *page, const char *pointer) {
  char store[256];
  gn_html_prose(&page->html, gn_reason_of(page->result, pointer, store, sizeof store));
}

const char *gn_page_pattern(girthline_pattern pattern) {
  static const char *const NAMES[] = {"Regular", "Speeding and slowing smoothly", "Regular with pauses", "Regular with early beats", "Irregular"};
  return PICK(NAMES, pattern);
}

const char *gn_page_grade(girthline_grade grade) {
  static const char *const NAMES[] = {"Good", "Fair", "Poor", "Unusable"};
  return PICK(NAMES, grade);
}

const char *gn_page_phase(girthline_phase phase) {
  static const char *const NAMES[] = {"systole", "diastole", "systole and diastole"};
  return PICK(NAMES, phase);
}

const char *gn_page_timing(girthline_timing timing) {
  static const char *const NAMES[] = {"early in", "in the middle of", "late in", "through the whole of"};
  return PICK(NAMES, timing);
}

const char *gn_page_shape(girthline_shape shape) {
  static const char *const NAMES[] = {"even (plateau)", "rising (crescendo)", "falling (decrescendo)", "rising and falling (crescendo-decrescendo)"};
  return PICK(NAMES, shape);
}

const char *gn_page_loudness(girthline_loudness loudness) {
  static const char *const NAMES[] = {"softer than S1", "as loud as S1", "louder than S1"};
  return PICK(NAMES, loudness);
}

const char *gn_page_urgency(girthline_urgency urgency) {
  static const char *const NAMES[] = {"Routine", "Soon", "Before work", "Now"};
  return PICK(NAMES, urgency);
}

const char *gn_page_extra(girthline_extra_kind kind) {
  static const char *const NAMES[] = {"Third sound (S3)", "Fourth sound (S4)", "Split first sound", "Split second sound", "Click"};
  return PICK(NAMES, kind);
}

const char *gn_page_problem(girthline_problem_kind kind) {
  static const char *const NAMES[] = {"handling", "dropout", "clipping", "breathing", "noise", "no heart sound"};
  return PICK(NAMES, kind);
}

const char *gn_page_standing(girthline_standing standing, double bpm, const double range_bpm[2]) {
  static const char *const PLAIN[] = {"Below", "Within", "Above"}, *const JUST[] = {"Just below", "Within", "Just above"};
  return *gn_numbers_just(bpm, range_bpm) ? PICK(JUST, standing) : PICK(PLAIN, standing);
}

const char *gn_page_animal(girthline_species species) {
  static const char *const NAMES[] = {"a horse", "a foal", "a donkey", "a dog", "a cat", "cattle", "a calf", "a sheep", "a goat", "a human"};
  return PICK(NAMES, species);
}

const char *gn_page_rate_source(girthline_species species) {
  // The published figures the range rests on; what is weakly sourced says so.
  static const char *const SOURCES[] = {
      ("Published: 24 to 45 at rest (Patteson, Equine Cardiology, table 6.2); reference interval 27 to 53 in 28 healthy Warmbloods in an "
       "echocardiography room (Berthoud and Schwarzwald 2021)."),
      "The usual rate of a foal falls with age from about 120 in the first days; handbook figures, weakly sourced.",
      "Published: median 44, range 36 to 68 in adult donkeys (values of a donkey charity's hospital).",
      "Handbook range; size changes it little: 5 kg and 55 kg differ by about 10 (Hezzell and others 2013, 10,849 dogs).",
      "Published: 187 \xC2\xB1 25 restrained, 150 \xC2\xB1 23 in hospital, 132 \xC2\xB1 19 at home (Abbott 2005, 16 cats).",
      "Handbook range for dairy cows and agricultural extension figures; weakly sourced.",
      "The usual rate of a calf falls with age from about 140 in the newborn; handbook figures, weakly sourced.",
      "Agricultural extension figures: mean 75, range 60 to 120; weakly sourced.",
      "Agricultural extension figures: mean 90, range 70 to 135; weakly sourced.",
      "General adult range at rest."};
  return PICK(SOURCES, species);
}
