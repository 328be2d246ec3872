// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Pictures and sound. Each picture stands twice, for a wide page and for a telephone; the style shows one of them.
#include "report/page.h"

#include <math.h>
#include <stdio.h>

#include "base/error.h"
#include "base/memory.h"
#include "report/text_parts.h"

#define WIDE GN_PAGE_WIDE
#define NARROW_WIDTH GN_PAGE_NARROW
#define BESIDE 264.0            ///< the square picture beside the intervals
#define WHOLE_BYTES_MOST 720000 ///< of a whole recording at its own rate, as base64; above it 8000 Hz is used
#define MOST_STRETCH_S 10.0     ///< of the best stretch in each of its three versions
#define MOST_SLOW_S 7.5         ///< of it in the slowed version, which is twice as long
#define MOST_BEATS_TO_STEP 4000
#define MOST_NUMBERED_BARS 6 ///< on every width
#define MOST_OWN_BARS 50 ///< counted windows; more are drawn together

static void listed_problems(gn_page *page) {
  const girthline_quality *q = &page->result->quality;
  gn_html *h = &page->html;
  bool any = false;
  for (int kind = GIRTHLINE_HANDLING; kind <= GIRTHLINE_NO_HEART_SOUND; kind++) {
    double total_s = 0;
    for (size_t i = 0; i < q->n_problems; i++)
      if ((int)q->problems[i].kind == kind) total_s += q->problems[i].span.end_s - q->problems[i].span.start_s;
    if (!(total_s > 0)) continue;
    gn_html_format(h, "%s%s ", any ? ", " : " Hatched or barred, and not counted: ", gn_page_problem((girthline_problem_kind)kind));
    gn_html_number(h, total_s, 1);
    gn_html_raw(h, "\xC2\xA0s");
    any = true;
  }
  gn_html_raw(h, any ? "." : " No span was marked as spoilt.");
}

static void caption_sound(gn_page *page) {
  if (page->result->n_beats) gn_html_format(&page->html, "The sound of %zu beat%s.", page->result->n_beats, page->result->n_beats == 1 ? "" : "s");
  else gn_html_raw(&page->html, "No beat was found in it.");
  if (page->result->n_beats && page->result->n_beats <= GN_MOST_MARKED_BEATS)
    gn_html_raw(&page->html, " Filled triangles: first sounds (S1); open circles: second sounds (S2).");
  listed_problems(page);
}

static void caption_detail(gn_page *page) {
  const girthline_span best = page->result->quality.best_span;
  gn_html *h = &page->html;
  gn_html_raw(h, "From ");
  gn_page_number(page, (gn_page_value){"/quality/best_span/start_s", best.start_s, 1, ""});
  gn_html_raw(h, " to ");
  gn_page_number(page, (gn_page_value){"/quality/best_span/end_s", best.end_s, 1, "s"});
  gn_html_raw(h, ", the longest clean run of whole beats. ");
  gn_html_text(h, gn_text_bars(page->result));
}

static void caption_spectrum(gn_page *page) {
  gn_html_raw(&page->html,
              "The same stretch by time and frequency: the stronger the mark, the louder, from the quiet level to 40\xC2\xA0"
              "dB above it. A murmur is a smear "
              "between the marks that comes again with each beat; a breath comes and goes by itself.");
}

static void caption_cycle(gn_page *page) {
  gn_html_format(&page->html,
                 "The middle of %zu beats by frequency, laid over one another: systole from S1 to S2, diastole from S2 on and, in its second half, back from the "
                 "next S1. Line: half of the beats lie above it; area: the middle half. "
                 "Noise does not repeat with the beat, a murmur does: look for a raised line between S1 and S2, or after S2.",
                 page->result->pictures.n_cycle_beats);
}

static void caption_intervals(gn_page *page) {
  const girthline_rhythm *y = &page->result->rhythm;
  gn_html *h = &page->html;
  gn_html_format(h, "From each first sound to the next: %zu interval%s", y->n_intervals, y->n_intervals == 1 ? "" : "s");
  if (y->used_count < y->n_intervals) gn_html_format(h, ", %zu of them counted", y->used_count);
  gn_html_raw(h, ", mean ");
  gn_page_number(page, (gn_page_value){"/rhythm/mean_interval_s", y->mean_interval_s, 2, "s"});
  gn_html_raw(h, ", longest ");
  gn_page_number(page, (gn_page_value){"/rhythm/longest_interval_s", y->longest_interval_s, 2, "s"});
  if (y->n_pauses) gn_html_format(h, "; %zu pause%s", y->n_pauses, y->n_pauses == 1 ? "" : "s");
  if (y->n_early) gn_html_format(h, "; %zu early beat%s", y->n_early, y->n_early == 1 ? "" : "s");
  gn_html_raw(h, y->n_pauses || y->n_early ? "." : "; no pause, no early beat.");
  if (y->used_count < y->n_intervals)
    gn_html_raw(h, " Rings: not counted, because something spoilt or a beat that is not sure lies there; a long one need not be a pause.");
  for (size_t i = 0; i < y->n_pauses; i++) {
    if (!y->pauses[i].n_atrial) continue;
    gn_html_raw(h, " S4: a soft sound like one, alone in a pause.");
    return;
  }
}

static void caption_next(gn_page *page) {
  gn_html_raw(&page->html, "A steady heart gives one small cloud on the line; pauses and early beats lie away from it, an irregular heart scatters.");
}

static void caption_rate(gn_page *page) {
  const girthline_rate *r = &page->result->rate;
  gn_html_raw(&page->html, r->n_counted ? "Bars: whole beats counted over 15\xC2\xA0s, times four" : "No 15\xC2\xA0s could be counted whole");
  if (r->n_counted && r->n_counted <= MOST_NUMBERED_BARS) gn_html_raw(&page->html, "; the number over a bar is the count");
  if (r->n_counted > MOST_OWN_BARS) gn_html_raw(&page->html, "; neighbours are drawn together as their mean");
  gn_html_raw(&page->html, r->n_counted ? ". Dots: each interval for itself, where it lies within these rates." : ". Dots: each interval for itself.");
  if (isfinite(r->settled_bpm) && isfinite(r->settled_from_s)) gn_html_raw(&page->html, " Dashed: the settled rate.");
}

typedef struct named {
  const char *title;
  void (*caption)(gn_page *);
} named;
static const named PICTURES[GN_N_FIGURES] = {
    {"The recording", caption_sound},    {"The best stretch", caption_detail}, {"The best stretch by frequency", caption_spectrum},
    {"The average beat", caption_cycle}, {"Intervals", caption_intervals},     {"Each interval and the next", caption_next},
    {"Rate over time", caption_rate}};

void gn_page_svg(gn_page *page, const gn_page_picture *picture, const gn_html *inside, const gn_figure_area *at) {
  const gn_figure_area area = *at;
  gn_html *h = &page->html;
  gn_html_format(h, "<svg class=\"%s\" role=\"img\" aria-labelledby=\"r%zu-%s\" viewBox=\"0 0 %.0f %.0f\"", picture->size, page->index, picture->id, picture->width,
                 picture->height);
  if (area.time_end_s > area.time_start_s) {
    const double numbers[] = {area.x, area.y, area.width, area.height, area.time_start_s, area.time_end_s};
    gn_html_raw(h, " data-field=\"");
    for (int i = 0; i < 6; i++) {
      gn_html_number(h, numbers[i], 4);
      gn_html_raw(h, i < 5 ? " " : "\"");
    }
  }
  gn_html_raw(h, ">");
  if (inside->text) gn_html_bytes(h, inside->text, inside->n);
  gn_html_raw(h, "</svg>\n");
}

static void svg(gn_page *page, gn_figure_kind kind, double width, const char *size) {
  const gn_figure_source source = {page->result, &page->stretch, page->scale};
  const gn_page_picture picture = {size, gn_figure_name(kind), width, gn_figure_height(kind, width)};
  gn_html inside = {0};
  gn_figure_area area = {0};
  char prefix[40];
  snprintf(prefix, sizeof prefix, "%c%zu%c", 'a' + (int)kind, page->index, *size); // short: it stands before every name
  if (!page->status) page->status = gn_figure_svg(kind, &source, width, prefix, &inside, &area, page->error);
  gn_page_svg(page, &picture, &inside, &area);
  gn_html_clear(&inside);
}

static void figure(gn_page *page, gn_figure_kind kind, double width) {
  const gn_figure_source source = {page->result, &page->stretch, page->scale};
  gn_html *h = &page->html;
  if (!gn_figure_has(kind, &source)) return;
  gn_html_format(h, "<figure class=\"picture-%s\">\n<h4 id=\"r%zu-%s\">%s</h4>\n", gn_figure_name(kind), page->index, gn_figure_name(kind),
                 PICTURES[kind].title);
  if (kind == GN_FIGURE_NEXT) { // a square as wide as it is high: one for both
    svg(page, kind, width, "any");
  } else {
    svg(page, kind, width, "wide");
    svg(page, kind, NARROW_WIDTH, "narrow");
  }
  gn_html_raw(h, "<figcaption>");
  PICTURES[kind].caption(page);
  gn_html_raw(h, "</figcaption>\n</figure>\n");
}

/// One version of the sound; time in the recording = start_s + time in it / factor.
typedef struct take {
  const gn_sound *sound;
  const char *name, *id;
  double factor;
} take;

static void write_take(gn_page *page, take t) {
  gn_html *h = &page->html;
  if (!t.sound->n) return;
  gn_html_format(h, "<div class=\"take\"><span id=\"r%zu-take-%s\">%s</span>\n<audio controls preload=\"auto\" aria-labelledby=\"r%zu-take-%s\" data-start=\"",
                 page->index, t.id, t.name, page->index, t.id);
  gn_html_number(h, t.sound->start_s, 4);
  gn_html_raw(h, "\" data-factor=\"");
  gn_html_number(h, t.factor, 2);
  gn_html_raw(h, "\" src=\"");
  gn_sound_data_uri(t.sound, h);
  gn_html_raw(h, "\"></audio></div>\n");
}

static double playable_rate(const gn_sound *sound) {
  const bool fits = (double)sound->n * 2 * 4 / 3 <= WHOLE_BYTES_MOST;
  return sound->rate_hz >= GN_SOUND_RATE_HZ && sound->rate_hz <= 48000 && fits ? sound->rate_hz : GN_SOUND_RATE_HZ;
}

static void take_as_recorded(gn_page *page, const gn_sound *sound, const char *name) {
  gn_sound played = {0};
  if (!page->status && sound->n) page->status = gn_sound_resample(sound, playable_rate(sound), &played, page->error);
  write_take(page, (take){&played, name, "recorded", 1});
  gn_sound_clear(&played);
}

static gn_sound first_part(gn_sound sound, double length_s) {
  if ((double)sound.n > length_s * sound.rate_hz) sound.n = (size_t)(length_s * sound.rate_hz);
  return sound;
}

static void takes_of_stretch(gn_page *page) {
  gn_sound band = {0}, high = {0}, slow = {0}, cut = first_part(page->stretch, MOST_STRETCH_S);
  girthline_status s = page->status;
  if (!s && cut.n) s = gn_sound_resample(&cut, GN_SOUND_RATE_HZ, &band, page->error);
  if (!s) s = gn_sound_heart_band(&band, page->error);
  if (!s) s = gn_sound_slow(&band, 2, &slow, page->error);
  if (!s) s = gn_sound_raise(&slow, 2, &high, page->error);
  const gn_sound slow_part = first_part(slow, 2 * MOST_SLOW_S);
  write_take(page, (take){&band, "Best stretch, heart band (25 to 400\xC2\xA0Hz), made louder", "band", 1});
  write_take(page, (take){&high, "Best stretch, an octave higher: for murmurs near the lower limit of hearing", "high", 1});
  write_take(page,
             (take){&slow_part, slow_part.n < slow.n ? "Its first 7.5\xC2\xA0s, half as fast at their own pitch" : "Best stretch, half as fast at its own pitch", "slow", 2});
  gn_sound_clear(&band);
  gn_sound_clear(&high);
  gn_sound_clear(&slow);
  page->status = s;
}

static void beat_times(gn_page *page) {
  const girthline_result *r = page->result;
  for (size_t i = 0, n = 0; i < r->n_beats && n < MOST_BEATS_TO_STEP; i++) {
    if (!isfinite(r->beats[i].s1_onset_s)) continue;
    if (n++) gn_html_raw(&page->html, " ");
    gn_html_number(&page->html, r->beats[i].s1_onset_s, 3);
  }
}

// What steps by beats is hidden where there are none.
static void controls(gn_page *page, bool has_best) {
  gn_html *h = &page->html;
  const bool has_beats = page->result->n_beats > 0;
  gn_html_raw(h, "<div class=\"controls\" hidden>\n<button type=\"button\" data-do=\"play\">Play or stop</button>\n");
  gn_html_format(h, "<button type=\"button\" data-do=\"back\"%s>Beat before</button>\n<button type=\"button\" data-do=\"on\"%s>Next beat</button>\n",
                 has_beats ? "" : " hidden", has_beats ? "" : " hidden");
  gn_html_format(h, "<button type=\"button\" data-do=\"loop\" aria-pressed=\"false\"%s>Repeat the best stretch</button>\n", has_best ? "" : " hidden");
  if (has_beats)
    gn_html_format(h, "<p class=\"keys\">Touch a beat in a picture to hear it. Keys, while this part has the focus: space plays and stops, left and right "
                      "arrows play the beat before and the next%s.</p>\n", has_best ? ", R repeats the best stretch, 1 to 4 choose a version" : "");
  gn_html_raw(h, "<p class=\"now\" role=\"status\"></p>\n</div>\n");
}

static void player(gn_page *page) {
  const girthline_span best = page->result->quality.best_span;
  gn_html *h = &page->html;
  gn_html_raw(h, "<div class=\"player\" tabindex=\"0\" role=\"group\" aria-label=\"Sound\" data-beats=\"");
  beat_times(page);
  gn_html_raw(h, "\" data-best=\"");
  if (best.end_s > best.start_s) {
    gn_html_number(h, best.start_s, 4);
    gn_html_raw(h, " ");
    gn_html_number(h, best.end_s, 4);
  }
  gn_html_raw(h, "\">\n");
  controls(page, best.end_s > best.start_s);
  if (page->whole.n)
    take_as_recorded(page, &page->whole, "The recording as it is");
  else
    take_as_recorded(page, &page->stretch, "Best stretch as recorded");
  takes_of_stretch(page);
  gn_html_raw(h, "<p class=\"voices\">The recording is part of this page: voices caught by the stethoscope travel with it.");
  if (!page->whole.n) gn_html_raw(h, " It is too long to be carried whole; only its best stretch is here.");
  gn_html_raw(h, "</p>\n</div>\n");
}

void gn_page_listen(gn_page *page) {
  gn_html *h = &page->html;
  gn_html_raw(h, "<section class=\"listen\">\n<h3>To see and hear</h3>\n");
  figure(page, GN_FIGURE_SOUND, WIDE);
  figure(page, GN_FIGURE_DETAIL, WIDE);
  figure(page, GN_FIGURE_SPECTRUM, WIDE);
  if (page->no_sound)
    gn_html_raw(h, "<p class=\"voices\">The recording itself was left out of this page on request.</p>\n");
  else if (page->whole.n || page->stretch.n)
    player(page);
  else
    gn_html_raw(h, "<p class=\"voices\">There is nothing to play: the recording is too long to be carried whole and has no clean stretch.</p>\n");
  figure(page, GN_FIGURE_CYCLE, WIDE);
  gn_html_raw(h, "<div class=\"beside\">\n");
  figure(page, GN_FIGURE_INTERVALS, WIDE - BESIDE - 24);
  figure(page, GN_FIGURE_NEXT, BESIDE);
  gn_html_raw(h, "</div>\n");
  figure(page, GN_FIGURE_RATE, WIDE);
  gn_page_events(page);
  gn_html_raw(h, "</section>\n");
}
