// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/recognise.h"

#include <stdbool.h>
#include <string.h>

#include "base/error.h"

enum { LOOK = 512 };

// A form by the bytes at one or two places. With an ending the remedy is to convert it, else `remedy` says it.
typedef struct form {
  const char *first, *second; // NULL: none
  size_t n_first, first_at, n_second, second_at;
  const char *what, *ending, *remedy;
} form;

static const char OTHER_FILE[] = "name the recording itself";
static const char UNPACK[] = "unpack it and name the recording inside";

#define AT(at, bytes) .first = bytes, .n_first = sizeof bytes - 1, .first_at = at
#define AND(at, bytes) .second = bytes, .n_second = sizeof bytes - 1, .second_at = at

// Signatures: ISO/IEC 14496-12 (ftyp), the file formats' own published specifications.
static const form FORMS[] = {
    {AT(4, "ftypM4A"), .what = "an M4A (AAC) recording, as phones make", .ending = "m4a"},
    {AT(4, "ftypM4B"), .what = "an M4B (AAC) recording", .ending = "m4b"},
    {AT(4, "ftyp3g"), .what = "a 3GP recording from a phone", .ending = "3gp"},
    {AT(4, "ftypqt"), .what = "a QuickTime film", .ending = "mov"},
    {AT(4, "ftyp"), .what = "an MP4 file (AAC sound or a film), as phones make", .ending = "mp4"},
    {AT(4, "moov"), .what = "a QuickTime film", .ending = "mov"},
    {AT(4, "mdat"), .what = "an unfinished MP4 or QuickTime file", .ending = "mp4"},
    {AT(0, "ADIF"), .what = "an AAC recording", .ending = "aac"},
    {AT(0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11"), .what = "a WMA (Windows Media) recording", .ending = "wma"},
    {AT(0, "BW64"), .what = "a BW64 recording", .ending = "wav"},
    {AT(0, "#!AMR"), .what = "an AMR recording from a phone", .ending = "amr"},
    {AT(0, "\x1a\x45\xdf\xa3"), AND(24, "matroska"), .what = "a Matroska file", .ending = "mka"},
    {AT(0, "\x1a\x45\xdf\xa3"), .what = "a WebM or Matroska file", .ending = "webm"},
    {AT(0, "wvpk"), .what = "a WavPack recording", .ending = "wv"},
    {AT(0, "MAC "), .what = "a Monkey's Audio recording", .ending = "ape"},
    {AT(0, "TTA1"), .what = "a True Audio recording", .ending = "tta"},
    {AT(0, "DSD "), .what = "a DSD recording", .ending = "dsf"},
    {AT(0, "FRM8"), .what = "a DSD recording", .ending = "dff"},
    {AT(0, ".RMF"), .what = "a RealMedia file", .ending = "rm"},
    {AT(0, "FLV\x01"), .what = "a Flash film", .ending = "flv"},
    {AT(0, "OggS"), AND(28, "Speex   "), .what = "an Ogg Speex recording", .ending = "spx"},
    {AT(0, "OggS"), AND(28, "\x80theora"), .what = "an Ogg film", .ending = "ogv"},
    {AT(0, "caff"), AND(28, "aac"), .what = "a CAF file that holds AAC", .ending = "caf"},
    {AT(0, "caff"), AND(28, ".mp3"), .what = "a CAF file that holds MP3", .ending = "caf"},
    {AT(0, "caff"), AND(28, "opus"), .what = "a CAF file that holds Opus", .ending = "caf"},
    {AT(0, "RIFF"), AND(8, "AVI "), .what = "an AVI film", .ending = "avi"},
    {AT(0, "RIFF"), AND(8, "WEBP"), .what = "a picture", .remedy = OTHER_FILE},
    {AT(0, "RIFF"), AND(8, "RMID"), .what = "a MIDI file: notes, no sound", .remedy = OTHER_FILE},
    {AT(0, "MThd"), .what = "a MIDI file: notes, no sound", .remedy = OTHER_FILE},
    {AT(0, "%PDF"), .what = "a PDF document", .remedy = OTHER_FILE},
    {AT(0, "PK\x03\x04"), .what = "a ZIP archive or an office document", .remedy = UNPACK},
    {AT(0, "\x1f\x8b"), .what = "a gzip archive", .remedy = UNPACK},
    {AT(0, "7z\xbc\xaf\x27\x1c"), .what = "a 7z archive", .remedy = UNPACK},
    {AT(0, "Rar!"), .what = "a RAR archive", .remedy = UNPACK},
    {AT(0, "\xfd"
           "7zXZ"),
     .what = "an xz archive", .remedy = UNPACK},
    {AT(0, "\x89PNG"), .what = "a picture", .remedy = OTHER_FILE},
    {AT(0, "\xff\xd8\xff"), .what = "a picture", .remedy = OTHER_FILE},
    {AT(0, "GIF8"), .what = "a picture", .remedy = OTHER_FILE},
    {AT(0, "\xd0\xcf\x11\xe0"), .what = "an office document", .remedy = OTHER_FILE},
    {AT(0, "SQLite format 3"), .what = "a database", .remedy = OTHER_FILE},
    {AT(0, "\x7f"
           "ELF"),
     .what = "a program", .remedy = OTHER_FILE},
    {AT(128, "DICM"), .what = "a DICOM file", .remedy = "export the sound in it as WAV"},
};

int64_t gn_recognise_tag_length(gn_source *source) {
  unsigned char head[10];
  if (gn_source_read_at(source, 0, head, 10) < 10 || memcmp(head, "ID3", 3)) return 0;
  int64_t size = 10; // id3.org, ID3v2.4 section 3.1: four bytes of seven bits
  for (int i = 0; i < 4; i++) size += (int64_t)(head[6 + i] & 0x7f) << (7 * (3 - i));
  return size < source->length ? size : 0;
}

static bool matches(const form *f, const unsigned char *head, size_t n) {
  if (f->first_at + f->n_first > n || memcmp(head + f->first_at, f->first, f->n_first)) return false;
  if (!f->second) return true;
  return f->second_at + f->n_second <= n && !memcmp(head + f->second_at, f->second, f->n_second);
}

static girthline_status say(const char *shown, const char *what, const char *ending, const char *remedy, girthline_error *error) {
  if (ending)
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this is %s, which is not read; convert it to WAV, for example: ffmpeg -i IN.%s OUT.wav", shown, what,
                        ending);
  return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this is %s, not a recording; %s", shown, what, remedy);
}

// An AAC frame: twelve bits of ones and layer 0 (ISO/IEC 13818-7, ADTS); MP3 has another layer in the same place.
static bool is_adts(const unsigned char *head, size_t n) { return n >= 7 && head[0] == 0xff && (head[1] & 0xf6) == 0xf0; }

girthline_status gn_recognise_refuse(gn_source *source, const char *shown, girthline_error *error) {
  unsigned char head[LOOK];
  if (source->length == 0)
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this file is empty; copy it from the recorder again, or record again", shown);
  const size_t n = (size_t)gn_source_read_at(source, gn_recognise_tag_length(source), head, LOOK);
  if (is_adts(head, n)) return say(shown, "an AAC recording, as phones make", "aac", NULL, error);
  for (size_t i = 0; i < sizeof FORMS / sizeof *FORMS; i++)
    if (matches(&FORMS[i], head, n)) return say(shown, FORMS[i].what, FORMS[i].ending, FORMS[i].remedy, error);
  return GIRTHLINE_OK;
}

static bool all_zero(const unsigned char *head, size_t n) {
  for (size_t i = 0; i < n; i++)
    if (head[i]) return false;
  return true;
}

// Text: no control bytes but those that stand in text. UTF-16 begins with its mark.
static bool is_text(const unsigned char *head, size_t n) {
  if (n >= 2 && ((head[0] == 0xff && head[1] == 0xfe) || (head[0] == 0xfe && head[1] == 0xff))) return true;
  for (size_t i = 0; i < n; i++)
    if ((head[i] < 0x20 && (head[i] < '\t' || head[i] > '\r') && head[i] != 0x1b) || head[i] == 0x7f) return false;
  return true;
}

static const char *damaged_form(const unsigned char *head, size_t n) {
  static const struct {
    const char *bytes, *name;
  } known[] = {{"RIFF", "WAV"}, {"RIFX", "WAV"}, {"RF64", "WAV"}, {"fLaC", "FLAC"}, {"OggS", "Ogg"}, {"FORM", "AIFF"}, {"caff", "CAF"}, {".snd", "AU"}, {"riff", "W64"}, {"ID3", "MP3"}};
  for (size_t i = 0; i < sizeof known / sizeof *known; i++)
    if (n >= strlen(known[i].bytes) && !memcmp(head, known[i].bytes, strlen(known[i].bytes))) return known[i].name;
  return NULL;
}

girthline_status gn_recognise_explain(gn_source *source, const char *shown, girthline_error *error) {
  unsigned char head[LOOK];
  const size_t n = (size_t)gn_source_read_at(source, 0, head, LOOK);
  const char *damaged = damaged_form(head, n);
  if (damaged)
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio",
                        "%s: this %s file is damaged, cut off, or holds a coding that is not read; copy it again, or convert it to WAV, for example: ffmpeg -i IN OUT.wav",
                        shown, damaged);
  if (all_zero(head, n))
    return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio", "%s: this file begins with zeros only, as when a copy broke off; copy it from the recorder again", shown);
  if (is_text(head, n)) return say(shown, "a text file", NULL, OTHER_FILE, error);
  return gn_error_set(error, GIRTHLINE_NOT_AUDIO, "audio",
                      "%s: this is no audio file that is known here; if it is a recording, convert it to WAV, for example: ffmpeg -i IN OUT.wav", shown);
}

const char *gn_recognise_wav_tag(unsigned tag) {
  static const struct {
    unsigned tag;
    const char *name;
  } tags[] = {{0x50, "MP2"},  {0x55, "MP3"},   {0xff, "AAC"},   {0x1600, "AAC"}, {0x1602, "AAC"}, {0x1610, "AAC"},
              {0x160, "WMA"}, {0x161, "WMA"},  {0x162, "WMA"},  {0x163, "WMA"},  {0x2000, "AC-3"}, {0x2001, "DTS"},
              {0x0a109, "Speex"}, {0x674f, "Vorbis"}, {0x6771, "Vorbis"}, {0x22, "TrueSpeech"}, {0x42, "G.723.1"}, {0x83, "G.729"}};
  for (size_t i = 0; i < sizeof tags / sizeof *tags; i++)
    if (tags[i].tag == tag) return tags[i].name;
  return NULL;
}
