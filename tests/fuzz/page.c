// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// A result made by hand in which numbers, words and lengths of lists are changed, in every form a report has: what a program that links
// the report library could hand over. The first byte names the form, then three bytes are a change, and what follows the mark 0xff is text.
#include "fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "sample_result.h"
#include "written.h"

#define TEXT_MARK 0xff

// What a number is set to; nothing the analysis takes is longer than a week or a million of anything.
static double value_of(uint8_t kind, uint8_t more) {
  static const double VALUES[] = {NAN, 0, -0.0, 1, -1, 0.5, 1e-9, -1e-9, 1e-4, 0.9999999, 99.995, 999.95, 1e6, -1e6, 604800, 5e-324};
  const size_t n = sizeof VALUES / sizeof *VALUES;
  return kind < n ? VALUES[kind] : (kind - 128) * 0.25 + more * 0.001;
}

static void change_whole(girthline_result *r, uint8_t which, uint8_t to) {
  switch (which % 14) {
  case 0: r->settings.species = (girthline_species)(to % GIRTHLINE_N_SPECIES); break;
  case 1: r->quality.grade = (girthline_grade)(to % 4); break;
  case 2: r->rhythm.pattern = (girthline_pattern)(to % 6 - 1); break;
  case 3: r->rate.standing = (girthline_standing)(to % 4 - 1); break;
  case 4: r->murmur.present = (girthline_tristate)(to % 3 - 1); break;
  case 5: r->murmur.n_phases = to % 5; break;
  case 6: r->murmur.phases[0].phase = (girthline_phase)(to % 3); break;
  case 7: r->murmur.phases[0].timing = (girthline_timing)(to % 4); break;
  case 8: r->extras[0].kind = (girthline_extra_kind)(to % 5); break;
  case 9: r->settings.side = (girthline_side)(to % 3); break;
  case 10: r->settings.area = (girthline_area)(to % 6); break;
  case 11: r->pictures.n_overview = (size_t)to * GIRTHLINE_OVERVIEW_N / 255; break;
  case 12: r->pictures.n_cycle_beats = to; break;
  default: r->settings.species_assumed = to & 1, r->beats_given = to & 2, r->recording.repaired = to & 4; break;
  }
}

// A list gets shorter; its first item moves.
static void change_list(girthline_result *r, uint8_t which, double value, uint8_t to) {
  const girthline_beat *last = r->n_beats ? &r->beats[r->n_beats - 1] : NULL;
  switch (which % 9) {
  case 0: r->n_beats = last ? to % (r->n_beats + 1) : 0; break;
  case 1: r->rhythm.n_intervals = r->rhythm.n_intervals ? to % (r->rhythm.n_intervals + 1) : 0; break;
  case 2: r->rhythm.n_pauses = r->rhythm.n_pauses && to & 1; break;
  case 3: r->extras[0].n_onsets = to % 13; break;
  case 4: r->quality.n_problems = r->quality.n_problems ? to % (r->quality.n_problems + 1) : 0; break;
  case 5: r->rate.n_counted = r->rate.n_counted ? to % (r->rate.n_counted + 1) : 0; break;
  case 6:
    if (last) r->beats[to % r->n_beats].s1_onset_s = value;
    break;
  case 7:
    if (last) r->beats[to % r->n_beats].s2_onset_s = value;
    break;
  default:
    if (r->rhythm.n_intervals) r->rhythm.intervals[to % r->rhythm.n_intervals].span = (girthline_span){value, value + to * 0.1};
    break;
  }
}

static void change_number(girthline_result *r, uint8_t which, double value) {
  double *const numbers[] = {
      &r->recording.duration_s, &r->recording.sample_rate_hz, &r->recording.from_s, &r->recording.to_s, &r->quality.usable_s, &r->quality.heart_to_noise_db,
      &r->quality.clipped_fraction, &r->quality.hum_hz, &r->quality.breaths_per_min, &r->quality.best_span.start_s, &r->quality.best_span.end_s, &r->rate.bpm,
      &r->rate.mean_bpm, &r->rate.settled_bpm, &r->rate.settled_from_s, &r->rate.min_bpm, &r->rate.max_bpm, &r->rate.usual_range_bpm[0],
      &r->rate.usual_range_bpm[1], &r->rhythm.confidence, &r->rhythm.mean_interval_s, &r->rhythm.sdnn_ms, &r->rhythm.rmssd_ms, &r->rhythm.interval_cv_percent,
      &r->rhythm.pnn50_percent, &r->rhythm.sd1_ms, &r->rhythm.sd2_ms, &r->rhythm.sample_entropy, &r->rhythm.onset_jitter_ms, &r->rhythm.longest_interval_s,
      &r->murmur.detection_limit_db[0], &r->murmur.detection_limit_db[1], &r->murmur.phases[0].level_db, &r->murmur.phases[0].level_db_interval[0],
      &r->murmur.phases[0].level_db_interval[1], &r->murmur.phases[0].peak_hz, &r->murmur.phases[0].band_hz[0], &r->murmur.phases[0].beats_fraction,
      &r->murmur.phases[0].confidence, &r->murmur.phases[0].start_fraction, &r->murmur.phases[0].end_fraction, &r->pictures.overview_step_s,
      &r->pictures.cycle_start_s, &r->pictures.cycle_step_s, &r->pictures.cycle_systole_s, &r->pictures.cycle_interval_s, &r->extras[0].beats_fraction,
      &r->extras[0].delay_s, &r->extras[0].level_db, &r->rhythm.pauses[0].span.start_s, &r->rhythm.pauses[0].span.end_s, &r->rhythm.pauses[0].ratio,
      &r->rhythm.early[0].onset_s, &r->quality.problems[0].span.start_s, &r->quality.problems[0].span.end_s, &r->settings.minutes_after_exercise,
  };
  *numbers[which % (sizeof numbers / sizeof *numbers)] = value;
}

// The same bytes wherever a text stands.
static void change_texts(girthline_result *r, const char *text) {
  char *const fixed[] = {r->recording.encoding, r->recording.recorded_at, r->quality.grade_reason, r->rhythm.explanation};
  const size_t room[] = {sizeof r->recording.encoding, sizeof r->recording.recorded_at, sizeof r->quality.grade_reason, sizeof r->rhythm.explanation};
  for (size_t i = 0; i < sizeof room / sizeof *room; i++) strncpy(fixed[i], text, room[i] - 1);
  for (size_t i = 0; i < r->n_findings; i++) {
    char **texts[] = {&r->findings[i].text, &r->findings[i].evidence, &r->findings[i].advice};
    for (int k = 0; k < 3; k++) {
      gn_free(*texts[k]);
      *texts[k] = gn_strdup(text);
      FUZZ_HOLDS(*texts[k]);
    }
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t n) {
  if (!n) return 0;
  const uint8_t *mark = memchr(data + 1, TEXT_MARK, n - 1);
  const size_t n_changes = mark ? (size_t)(mark - data) : n;
  char *text = mark ? calloc(1, n - n_changes) : NULL;
  girthline_result *r = sample_result_full();
  static void *sound; // the same for every input
  static size_t n_sound;
  if (!sound) sample_sound(&sound, &n_sound);
  FUZZ_HOLDS(r && (text || !mark));
  for (size_t i = 1; i + 3 <= n_changes; i += 3) {
    const uint8_t *c = data + i;
    if (c[0] < 128) change_number(r, c[0], value_of(c[1], c[2]));
    else if (c[0] < 192) change_whole(r, c[1], c[2]);
    else change_list(r, c[0], value_of(c[1], c[2]), c[2]);
  }
  if (mark) change_texts(r, memcpy(text, mark + 1, n - n_changes - 1));
  const girthline_report_input input = {.result = r, .name = mark ? text : "recording", .data = sound, .n_bytes = n_sound, .content_hash = "xxh3-128:0"};
  fuzz_write_out(&input, data[0]);
  girthline_result_free(r);
  free(text);
  return 0;
}
