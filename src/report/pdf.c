// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// The document to print: two A4 pages a recording, or one behind pages of its own. Its dates are the recording's or a fixed one, so that the same recording gives the
// same bytes; links are left out, for cairo 1.16 writes a damaged cross-reference table with them.
#include <girthline/report.h>

#include <cairo-pdf.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <girthline/version.h>

#include "base/error.h"
#include "base/memory.h"
#include "base/numbers.h"
#include "report/buffer.h"
#include "report/pdf_pages.h"
#include "report/sound.h"

#define FIXED_DATE "2000-01-01T00:00:00Z" ///< where the recording has none
#define LEAST_SCALE 0.55                  ///< a page that is still too full loses its end
#define SCALE_STEP 0.025
#define FOOTER_HEIGHT 12.0

typedef void (*page_drawer)(gn_sheet *, const gn_pdf_recording *);

static cairo_status_t collect(void *closure, const unsigned char *data, unsigned int n) {
  gn_buffer *out = closure;
  gn_buffer_add(out, (const char *)data, n);
  return out->refused ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static bool digits(const char *s, int n) {
  for (int i = 0; i < n; i++)
    if (s[i] < '0' || s[i] > '9') return false;
  return true;
}

// "2026-05-04T10:20:30Z" out of ISO 8601 as a file's metadata have it; the fixed date where it is none. What is left out is 0.
static void iso_date(const char *from, char out[24]) {
  snprintf(out, 24, "%s", FIXED_DATE);
  if (!from || !digits(from, 4) || from[4] != '-' || !digits(from + 5, 2) || from[7] != '-' || !digits(from + 8, 2)) return;
  memcpy(out, from, 10);
  const char *time = from + 10;
  if ((*time != 'T' && *time != ' ') || !digits(time + 1, 2) || time[3] != ':' || !digits(time + 4, 2)) return;
  memcpy(out + 11, time + 1, 5);
  if (time[6] == ':' && digits(time + 7, 2)) memcpy(out + 17, time + 7, 2);
}

static void footer(gn_sheet *sheet, const gn_pdf_recording *rec, int page) {
  gn_buffer b = {0};
  gn_buffer_puts(&b, rec->input->name ? rec->input->name : "recording");
  if (!rec->title) gn_buffer_printf(&b, ", page %d of 2", page);
  gn_buffer_printf(&b, ". Screening aid, not a diagnosis. Made by girthline %s.", girthline_version());
  sheet->scale = 1;
  sheet->y = GN_SHEET_HEIGHT - GN_SHEET_MARGIN + 4;
  gn_sheet_words(sheet, GN_SHEET_SMALL, GN_WAVE, &b);
}

// Measured first: letters and pictures get smaller until all of it has room.
static void draw_page(gn_sheet *sheet, const gn_pdf_recording *rec, page_drawer draw, int page) {
  const double bottom = GN_SHEET_HEIGHT - GN_SHEET_MARGIN - FOOTER_HEIGHT + 8;
  sheet->scale = 1 + SCALE_STEP;
  sheet->dry = true;
  do {
    sheet->scale -= SCALE_STEP;
    sheet->y = GN_SHEET_MARGIN;
    draw(sheet, rec);
  } while (!sheet->status && sheet->y > bottom && sheet->scale > LEAST_SCALE);
  sheet->dry = false;
  sheet->y = GN_SHEET_MARGIN;
  cairo_save(sheet->cr);
  cairo_rectangle(sheet->cr, 0, 0, GN_SHEET_WIDTH, bottom + 4);
  cairo_clip(sheet->cr);
  draw(sheet, rec);
  cairo_restore(sheet->cr);
  footer(sheet, rec, page);
  cairo_show_page(sheet->cr);
}

static void draw_recording(gn_sheet *sheet, const girthline_report_input *input, const char *title, const gn_figure_scale *scale) {
  gn_sound stretch = {0};
  const girthline_span best = input->result->quality.best_span;
  if (best.end_s > best.start_s && best.end_s - best.start_s <= GN_SOUND_LONGEST_S && (input->path || input->data))
    sheet->status = gn_sound_read(input, best.start_s, best.end_s, &stretch, sheet->error);
  const gn_pdf_recording rec = {input, input->result, title, {input->result, &stretch, scale}};
  if (!sheet->status) draw_page(sheet, &rec, title ? gn_pdf_only_page : gn_pdf_first_page, 1);
  if (!sheet->status && !title) draw_page(sheet, &rec, gn_pdf_second_page, 2);
  gn_sound_clear(&stretch);
}

static void describe(cairo_surface_t *surface, const gn_front *front, const girthline_report_input *inputs, size_t n) {
  char date[24], title[160];
  iso_date(front && front->date ? front->date : n ? inputs[0].result->recording.recorded_at : NULL, date);
  if (front)
    snprintf(title, sizeof title, "%s", front->title);
  else if (n == 1)
    snprintf(title, sizeof title, "Heart sounds, measured");
  else
    snprintf(title, sizeof title, "Heart sounds, measured: %zu recordings", n);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, title);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, "A screening aid, not a diagnosis: a licensed veterinarian decides");
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "girthline");
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
}

girthline_status girthline_report_pdf(const girthline_report_input *inputs, size_t n, const girthline_report_options *options, void **data,
                                      size_t *n_bytes, girthline_error *error) {
  GN_PLAIN_NUMBERS;
  return gn_pdf_write(NULL, inputs, n, options, data, n_bytes, error);
}

girthline_status gn_pdf_write(const gn_front *front, const girthline_report_input *inputs, size_t n, const girthline_report_options *options, void **data,
                              size_t *n_bytes, girthline_error *error) {
  gn_figure_scale scale;
  gn_buffer out = {0};
  *data = NULL;
  *n_bytes = 0;
  if (!front && (!inputs || !n)) return gn_error_set(error, GIRTHLINE_BAD_ARGUMENT, "report", "there is no recording to write a document of");
  const bool is_scaled = options && options->n_scale_to;
  if (is_scaled && !gn_figure_scale_of(options->scale_to, options->n_scale_to, &scale)) return gn_error_memory(error, "report");
  cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(collect, &out, GN_SHEET_WIDTH, GN_SHEET_HEIGHT);
  gn_sheet sheet = {.cr = cairo_create(surface), .error = error};
  describe(surface, front, inputs, n);
  sheet.layout = pango_cairo_create_layout(sheet.cr);
  pango_layout_set_auto_dir(sheet.layout, FALSE); // a name in Arabic letters turns no line of English about
  pango_context_set_base_dir(pango_layout_get_context(sheet.layout), PANGO_DIRECTION_LTR);
  if (front) gn_front_draw(&sheet, front, n);
  for (size_t i = 0; i < n && !sheet.status; i++) draw_recording(&sheet, &inputs[i], front && front->titles ? front->titles[i] : NULL, is_scaled ? &scale : NULL);
  g_object_unref(sheet.layout);
  if (!sheet.status && cairo_status(sheet.cr) != CAIRO_STATUS_SUCCESS) sheet.status = gn_error_memory(error, "report");
  cairo_destroy(sheet.cr);
  cairo_surface_finish(surface);
  if (!sheet.status && (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS || out.refused)) sheet.status = gn_error_memory(error, "report");
  cairo_surface_destroy(surface);
  *n_bytes = out.n;
  *data = sheet.status ? NULL : gn_buffer_take(&out);
  if (!*data) *n_bytes = 0;
  if (!sheet.status && !*data) sheet.status = gn_error_memory(error, "report");
  if (sheet.status == GIRTHLINE_NO_MEMORY) gn_error_memory(error, "report"); // where it was seen it may not have been said
  gn_buffer_clear(&out);
  return sheet.status;
}
