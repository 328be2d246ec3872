// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/facts.h"

#include <ctype.h>
#include <sndfile.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

typedef struct word {
  int number;
  const char *text;
} word;

static const word CONTAINERS[] = {
    {SF_FORMAT_WAV, "WAV"},         {SF_FORMAT_WAVEX, "WAV"},        {SF_FORMAT_RF64, "RF64"},       {SF_FORMAT_W64, "W64"},
    {SF_FORMAT_AIFF, "AIFF"},       {SF_FORMAT_CAF, "CAF"},          {SF_FORMAT_AU, "AU"},           {SF_FORMAT_FLAC, "FLAC"},
    {SF_FORMAT_OGG, "Ogg"},         {SF_FORMAT_MPEG, "MPEG"},        {SF_FORMAT_VOC, "VOC"},         {SF_FORMAT_IRCAM, "IRCAM"},
    {SF_FORMAT_NIST, "NIST SPHERE"}, {SF_FORMAT_MAT4, "MAT 4"},      {SF_FORMAT_MAT5, "MAT 5"},      {SF_FORMAT_PVF, "PVF"},
    {SF_FORMAT_SVX, "8SVX"},        {SF_FORMAT_HTK, "HTK"},          {SF_FORMAT_SDS, "SDS"},         {SF_FORMAT_AVR, "AVR"},
    {SF_FORMAT_PAF, "PAF"},         {SF_FORMAT_XI, "XI"},            {SF_FORMAT_SD2, "SD2"},         {SF_FORMAT_WVE, "WVE"},
    {SF_FORMAT_MPC2K, "MPC 2000"},
};

static const word CODINGS[] = {
    {SF_FORMAT_PCM_S8, "8-bit PCM"},       {SF_FORMAT_PCM_U8, "8-bit PCM"},      {SF_FORMAT_PCM_16, "16-bit PCM"},
    {SF_FORMAT_PCM_24, "24-bit PCM"},      {SF_FORMAT_PCM_32, "32-bit PCM"},     {SF_FORMAT_FLOAT, "32-bit float"},
    {SF_FORMAT_DOUBLE, "64-bit float"},    {SF_FORMAT_ULAW, "mu-law"},           {SF_FORMAT_ALAW, "A-law"},
    {SF_FORMAT_IMA_ADPCM, "IMA ADPCM"},    {SF_FORMAT_MS_ADPCM, "MS ADPCM"},     {SF_FORMAT_GSM610, "GSM 6.10"},
    {SF_FORMAT_VOX_ADPCM, "VOX ADPCM"},    {SF_FORMAT_NMS_ADPCM_16, "NMS ADPCM"}, {SF_FORMAT_NMS_ADPCM_24, "NMS ADPCM"},
    {SF_FORMAT_NMS_ADPCM_32, "NMS ADPCM"}, {SF_FORMAT_G721_32, "G.721 ADPCM"},   {SF_FORMAT_G723_24, "G.723 ADPCM"},
    {SF_FORMAT_G723_40, "G.723 ADPCM"},    {SF_FORMAT_DWVW_12, "12-bit DWVW"},   {SF_FORMAT_DWVW_16, "16-bit DWVW"},
    {SF_FORMAT_DWVW_24, "24-bit DWVW"},    {SF_FORMAT_DPCM_8, "8-bit DPCM"},     {SF_FORMAT_DPCM_16, "16-bit DPCM"},
    {SF_FORMAT_VORBIS, "Vorbis"},          {SF_FORMAT_OPUS, "Opus"},             {SF_FORMAT_ALAC_16, "16-bit ALAC"},
    {SF_FORMAT_ALAC_20, "20-bit ALAC"},    {SF_FORMAT_ALAC_24, "24-bit ALAC"},   {SF_FORMAT_ALAC_32, "32-bit ALAC"},
    {SF_FORMAT_MPEG_LAYER_I, "MP1"},       {SF_FORMAT_MPEG_LAYER_II, "MP2"},     {SF_FORMAT_MPEG_LAYER_III, "MP3"},
};

static const char *find(const word *words, size_t n, int number) {
  for (size_t i = 0; i < n; i++)
    if (words[i].number == number) return words[i].text;
  return NULL;
}

void gn_audio_encoding(int format, char *text, size_t size) {
  const int major = format & SF_FORMAT_TYPEMASK, minor = format & SF_FORMAT_SUBMASK;
  const char *container = find(CONTAINERS, sizeof CONTAINERS / sizeof *CONTAINERS, major);
  const char *coding = find(CODINGS, sizeof CODINGS / sizeof *CODINGS, minor);
  if (!container) container = "another container";
  if (!coding) coding = "another coding";
  if (major == SF_FORMAT_MPEG)
    snprintf(text, size, "%s", coding);
  else if (major == SF_FORMAT_OGG)
    snprintf(text, size, "Ogg %s", coding);
  else if (major == SF_FORMAT_FLAC)
    snprintf(text, size, "FLAC, %.*s", (int)strcspn(coding, " "), coding);
  else
    snprintf(text, size, "%s, %s", container, coding);
}

// Exactly n digits; moves *s behind them.
static bool digits(const char **s, int n, int *value) {
  *value = 0;
  for (int i = 0; i < n; i++, (*s)++) {
    if (!isdigit((unsigned char)**s)) return false;
    *value = *value * 10 + (**s - '0');
  }
  return true;
}

static int days_in(int year, int month) {
  static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
  return month == 2 && leap ? 29 : days[month - 1];
}

// hh:mm[:ss][Z], separators of any kind; nothing is written unless it is a time.
static void append_time(const char *s, char *text, size_t size) {
  int hour, minute, second = 0;
  while (*s == ' ' || *s == 'T' || *s == 't' || *s == '_') s++;
  if (!digits(&s, 2, &hour) || !*s++ || !digits(&s, 2, &minute) || hour > 23 || minute > 59) return;
  if (*s && !isdigit((unsigned char)*s) && isdigit((unsigned char)s[1])) {
    s++;
    if (!digits(&s, 2, &second) || second > 60) return;
  }
  const size_t n = strlen(text);
  snprintf(text + n, size - n, "T%02d:%02d:%02d%s", hour, minute, second, *s == 'Z' ? "Z" : "");
}

void gn_audio_date(const char *date, const char *time, char *text, size_t size) {
  int year, month, day;
  const char *s = date;
  text[0] = 0;
  if (!s) return;
  while (*s == ' ') s++;
  if (!digits(&s, 4, &year) || year < 1900 || year > 2199 || isdigit((unsigned char)*s)) return;
  snprintf(text, size, "%04d", year);
  if (!*s++ || !digits(&s, 2, &month) || month < 1 || month > 12) return;
  snprintf(text, size, "%04d-%02d", year, month);
  if (!*s++ || !digits(&s, 2, &day) || day < 1 || day > days_in(year, month)) return;
  snprintf(text, size, "%04d-%02d-%02d", year, month, day);
  append_time(time && *time ? time : s, text, size);
}

// Length of the valid UTF-8 sequence at s (1 to 4), or 0 (RFC 3629).
static size_t utf8_length(const unsigned char *s) {
  if (s[0] < 0x80) return 1;
  const size_t n = s[0] >= 0xf0 ? 4 : s[0] >= 0xe0 ? 3 : 2;
  if (s[0] < 0xc2 || s[0] > 0xf4) return 0;
  for (size_t i = 1; i < n; i++)
    if ((s[i] & 0xc0) != 0x80) return 0;
  if ((s[0] == 0xe0 && s[1] < 0xa0) || (s[0] == 0xed && s[1] > 0x9f) || (s[0] == 0xf0 && s[1] < 0x90) || (s[0] == 0xf4 && s[1] > 0x8f)) return 0;
  return n;
}

void gn_audio_shown_name(const char *name, char *text, size_t size) {
  enum { LONGEST = 300 }; // so that the sentence and its remedy still fit behind it
  size_t n = 0;
  const size_t length = strlen(name);
  const unsigned char *s = (const unsigned char *)name;
  if (length > LONGEST) {
    s += length - LONGEST;
    while ((*s & 0xc0) == 0x80) s++;
    n = (size_t)snprintf(text, size, "...");
  }
  while (*s && n + 5 < size) {
    const size_t k = utf8_length(s);
    if (k)
      memcpy(text + n, s, k);
    else
      text[n] = '?';
    n += k ? k : 1;
    s += k ? k : 1;
  }
  text[n] = 0;
}
