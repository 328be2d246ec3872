// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// What an examination file may hold, and a sheet to fill in.
#include "clinic/exam.h"

#define COUNT(keys) (sizeof(keys) / sizeof *(keys))

static const gn_exam_key ANIMAL[] = {
    {"name", GN_KIND_WORD, 0, 0}, {"identifier", GN_KIND_WORD, 0, 0}, {"species", GN_KIND_SPECIES, 0, 0},
    {"sex", GN_KIND_WORD, 0, 0},  {"born", GN_KIND_BORN, 0, 0},       {"breed", GN_KIND_WORD, 0, 0},
};
static const gn_exam_key EXAMINATION[] = {
    {"date", GN_KIND_DATE, 0, 0},  {"examiner", GN_KIND_WORD, 0, 0}, {"practice", GN_KIND_WORD, 0, 0},
    {"place", GN_KIND_WORD, 0, 0}, {"reason", GN_KIND_PROSE, 0, 0},  {"history", GN_KIND_PROSE, 0, 0},
};
// The bounds only keep slips of the pen out (a temperature in Fahrenheit, a rate in beats a second); all are choices.
static const gn_exam_key SIGNS[] = {
    {"mucous_membranes", GN_KIND_PROSE, 0, 0}, {"capillary_refill_s", GN_KIND_NUMBER, 0, 60},   {"arterial_pulse", GN_KIND_PROSE, 0, 0},
    {"pulse_per_min", GN_KIND_NUMBER, 0, 400}, {"jugular_left", GN_KIND_PROSE, 0, 0},           {"jugular_right", GN_KIND_PROSE, 0, 0},
    {"oedema", GN_KIND_PROSE, 0, 0},           {"exercise_tolerance", GN_KIND_PROSE, 0, 0},     {"breaths_per_min", GN_KIND_NUMBER, 0, 300},
    {"temperature_c", GN_KIND_NUMBER, 25, 45}, {"notes", GN_KIND_PROSE, 0, 0},
};
static const gn_exam_key ELSEWHERE[] = {
    {"ecg", GN_KIND_PROSE, 0, 0}, {"echocardiography", GN_KIND_PROSE, 0, 0}, {"exercise_test", GN_KIND_PROSE, 0, 0}, {"other", GN_KIND_PROSE, 0, 0},
};
static const gn_exam_key RECORDING[] = {
    {"file", GN_KIND_WORD, 0, 0},                          {"side", GN_KIND_SIDE, 0, 0},   {"area", GN_KIND_AREA, 0, 0},
    {"minutes_after_exercise", GN_KIND_NUMBER, 0, 100000}, {"notes", GN_KIND_PROSE, 0, 0},
};

const gn_exam_section gn_exam_sections[GN_N_SECTIONS] = {
    {"animal", ANIMAL, COUNT(ANIMAL)},
    {"examination", EXAMINATION, COUNT(EXAMINATION)},
    {"signs", SIGNS, COUNT(SIGNS)},
    {"elsewhere", ELSEWHERE, COUNT(ELSEWHERE)},
    {"recording", RECORDING, COUNT(RECORDING)},
};

static const char TEMPLATE[] =
    "# An examination for girthline. Fill in what you know; an empty value counts as not given.\n"
    "# A line that begins with # or ; is a comment. Numbers take a decimal point, not a comma.\n"
    "# History, signs and notes may hold any text; it goes on over lines that begin with a space.\n"
    "# Analyse it with: girthline exam THIS-FILE\n"
    "\n"
    "[animal]\n"
    "name =\n"
    "# Passport, chip or case number: it tells two animals of one name apart.\n"
    "identifier =\n"
    "# horse, foal, donkey, dog, cat, cattle, calf, sheep, goat or human\n"
    "species = horse\n"
    "sex =\n"
    "# 2019-04-23, or 2019-04, or 2019. A foal or a calf needs the day.\n"
    "born =\n"
    "breed =\n"
    "\n"
    "[examination]\n"
    "# 2026-05-17\n"
    "date =\n"
    "examiner =\n"
    "practice =\n"
    "place =\n"
    "reason =\n"
    "history =\n"
    "\n"
    "[signs]\n"
    "# Colour and moisture, in your own words.\n"
    "mucous_membranes =\n"
    "# Seconds until the gum is pink again.\n"
    "capillary_refill_s =\n"
    "# How the artery feels: strong, weak, even, uneven.\n"
    "arterial_pulse =\n"
    "# Counted at the artery over a minute, while the heart is heard if you can.\n"
    "pulse_per_min =\n"
    "# Full or not, pulsing up to where.\n"
    "jugular_left =\n"
    "jugular_right =\n"
    "oedema =\n"
    "exercise_tolerance =\n"
    "breaths_per_min =\n"
    "# Degrees Celsius.\n"
    "temperature_c =\n"
    "notes =\n"
    "\n"
    "# One section for each recording, each with a name of its own. file is relative to this file.\n"
    "# side: left or right. area: pulmonic, aortic, mitral, tricuspid or other.\n"
    "# Leave file empty, or take the section out, where nothing was recorded.\n"
    "[recording left pulmonic]\n"
    "file = left-pulmonic.wav\n"
    "side = left\n"
    "area = pulmonic\n"
    "notes =\n"
    "\n"
    "[recording left aortic]\n"
    "file = left-aortic.wav\n"
    "side = left\n"
    "area = aortic\n"
    "\n"
    "[recording left mitral]\n"
    "file = left-mitral.wav\n"
    "side = left\n"
    "area = mitral\n"
    "\n"
    "[recording right tricuspid]\n"
    "file = right-tricuspid.wav\n"
    "side = right\n"
    "area = tricuspid\n"
    "\n"
    "# After work that a veterinarian has decided on: minutes since it ended.\n"
    "[recording after exercise]\n"
    "file =\n"
    "side = left\n"
    "area = aortic\n"
    "minutes_after_exercise =\n"
    "\n"
    "# What another examination found: kept and shown, not judged.\n"
    "[elsewhere]\n"
    "ecg =\n"
    "echocardiography =\n"
    "exercise_test =\n"
    "other =\n";

const char *gn_exam_template(void) { return TEMPLATE; }
