// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "findings/parts.h"

#include <math.h>

#include "base/confidence.h"
#include "base/numbers.h"

static const char BETTER[] = "Record again for a minute in a quiet place, engine and fans off. Push the chest piece well forward behind the elbow, with the "
                             "foreleg of that side advanced, smooth or damp the hair, and hold it still.";

static const char CALM[] = "Record again for a minute in a quiet room, with the animal calm and the chest piece held still on smoothed or damp hair.";
static const char CABLE[] = "Look at the cable, the battery and the recorder's level, and listen to a few seconds before you record a minute again.";

static int grade(girthline_result *r) {
  const girthline_quality *q = &r->quality;
  if (q->grade != GIRTHLINE_POOR && q->grade != GIRTHLINE_UNUSABLE) return 0;
  const bool unusable = q->grade == GIRTHLINE_UNUSABLE;
  gn_note n = gn_findings_note(unusable ? "recording-unusable" : "recording-poor", GIRTHLINE_ROUTINE);
  gn_say(n.text, unusable ? "This recording cannot be used." : "This recording is poor; what follows rests on little.");
  if (q->grade_reason[0]) gn_say(n.text, "%s", q->grade_reason);
  const bool heard = r->murmur.present == GIRTHLINE_YES;
  if (unusable) gn_say(n.text, heard ? "Rate and rhythm stay open. Something like a murmur was heard in the little there is, which a better recording has to bear out."
                                     : "It says nothing of the heart: rate, rhythm and murmurs stay open.");
  if (q->silent) gn_say(n.evidence, "No two of its samples differ: nothing came from the chest piece.");
  else if (q->usable_s < 0.5) gn_say(n.evidence, "All of it was spoilt.");
  else gn_say(n.evidence, "%.0f s of it were not spoilt.", q->usable_s);
  if (!isnan(q->heart_to_noise_db)) gn_say(n.evidence, "The heart sounds lie %.0f dB %s the quiet parts.", fabs(gn_whole(q->heart_to_noise_db, 1)), q->heart_to_noise_db < 0 ? "under" : "over");
  gn_findings_key(&n, "/quality/grade");
  gn_findings_key(&n, "/quality/usable_s");
  gn_findings_key(&n, "/quality/heart_to_noise_db");
  if (unusable && heard) gn_findings_key(&n, "/murmur/present");
  if (q->clipped_fraction > r->limits.quality.fair_clipped_share) gn_say(n.advice, "Set the recorder's level lower first.");
  gn_say(n.advice, "%s", q->silent ? CABLE : gn_findings_small(r->settings.species) ? CALM : BETTER);
  if (unusable) gn_say(n.advice, "Until then count by ear over a whole minute. Where the rhythm sounds uneven to the ear an ECG at rest settles it, a murmur echocardiography.");
  if (!q->silent) gn_say(n.advice, "What is not heard in a noisy recording has not gone.");
  return gn_findings_add(r, &n);
}

static int species(girthline_result *r) {
  if (!r->settings.species_assumed) return 0;
  const char *name = girthline_species_name(r->settings.species);
  gn_note n = gn_findings_note("species-assumed", GIRTHLINE_ROUTINE);
  gn_say(n.text, "No species was given, so a %s was assumed.", name ? name : "horse");
  gn_say(n.evidence, "Ranges, timing and advice depend on the species.");
  gn_findings_key(&n, "/species_assumed");
  gn_say(n.advice, "If it is another animal, analyse it again with its species named.");
  return gn_findings_add(r, &n);
}

static int human(girthline_result *r) {
  if (r->settings.species != GIRTHLINE_HUMAN) return 0;
  gn_note n = gn_findings_note("human", GIRTHLINE_ROUTINE);
  gn_say(n.text, "This is a recording of a human heart; the method is made for animals.");
  gn_say(n.evidence, "Nothing here was tested for use on patients.");
  gn_findings_key(&n, "/species");
  return gn_findings_add(r, &n);
}

static int given(girthline_result *r) {
  if (!r->beats_given) return 0;
  gn_note n = gn_findings_note("beats-given", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The heart sounds were given by hand, not found by this program.");
  gn_say(n.evidence, "Rate and rhythm follow from the times given.");
  gn_findings_key(&n, "/beats_source");
  gn_say(n.advice, "Analyse it without them to see what the program hears.");
  return gn_findings_add(r, &n);
}

static int brief(girthline_result *r) {
  const girthline_quality *q = &r->quality;
  if (q->grade == GIRTHLINE_UNUSABLE || q->grade == GIRTHLINE_POOR || !(q->usable_s < r->limits.findings.short_s)) return 0;
  gn_note n = gn_findings_note("recording-short", GIRTHLINE_ROUTINE);
  gn_say(n.text, "Only %.0f s could be used. Pauses, early beats and soft murmurs are easily missed in so little.", q->usable_s);
  gn_say(n.evidence, "Three repeats of a pattern that drops every fifth beat take 24 to 30 s in a resting horse (arithmetic), and the limits published for "
                     "irregular hearts rest on 2-minute recordings (Broux et al. 2018).");
  gn_findings_key(&n, "/quality/usable_s");
  gn_say(n.advice, "Record for a minute or longer.");
  return gn_findings_add(r, &n);
}

static int names(girthline_result *r) {
  if (r->quality.grade == GIRTHLINE_UNUSABLE || !gn_confidence_names_doubted(r)) return 0;
  gn_note n = gn_findings_note("names-uncertain", GIRTHLINE_ROUTINE);
  gn_say(n.text, "The first and the second sound may be exchanged. The rate holds; systole and diastole may have swapped.");
  gn_say(n.evidence, "Mean confidence of the names: %.2f.", gn_confidence(r, true));
  gn_findings_key(&n, "/beats");
  gn_say(n.advice, "Feel the pulse or the apex beat while listening: it comes with the first sound. A slower, longer recording tells them apart too.");
  return gn_findings_add(r, &n);
}

// Limits that were set otherwise may hide what the usual ones show, so a report made with them says which.
static int settings(girthline_result *r) {
  enum { SHOWN = 6 };
  const size_t n_changed = girthline_limits_changed(&r->limits);
  if (!n_changed) return 0;
  gn_note n = gn_findings_note("settings-changed", GIRTHLINE_ROUTINE);
  gn_say(n.text, "This report was not made with the usual settings: %zu of the method's limits %s changed.", n_changed, n_changed == 1 ? "was" : "were");
  const girthline_limit *row;
  size_t n_said = 0;
  for (size_t i = 0; (row = girthline_limit_at(i)) != NULL && n_said < SHOWN; i++) {
    const double value = girthline_limit_get(row, &r->limits);
    if (value != row->usual && ++n_said) gn_say(n.evidence, "%s.%s is %.6g, usually %.6g.", row->section, row->name, value, row->usual);
  }
  if (n_changed > n_said) gn_say(n.evidence, "And %zu more.", n_changed - n_said);
  gn_findings_key(&n, "/tool/settings_hash");
  gn_say(n.advice, "Compare it only with reports made with the same settings.");
  return gn_findings_add(r, &n);
}

int gn_findings_recording(girthline_result *r) {
  return human(r) || grade(r) || species(r) || settings(r) || given(r) || brief(r) || names(r) ? -1 : 0;
}
